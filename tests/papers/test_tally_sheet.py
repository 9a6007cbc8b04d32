"""The tally sheet: every box and row is there, on as many sides as it takes, with its number."""

from __future__ import annotations

from datetime import UTC, date, datetime
from io import BytesIO

import pytest
from pypdf import PdfReader

from clew.faults import BadInput
from clew.ledger.ingest.paper import read_sheet, sheet_of
from clew.papers.paper_data import Paper
from clew.papers.printing import pdf_of
from clew.papers.tally_sheet_content import LOG_ROWS, TallyContent, tally_content

MADE = datetime(2025, 11, 25, 5, 40, tzinfo=UTC)
STARTS = ("06:00", "14:00", "22:00")


def content(
    lanes: int = 6,
    *,
    shift: int = 0,
    sheets: int = 1,
    starts: tuple[str, ...] = STARTS,
    paper: Paper = "A4",
) -> TallyContent:
    numbered = [sheet_of(date(2025, 11, 25), 0, shift, one) for one in range(1, sheets + 1)]
    return tally_content(
        "Test Mill", "Line 1", range(1, lanes + 1), numbered, starts, paper=paper
    )  # fmt: skip


def pages(of: TallyContent) -> list[str]:
    pdf = pdf_of(of, made=MADE)
    return [page.extract_text() for page in PdfReader(BytesIO(pdf)).pages]


def test_a_shift_is_parted_into_its_hours() -> None:
    assert content().hours[0] == ("A", "06:00")
    assert content().hours[-1] == ("H", "13:00")
    night = content(shift=2)
    assert night.shift == "22:00 to 06:00"
    assert [hour for _, hour in night.hours] == [
        "22:00", "23:00", "00:00", "01:00", "02:00", "03:00", "04:00", "05:00",
    ]  # fmt: skip
    assert len(content(starts=("06:30",)).hours) == 24
    odd = content(starts=("06:15", "13:45"))
    assert [hour for _, hour in odd.hours][-1] == "13:15"
    assert len(odd.hours) == 8


def test_every_sheet_has_its_number_on_every_side() -> None:
    found = pages(content(sheets=3))
    assert len(found) == 6
    for place, text in enumerate(found):
        code = f"T-251125-{place // 2 + 1}"
        assert code in text
        assert read_sheet(code).day == date(2025, 11, 25)
        assert "Line 1" in text
        assert "06:00 to 14:00" in text


def test_lanes_go_on_to_more_sides() -> None:
    assert content(6).lanes == (("1", "2", "3", "4", "5", "6"),)
    assert [len(side) for side in content(7).lanes] == [4, 3]
    found = pages(content(14))
    assert len(found) == 4
    shown = [int(word) for text in found[:3] for word in _after(text, "Lane")]
    assert shown == list(range(1, 15))


def _after(text: str, word: str) -> list[str]:
    words = text.split()
    return [words[place + 1] for place, one in enumerate(words[:-1]) if one == word]


def test_the_boxes_and_the_rows_are_there() -> None:
    boxes, rows = pages(content())
    for word in ("tied", "break", "doff", "pulled"):
        assert boxes.split().count(word) == 6
    assert boxes.count("minute") == 18 + 1
    for head in ("Cone", "Dye lot", "Who", "Reason, or what was seen", "Start-up looked over",
                 "Shut-down looked over", "typed in by"):  # fmt: skip
        assert head in rows
    assert rows.count("cone off") == LOG_ROWS
    assert "clew ledger take" in rows


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_sheet_lies_on_its_paper(paper: Paper) -> None:
    pdf = PdfReader(BytesIO(pdf_of(content(paper=paper), made=MADE)))
    wide, high = {"A4": (841.9, 595.3), "Letter": (792.0, 612.0)}[paper]
    for page in pdf.pages:
        assert float(page.mediabox.width) == pytest.approx(wide, abs=0.2)
        assert float(page.mediabox.height) == pytest.approx(high, abs=0.2)
    assert len(pdf.pages) == 2


def test_a_day_without_shifts_runs_on() -> None:
    found = pages(content(starts=("06:00",)))
    assert len(found) > 2
    text = "".join(found)
    for _, hour in content(starts=("06:00",)).hours:
        assert hour in text
    assert all("T-251125-1" in page for page in found)


def test_the_same_sheet_is_the_same_file_and_says_when_it_was_made() -> None:
    assert pdf_of(content(), made=MADE) == pdf_of(content(), made=MADE)
    assert "printed 2025-11-25 05:40" in pages(content())[0]
    with pytest.raises(BadInput, match="time zone"):
        pdf_of(content(), made=MADE.replace(tzinfo=None))


def test_no_text_is_read_as_markup() -> None:
    of = tally_content(
        "#mill *x*", "$Line$ [1]", (1,), [sheet_of(date(2025, 11, 25), 0, 0, 1)], STARTS
    )
    text = pages(of)[0]
    assert "#mill *x*" in text
    assert "$Line$ [1]" in text
