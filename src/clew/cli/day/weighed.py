"""The balls of a run as the ledger has them: weighings in a file, and who drifted by it."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from clew.ledger.events.moments import show_utc
from clew.ledger.store.reading import records_in_time

if TYPE_CHECKING:
    from clew.checks.components.corrections import Correction
    from clew.ledger.store.ledger import Ledger
    from clew.mill.lines import Line
    from clew.mill.model import Mill

COLUMNS = ("time", "lot", "cone", "lane", "winder", "ball", "mass_g", "length_m")


@dataclass(frozen=True, slots=True)
class Weighed:
    """A ball that was weighed.

    Attributes
    ----------
    at_us : int
        When [us].
    lot, cone : str
        Its dye lot; the cone at the feed as its middle passed there, empty where not told.
    lane, winder, ball : int
        Where it was wound, and its number there.
    mass_g : float
        What the scale showed [g].
    length_m : float or None
        Its length where it was reeled [m].
    banded : bool
        Whether it got a band: the others were pulled, or reeled.
    """

    at_us: int
    lot: str
    cone: str
    lane: int
    winder: int
    ball: int
    mass_g: float
    length_m: float | None
    banded: bool


def weighed_balls(
    ledger: Ledger, line: Line, from_us: int, upto_us: int, passage_s: float
) -> tuple[Weighed, ...]:
    """Read the balls that were weighed in a run off the ledger.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    line : Line
        The line.
    from_us, upto_us : int
        From the run's start up to the moment asked for [us].
    passage_s : float
        From creel to winder: which cone a ball is of is told by it [s].

    Returns
    -------
    tuple of Weighed
        In order of time.
    """
    told: dict[tuple[int, int], dict[str, object]] = {}
    doffed: dict[int, list[tuple[int, int]]] = {}
    ties: dict[int, list[tuple[int, str]]] = {}
    kinds = ("weighing", "length check", "banded", "doff", "tie", "cone loaded")
    for one in records_in_time(
        ledger, line.name, from_us=from_us - 1_800_000_000, upto_us=upto_us, kinds=kinds
    ):
        body, ball = one.fields(), one.ball
        if one.kind == "tie":
            ties.setdefault(one.lane, []).append((one.at_us, one.cone))
        elif one.kind == "cone loaded" and one.at_us < from_us and one.lane not in ties:
            ties[one.lane] = [(from_us - 1_800_000_000, one.cone)]
        elif ball is None or one.at_us < from_us:
            continue
        elif one.kind == "doff":
            doffed.setdefault(one.lane, []).append((one.at_us, ball))
        elif one.kind == "weighing":
            told[one.lane, ball] = {"at": one.at_us, "lot": one.lot, "g": body["mass_g"]}
        elif (one.lane, ball) in told:
            told[one.lane, ball][one.kind] = body.get("length_m", True)
    winders = {one.lane: one.number for one in line.winder}
    middles = {lane: _middles(balls, from_us, passage_s) for lane, balls in doffed.items()}
    return tuple(
        Weighed(
            int(str(one["at"])), str(one["lot"]),
            _cone_at(ties.get(lane, []), middles.get(lane, {}).get(ball)), lane, winders[lane],
            ball, float(str(one["g"])),
            float(str(one["length check"])) if "length check" in one else None, "banded" in one,
        )
        for (lane, ball), one in told.items()
    )  # fmt: skip


def _middles(balls: list[tuple[int, int]], from_us: int, passage_s: float) -> dict[int, int]:
    """Say when the middle of each ball passed the feed [us]."""
    found, before_us = {}, from_us
    for at_us, ball in balls:
        found[ball] = (before_us + at_us) // 2 - round(passage_s * 1e6)
        before_us = at_us
    return found


def _cone_at(ties: list[tuple[int, str]], at_us: int | None) -> str:
    place = 0 if at_us is None else bisect_right(ties, (at_us, "\uffff"))
    return ties[place - 1][1] if place else ""


def write_weighed(path: Path, balls: Iterable[Weighed]) -> None:
    """Write weighings as `clew weigh` and `clew lot` read them."""
    from clew.ledger.intake.weighings_writing import write_together

    rows = [
        (
            show_utc(one.at_us), one.lot, one.cone, str(one.lane), str(one.winder),
            f"{one.lane}-{one.ball}", repr(one.mass_g),
            "" if one.length_m is None else repr(one.length_m),
        )
        for one in balls
    ]  # fmt: skip
    write_together([(path, [COLUMNS, *rows])])


def who_runs_off(mill: Mill, ball: str, lot: str, line: str, path: Path) -> list[Correction]:
    """Find the winders to correct, as `clew weigh correct` does with the same file.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball, lot, line : str
        What is wound, of what, where.
    path : Path
        The weighings.

    Returns
    -------
    list of Correction
        Those that are to be made.
    """
    from clew.checks.components.drift_from_mill import drift_terms
    from clew.checks.components.drifted import who_drifted
    from clew.checks.condition import net_mass
    from clew.checks.reel_length import stated_length
    from clew.ledger.intake.weighings import read_weighings

    balls = read_weighings(
        path,
        need=("mass_g", "winder"),
        only=("mass_g", "winder", "lot", "cone", "length_m", "tension_cn"),
    )
    mass_g, _ = net_mass(balls)
    asked = drift_terms(mill, ball, lot, line, balls.factors["winder"].names)
    length_m = None
    if "length_m" in balls.numbers:
        length_m, _, _ = stated_length(balls, asked.reel_terms)
    found = who_drifted(
        balls, mass_g, asked.counts, asked.aim, length_m=length_m, ahead=asked.balls_ahead
    )
    return [one for one in found.corrections if one.make and one.counts]
