"""How long an X-bar chart with run rules runs before it calls: every rule costs false alarms.

Rules that look at zones are exact: what a rule still remembers of the last points is a state of a
chain. Rules that compare points with each other are simulated, with their standard error.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from clew.checks.charts.run_length_chain import Array, Chain, RunLength, check_between, not_never
from clew.checks.charts.run_length_shewhart import MOST_SHIFT
from clew.faults import BadInput, Fault

BEYOND = {"beyond-3": (1, 1, 3), "2-of-3": (2, 3, 2), "4-of-5": (4, 5, 1), "8-one-side": (8, 8, 0)}
"""Rules of the kind: so many of so many points beyond so many sd on the same side."""

WITHIN = {"15-within-1": 15}
"""Rules of the kind: so many points in a row within one sd of the centre."""

COMPARED = {"6-rising": 6, "14-alternating": 14}
"""Rules that compare a point with the one before: six that rise (or fall), fourteen that go up and
down in turn."""

RULES = (*BEYOND, *WITHIN, *COMPARED)

RUNS = 20_000
SEED = 1924
_ZONES = 8
"""Zone 0 is below -3 sd, zone 7 above +3 sd; the centre lies between 3 and 4."""

States = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Simulated:
    """An average run length found by drawing points.

    Attributes
    ----------
    arl : float
        Mean of the runs drawn.
    standard_error : float
        Its standard error; 0 where it is exact.
    runs : int
        How many were drawn; 0 where it is exact.
    seed : int
        With which seed.
    """

    arl: float
    standard_error: float
    runs: int
    seed: int


def rules_run_length(rules: Sequence[str], shift: float = 0.0, *, scale: float = 1.0) -> float:
    """Average run length of an X-bar chart with run rules.

    Parameters
    ----------
    rules : sequence of str
        Names out of `RULES`.
    shift : float
        Shift of the mean from the first point on, in sd of a plotted point [1].
    scale : float
        Stretches the zones: 1 for limits of 3 sd, 1.1 for 3.3, 0.5 to 2.5 [1].

    Returns
    -------
    float
        Points to the call, on average: exact, or simulated with the house seed when a rule compares
        points (see `rules_simulated` for its standard error).

    Raises
    ------
    BadInput
        When a rule is unknown, none is named, or a value is out of range.

    Notes
    -----
    Source: C. W. Champ & W. H. Woodall, Technometrics 29 (1987) 393-399: run rules as a Markov
    chain. States here are found by walking from the empty history, not taken from the paper.
    """
    if is_exact(rules):
        return rules_exact(rules, shift, scale=scale).arl
    return rules_simulated(rules, shift, scale=scale).arl


def is_exact(rules: Sequence[str]) -> bool:
    """Whether every rule looks at zones only, so that the run length is exact."""
    return not set(_checked(rules)) & set(COMPARED)


def rules_exact(rules: Sequence[str], shift: float = 0.0, *, scale: float = 1.0) -> RunLength:
    """The same as `rules_run_length`, for rules of zones only, as a `RunLength`."""
    return RunLength(not_never(rules_chain(rules, shift, scale=scale).arl()))


def rules_chain(rules: Sequence[str], shift: float = 0.0, *, scale: float = 1.0) -> Chain:
    """An X-bar chart with rules of zones as an exact chain.

    Parameters
    ----------
    rules : sequence of str
        Names out of `BEYOND` and `WITHIN`.
    shift : float
        Shift of the mean, in sd of a plotted point [1].
    scale : float
        Stretches the zones [1].

    Returns
    -------
    Chain
        State 0 is the empty history.

    Raises
    ------
    BadInput
        When a rule compares points, is unknown, or a value is out of range.
    """
    named = _checked(rules)
    if compared := sorted(set(named) & set(COMPARED)):
        fault = Fault("no exact chain", "rules of zones only", key="rules", value=compared[0])
        raise BadInput(fault)
    table = _transitions(named)
    chance = _zone_chances(shift, scale)
    states = table.shape[0]
    quiet = np.zeros((states, states))
    for zone in range(_ZONES):
        stays = np.nonzero(table[:, zone] >= 0)[0]
        quiet[stays, table[stays, zone]] += chance[zone]
    return Chain(quiet, quiet[0].copy())


def _checked(rules: Sequence[str]) -> tuple[str, ...]:
    named = (rules,) if isinstance(rules, str) else tuple(rules)
    if not named:
        raise BadInput(Fault("no rule", f"some of {', '.join(RULES)}", key="rules"))
    for name in named:
        if name not in RULES:
            fault = Fault("unknown rule", f"one of {', '.join(RULES)}", key="rules", value=name)
            raise BadInput(fault)
    return tuple(sorted(set(named)))


def _zone_chances(shift: float, scale: float) -> Array:
    check_between("shift", shift, -MOST_SHIFT, MOST_SHIFT, "a shift in sd of a plotted point")
    check_between("scale", scale, 0.5, 2.5, "a stretch of the zones")
    edges = scale * np.array([-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0]) - shift
    # each zone from the nearer tail, so that a far zone keeps its digits
    below = np.concatenate([[0.0], ndtr(edges), [1.0]])
    above = np.concatenate([[1.0], ndtr(-edges), [0.0]])
    return np.asarray(np.where(below[1:] < 0.5, np.diff(below), -np.diff(above)))


@lru_cache(maxsize=128)
def _transitions(rules: tuple[str, ...]) -> States:
    """Next state by state and zone, -1 where a rule calls; states found from the empty history."""
    beyond = [BEYOND[name] for name in rules if name in BEYOND]
    within = [WITHIN[name] for name in rules if name in WITHIN]
    empty = ((0,) * (2 * len(beyond)), (0,) * len(within))
    places = {empty: 0}
    waiting = [empty]
    rows: list[list[int]] = []
    while len(rows) < len(waiting):
        state = waiting[len(rows)]
        row = []
        for zone in range(_ZONES):
            after = _after(state, zone, beyond, within)
            if after is not None and after not in places:
                places[after] = len(waiting)
                waiting.append(after)
            row.append(-1 if after is None else places[after])
        rows.append(row)
    return np.array(rows, dtype=np.int64)


_State = tuple[tuple[int, ...], tuple[int, ...]]


def _after(
    state: _State, zone: int, beyond: list[tuple[int, int, int]], within: list[int]
) -> _State | None:
    histories, streaks = state
    new = []
    for place, (need, of, sd) in enumerate(beyond):
        for side in (0, 1):
            hit = zone >= 4 + sd if side else zone <= 3 - sd
            history = (histories[2 * place + side] << 1 | hit) & ((1 << of) - 1)
            if history.bit_count() >= need:
                return None
            new.append(_still_matters(history, need, of))
    held = []
    for streak, need in zip(streaks, within, strict=True):
        longer = streak + 1 if zone in (3, 4) else 0
        if longer >= need:
            return None
        held.append(longer)
    return tuple(new), tuple(held)


def _still_matters(history: int, need: int, of: int) -> int:
    """Forget old points that can no longer help: of, say, 4 of 5 after two points not beyond."""
    kept = history & ((1 << (of - 1)) - 1)
    for age in range(of - 1, 0, -1):
        bit = 1 << (age - 1)
        # with this point the window has of - age points to come: all of them beyond at best
        if kept & bit and (kept & (2 * bit - 1)).bit_count() + of - age < need:
            kept &= ~bit
    return kept


@lru_cache(maxsize=256)
def _simulated(rules: tuple[str, ...], shift: float, scale: float, runs: int, seed: int) -> Array:
    random = np.random.default_rng(seed)
    zoned = tuple(name for name in rules if name not in COMPARED)
    table = _transitions(zoned)
    edges = scale * np.array([-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0])
    lengths = np.zeros(runs)
    who = np.arange(runs)
    state = np.zeros(runs, dtype=np.int64)
    last = np.full(runs, np.nan)
    direction = np.zeros(runs, dtype=np.int64)
    same = np.ones(runs, dtype=np.int64)  # points that rise (or fall) without a break
    turns = np.ones(runs, dtype=np.int64)  # points that go up and down in turn
    points = 0
    while who.size:
        points += 1
        value = random.standard_normal(who.size) + shift
        state = table[state, np.searchsorted(edges, value)]
        now = np.where(value > last, 1, np.where(value < last, -1, 0))
        same = np.where(now == 0, 1, np.where(now == direction, same + 1, 2))
        turns = np.where(now == 0, 1, np.where(now == -direction, turns + 1, 2))
        calls = state < 0
        if "6-rising" in rules:
            calls |= same >= COMPARED["6-rising"]
        if "14-alternating" in rules:
            calls |= turns >= COMPARED["14-alternating"]
        lengths[who[calls]] = points
        quiet = ~calls
        who, state, last, direction = who[quiet], state[quiet], value[quiet], now[quiet]
        same, turns = same[quiet], turns[quiet]
    return lengths


def rules_simulated(
    rules: Sequence[str],
    shift: float = 0.0,
    *,
    scale: float = 1.0,
    runs: int = RUNS,
    seed: int = SEED,
) -> Simulated:
    """Average run length with any rules, by drawing points.

    Parameters
    ----------
    rules : sequence of str
        Names out of `RULES`.
    shift : float
        Shift of the mean, in sd of a plotted point [1].
    scale : float
        Stretches the zones [1].
    runs : int
        Runs to draw, 100 to a million.
    seed : int
        Seed of the random numbers.

    Returns
    -------
    Simulated
        Mean and standard error.

    Raises
    ------
    BadInput
        When a value is out of range, or the zones alone would run past 20 000 points.
    """
    named = _checked(rules)
    check_between("runs", runs, 100, 1_000_000, "runs")
    _zone_chances(shift, scale)
    zoned = [name for name in named if name not in COMPARED]
    if len(zoned) == len(named) and rules_run_length(zoned, shift, scale=scale) > 20_000.0:
        raise BadInput(Fault("too long a run to draw", "the exact chain", key="rules"))
    lengths = _simulated(named, float(shift), float(scale), int(runs), seed)
    error = float(lengths.std(ddof=1)) / math.sqrt(runs)
    return Simulated(float(lengths.mean()), error, int(runs), seed)
