"""How far balls differ, as a target is asked: of weighed balls, of the mill file, as typed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from clew.checks.target.ball_now import OfMill
from clew.checks.target.given import Given
from clew.checks.target.inspected import MeanBall
from clew.checks.target.spread import (
    LEVELS,
    Level,
    LevelName,
    Sd,
    Spread,
    after_first_balls,
    sd_from_interval,
)
from clew.faults import BadInput, Fault
from clew.languages import joined, say

if TYPE_CHECKING:
    from clew.checks.target.from_balls import FromBalls

OPTION: dict[LevelName, str] = {
    "lot": "--lot-sd",
    "cone": "--cone-sd",
    "winder": "--winder-sd",
    "within": "--within-sd",
}


def spread_asked(
    given: Given, ball: MeanBall, of_mill: OfMill | None, found: FromBalls | None
) -> tuple[Spread, str]:
    """The spread: of the weighed balls, else of the mill file; options take the place of either.

    Returns
    -------
    Spread, str
        How balls differ, and where that comes from.

    Raises
    ------
    BadInput
        When there is neither file nor mill file nor option, or an option cannot be meant.
    """
    spread, words = Spread(winder=Level(correlation=1.0)), say("the options")
    if of_mill is not None:
        from clew.checks.target.from_mill import spread_of_contributions

        spread = spread_of_contributions(of_mill.answer.contributions)
        words = say("the mill file")
    if found is not None:
        of_lots = spread.lot
        spread, words = found.spread, say("{balls} weighed balls", balls=found.balls)
        if of_mill is not None and found.few_lots:
            spread = spread.with_level("lot", of_lots)
            words = joined(", ", (words, say("that of dye lots from the mill file")))
    typed = []
    for name in LEVELS:
        said = given.sds[name]
        if said is None:
            continue
        typed.append(OPTION[name])
        sd = _sd_of(said, ball.mass_g, OPTION[name])
        old = spread.level(name)
        length = sd if name == "winder" else old.length
        spread = spread.with_level(name, Level(sd, length, old.correlation))
    if given.length_sd_m is not None:
        sd = Sd(given.length_sd_m / ball.length_m)
        spread = spread.with_level("within", replace(spread.within, length=sd))
        typed.append("--length-sd")
    if not typed and found is None and of_mill is None:
        raise BadInput(
            Fault(
                say("no spread"),
                say("DATA, or --within-sd and the like, or --ball"),
                key="--within-sd",
            )
        )
    if typed and (found is not None or of_mill is not None):
        words = say("{source}, with {options}", source=words, options=", ".join(typed))
    first = first_balls(given, of_mill)
    if first:
        spread = after_first_balls(spread, first)
        words = say("{source}; each lot set by {first} first balls", source=words, first=first)
    return spread, words


def first_balls(given: Given, of_mill: OfMill | None) -> int:
    """Balls weighed at the start of each lot: as typed, or the mill's habit; 0 for none."""
    if given.first_balls is not None:
        return given.first_balls
    return 0 if of_mill is None else of_mill.mill.checks.first_balls


def _sd_of(said: tuple[float, float, float], mass_g: float, key: str) -> Sd:
    value, low, high = (one / mass_g for one in said)
    try:
        return Sd(value) if low == high else sd_from_interval(value, low, high)
    except BadInput as bad:
        fault = bad.faults[0]
        raise BadInput(Fault(fault.what, fault.expected, key=key, value=f"{said[0]:g} g")) from None
