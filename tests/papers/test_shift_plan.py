"""The shift plan on paper: words first, every run, what to do, cautions, the same bytes again."""

from __future__ import annotations

import dataclasses
from datetime import UTC, date, datetime, timedelta
from io import BytesIO

import pytest
from pypdf import PdfReader

from clew.faults import BadInput
from clew.mill.model import Mill
from clew.papers.cautions import DEFERRAL, cautions
from clew.papers.printing import pdf_of
from clew.papers.shift_plan_content import ShiftPlanContent, shift_plan_content
from clew.plan.runs import PlannedRun
from clew.plan.sequence.from_mill import PresentRun
from clew.plan.shift.from_present import timed_from_present
from clew.plan.shift.shift_plan import shift_plan
from clew.plan.shift.terms import ShiftPlan

SHIFT_FROM = datetime(2026, 11, 26, 6, tzinfo=UTC)
HOSTILE = "#eval(1) *Tarn* & $x$"


@pytest.fixture(scope="module")
def plan(demo_mill: Mill) -> ShiftPlan:
    runs = [
        PlannedRun("1041", "1041", HOSTILE, "Querl 100", "Querl", "Sloe", "SL-207", 1200, 1230.0,
                   84, date(2026, 12, 4), 1.0, ("Line 1",)),
        PlannedRun("1045", "1045", "Customer 30", "Dunnow 50", "Dunnow", "Slate", "SA-340", 3000,
                   3100.0, 80, date(2026, 11, 26), 1.0, ("Line 1",)),
    ]  # fmt: skip
    present = [
        PresentRun("1041", "Line 1", 1, SHIFT_FROM + timedelta(minutes=40)),
        PresentRun("1045", "Line 1", 2, SHIFT_FROM + timedelta(hours=5)),
    ]
    timed = timed_from_present(demo_mill, runs, present)
    return shift_plan(
        demo_mill, timed, shift_from=SHIFT_FROM, shift_upto=SHIFT_FROM + timedelta(hours=8),
        replications=40,
    )  # fmt: skip


@pytest.fixture(scope="module")
def arranged(plan: ShiftPlan, demo_mill: Mill) -> ShiftPlanContent:
    return shift_plan_content(plan, demo_mill)


def read(raw: bytes) -> str:
    text = "\n".join(one.extract_text() for one in PdfReader(BytesIO(raw)).pages)
    return " ".join(text.split())


def test_everything_the_lead_needs_is_on_it(
    arranged: ShiftPlanContent, plan: ShiftPlan, made: datetime
) -> None:
    raw = pdf_of(arranged, made=made)
    text = read(raw)
    first, second = plan.lines[0].runs
    assert second.change is not None
    for words in (
        arranged.headline, HOSTILE, "Querl 100 in Sloe", "SA-340", "If a lane is down.",
        "winder 6 386", "Crew.", "hand 2", "Change, 06:00 to 06:40.", "Lead of this shift",
        "95 of 100", DEFERRAL[:60], "2026-11-25 07:46", f"{first.end.at:%H:%M}",
        *(step[:40] for step in second.change.steps),
    ):  # fmt: skip
        assert words in text, words
    assert len(PdfReader(BytesIO(raw)).pages) <= 2
    assert f"page 1 of {len(PdfReader(BytesIO(raw)).pages)}" in text


def test_cautions_are_those_of_every_card_once(arranged: ShiftPlanContent, demo_mill: Mill) -> None:
    assert arranged.cautions == cautions(demo_mill.safety, demo_mill.line[0], "metric")


def test_the_same_content_and_time_give_the_same_bytes(
    arranged: ShiftPlanContent, made: datetime
) -> None:
    raw = pdf_of(arranged, made=made)
    assert raw == pdf_of(arranged, made=made)
    assert raw != pdf_of(arranged, made=made + timedelta(seconds=1))
    assert b"pdfuaid" in raw or "/StructTreeRoot" in PdfReader(BytesIO(raw)).trailer["/Root"]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_both_sizes_and_both_systems(
    plan: ShiftPlan, demo_mill: Mill, made: datetime, paper: str
) -> None:
    arranged = shift_plan_content(plan, demo_mill, units="yard", paper=paper)  # type: ignore[arg-type]
    raw = pdf_of(arranged, made=made)
    page = PdfReader(BytesIO(raw)).pages[0]
    assert round(float(page.mediabox.width)) == {"A4": 595, "Letter": 612}[paper]
    assert " lb each)" in read(raw)


def test_many_runs_go_over_pages(arranged: ShiftPlanContent, made: datetime) -> None:
    line = arranged.lines[0]
    runs = tuple(
        dataclasses.replace(
            line.runs[1], name=f"R{place}", row=(f"R{place}", *line.runs[1].row[1:])
        )
        for place in range(30)
    )
    long = dataclasses.replace(arranged, lines=(dataclasses.replace(line, runs=runs),))
    raw = pdf_of(long, made=made)
    assert len(PdfReader(BytesIO(raw)).pages) > 2
    text = read(raw)
    assert all(f"R{place}" in text for place in range(30))


def test_a_time_without_a_zone_is_refused(arranged: ShiftPlanContent) -> None:
    with pytest.raises(BadInput):
        pdf_of(arranged, made=datetime(2026, 11, 25))


def test_a_shift_with_nothing_planned_still_prints(demo_mill: Mill, made: datetime) -> None:
    empty = shift_plan(
        demo_mill, [], shift_from=SHIFT_FROM, shift_upto=SHIFT_FROM + timedelta(hours=8)
    )
    text = read(pdf_of(shift_plan_content(empty, demo_mill), made=made))
    assert "no run touches this shift" in text
