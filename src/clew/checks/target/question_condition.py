"""Under what condition an inspection is taken to see the balls."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from clew.checks.packages.plan import Plan
from clew.checks.target.given import Given
from clew.checks.target.inspected import Condition, MeanBall
from clew.faults import BadInput, Fault
from clew.languages import joined, say

if TYPE_CHECKING:
    from clew.ball.from_mill import Terms
    from clew.checks.target.from_balls import FromBalls
    from clew.checks.weighings import Weighings
    from clew.mill.model import Mill


@dataclass(frozen=True, slots=True)
class Inspector:
    """The regain an inspection finds, or judges at.

    Attributes
    ----------
    regain_frac : float or None
        The regain [-]; none where it is that of weighing.
    sd_frac : float
        How inspections differ in it [-].
    words : str
        The sentence that says so.
    """

    regain_frac: float | None
    sd_frac: float
    words: str


def regain_weighed(given: Given, terms: Terms | None, balls: Weighings | None) -> float | None:
    """Regain at weighing: as typed, of the file, or of the mill's dryer [-]."""
    if given.regain_weighed is not None:
        return given.regain_weighed
    if balls is not None and "regain_frac" in balls.numbers:
        import numpy as np

        column = balls.numbers["regain_frac"]
        if np.isfinite(column).any():
            return float(np.nanmean(column))
    return terms.strand.regain_out_frac if terms is not None else None


def inspector_of(
    given: Given,
    mill: Mill | None,
    ball_name: str | None,
    plans: Sequence[Plan],
    weighed: float | None,
) -> Inspector:
    """Find the regain an inspection sees: as typed, agreed for the blend, or the mill's own.

    Raises
    ------
    BadInput
        When it is typed and the regain at weighing is not known.
    """
    sd = given.regain_seen_sd
    if given.regain_seen is not None:
        if weighed is None:
            raise BadInput(
                Fault(
                    say("the regain at weighing is not known"),
                    expected=say('such as "11 %"'),
                    key="--regain-weighed",
                )
            )
        return _at(given.regain_seen, sd or 0.0, weighed)
    if mill is None or ball_name is None or weighed is None:
        return Inspector(None, sd or 0.0, _as_weighed(sd))
    from clew.checks.packages.ball_terms import ball_terms, mill_commercial

    terms = ball_terms(mill, ball_name)
    told: list[str] = []
    masses = {plan.rule for plan in plans if plan.quantity == "mass"}
    commercial = [mill_commercial(terms, rule, told) for rule in sorted(masses)]
    if commercial and all(commercial):
        return _at(
            terms.agreed_frac,
            sd or 0.0,
            weighed,
            terms.agreed_words,
        )
    yarn = mill.find_yarn(mill.find_ball(ball_name).yarn)
    sd = yarn.regain_inspection_sd_frac if sd is None else sd
    stated = yarn.regain_inspection_frac
    if stated is None:
        words = _as_weighed(sd)
    else:
        found = _at(stated, sd, weighed)
        return Inspector(
            stated,
            sd,
            joined(" ", [found.words, *(say("Note: {note}.", note=one) for one in told[:1])]),
        )
    return Inspector(
        None, sd, joined(" ", [words, *(say("Note: {note}.", note=one) for one in told[:1])])
    )


def _as_weighed(sd: float | None) -> str:
    if sd:
        return say(
            "An inspection is taken to find the balls at the regain of weighing, ± {doubt:.2g} %.",
            doubt=100 * sd,
        )
    return say("An inspection is taken to find the balls at the regain of weighing.")


def _at(regain: float, sd: float, weighed: float, agreed: str = "") -> Inspector:
    factor = Condition(weighed, regain).mass_factor
    seen = say("{regain:.3g} %", regain=100 * regain)
    if sd:
        seen = say("{regain:.3g} %, ± {doubt:.2g} %", regain=100 * regain, doubt=100 * sd)
    if agreed:
        words = say(
            "Weighed at {weighed:.3g} % regain, judged at the agreed regain ({agreed}), {seen}: it "
            "counts {factor:.4f} of the mass.",
            weighed=100 * weighed,
            agreed=agreed,
            seen=seen,
            factor=factor,
        )
    else:
        words = say(
            "Weighed at {weighed:.3g} % regain, inspected at {seen}: it counts {factor:.4f} of the "
            "mass.",
            weighed=100 * weighed,
            seen=seen,
            factor=factor,
        )
    return Inspector(regain, sd, words)


def condition_seen(
    given: Given,
    ball: MeanBall,
    found: FromBalls | None,
    weighed: float | None,
    inspector: Inspector,
) -> Condition:
    """Put the condition of the inspection and the doubts together."""
    setting = given.mean_doubt_g / ball.mass_g
    if found is not None and found.spread.lot.mass.none:
        setting = math.hypot(setting, found.mean_mass_se_g / found.mean_mass_g)
    seen = weighed if inspector.regain_frac is None else inspector.regain_frac
    return Condition(
        regain_weighed_frac=weighed or 0.0,
        regain_seen_frac=seen or 0.0,
        regain_seen_sd_frac=inspector.sd_frac,
        mass_doubt_g=math.hypot(given.tare_doubt_g, given.scale_doubt_g),
        length_doubt_m=given.reel_doubt_m,
        setting_doubt_frac=setting,
    )
