"""No paper writes past the catalogues: neither what a template gets nor the template itself."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO
from typing import Any

import pytest
from pseudo import Bracketed, outside_brackets, unsaid
from pypdf import PdfReader
from tests.papers import test_certificate, test_day_report, test_packing_list, test_recall_list
from tests.papers.labels import test_bands, test_label_sheets
from tests.papers.test_pick_list import planned
from tests.papers.test_shift_report import anchored
from tests.papers.test_tally_sheet import content as tally

from clew.ball.run_card import run_card_of
from clew.languages import speaking
from clew.ledger.ingest.by_hand import START_UP, WHY_PULLED, WHY_STOPPED
from clew.ledger.reports.day_figures import DayFigures, Returned
from clew.ledger.reports.shift_report import RunOfShift, Stand
from clew.ledger.state.known import LookedOver
from clew.mill.model import Mill
from clew.papers.card_content import card_content
from clew.papers.day_report import day_report_content
from clew.papers.delivery_note_content import delivery_note_content
from clew.papers.labels.bands import bands_pdf
from clew.papers.labels.case_label import case_labels_pdf
from clew.papers.labels.pallet_label import pallet_labels_pdf
from clew.papers.packing_list_content import packing_list_content
from clew.papers.pick_list_content import pick_list_content
from clew.papers.printing import pdf_of
from clew.papers.shift_plan_content import shift_plan_content
from clew.papers.shift_report import shift_report_content

MADE = datetime(2026, 11, 26, 5, 40, tzinfo=UTC)
OURS = {
    "Fell", "Lichen", "Hand", "Ansa", "Tarn", "Daughters", "Wool", "Ina", "Clew", "clew",
    "ABCD", "weights", "csv", "papers", "pdf", "tex", "min",
}  # fmt: skip
"""Names in the papers of this file, units, and our own name."""
_HASH = re.compile(r"(?<![A-Za-z])[0-9A-Fa-f-]{9,}(?![A-Za-z])")


def certificate(mill: Mill) -> bytes:
    """A lot that is held: it gives its reasons and what would release it."""
    from clew.papers.certificate_content import certificate_content

    verdict, decision = test_certificate.judged(short=6)
    facts = replace(
        test_certificate.FACTS, mill="Fell", knot_limit=2, drawn_how="", currency="GBP",
        tables="", line="Line 1",
    )  # fmt: skip
    anchor = "Line 1 · 7 · ABCD · 12"
    return pdf_of(certificate_content(decision, [verdict], facts, anchor=anchor), made=MADE)


def shift_report(mill: Mill) -> bytes:
    """A shift in which everything happened that a report tells of."""
    of = anchored("Ina")
    at_us = of.report.shift.from_us
    report = replace(
        of.report, events=9, of_trials=3,
        runs=(RunOfShift("R-1", "Fell 100", "LI-01", at_us, at_us + 5, True, True, 1),),
        stands=(
            Stand(0, at_us, at_us + 6_000_000_000, str(WHY_STOPPED[0]), False),
            Stand(2, at_us, at_us + 60_000_000, str(WHY_STOPPED[1]), True),
        ),
        pulled_why=((str(WHY_PULLED[0]), 2), ("no reason told", 1)), cases=(("C-1", 80),),
        checks=(
            LookedOver(at_us, "start-up", "Ina", (), (str(START_UP[0]),)),
            LookedOver(at_us, "shut-down", ""),
        ),
        odd=(("late", 2), ("mass_g out of range", 1)), corrected=1,
    )  # fmt: skip
    return pdf_of(shift_report_content(replace(of, report=report), mill, "metric"), made=MADE)


def day_report(mill: Mill) -> bytes:
    """A day with a lot that left, one that is held, and a ball that came back."""
    run = replace(test_day_report.RUN, customer="Ansa", set=())
    held = replace(run, run="2", lot="LI-01", decision="hold", pallets=(), delivery="")
    at_us = test_day_report.AT_US
    found = DayFigures(
        "Line 1", (run, held), ((at_us, "C-9", "LI-02"),),
        ((at_us, at_us + 240_000_000, str(WHY_STOPPED[0])),),
        Returned("SL-207 L1 W1 261123-0616", "SL-207", "Ansa", ""),
    )  # fmt: skip
    told = replace(
        test_day_report.TOLD, plan_words=(), put_off=("1107",),
        papers=(("Ina", "papers/1.pdf"), ("Ina", "papers/2.pdf")),
    )  # fmt: skip
    return pdf_of(day_report_content(mill, found, told), made=MADE)


def recall_list(mill: Mill) -> bytes:
    """Cases at a customer's and in the mill, and a ball in no case."""
    rows = [replace(one, where="", why="", records="7") for one in test_recall_list.ROWS]
    rows = [replace(one, customer="Tarn" if one.customer else "") for one in rows]
    rows[3] = replace(rows[3], name="B-7")
    from clew.ledger.trace.recall import RecallList
    from clew.papers.recall_list_content import recall_content

    found = RecallList("C-12", tuple(rows), 1, 9, ("Ina",))
    anchors = ("Line 1 · 7 · ABCD · 12",)
    return pdf_of(
        recall_content(found, mill_name="Fell", author="Ansa", anchors=anchors), made=MADE
    )


def _consignment() -> Any:
    parcels = (test_packing_list.PALLET, test_packing_list.LOOSE)
    return test_packing_list.consignment(*parcels, customer="Ansa")


def run_card(mill: Mill) -> bytes:
    card = run_card_of(mill, "Querl 100", "SL-207")
    content = card_content(card, mill.safety, mill.line[0], fingerprint="0a1b")
    return pdf_of(content, made=MADE)


def bands(mill: Mill) -> bytes:
    band = replace(
        test_bands.BAND, fibre_lines=(), care=("Wool",), class_words="", maker="Fell", origin="",
        gauge="20", needles="4",
    )  # fmt: skip
    return bands_pdf(band, 2, made=MADE, footer="Fell")


def case_label(mill: Mill) -> bytes:
    case = replace(test_label_sheets.CASE, mill_name="Fell", maker="", customer="Ansa", package="4")
    return case_labels_pdf([case, replace(case, gtin14="")], made=MADE, footer="Fell")


def pallet_label(mill: Mill) -> bytes:
    pallet = replace(
        test_label_sheets.PALLET, mill_name="Fell", maker="", customer="Ansa", package="7"
    )
    return pallet_labels_pdf([pallet, replace(pallet, sscc="")], made=MADE, footer="Fell")


PAPERS: dict[str, Callable[[Mill], bytes]] = {
    "run card": run_card,
    "certificate": certificate,
    "shift report": shift_report,
    "day report": day_report,
    "recall list": recall_list,
    "bands": bands,
    "case label": case_label,
    "pallet label": pallet_label,
    "delivery note": lambda mill: pdf_of(delivery_note_content(mill, _consignment()), made=MADE),
    "packing list": lambda mill: pdf_of(packing_list_content(mill, _consignment()), made=MADE),
    "shift plan": lambda mill: pdf_of(shift_plan_content(planned(mill), mill), made=MADE),
    "pick list": lambda mill: pdf_of(pick_list_content(planned(mill), mill), made=MADE),
    "tally sheet": lambda mill: pdf_of(replace(tally(), mill_name="Fell"), made=MADE),
}


def names_in(part: Any) -> set[str]:
    """List the words of the values of a mill file; those of its keys are ours."""
    if isinstance(part, dict):
        part = list(part.values())
    if isinstance(part, list):
        return set().union(*map(names_in, part))
    return set(re.findall(r"[A-Za-zÀ-ÿ]{3,}", part)) if isinstance(part, str) else set()


@pytest.mark.parametrize("paper", PAPERS)
def test_everything_on_a_paper_is_said(paper: str, demo_mill: Mill, demo_text: str) -> None:
    with speaking(Bracketed()):
        raw = PAPERS[paper](demo_mill)
    reader = PdfReader(BytesIO(raw))
    printed = [page.extract_text() for page in reader.pages]
    text = "\n".join([str(reader.metadata and reader.metadata.title), *printed])
    text = text.replace("\u200b", "").replace("Weir Lane", "")
    assert text.count("⟦") == text.count("⟧") > 5
    left = [_HASH.sub("", line) for line in outside_brackets(text).splitlines()]
    names = names_in(tomllib.loads(demo_text)) - {"Lane"} | OURS
    assert unsaid(left, names) == []
