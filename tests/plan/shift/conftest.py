"""A small plan on the demo mill: three runs on its one line, timed by hand."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from clew.mill.model import Mill
from clew.plan.pace import pace_of
from clew.plan.runs import PlannedRun
from clew.plan.sequence.timed_run import Change, TimedRun
from clew.plan.shift.hours import LineHours

ZONE = ZoneInfo("Europe/London")
SHIFT_FROM = datetime(2026, 11, 26, 6, tzinfo=ZONE)
Make = Callable[..., TimedRun]


def change(kind: str = "colour", stand_s: float = 600.0, **other: float) -> Change:
    """A change of a plan."""
    values = {"clean_s": 300.0, "de00": 30.0, "lightness_rise": 10.0, "strand_m": 400.0,
              "waste_kg": 0.16, "second_balls": 12.0, **other}  # fmt: skip
    return Change(kind=kind, stand_s=stand_s, parts=(), **values)  # type: ignore[arg-type]


@pytest.fixture(scope="session")
def make_run(demo_mill: Mill) -> Make:
    """Time a run of the demo mill at its own pace."""

    def make(
        name: str, ball: str, lot: str, balls: int, start: datetime, *,
        cones: int = 200, due: date = date(2026, 12, 4), kind: str = "colour",
        stand_s: float = 600.0, line: str = "Line 1", lines: tuple[str, ...] = ("Line 1",),
        mill: Mill | None = None,
    ) -> TimedRun:  # fmt: skip
        colour, dye_lot = demo_mill.find_dye_lot(lot)
        run = PlannedRun(
            name, name, "Customer 1", ball, dye_lot.yarn, colour.name, lot, balls, 1.02 * balls,
            cones, due, 1.0, lines,
        )  # fmt: skip
        pace = pace_of(mill or demo_mill, line, ball, lot)
        hours = LineHours(mill or demo_mill, line, start)
        end = hours.after(start, pace.run_s(run.wound_balls))
        return TimedRun(
            run, line, change(kind, stand_s), start - timedelta(seconds=stand_s), start, end, end,
            end, 0.0,
        )  # fmt: skip

    return make


@pytest.fixture(scope="session")
def three_runs(make_run: Make) -> tuple[TimedRun, ...]:
    """Two runs that end in the shift, and one that goes on."""
    first = make_run("1041", "Querl 100", "SL-207", 1200, SHIFT_FROM, kind="yarn", stand_s=0.0)
    second = make_run("1042", "Querl 200", "OA-023", 400, first.end + timedelta(minutes=30),
                      kind="ball", stand_s=1800.0)  # fmt: skip
    third = make_run("1045", "Dunnow 50", "SA-340", 1500, second.end + timedelta(minutes=40),
                     kind="yarn", stand_s=2400.0, due=date(2026, 11, 26))  # fmt: skip
    return first, second, third
