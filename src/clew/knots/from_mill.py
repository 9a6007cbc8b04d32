"""Read off a mill what decides a ball's knots: sources, rule, prices, what is seen and said."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from clew.ball.from_mill import lot_for, promise_of, strand_of
from clew.faults import BadInput, Fault
from clew.knots.cutting import CutPrices, FirstRule
from clew.knots.rates import poisson_interval
from clew.knots.sources import Sources, sources_after_steam
from clew.languages import say
from clew.mill.balls import Ball
from clew.mill.model import Mill
from clew.mill.yarns import Yarn
from clew.quantities import UnitSystem


@dataclass(frozen=True, slots=True)
class KnotTerms:
    """What decides the knots of one ball, and what they cost.

    Attributes
    ----------
    ball_name, yarn_name, lot_name : str
        What it is about; empty where nothing of a mill was named.
    currency : str
        Currency of every price, such as ``GBP``; empty where none was named.
    sources : Sources
        Where joins come from, per metre after steam.
    shrink_frac : float
        Length lost in steam [1].
    cone_mass_g, cone_count_tex : float
        Mean mass of a cone [g] and count of its yarn before steam [tex].
    breaks_band : tuple of float
        Low and high factor on the break rate, 95 %, from how much strand was counted [1].
    rule : FirstRule
        When a ball is first-quality.
    stated_prices : CutPrices or None
        What balls bring and cuts cost; none where no price of a ball was stated.
    ball_mass_g : float
        Mass a ball is set to [g].
    yarn_per_kg : float
        Price of yarn [money/kg].
    made_a_year : int
        First-quality balls a year; 0 where that is not known.
    shelf_multiple : float
        A shop's price over the mill's [1].
    complaints_per_10000 : tuple of float
        Complaints per 10 000 balls with 0, 1, 2, ... knots: the mill's own estimate.
    joined_by : {"knot", "splice"}
        How joins are made.
    splice_counts : float
        What a splice counts towards a knot limit: 0, 0.5 or 1 [1].
    strength_kept_frac : float or None
        Strength of a join over that of the strand [1].
    look_ahead_m : float or None
        Strand between the watching eye and the winder, after steam [m].
    finds_frac : float
        Share of joins seen there [1].
    false_alarms_per_km : float
        Joins seen that are none, per km after steam [1/km].
    breaks_at_most_per_m : float
        Upper end, 95 %, of the rate of breaks re-tied on the cone where none was counted, after
        steam [1/m]; 0 where some were, or nothing is known of a count. A factor on a rate of 0
        (`breaks_band`) cannot say it.
    units : {"metric", "yard"}
        Units the mill prints in; metric where nothing of a mill was named.
    """

    ball_name: str
    yarn_name: str
    lot_name: str
    currency: str
    sources: Sources
    shrink_frac: float
    cone_mass_g: float
    cone_count_tex: float
    breaks_band: tuple[float, float]
    rule: FirstRule
    stated_prices: CutPrices | None
    ball_mass_g: float
    yarn_per_kg: float
    made_a_year: int
    shelf_multiple: float
    complaints_per_10000: tuple[float, ...]
    joined_by: Literal["knot", "splice"]
    splice_counts: float
    strength_kept_frac: float | None
    look_ahead_m: float | None
    finds_frac: float
    false_alarms_per_km: float
    breaks_at_most_per_m: float = 0.0
    units: UnitSystem = "metric"

    @property
    def prices(self) -> CutPrices:
        """What balls bring and cuts cost; raises `BadInput` where no price was stated."""
        if self.stated_prices is None:
            section = f'ball "{self.ball_name}"' if self.ball_name else ""
            raise BadInput(
                Fault(
                    say("no price of a first-quality ball"),
                    say("price = 4.6, or --price-first"),
                    section=section,
                    key="price",
                )
            )
        return self.stated_prices

    @property
    def join_counts(self) -> float:
        """What a join counts towards the limit: a knot one, a splice what the mill says [1]."""
        return 1.0 if self.joined_by == "knot" else self.splice_counts


def knot_terms(mill: Mill, ball_name: str, lot_name: str = "") -> KnotTerms:
    """Read a ball's terms off a mill.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name : str
        Name of the ball.
    lot_name : str
        Name of the dye lot it is made from; empty for the yarn as nominal.

    Returns
    -------
    KnotTerms
        Sources on the ball's basis, the rule, the prices.

    Raises
    ------
    BadInput
        When a name is not in the mill file, or the dye lot is of another yarn than the ball.

    Notes
    -----
    Cones are wound by mass, so a cone's length spreads with its mass and with the count. The ball
    is as long as its target says, relaxed; its stretch on the winder, about a hundredth, is left
    out of rates that are known to a tenth at best.
    """
    ball = mill.find_ball(ball_name)
    yarn = mill.find_yarn(ball.yarn)
    dye_lot = None if not lot_name else lot_for(mill, ball, lot_name)
    strand = strand_of(yarn, mill.find_blend(yarn.blend), dye_lot)
    promise = promise_of(ball)
    cone_length_m = 1000.0 * yarn.cone_mass_g / strand.count_spun_tex
    sources = sources_after_steam(
        breaks_per_km=yarn.breaks_per_km,
        dispersion=dispersion_of(yarn.breaks_cv),
        cone_length_m=cone_length_m,
        cone_cv=math.hypot(yarn.cone_mass_cv, yarn.count_cone_cv),
        line_breaks_per_km=mill.knots.line_breaks_per_km,
        colour_ties_per_km=mill.knots.colour_ties_per_km,
        shrink_frac=yarn.shrink_frac,
    )
    return KnotTerms(
        ball_name=ball.name,
        yarn_name=yarn.name,
        lot_name=dye_lot.lot if dye_lot is not None else "",
        currency=mill.prices.currency,
        sources=sources,
        shrink_frac=yarn.shrink_frac,
        cone_mass_g=yarn.cone_mass_g,
        cone_count_tex=strand.count_spun_tex,
        breaks_band=_breaks_band(yarn, cone_length_m),
        rule=FirstRule(
            ball_length_m=promise.target_length_m,
            limit=ball.knot_limit,
            min_piece_m=mill.knots.shortest_piece_m,
            join_length_m=mill.knots.join_length_m,
        ),
        stated_prices=_prices(mill, ball, promise.target_mass_g / promise.target_length_m),
        ball_mass_g=promise.target_mass_g,
        yarn_per_kg=mill.prices.yarn_per_kg,
        made_a_year=ball.made_a_year,
        shelf_multiple=mill.prices.shelf_multiple,
        complaints_per_10000=mill.knots.complaints_per_10000,
        joined_by=mill.knots.made_as,
        splice_counts=mill.knots.splice_counts,
        strength_kept_frac=mill.knots.strength_kept_frac,
        look_ahead_m=mill.knots.look_ahead_m,
        finds_frac=mill.knots.finds_frac,
        false_alarms_per_km=mill.knots.false_alarms_per_km,
        breaks_at_most_per_m=_breaks_at_most_per_m(yarn),
        units=mill.mill.units,
    )


def dispersion_of(breaks_cv: float) -> float:
    """Gamma shape of a rate with such a spread from cone to cone; infinite for none [1]."""
    return math.inf if breaks_cv == 0.0 else breaks_cv**-2


def _breaks_band(yarn: Yarn, cone_length_m: float) -> tuple[float, float]:
    """Low and high factor on the break rate, from the strand that was counted.

    Knots on one cone are alike, so they tell less than as many on different cones: their number is
    divided by 1 + (mean per cone) / shape, the variance of a gamma-mixed count over that of a
    Poisson one; the exact Poisson interval of what is left is the band. Source: DERIVED.
    """
    if yarn.breaks_counted_m is None or yarn.breaks_per_km == 0.0:
        return 1.0, 1.0
    counted = yarn.breaks_per_km * yarn.breaks_counted_m / 1000.0
    on_a_cone = yarn.breaks_per_km * min(cone_length_m, yarn.breaks_counted_m) / 1000.0
    telling = counted / (1.0 + on_a_cone / dispersion_of(yarn.breaks_cv))
    low, high = poisson_interval(telling)
    return low / telling, high / telling


def _breaks_at_most_per_m(yarn: Yarn) -> float:
    """Upper end of the break rate after steam, where a count found none: 3.69 over the strand.

    Source: F. Garwood, Biometrika 28 (1936) (MEMORY), for cones that are alike.
    """
    if yarn.breaks_counted_m is None or yarn.breaks_per_km > 0.0:
        return 0.0
    return poisson_interval(0.0)[1] / (yarn.breaks_counted_m * (1.0 - yarn.shrink_frac))


def _prices(mill: Mill, ball: Ball, mass_per_m_g: float) -> CutPrices | None:
    if ball.price is None:
        return None
    return CutPrices(
        first=ball.price,
        second=ball.price * mill.prices.second_quality_share_frac,
        waste_per_m=mill.prices.waste_per_kg * mass_per_m_g / 1000.0,
        parting=mill.prices.hand_per_hour * mill.knots.parting_time_s / 3600.0,
    )
