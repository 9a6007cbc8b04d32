"""Run rules: patterns of points that call before one point passes its limit.

Every rule that is switched on makes more false calls; `run_length_rules` says how many.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from clew.checks.charts.chart import ON_LIMIT, Points, Signal, beyond
from clew.faults import BadInput, Fault
from clew.languages import say

Flags = NDArray[np.bool_]

RULE_WORDS: dict[str, str] = {
    "beyond-3": say("beyond a limit"),
    "2-of-3": say("2 of 3 beyond two sd on one side"),
    "4-of-5": say("4 of 5 beyond one sd on one side"),
    "8-one-side": say("8 in a row on one side of the centre"),
    "6-rising": say("6 in a row rising or falling"),
    "15-within-1": say("15 in a row within one sd of the centre"),
    "14-alternating": say("14 in a row up and down by turns"),
}
"""Rules by name. The first is every chart's own, at the width of its limits."""


def check_rules(rules: Sequence[str]) -> tuple[str, ...]:
    """Check the names of rules, and put each once in the house's order.

    Parameters
    ----------
    rules : sequence of str
        Names out of `RULE_WORDS`.

    Returns
    -------
    tuple of str
        The same, each once.

    Raises
    ------
    BadInput
        For a name that is none of them.
    """
    faults = [
        Fault("no such run rule", "one of " + ", ".join(RULE_WORDS), value=name)
        for name in rules
        if name not in RULE_WORDS
    ]
    if faults:
        raise BadInput(faults)
    return tuple(name for name in RULE_WORDS if name in rules)


def run_signals(
    points: Points,
    center: Points,
    sd: Points,
    limits: tuple[Points, Points],
    rules: Sequence[str] = ("beyond-3",),
) -> tuple[Signal, ...]:
    """Find the groups at which the rules call.

    Parameters
    ----------
    points, center, sd : array of float, shape (groups,)
        Points, their centre and the standard deviation of each; a NaN point breaks a run.
    limits : (array of float, array of float), shape (groups,)
        Lower and upper limit of each.
    rules : sequence of str
        Names out of `RULE_WORDS`.

    Returns
    -------
    tuple of Signal
        By group; a pattern calls at the group that completes it, and at each one that keeps it up.

    Raises
    ------
    BadInput
        For a rule that is none.

    Notes
    -----
    Source: Western Electric, Statistical Quality Control Handbook, 1956; L. S. Nelson, Journal of
    Quality Technology 16 (1984), both MEMORY. A point on a line of one or two standard deviations
    is not beyond it; equal neighbours neither rise nor fall; a point on the centre is on no side.
    """
    off = points - center
    spread = np.where(sd > 0.0, sd, 1.0)
    far = np.where(off > 0.0, np.inf, np.where(off < 0.0, -np.inf, off))
    z = np.where(sd > 0.0, off / spread, far)
    found: list[Signal] = []
    for rule in check_rules(rules):
        if rule == "beyond-3":
            low, high = limits
            flags = beyond(points, center, low, above=False)
            found += _signals(flags, rule, points, say("below the lower limit"))
            flags = beyond(points, center, high, above=True)
            found += _signals(flags, rule, points, say("above the upper limit"))
        elif rule in _TWO_SIDED:
            for side in (1.0, -1.0):
                flags = _TWO_SIDED[rule](side * z)
                found += _signals(flags, rule, points, _side_words(rule, above=side > 0.0))
        elif rule == "6-rising":
            for side, words in (
                (1.0, say("6 in a row rising")),
                (-1.0, say("6 in a row falling")),
            ):
                flags = _run(_step(points) * side > 0.0, 5)
                found += _signals(flags, rule, points, words)
        else:
            flags = _ONE_FLAG[rule](z, points)
            found += _signals(flags, rule, points, RULE_WORDS[rule])
    order = list(RULE_WORDS)
    return tuple(sorted(found, key=lambda signal: (signal.group, order.index(signal.rule))))


def _signals(flags: Flags, rule: str, points: Points, words: str) -> list[Signal]:
    return [
        Signal(place + 1, rule, float(points[place]), words)
        for place in np.flatnonzero(flags).tolist()
    ]


def _side_words(rule: str, *, above: bool) -> str:
    over, under = {
        "2-of-3": (
            say("2 of 3 more than two sd above the centre"),
            say("2 of 3 more than two sd below the centre"),
        ),
        "4-of-5": (
            say("4 of 5 more than one sd above the centre"),
            say("4 of 5 more than one sd below the centre"),
        ),
        "8-one-side": (
            say("8 in a row above the centre"),
            say("8 in a row below the centre"),
        ),
    }[rule]
    return over if above else under


def _over(z: Points, line: float) -> Flags:
    return np.asarray(z > line * (1.0 + ON_LIMIT))


def _of_last(flags: Flags, need: int, last: int) -> Flags:
    """True where the place itself and at least `need` of the last `last` places are true."""
    total = np.concatenate(([0], np.cumsum(flags)))
    start = np.maximum(np.arange(1, flags.size + 1) - last, 0)
    return np.asarray(flags & (total[1:] - total[start] >= need))


def _run(flags: Flags, length: int) -> Flags:
    return _of_last(flags, length, length)


def _step(points: Points) -> Points:
    """Rise from the point before; 0 at the first and beside a NaN."""
    step = np.zeros_like(points)
    step[1:] = np.diff(points)
    return np.nan_to_num(step, nan=0.0)


def _alternating(_z: Points, points: Points) -> Flags:
    step = _step(points)
    turned = np.zeros(points.size, dtype=bool)
    turned[1:] = step[1:] * step[:-1] < 0.0
    return _run(turned, 12)


_TWO_SIDED: dict[str, Callable[[Points], Flags]] = {
    "2-of-3": lambda z: _of_last(_over(z, 2.0), 2, 3),
    "4-of-5": lambda z: _of_last(_over(z, 1.0), 4, 5),
    "8-one-side": lambda z: _run(np.asarray(z > 0.0), 8),
}
_ONE_FLAG: dict[str, Callable[[Points, Points], Flags]] = {
    "15-within-1": lambda z, _points: _run(np.asarray(np.abs(z) < 1.0), 15),
    "14-alternating": _alternating,
}
