"""A day of runs counted off the records: what was made, given away, set anew, packed and sent."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from clew.ball.from_mill import allowance_of, promise_of
from clew.ledger.events.message import MILL_LINE, Record
from clew.ledger.store.reading import records_in_time, records_naming

if TYPE_CHECKING:
    from clew.ledger.store.ledger import Ledger
    from clew.mill.balls import Ball
    from clew.mill.model import Mill

CARRIED = "as found in the run before"
"""Why a run begins with winders that are not set as its card says."""


@dataclass(frozen=True, slots=True)
class Set:
    """A winder that was set anew.

    Attributes
    ----------
    at_us : int
        When [us].
    winder : int
        Which.
    before, counts : float
        What its counter was set to, and is set to from then on.
    why : str
        Why.
    """

    at_us: int
    winder: int
    before: float
    counts: float
    why: str


@dataclass(frozen=True, slots=True)
class RunFigures:
    """One run, as the ledger has it.

    Attributes
    ----------
    run, order, customer, ball, lot : str
        Its name; whose order it is for; what was made of what.
    from_us, upto_us : int
        From its start to its end [us].
    planned_balls : int
        What the order asks for in it.
    doffed, banded, second_quality, rework, reeled : int
        Balls taken off; of them banded, pulled to second quality, part balls wound back, reeled.
    weighed : int
        Banded balls that were weighed.
    declared_g, mean_g : float
        What the band declares, and the mean of those weighed as the scale showed it,
        without band and all else [g].
    given_g, given_money : float
        What those weighed hold above the declaration together [g], and what that yarn cost.
    ties, breaks, seen : int
        Cones tied on; strands that parted and were tied again; joins seen at the winder.
    cones : int
        Cones put up and not taken off as wrong.
    set : tuple of Set
        Winders set anew.
    decision : str
        What was decided on it; empty where nothing was.
    cases : tuple of str
        Its cases.
    cased_balls : int
        Balls in them.
    pallets : tuple of str
        What they stand on.
    delivery : str
        By which delivery they left; empty where they did not.
    """

    run: str
    order: str
    customer: str
    ball: str
    lot: str
    from_us: int
    upto_us: int
    planned_balls: int
    doffed: int
    banded: int
    second_quality: int
    rework: int
    reeled: int
    weighed: int
    declared_g: float
    mean_g: float
    given_g: float
    given_money: float
    ties: int
    breaks: int
    seen: int
    cones: int
    set: tuple[Set, ...]
    decision: str
    cases: tuple[str, ...]
    cased_balls: int
    pallets: tuple[str, ...]
    delivery: str

    @property
    def joins(self) -> int:
        """Joins made in it by the line."""
        return self.ties + self.breaks


@dataclass(frozen=True, slots=True)
class Returned:
    """A ball that came back.

    Attributes
    ----------
    code, lot, customer, why : str
        What its band says, its dye lot, who sent it back, why.
    """

    code: str
    lot: str
    customer: str
    why: str


@dataclass(frozen=True, slots=True)
class DayFigures:
    """A day, as the ledger has it.

    Attributes
    ----------
    line : str
        The line.
    runs : tuple of RunFigures
        In order of time.
    wrong_cones : tuple of (int, str, str)
        Cones of another dye lot that were taken off again: when [us], which, of what.
    stops : tuple of (int, int, str)
        From when to when the whole line stood [us], and why.
    returned : Returned or None
        The ball that came back.
    """

    line: str
    runs: tuple[RunFigures, ...]
    wrong_cones: tuple[tuple[int, str, str], ...]
    stops: tuple[tuple[int, int, str], ...]
    returned: Returned | None


def day_figures(
    ledger: Ledger, mill: Mill, line_name: str, asked: Sequence[tuple[str, str, str, int]]
) -> DayFigures:
    """Count a day off the ledger.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    mill : Mill
        The mill: what bands declare, and what yarn costs.
    line_name : str
        The line.
    asked : sequence of (str, str, str, int)
        What the plan says: run, order, customer, balls.

    Returns
    -------
    DayFigures
        Every figure counted from the records.

    Notes
    -----
    What lies above a declaration is the sum over banded balls of what the scale showed less what
    the band declares, short balls taken off. Where the band declares the mass at the agreed regain,
    the scale's is brought to it from the regain off the dryer first. Source: DERIVED.
    """
    told = list(records_in_time(ledger, line_name))
    plan = {run: (order, customer, balls) for run, order, customer, balls in asked}
    starts = [one for one in told if one.kind == "run start"]
    of_mill = list(records_in_time(ledger, MILL_LINE))
    upto = [one.at_us for one in starts[1:]] + [math.inf]
    runs = []
    for start, next_us in zip(starts, upto, strict=True):
        within = [one for one in told if start.at_us <= one.at_us < next_us]
        before = max((one.at_us for one in starts if one.at_us < start.at_us), default=0)
        loaded = [
            one for one in told if one.kind == "cone loaded"
            and before <= one.at_us < next_us and one.lot == start.lot
        ]  # fmt: skip
        order, customer, balls = plan.get(start.run, ("", "", 0))
        runs.append(_run(ledger, mill, start, within, len(loaded), of_mill, order, customer, balls))
    back = next((one for one in of_mill if one.kind == "returned"), None)
    return DayFigures(
        line_name, tuple(runs), _wrong(told), _stops(told),
        None if back is None else Returned(
            str(back.fields().get("code") or ""), back.lot,
            str(back.fields().get("customer") or ""), str(back.fields().get("why") or ""),
        ),
    )  # fmt: skip


def _run(
    ledger: Ledger,
    mill: Mill,
    start: Record,
    within: list[Record],
    cones: int,
    of_mill: list[Record],
    order: str,
    customer: str,
    balls: int,
) -> RunFigures:
    body = start.fields()
    ball = mill.find_ball(str(body["ball_name"]))
    kinds = Counter(one.kind for one in within)
    pulled = Counter(str(one.fields().get("to")) for one in within if one.kind == "pulled")
    banded = {(one.lane, one.ball) for one in within if one.kind == "banded"}
    masses = [
        _net_g(one, ball)
        for one in within
        if one.kind == "weighing" and (one.lane, one.ball) in banded
    ]
    to_declared = _to_declared(mill, ball)
    given_g = math.fsum(one * to_declared - ball.declared_mass_g for one in masses)
    ended = [one.at_us for one in within if one.kind == "run end" and one.run == start.run]
    cased = [
        one for one in records_naming(ledger, "run", start.run) if one.kind == "case closed"
    ]  # fmt: skip
    cases = tuple(one.package for one in cased)
    pallets = tuple(
        one.package
        for one in of_mill
        if one.kind == "pallet closed" and set(one.fields()["cases"]) & set(cases)
    )
    left = [one for one in of_mill if one.kind == "shipped" and one.package in pallets]
    decided = [one for one in of_mill if one.kind == "lot decision" and one.run == start.run]
    return RunFigures(
        run=start.run, order=order, customer=customer, ball=ball.name, lot=start.lot,
        from_us=start.at_us, upto_us=ended[0] if ended else within[-1].at_us,
        planned_balls=balls, doffed=kinds["doff"], banded=kinds["banded"],
        second_quality=pulled["second-quality"], rework=pulled["rework"],
        reeled=kinds["length check"], weighed=len(masses), declared_g=ball.declared_mass_g,
        mean_g=math.fsum(masses) / len(masses) if masses else 0.0, given_g=given_g,
        given_money=given_g / 1000.0 * mill.prices.yarn_per_kg, ties=kinds["tie"],
        breaks=kinds["retie"], seen=kinds["seen"], cones=cones,
        set=_set(start, within), decision=str(decided[-1].fields()["decision"]) if decided else "",
        cases=cases, cased_balls=sum(int(one.fields()["balls"]) for one in cased),
        pallets=pallets,
        delivery=str(left[0].fields().get("delivery") or "") if left else "",
    )  # fmt: skip


def _net_g(weighing: Record, ball: Ball) -> float:
    """Give what a weighing says of the yarn alone [g]."""
    body = weighing.fields()
    tare_g = (ball.tare_mass_g or 0.0) if body.get("gross") is True else 0.0
    return float(body["mass_g"]) - tare_g


def _to_declared(mill: Mill, ball: Ball) -> float:
    """Factor from what a scale off the line shows to the mass that a band declares [-]."""
    promise = promise_of(ball)
    if not promise.commercial:
        return 1.0
    yarn = mill.find_yarn(ball.yarn)
    allowance_frac = allowance_of(mill.find_blend(yarn.blend))
    return (1.0 + allowance_frac) / (1.0 + yarn.regain_out_frac)


def _set(start: Record, within: list[Record]) -> tuple[Set, ...]:
    counts = {name: float(one) for name, one in start.fields()["counts"].items()}
    found = []
    for one in within:
        if one.kind != "run set" or one.run != start.run:
            continue
        body = one.fields()
        for winder, now in body.get("counts", {}).items():
            found.append(
                Set(one.at_us, int(winder), counts.get(winder, 0.0), float(now),
                    str(body.get("why") or ""))
            )  # fmt: skip
            counts[winder] = float(now)
    return tuple(found)


def _wrong(told: list[Record]) -> tuple[tuple[int, str, str], ...]:
    return tuple(
        (one.at_us, one.cone, one.lot)
        for one in told
        if one.kind == "cone off" and str(one.fields().get("why")).startswith("wrong dye lot")
    )


def _stops(told: list[Record]) -> tuple[tuple[int, int, str], ...]:
    found, begun = [], None
    for one in told:
        if one.kind == "stop" and one.lane == 0:
            begun = one
        elif one.kind == "go on" and one.lane == 0 and begun is not None:
            found.append((begun.at_us, one.at_us, str(begun.fields()["why"])))
            begun = None
    return tuple(found)
