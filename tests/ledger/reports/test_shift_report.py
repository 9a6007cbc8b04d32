"""A shift added up, against a naive second by second count and by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.ledger.events.moments import read_moment
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.reports.of_ledger import report_of_shift, shift_named
from clew.ledger.reports.shift_report import shift_report
from clew.ledger.state.answer import Shift
from clew.ledger.state.known import Effective
from clew.ledger.store.ledger import Ledger
from clew.mill.model import Mill
from clew.papers.shift_report import headline

S = 1_000_000
SHIFT = Shift("2026-11-25 06:00", 1000 * S, 2000 * S)


def event(at_s: float, kind: str, lane: int = 0, **said: Any) -> Effective:
    names = {name: said.pop(name, "") for name in ("author", "run", "lot", "package")}
    flags = said.pop("flags", ())
    corrected = said.pop("corrected", False)
    return Effective(
        "Line 1", int(at_s * 7), int(at_s * S), kind, "tablet", f"{kind}{at_s}{lane}",
        names["author"], lane, None, names["run"], "", names["lot"], names["package"], "",
        said, flags, corrected,
    )  # fmt: skip


def test_a_shift_by_hand() -> None:
    events = [
        event(500, "run start", run="R1", lot="SL-207", ball_name="Querl 100"),
        event(900, "stop", why="meal"),
        event(1000, "doff", 1),
        event(1060, "go on"),
        event(1100, "run set", run="R1"),
        event(1200, "doff", 1),
        event(1210, "pulled", 1, why="too light"),
        event(1220, "weighing", 1, mass_g=101.0, author="Ina"),
        event(1230, "weighing", 1, mass_g=103.0),
        event(1240, "weighing", 1, mass_g=0.1, flags=("mass_g out of range",)),
        event(1300, "retie", 2, parted_at="feed"),
        event(1310, "retie", 2, parted_at="winder"),
        event(1320, "retie", 2),
        event(1330, "tie", 2, corrected=True),
        event(1400, "run end", run="R1"),
        event(1500, "run start", run="R2", lot="OA-023", ball_name="Querl 200", trial=True),
        event(1900, "stop", 2, why="wrap"),
        event(1950, "case closed", package="K1", lot="OA-023", balls=80),
        event(1960, "rework", mass_g=250.0),
        event(1970, "handover", note="mind winder 2", to="Bo", author="Ina"),
        event(2000, "doff", 1),
    ]  # fmt: skip
    found = shift_report("Line 1", 2, SHIFT, 9000 * S, events)
    assert (found.doffed, found.pulled) == (2, 1)
    first, second = found.runs
    assert (first.run, first.from_us, first.upto_us, first.goes_on, first.changes) == (
        "R1", 1000 * S, 1400 * S, False, 1,
    )  # fmt: skip
    assert (second.run, second.trial, second.goes_on, second.upto_us) == (
        "R2",
        True,
        True,
        2000 * S,
    )
    one, two = found.lanes
    (hundred,) = one.weighed
    assert (hundred.ball_name, hundred.weighed, hundred.mean_g) == ("Querl 100", 2, 102.0)
    assert hundred.sd_g == pytest.approx(math.sqrt(2.0))
    assert one.stood_s == 60.0
    assert (two.breaks_feed, two.breaks_winder, two.breaks_elsewhere, two.ties) == (1, 1, 1, 1)
    assert two.stood_s == 160.0  # a minute of the line's, a hundred seconds of its own
    assert [(stand.lane, stand.lasted_s, stand.goes_on) for stand in found.stands] == [
        (0, 60.0, False), (2, 100.0, True),
    ]  # fmt: skip
    assert found.pulled_why == (("too light", 1),)
    assert found.cases == (("K1", 80),)
    assert found.rework_g == 250.0
    assert found.hands == ("Ina",)
    assert found.handovers[0].note == "mind winder 2"
    assert found.odd == (("mass_g out of range", 1),)
    assert found.corrected == 1


def test_balls_of_two_kinds_have_no_common_mean() -> None:
    events = [
        event(1000, "run start", run="R1", lot="SL-207", ball_name="Querl 100"),
        event(1100, "weighing", 1, mass_g=101.0),
        event(1200, "run start", run="R2", lot="SL-207", ball_name="Querl 200"),
        event(1300, "weighing", 1, mass_g=202.0),
        event(1400, "weighing", 1, mass_g=103.0, run="R1"),  # weighed late
    ]
    (lane,) = shift_report("Line 1", 1, SHIFT, 9000 * S, events).lanes
    assert [(one.ball_name, one.weighed, one.mean_g, one.sd_g) for one in lane.weighed] == [
        ("Querl 100", 2, 102.0, math.sqrt(2.0)), ("Querl 200", 1, 202.0, None),
    ]  # fmt: skip


def test_a_shift_that_has_only_begun_ends_now() -> None:
    events = [event(1000, "stop", why="cleaning"), event(1900, "doff", 1)]
    found = shift_report("Line 1", 1, SHIFT, 1300 * S, events)
    assert found.upto_us == 1300 * S
    assert found.lanes[0].stood_s == 300.0
    assert found.doffed == 0


@given(st.lists(st.tuples(st.integers(900, 2100), st.integers(0, 2), st.booleans()), max_size=25))
def test_time_stood_is_what_a_clock_beside_the_line_counts(
    switches: list[tuple[int, int, bool]],
) -> None:
    switches = sorted({(at, lane): (at, lane, on) for at, lane, on in switches}.values())
    events = [event(at, "go on" if on else "stop", lane, why="x") for at, lane, on in switches]
    found = shift_report("Line 1", 2, SHIFT, 9000 * S, events)
    for lane in (1, 2):
        stood, line, counted = False, False, 0
        told = {(at, of): on for at, of, on in switches}
        for second in range(900, 2000):
            line = not told.get((second, 0), not line)
            stood = not told.get((second, lane), not stood)
            counted += second >= 1000 and (line or stood)
        assert found.lanes[lane - 1].stood_s == counted


def test_of_a_ledger_corrections_made_later_count(ledger: Ledger, demo_mill: Mill) -> None:
    sender = Sender("tablet", "Ina", "Line 1")

    def keep(at: str, key: str, kind: str, **said: Any) -> None:
        found = {"kind": kind, "at": at, "key": key, **said}
        ledger.append([read_message(found, sender)])

    keep("2026-11-24T07:00:00Z", "a", "run start", run="R", lot="SL-207", ball_name="Querl 100")
    keep("2026-11-25T07:00:00Z", "b", "doff", lane=1)
    keep("2026-11-25T08:00:00Z", "c", "doff", lane=1)
    keep("2026-11-25T15:00:00Z", "d", "correction", of_seq=3, void=True, why="pressed twice")
    shift = shift_named("2026-11-25 06:00", demo_mill, 0)
    assert shift.name == "2026-11-25 06:00"
    found = report_of_shift(ledger, demo_mill, "Line 1", shift)
    assert found.report.doffed == 1
    assert found.report.runs[0].run == "R"
    assert found.head_seq == 4
    assert len(found.head_hash) == 32


def test_a_clock_that_was_ahead_counts_only_once_its_moment_is_corrected(
    ledger: Ledger, demo_mill: Mill
) -> None:
    told = [
        ("2026-11-25T08:00:00Z", "a", {"kind": "doff", "lane": 1}),
        ("2026-11-25T09:30:00Z", "b", {"kind": "doff", "lane": 1}),  # its clock is an hour ahead
        ("2026-11-26T08:20:00Z", "c", {"kind": "doff", "lane": 2}),  # and that one's a day
    ]
    ledger.clock = lambda: read_moment("2026-11-25T08:30:00Z").at_us
    sender = Sender("winder", "", "Line 1")
    for at, key, said in told:
        ledger.append([read_message({"at": at, "key": key, **said}, sender)])
    ledger.clock = lambda: read_moment("2026-11-25T13:00:00Z").at_us
    shift = shift_named("2026-11-25 06:00", demo_mill, 0)
    found = report_of_shift(ledger, demo_mill, "Line 1", shift).report
    assert (found.doffed, found.events) == (1, 1)
    assert found.odd == (("ahead of our clock", 1),)
    for of_seq, at in ((2, "08:31"), (3, "08:20")):
        said = {"kind": "correction", "of_seq": of_seq, "why": "clock", "key": f"k{of_seq}",
                "at": "2026-11-25T12:00:00Z",
                "change": f'{{"at": "2026-11-25T{at}:00Z"}}'}  # fmt: skip
        ledger.append([read_message(said, Sender("tablet", "Ina", "Line 1"))])
    found = report_of_shift(ledger, demo_mill, "Line 1", shift).report
    assert [one.doffed for one in found.lanes[:2]] == [2, 1]
    assert found.odd == () and found.corrected == 2


def test_balls_of_a_trial_are_counted_apart() -> None:
    events = [
        event(900, "run start", run="R1", lot="SL-207", ball_name="Querl 100", trial=True),
        event(950, "doff", 1), event(1100, "doff", 1), event(1150, "run end", run="R0"),
        event(1200, "doff", 2), event(1300, "run end", run="R1"), event(1400, "doff", 1),
        event(1500, "run start", run="R2", lot="SL-207", ball_name="Querl 100"),
        event(1600, "doff", 1), event(1700, "run end", run="R1"), event(1750, "run set", run="R1"),
    ]  # fmt: skip
    found = shift_report("Line 1", 2, SHIFT, 9000 * S, events)
    assert (found.doffed, found.of_trials) == (4, 2)
    # an end that is told late, of a run that is over, ends no other one
    assert [(one.run, one.upto_us, one.goes_on) for one in found.runs] == [
        ("R1", 1300 * S, False), ("R2", 2000 * S, True),
    ]  # fmt: skip
    assert [one.changes for one in found.runs] == [0, 0]
    assert "4 balls taken off (2 in a trial run, not for sale), 0 pulled" in headline(found)


def test_a_tie_told_by_the_hand_and_by_the_feed_is_counted_once() -> None:
    events = [replace(event(1000 + at, "tie", 1), cone=cone)
              for at, cone in ((1, "A"), (9, "A"), (50, "B"), (90, ""), (95, ""))]  # fmt: skip
    assert shift_report("Line 1", 1, SHIFT, 9000 * S, events).lanes[0].ties == 4
