"""What moved from yesterday's shift to today's: the yarn, a winder, or neither."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from clew.checks.components.components import Z95
from clew.checks.components.design import design
from clew.checks.components.off_nil import off_nil
from clew.checks.components.predict import Combination, combination
from clew.checks.components.reml import Fit, fit
from clew.checks.weighings import Column, Factor, Weighings
from clew.faults import BadInput, Fault
from clew.languages import joined as texts_joined
from clew.languages import say

Floats = NDArray[np.float64]
YARN = ("lot", "cone")
_ROUNDING = 1e-12
YARN_PART, ALIKE, SHIFT = "yarn", "all alike", "shift"


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the change.

    Attributes
    ----------
    name : str
        "yarn", "winder 4", "lane 2", "all alike" or "rest".
    change : float
        What it adds to the change of the mean [unit of the value].
    low, high : float
        Its interval, 95 % [unit of the value].
    own_change : float or None
        How far the winder or lane itself moved [unit of the value]; none for yarn and rest, and for
        one that ran in one shift only.
    """

    name: str
    change: float
    low: float
    high: float
    own_change: float | None = None


@dataclass(frozen=True, slots=True)
class ShiftChange:
    """Change of the mean from one shift to the next.

    Attributes
    ----------
    before, after, change : float
        Means and their difference [unit of the value].
    balls_before, balls_after : int
        Balls of either.
    parts : tuple of Part
        Yarn, each winder, rest; they add up to the change exactly.
    cautions : tuple of str
        What could not be told apart.
    words : tuple of str
        The answer for people.
    """

    before: float
    after: float
    change: float
    balls_before: int
    balls_after: int
    parts: tuple[Part, ...]
    cautions: tuple[str, ...]
    words: tuple[str, ...]


def shift_change(
    before: Weighings,
    after: Weighings,
    value_before: Column,
    value_after: Column,
    *,
    wanted: Sequence[str] = ("lot", "cone", "winder"),
    unit: str = "g",
) -> ShiftChange:
    """Part the change of the mean into yarn, winders and rest.

    Parameters
    ----------
    before, after : Weighings
        Yesterday's balls and today's.
    value_before, value_after : array of float
        Their masses or lengths [unit of the value].
    wanted : sequence of str
        Sources to part it by; those that both shifts name are used.
    unit : str
        Unit for the words.

    Returns
    -------
    ShiftChange
        Parts that add up to the change.

    Raises
    ------
    BadInput
        If the shifts share no source, or there are too few balls.

    Notes
    -----
    One model of both shifts: lots and cones as they are named, each winder, each winder of each
    shift, and the shift itself, which is what all winders did alike. A part is the difference of
    the predicted effects, weighed with the balls of either shift; rest is what these leave of the
    difference. Where the lot changed with the shift, what all winders did alike cannot be told from
    the lot, and goes to the yarn with a caution. Intervals come from the joint error of the
    predictions; the one of the rest is that of all parts together, the change itself being known.
    Source: DERIVED.
    """
    shared = [one for one in wanted if one in before.factors and one in after.factors]
    if not shared:
        raise BadInput(
            Fault("the shifts name no source in common", f"a column of {', '.join(wanted)}")
        )
    value = np.concatenate([value_before, value_after]).astype(float)
    today = np.repeat([False, True], [len(value_before), len(value_after)])
    factors = {SHIFT: Factor(today.astype(np.int32), ("before", "after"))}
    for name in shared:
        factors[name] = joined(before.factors[name], after.factors[name], apart=False)
        if name not in YARN:
            each = joined(before.factors[name], after.factors[name], apart=True)
            factors[f"{name}{_OF_SHIFT}"] = each
    if set(YARN) <= set(shared):
        factors["cone"] = _of_lots(factors["cone"], factors["lot"])
    cells = design(value, factors, list(factors))
    used = np.isfinite(value)
    for one in factors.values():
        used &= one.codes >= 0
    balls = [int((used & ~today).sum()), int((used & today).sum())]
    if min(balls) == 0:
        raise BadInput(Fault("a shift without balls", "some in either"))
    means = [float(value[used & ~today].mean()), float(value[used & today].mean())]
    change = means[1] - means[0]
    fitted = off_nil(fit(cells), [name for name in cells.factors if name.endswith(_OF_SHIFT)])
    sign = np.where(today, 1.0 / balls[1], -1.0 / balls[0])[used]
    weights: list[Floats] = []
    of_part: list[list[str]] = []
    for place, name in enumerate(cells.factors):
        row = _row_levels(factors[name], cells.names[place], used)
        share = np.bincount(row, weights=sign, minlength=cells.levels(place))
        weights.append(np.where(np.abs(share) > _ROUNDING, share, 0.0))
        of_part.append([_part_of(name, level) for level in cells.names[place]])
    parts = []
    for name in dict.fromkeys(one for levels in of_part for one in levels):
        mine = [np.array([one == name for one in levels]) for levels in of_part]
        only = tuple(np.where(m, w, 0.0) for m, w in zip(mine, weights, strict=True))
        found = combination(fitted, only)
        parts.append(replace(_part(name, found), own_change=_own(fitted, name, of_part)))
    parts.sort(key=lambda one: (one.name != YARN_PART, one.name == ALIKE))
    rest = change - sum(one.change for one in parts)
    doubt = Z95 * combination(fitted, tuple(weights)).se
    parts.append(Part("rest", rest, rest - doubt, rest + doubt))
    return ShiftChange(
        before=means[0],
        after=means[1],
        change=change,
        balls_before=balls[0],
        balls_after=balls[1],
        parts=tuple(parts),
        cautions=(*cells.cautions, *_nil_moves(parts)),
        words=_words(change, parts, unit),
    )


_APART = "\x1f"
_OF_SHIFT = " of a shift"
_PARTS = {YARN_PART: say("yarn"), ALIKE: say("all alike"), "rest": say("the rest")}


def _part_of(factor: str, level: str) -> str:
    """Name the part that a level of a source belongs to."""
    if factor in YARN:
        return YARN_PART
    if factor == SHIFT:
        return ALIKE
    if factor.endswith(_OF_SHIFT):
        return f"{factor.removesuffix(_OF_SHIFT)} {level.rpartition(_APART)[0]}"
    return f"{factor} {level}"


def _nil_moves(parts: list[Part]) -> tuple[str, ...]:
    """Say what an interval of nil width means."""
    nil = [one.name for one in parts if one.low == one.high]
    if not nil:
        return ()
    return (
        say(
            "no move of their own shows, its spread is found nil: {parts}",
            parts=texts_joined(", ", [part_words(one) for one in nil]),
        ),
    )


def part_words(name: str) -> str:
    """Say the name of a part, such as ``winder 3``.

    Parameters
    ----------
    name : str
        Name of a `Part`.

    Returns
    -------
    str
        The same, to be said in the reader's language.
    """
    kind, _, own = name.partition(" ")
    if name in _PARTS:
        return _PARTS[name]
    if own and kind == "winder":
        return say("winder {winder}", winder=own)
    return say("lane {lane}", lane=own) if own and kind == "lane" else name


def _own(fitted: Fit, name: str, of_part: list[list[str]]) -> float | None:
    """How far a winder itself moved; none where it ran in one shift or is not told by shift."""
    cells = fitted.cross.design
    weights = [np.zeros(cells.levels(place)) for place in range(len(cells.factors))]
    for place, factor in enumerate(cells.factors):
        if factor.endswith(_OF_SHIFT):
            for level, told in enumerate(cells.names[place]):
                if of_part[place][level] == name:
                    weights[place][level] = 1.0 if told.endswith("after") else -1.0
    if sum(np.count_nonzero(one) for one in weights) != 2:
        return None
    return combination(fitted, tuple(weights)).estimate


def _of_lots(cone: Factor, lot: Factor) -> Factor:
    """Cones named with their lot, so that one name in two lots is two cones."""
    both = cone.codes.astype(np.int64) * len(lot.names) + lot.codes
    there = (cone.codes >= 0) & (lot.codes >= 0)
    used, code = np.unique(both[there], return_inverse=True)
    codes = np.full(len(both), -1, dtype=np.int32)
    codes[there] = code
    width = len(lot.names)
    names = tuple(f"{lot.names[k % width]}{_APART}{cone.names[k // width]}" for k in used.tolist())
    return Factor(codes, names)


def joined(before: Factor, after: Factor, *, apart: bool) -> Factor:
    """Put the names of two shifts into one column; apart, each shift's are its own."""
    if apart:
        names = (
            *(f"{one}{_APART}before" for one in before.names),
            *(f"{one}{_APART}after" for one in after.names),
        )
        moved = np.where(after.codes >= 0, after.codes + len(before.names), -1)
        return Factor(np.concatenate([before.codes, moved]).astype(np.int32), names)
    place = {name: number for number, name in enumerate(before.names)}
    for name in after.names:
        place.setdefault(name, len(place))
    table = np.array([*(place[name] for name in after.names), -1], dtype=np.int32)
    return Factor(np.concatenate([before.codes, table[after.codes]]).astype(np.int32), tuple(place))


def _row_levels(
    factor: Factor, names: tuple[str, ...], used: NDArray[np.bool_]
) -> NDArray[np.int64]:
    """Place of each used row's name among the names that the design kept."""
    place = {name: number for number, name in enumerate(names)}
    table = np.array([place.get(name, -1) for name in factor.names])
    return np.asarray(table[factor.codes[used]])


def _part(name: str, found: Combination) -> Part:
    estimate, se = found.estimate, found.se
    return Part(name, estimate, estimate - Z95 * se, estimate + Z95 * se)


def _words(change: float, parts: list[Part], unit: str) -> tuple[str, ...]:
    side = "heavier" if change > 0 else "lighter"
    if unit == "m":
        side = "longer" if change > 0 else "shorter"
    lines = [f"Today's balls are {abs(change):.2g} {unit} {side} than yesterday's."]
    if change == 0.0:
        lines = ["Today's balls are as yesterday's were."]
    clear = [one for one in parts if one.low > 0.0 or one.high < 0.0]
    for one in sorted(clear, key=lambda part: -abs(part.change)):
        of_it = {
            YARN_PART: "the yarn, dye lot and cones",
            ALIKE: "what all winders did alike",
            "rest": "chance among single balls",
        }.get(one.name, one.name)
        own = "" if one.own_change is None else f", which moved {one.own_change:+.2g} {unit}"
        between = f"({one.low:+.2g} to {one.high:+.2g} {unit})"
        lines.append(f"{one.change:+.2g} {unit} of it {between} is {of_it}{own}.")
    if not clear:
        lines.append("No part of it is clear of chance.")
    return tuple(lines)
