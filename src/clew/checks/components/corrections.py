"""By how many whole counts to correct each winder, and when to leave it alone."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.ball.first.winder_setting import LEAST_ADDED_CHANCE, MOST_SHORT_CHANCE
from clew.checks.components.off_nil import off_nil
from clew.checks.components.predict import combination
from clew.checks.components.reml import Fit
from clew.faults import BadInput, Fault
from clew.languages import say

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Aim:
    """What the balls are to be, and what a mistake costs.

    Attributes
    ----------
    target_mass_g : float
        Mass the mean ball must reach [g].
    target_length_m : float or None
        Length it must reach [m]; none where length is not looked at.
    declared_mass_g : float or None
        Declared mass [g].
    price_per_kg : float
        Price of the yarn [money/kg].
    change_cost : float
        What a change costs: setting the counter and weighing the ball after it [money].
    sure_frac : float
        Probability that a change brings a winder nearer its target, from which it is made [-].
    """

    target_mass_g: float
    target_length_m: float | None = None
    declared_mass_g: float | None = None
    price_per_kg: float = 0.0
    change_cost: float = 0.0
    sure_frac: float = 0.9


@dataclass(frozen=True, slots=True)
class Count:
    """What one count of a winder's own counter winds.

    Attributes
    ----------
    turns : float
        Turns of the flyer [-].
    mass_g, length_m : float
        Yarn at the outside of the ball [g], [m].
    """

    turns: float
    mass_g: float
    length_m: float


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a winder stands.

    Attributes
    ----------
    winder : str
        The winder.
    balls : int
        Balls weighed.
    mass_g, mass_se_g : float
        Mean mass of its balls to come of this lot, fresh cones, and its standard error [g].
    length_m, length_se_m : float or None
        The same of length [m]; none where nothing was reeled.
    """

    winder: str
    balls: int
    mass_g: float
    mass_se_g: float
    length_m: float | None = None
    length_se_m: float | None = None


@dataclass(frozen=True, slots=True)
class Correction:
    """What to do with a winder.

    Attributes
    ----------
    standing : Standing
        Where it stands.
    offset_g : float
        Its mean mass less the target [g].
    counts : int
        Whole counts to add, below nil to take off; what is needed, made or not.
    turns : float
        Turns these are [-].
    better_chance : float
        Probability that the change brings the winder nearer its target [-].
    short_chance, short_chance_then : float or None
        Probability that its mean is under the declared mass, now and after the change [-].
    gain_g : float
        Yarn a ball that the change saves [g]; nil when counts are added.
    gain : float
        What that comes to over the balls ahead, less the cost of the change [money].
    balls_ahead : int
        Balls ahead.
    make : bool
        Whether to make the change.
    why : str
        What decides it, for people.
    """

    standing: Standing
    offset_g: float
    counts: int
    turns: float
    better_chance: float
    short_chance: float | None
    short_chance_then: float | None
    gain_g: float
    gain: float
    balls_ahead: int
    make: bool
    why: str


def standings(fit: Fit, *, lot: str | None = None) -> tuple[Standing, ...]:
    """Find where each winder's balls to come stand in mass.

    Parameters
    ----------
    fit : Fit
        The fitted model of mass [g].
    lot : str, optional
        Dye lot of the balls to come; left out, a lot not seen.

    Returns
    -------
    tuple of Standing
        One a winder, or one for all where winders are not told apart.

    Notes
    -----
    General mean + lot + winder, the cones to come being fresh ones; lots and winders are not taken
    to be alike for certain where the likeliest is that they are. Source: `combination`, `off_nil`.
    """
    fit = off_nil(fit, ("lot", "winder"))
    cells = fit.cross.design
    weights = [np.zeros(cells.levels(place)) for place in range(len(cells.factors))]
    if lot is not None and "lot" in cells.factors:
        place = cells.factors.index("lot")
        if lot in cells.names[place]:
            weights[place][cells.names[place].index(lot)] = 1.0
    if "winder" not in cells.factors:
        found = combination(fit, tuple(weights), mean=1.0)
        return (Standing("", cells.rows, found.estimate, found.se),)
    place = cells.factors.index("winder")
    balls = np.bincount(cells.codes[place], weights=cells.counts)
    told = []
    for level, name in enumerate(cells.names[place]):
        mine = list(weights)
        mine[place] = np.zeros(cells.levels(place))
        mine[place][level] = 1.0
        found = combination(fit, tuple(mine), mean=1.0)
        told.append(Standing(name, int(balls[level]), found.estimate, found.se))
    return tuple(told)


def corrections(
    standing: Sequence[Standing], counts: Mapping[str, Count], ahead: Mapping[str, int], aim: Aim
) -> tuple[Correction, ...]:
    """Propose whole counts for each winder, and say which changes to make.

    Parameters
    ----------
    standing : sequence of Standing
        Where the winders stand.
    counts : mapping of str to Count
        What a count of each winder winds.
    ahead : mapping of str to int
        Balls each winder has ahead of it.
    aim : Aim
        Targets, prices and when to act.

    Returns
    -------
    tuple of Correction
        In the order of `standing`.

    Raises
    ------
    BadInput
        If a target, a count or a probability cannot be used.

    Notes
    -----
    Fewest counts at which expected mass, and length where it is known, reach their targets. A
    change brings the winder nearer when its offset lies beyond half the change on that side; the
    offset is normal. Taken off when that is sure enough and the yarn saved pays for the change;
    added when it is sure enough, or as soon as the chance that the mean is under the declared mass
    is above 5 % and two points more than on the target, as for first balls. Source: DERIVED; the
    rule of action common practice.
    """
    _check(counts, aim)
    return tuple(
        _correction(one, counts[one.winder], ahead.get(one.winder, 0), aim) for one in standing
    )


def _correction(one: Standing, count: Count, ahead: int, aim: Aim) -> Correction:
    offset = one.mass_g - aim.target_mass_g
    needed = -math.floor(offset / count.mass_g + 1e-9)
    held = False
    if aim.target_length_m is not None and one.length_m is not None:
        for_length = -math.floor((one.length_m - aim.target_length_m) / count.length_m + 1e-9)
        held = for_length > needed
        needed = max(needed, for_length)
    moved = needed * count.mass_g
    better = 1.0
    if needed and not held:
        away = (abs(offset) - 0.5 * abs(moved)) / one.mass_se_g if one.mass_se_g > 0 else math.inf
        better = _normal(away)
    elif needed and one.length_se_m and one.length_m is not None and aim.target_length_m:
        gap = abs(one.length_m - aim.target_length_m)
        better = _normal((gap - 0.5 * abs(needed) * count.length_m) / one.length_se_m)
    saved = max(0.0, -moved)
    gain = saved / 1000.0 * ahead * aim.price_per_kg - aim.change_cost
    short, then, on_target = _short_chances(one, moved, aim)
    added = 0.0 if short is None else short - on_target
    at_risk = (short or 0.0) > MOST_SHORT_CHANCE and added >= LEAST_ADDED_CHANCE
    make, why = _decide(needed, better, held, aim, at_risk=at_risk)
    if make and needed < 0 and (not_worth := _not_worth(saved, ahead, aim)):
        make, why = False, not_worth
    if needed == 0:
        why = _why_not(offset, count, held, one.mass_se_g)
    return Correction(
        standing=one,
        offset_g=offset,
        counts=needed,
        turns=needed * count.turns,
        better_chance=better,
        short_chance=short,
        short_chance_then=then,
        gain_g=saved,
        gain=gain if needed < 0 else 0.0,
        balls_ahead=ahead,
        make=make,
        why=why,
    )


def _decide(needed: int, better: float, held: bool, aim: Aim, *, at_risk: bool) -> tuple[bool, str]:
    if needed == 0:
        return False, ""
    if needed > 0 and at_risk:
        return True, ""
    if better < aim.sure_frac:
        return False, (
            say(
                "the change would bring it nearer with {chance:.0f} % only: it may be chance",
                chance=100 * better,
            )
        )
    return True, say("its length asks for it") if held else ""


def _not_worth(saved_g: float, ahead: int, aim: Aim) -> str:
    """Say from how many balls on a change pays that does not; nothing where it does.

    Where neither yarn nor change has a price, nothing speaks against saving yarn.
    """
    a_ball = saved_g / 1000.0 * aim.price_per_kg
    if a_ball * ahead > aim.change_cost or (a_ball == 0.0 and aim.change_cost == 0.0):
        return ""
    if ahead == 0:
        return say("no ball is ahead of it")
    if a_ball == 0.0:
        return say("a change costs money, and yarn is priced at nothing")
    pays = math.floor(aim.change_cost / a_ball) + 1
    return say(
        "the yarn saved over the {ahead} balls ahead does not pay for the change; from {pays} "
        "balls it does",
        ahead=ahead,
        pays=pays,
    )


def _why_not(offset: float, count: Count, held: bool, se: float) -> str:
    """Say why no count is taken off."""
    if held:
        return say("its length leaves nothing to take off")
    if offset > 2.0 * se:
        return say(
            "it stands {offset:.1f} g above its target, but one count is {count:.1f} g and would "
            "take it under",
            offset=offset,
            count=count.mass_g,
        )
    return say("it stands on its target")


def _short_chances(
    one: Standing, moved: float, aim: Aim
) -> tuple[float | None, float | None, float]:
    """Chance that the mean is under the declared mass: now, after the change, on the target."""
    if aim.declared_mass_g is None:
        return None, None, 0.0
    means = (one.mass_g, one.mass_g + moved, aim.target_mass_g)
    now, then, on_target = (_short(mean - aim.declared_mass_g, one.mass_se_g) for mean in means)
    return now, then, on_target


def _normal(away: float) -> float:
    return 0.5 * math.erfc(-away / math.sqrt(2.0))


def _short(above: float, se: float) -> float:
    if se <= 0.0:
        return float(above < 0.0)
    return _normal(-above / se)


def _check(counts: Mapping[str, Count], aim: Aim) -> None:
    faults = []
    amounts = [("target_mass_g", aim.target_mass_g)]
    if aim.target_length_m is not None:
        amounts.append(("target_length_m", aim.target_length_m))
    for winder, count in counts.items():
        amounts += [(f"mass of a count of winder {winder}", count.mass_g)]
        amounts += [(f"length of a count of winder {winder}", count.length_m)]
    for key, value in amounts:
        if not (math.isfinite(value) and value > 0.0):
            faults.append(Fault("not an amount", "a number above 0", key=key, value=str(value)))
    if not 0.5 <= aim.sure_frac < 1.0:
        faults.append(
            Fault(
                "not a usable probability", "from 0.5 to below 1", "sure", value=f"{aim.sure_frac}"
            )
        )
    for key, value in (("price_per_kg", aim.price_per_kg), ("change_cost", aim.change_cost)):
        if not (math.isfinite(value) and value >= 0.0):
            faults.append(Fault("not a price", "0 or more", key=key, value=str(value)))
    if faults:
        raise BadInput(faults)
