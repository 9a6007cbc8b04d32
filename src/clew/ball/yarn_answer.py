"""What a yarn or a dye lot is as it stands on the creel, and what it will be when it is steamed.

One answer for a page and a program: count with its interval before and after, what makes up the
doubt, water, mass to invoice, and what balls of one cone are worth as a sample.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.ball.from_mill import allowance_of, strand_of
from clew.ball.terms import Spread, Strand
from clew.mill.lots import DyeLot
from clew.mill.yarns import FibreBlend, Yarn
from clew.strand.bulk import Steamed, SteamedSpread, steamed, steamed_spread
from clew.strand.evenness import BallMassSpread, ball_mass_spread, effective_sample_size
from clew.strand.moisture import CommercialMass, Regain, commercial_mass
from clew.strand.weight_class import WeightClass, suggest_class

SAMPLE_BALLS = 10
"""Balls of one cone whose worth is told; a round number, so that a reader can feel it."""


@dataclass(frozen=True, slots=True)
class Part:
    """One source of doubt about the steamed count.

    Attributes
    ----------
    key, words : str
        Stable name, and what it is.
    ln_sd : float
        Standard deviation it alone gives the logarithm of the count [-].
    share : float
        Its share of the variance [-]; 0 where there is no spread at all.
    """

    key: str
    words: str
    ln_sd: float
    share: float


@dataclass(frozen=True, slots=True)
class YarnAnswer:
    """A yarn before and after steam.

    Attributes
    ----------
    strand : Strand
        The strand as a winder will meet it.
    steamed : Steamed
        Count, length in 100 g and overfeed after steam.
    cones : int
        Cones reckoned with; 1 for a yarn without a dye lot.
    measured_tex : float or None
        Count measured on cones of the lot [tex]; None where none was.
    nominal_tex : float
        Nominal count of the yarn [tex].
    before, after : SteamedSpread
        Count of any one ball's worth of yarn with its interval, before and after steam.
    mean_after : SteamedSpread
        Mean count of the whole run after steam with its interval.
    parts : tuple of Part
        What makes up the doubt of ``after``, largest first.
    content_in_frac, content_out_frac, content_agreed_frac : float
        Water on mass as it stands before, after and at the agreed allowance [-]; the regains are in
        ``strand``.
    on_creel : CommercialMass
        Mass of the cones as they stand, and at the agreed allowance.
    as_balls : CommercialMass
        The same with the finish that steam takes off left out.
    ball_spread : BallMassSpread
        Spread of ball mass by cone and within it, wound length and winder left out.
    sample_balls : int
        Balls of one cone.
    sample_worth : float
        Balls of different cones that they are worth [-].
    weight_class : WeightClass
        Class suggested from the steamed count.
    """

    strand: Strand
    steamed: Steamed
    cones: int
    measured_tex: float | None
    nominal_tex: float
    before: SteamedSpread
    after: SteamedSpread
    mean_after: SteamedSpread
    parts: tuple[Part, ...]
    content_in_frac: float
    content_out_frac: float
    content_agreed_frac: float
    on_creel: CommercialMass
    as_balls: CommercialMass
    ball_spread: BallMassSpread
    sample_balls: int
    sample_worth: float
    weight_class: WeightClass


def yarn_answer(
    yarn: Yarn, blend: FibreBlend, dye_lot: DyeLot | None = None, *, confidence: float = 0.95
) -> YarnAnswer:
    """Answer what a yarn is now and what it will be when it has been steamed.

    Parameters
    ----------
    yarn : Yarn
        The yarn.
    blend : FibreBlend
        Its blend.
    dye_lot : DyeLot, optional
        The dye lot on the creel; the yarn as nominal when left out.
    confidence : float
        Share of yarn that the intervals hold [-], between 0 and 1.

    Returns
    -------
    YarnAnswer
        Everything a lead asks at the creel.

    Raises
    ------
    BadInput
        When a value of the yarn cannot be used.

    Notes
    -----
    Before steam nothing has shrunk and no water has moved, so the doubt is that of the count as
    spun. After steam every source counts. The mean of a run keeps only what one value holds for the
    whole run: its mean count and its shrink. Source: DERIVED, see `clew.strand.bulk`.
    """
    strand = strand_of(yarn, blend, dye_lot)
    counts = [spread for spread in strand.spreads if spread.key != "shrink"]
    after_steam = steamed(
        strand.count_spun_tex,
        strand.shrink_frac,
        finish_loss_frac=yarn.finish_loss_frac,
        regain_in_frac=strand.regain_in_frac,
        regain_out_frac=strand.regain_out_frac,
    )

    def spread_of(sources: list[Spread], *, shrinks: bool, dries: bool) -> SteamedSpread:
        return steamed_spread(
            strand.count_spun_tex,
            strand.shrink_frac if shrinks else 0.0,
            shrink_sd_frac=yarn.shrink_sd_frac if shrinks else 0.0,
            count_cv_frac=math.hypot(*(spread.cv for spread in sources)),
            regain_out_sd_frac=yarn.regain_out_sd_frac if dries else 0.0,
            finish_loss_frac=yarn.finish_loss_frac if shrinks else 0.0,
            regain_in_frac=strand.regain_in_frac,
            regain_out_frac=strand.regain_out_frac if shrinks else strand.regain_in_frac,
            level=confidence,
        )

    cones = dye_lot.cones if dye_lot is not None else 1
    net_kg = max(cones, 1) * yarn.cone_mass_g / 1000.0
    water, allowance = Regain(strand.regain_in_frac), allowance_of(blend)
    by_ball = ball_mass_spread(
        yarn.count_cone_cv,
        within_cv_frac=yarn.count_within_cv,
        moisture_cv_frac=strand.moisture.cv,
    )
    return YarnAnswer(
        strand=strand,
        steamed=after_steam,
        cones=cones,
        measured_tex=None if dye_lot is None else dye_lot.count_measured_tex,
        nominal_tex=yarn.count_spun_tex,
        before=spread_of(counts, shrinks=False, dries=False),
        after=spread_of(counts, shrinks=True, dries=True),
        mean_after=spread_of([s for s in counts if not s.per_ball], shrinks=True, dries=False),
        parts=_parts((*strand.spreads, strand.moisture)),
        content_in_frac=water.to_content().frac,
        content_out_frac=Regain(strand.regain_out_frac).to_content().frac,
        content_agreed_frac=Regain(allowance).to_content().frac,
        on_creel=commercial_mass(net_kg, water, allowance),
        as_balls=commercial_mass(
            net_kg, water, allowance, cleaning_loss_frac=yarn.finish_loss_frac
        ),
        ball_spread=by_ball,
        sample_balls=SAMPLE_BALLS,
        sample_worth=effective_sample_size(1, SAMPLE_BALLS, by_ball.intraclass),
        weight_class=suggest_class(after_steam.count_tex),
    )


def _parts(spreads: tuple[Spread, ...]) -> tuple[Part, ...]:
    whole = math.fsum(spread.cv**2 for spread in spreads) or 1.0
    parts = (Part(s.key, s.words, s.cv, s.cv**2 / whole) for s in spreads if s.cv > 0.0)
    return tuple(sorted(parts, key=lambda part: -part.share))
