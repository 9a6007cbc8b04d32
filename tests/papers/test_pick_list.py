"""The pick list: loads by what one person lifts, in tie order, with what comes back."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from io import BytesIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from clew.mill.model import Mill
from clew.papers.pick_list_content import PickListContent, loads_of, pick_list_content
from clew.papers.printing import pdf_of
from clew.plan.runs import PlannedRun
from clew.plan.sequence.from_mill import PresentRun
from clew.plan.shift.from_present import timed_from_present
from clew.plan.shift.shift_plan import shift_plan
from clew.plan.shift.terms import ConeCall, Moment, ShiftPlan

SHIFT_FROM = datetime(2026, 11, 26, 6, tzinfo=UTC)


def planned(mill: Mill) -> ShiftPlan:
    runs = [
        PlannedRun("1041", "1041", "Customer 12", "Querl 100", "Querl", "Sloe", "SL-207", 1200,
                   1230.0, 90, date(2026, 12, 4), 1.0, ("Line 1",)),
        PlannedRun("1045", "1045", "Customer 30", "Dunnow 50", "Dunnow", "Slate", "SA-340", 3000,
                   3100.0, 80, date(2026, 12, 4), 1.0, ("Line 1",)),
    ]  # fmt: skip
    present = [
        PresentRun("1041", "Line 1", 1, SHIFT_FROM + timedelta(minutes=40)),
        PresentRun("1045", "Line 1", 2, SHIFT_FROM + timedelta(hours=5)),
    ]
    timed = timed_from_present(mill, runs, present)
    return shift_plan(
        mill, timed, shift_from=SHIFT_FROM, shift_upto=SHIFT_FROM + timedelta(hours=8),
        replications=40,
    )  # fmt: skip


@pytest.fixture(scope="module")
def plan(demo_mill: Mill) -> ShiftPlan:
    return planned(demo_mill)


@pytest.fixture(scope="module")
def arranged(plan: ShiftPlan, demo_mill: Mill) -> PickListContent:
    return pick_list_content(plan, demo_mill)


def read(raw: bytes) -> str:
    text = "\n".join(one.extract_text() for one in PdfReader(BytesIO(raw)).pages)
    return " ".join(text.split())


def test_loads_hold_every_cone_in_its_order(arranged: PickListContent, plan: ShiftPlan) -> None:
    for lot, run in zip(arranged.lots, plan.lines[0].runs, strict=True):
        labels = [label for load in lot.loads for label in load.cones]
        assert labels == [f"{one.lane}-{one.place}" for one in run.cones.calls]
        assert len(lot.spare) == run.cones.spare
    first = arranged.lots[0]
    assert first.title == "Lot SL-207: Querl in Sloe, Line 1, run 1041"
    # 12 kg at most, 1.6 kg a cone: 7 in a load; 24 fill the creel.
    assert [len(load.cones) for load in first.loads[:5]] == [7, 7, 7, 3, 7]
    assert {load.lot for load in first.loads} == {"SL-207"}
    assert first.loads[0].mass == "11.2 kg"
    assert first.loads[0].by == "06:00"
    assert first.loads[0].cones == ("1-1", "1-2", "1-3", "1-4", "2-1", "2-2", "2-3")
    assert "begun cones" in first.back
    assert "spare cones" in first.back
    assert arranged.lots[1].back == ""


def test_the_paper_has_a_line_a_load_and_says_what_comes_back(
    arranged: PickListContent, made: datetime
) -> None:
    raw = pdf_of(arranged, made=made)
    assert raw == pdf_of(arranged, made=made)
    text = read(raw)
    for words in (
        arranged.headline, "One person lifts at most 7 cones of Querl", "Lane stands at",
        "Spare, tie only if short:", "Comes back when the run ends", "Fetched by", "6-4",
        "after it", "page 1 of",
    ):  # fmt: skip
        assert words in text, words
    assert len(PdfReader(BytesIO(raw)).pages) <= 2


def test_without_a_stated_lift_a_load_is_a_lanes_creel(demo_mill: Mill, made: datetime) -> None:
    safety = demo_mill.safety.model_copy(update={"heaviest_lift_g": None})
    mill = demo_mill.model_copy(update={"safety": safety})
    arranged = pick_list_content(planned(mill), mill)
    assert {len(load.cones) for load in arranged.lots[0].loads[:6]} == {4}
    assert "states no heaviest lift" in read(pdf_of(arranged, made=made))


def test_a_cone_too_heavy_for_one_is_a_load_of_its_own(demo_mill: Mill) -> None:
    safety = demo_mill.safety.model_copy(update={"heaviest_lift_g": 1000.0})
    mill = demo_mill.model_copy(update={"safety": safety})
    arranged = pick_list_content(planned(mill), mill, units="yard")
    assert {len(load.cones) for load in arranged.lots[0].loads} == {1}
    assert "two people" in arranged.lifting
    assert arranged.lots[0].loads[0].mass.endswith(" lb")


def test_nothing_to_fetch_is_said(demo_mill: Mill, made: datetime) -> None:
    empty = shift_plan(
        demo_mill, [], shift_from=SHIFT_FROM, shift_upto=SHIFT_FROM + timedelta(hours=8)
    )
    text = read(pdf_of(pick_list_content(empty, demo_mill), made=made))
    assert "no cones to fetch" in text


@given(first=st.integers(0, 40), after=st.integers(0, 40), most=st.integers(1, 12))
def test_a_load_is_never_too_heavy_and_never_mixes_first_fill(
    first: int, after: int, most: int
) -> None:
    now = Moment(SHIFT_FROM, SHIFT_FROM, SHIFT_FROM)
    calls = [
        ConeCall(number, 1, 1, 1, number <= first, now, SHIFT_FROM)
        for number in range(1, first + after + 1)
    ]
    loads = loads_of(calls, most)
    assert [one for load in loads for one in load] == calls
    for load in loads:
        assert 1 <= len(load) <= most
        assert len({one.first_fill for one in load}) == 1
    assert len(loads) == -(-first // most) + -(-after // most)
