"""The certificate carries every figure of the worksheet, and none that is not from data."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO

import numpy as np
import pytest
from pypdf import PdfReader

from clew.checks.packages.judge_lot import judge_lot
from clew.checks.packages.sample import mass_sample
from clew.checks.packages.verdict import Verdict
from clew.checks.release.decision import Decision, decide
from clew.checks.release.finding import Mend
from clew.checks.release.findings import content_finding
from clew.checks.release.sorting import SortTerms
from clew.checks.weighings import Factor, Weighings
from clew.faults import BadInput
from clew.mill.net_content import read_tables
from clew.papers.certificate_content import CertificateContent, CertificateFacts, mend_words
from clew.papers.certificate_content import certificate_content as arranged
from clew.papers.printing import pdf_of

MADE = datetime(2026, 11, 25, 5, 40, tzinfo=UTC)
FACTS = CertificateFacts(
    mill="Test Mill", ball="Fell 100", lot_size=480, dye_lot="LI-01", colour="Lichen",
    drawn_how="every tenth ball of the case", drawn_by="A. Hand", currency="EUR",
    files=(("weights.csv", "ab" * 32),), tables="built in, sha256 0123",
)  # fmt: skip


def weighings(short: int) -> Weighings:
    rng = np.random.default_rng(11)
    masses = 101.0 + rng.normal(0.0, 0.8, 60)
    masses[3 : 3 + short] = 94.13
    names = tuple(f"ball-{place}" for place in range(60))
    winder = Factor((np.arange(60) % 3).astype(np.int32), ("1", "2", "3"))
    return Weighings(
        60, {"mass_g": np.round(masses, 2)},
        {"ball": Factor(np.arange(60, dtype=np.int32), names), "winder": winder},
    )  # fmt: skip


def judged(short: int = 0, rule: str = "eu-average") -> tuple[Verdict, Decision]:
    rows = weighings(short)
    verdict = judge_lot(rule, [mass_sample(rows)], {"mass": 100.0}, 480, read_tables(None))
    terms = SortTerms(hand_per_hour=20.0)
    return verdict, decide([content_finding(verdict, rows, terms)], needed=("net content",))


def content(short: int = 0, rule: str = "eu-average") -> CertificateContent:
    verdict, decision = judged(short, rule)
    return arranged(decision, [verdict], FACTS)


def text_of(pdf: bytes) -> str:
    pages = PdfReader(BytesIO(pdf)).pages
    return re.sub(r"[\s\u200b]+", " ", " ".join(page.extract_text() for page in pages))


def test_the_paper_carries_every_figure_of_the_worksheet() -> None:
    verdict, decision = judged()
    paper = text_of(pdf_of(arranged(decision, [verdict], FACTS), made=MADE))
    sheet = verdict.sheets[0]
    assert sheet.sd is not None and sheet.limit is not None
    for figure in (
        f"{sheet.mean:.3f} g", f"{sheet.sd:.4f} g", f"{sheet.limit:.3f} g",
        f"{sheet.plan.factor:g}", "480", "4.5 g less", "LI-01", "A. Hand", "Released by",
    ):  # fmt: skip
        assert figure in paper
    for ball in sheet.balls:
        assert ball.name in paper
        assert f"{ball.content:.2f}".rstrip("0").rstrip(".") in paper


def test_the_paper_has_no_figure_that_is_not_from_data() -> None:
    """Every decimal number on it is a figure of the worksheet or was handed in."""
    verdict, decision = judged(short=8)
    made = arranged(decision, [verdict], FACTS)
    sheet = verdict.sheets[0]
    have = [sheet.mean, sheet.sd, sheet.limit, sheet.total_error, sheet.mean_error,
            sheet.sample_error_limit, sheet.plan.factor, sheet.plan.declared,
            sheet.deficiency_used, sheet.far_used, sheet.plan.declared - sheet.deficiency_used,
            sheet.plan.declared - sheet.far_used, sheet.unit_of_measure]  # fmt: skip
    have += [value for ball in sheet.balls for value in (ball.content, ball.error, ball.units)]
    have += [sheet.plan.declared / 453.59237, sheet.plan.declared / 453.59237 * 16]
    known = np.array([value for value in have if value is not None])
    rows = [row.text for part in made.sheets for row in part.rows if row.head != "Condition"]
    rows += [cell for part in made.sheets for row in part.balls.rows for cell in row[1:]]
    for text in rows:
        for number in re.findall(r"[−-]?\d+\.\d+", text):
            value = abs(float(number.replace("−", "-")))
            places = len(number.split(".")[1])
            assert (np.abs(np.abs(known) - value) <= 0.51 * 10.0**-places).any(), text


def test_a_failed_lot_is_no_certificate_and_says_what_would_release_it() -> None:
    made = content(short=8)
    assert made.word == "REWORK"
    assert made.title.startswith("Lot report, not a release")
    assert any(one.startswith("Weigh all 480 balls") and "EUR" in one for one in made.mends)
    paper = text_of(pdf_of(made, made=MADE))
    assert "What would release it" in paper
    assert "Released by" not in paper


def test_a_cost_of_thousands_is_printed_with_letters_the_paper_has() -> None:
    made = replace(content(), mends=(mend_words(Mend("re-wind it", 6000.0, 1840.4), "GBP"),))
    assert "About 1 840 GBP" in text_of(pdf_of(made, made=MADE))


def test_a_pass_by_an_unconfirmed_table_is_never_bare() -> None:
    made = content(rule="us-category-a")
    assert made.word == "HELD"
    answers = [one.answer for one in made.findings] + [one.answer for one in made.sheets]
    assert all("not checked against its source" in answer for answer in answers)


def test_every_paper_defers_to_the_office() -> None:
    assert "your weights-and-measures office decides" in content().deferral


def test_the_hash_is_of_the_content_and_nothing_else() -> None:
    assert content().hash == content().hash
    assert content().hash != content(short=1).hash
    assert content().hash[:16] in content().footer


def test_the_same_content_and_time_give_the_same_bytes() -> None:
    made = content()
    assert pdf_of(made, made=MADE) == pdf_of(made, made=MADE)


def test_pages_are_numbered_and_tagged() -> None:
    pdf = PdfReader(BytesIO(pdf_of(content(), made=MADE)))
    assert f"page 1 of {len(pdf.pages)}" in pdf.pages[0].extract_text()
    assert pdf.trailer["/Root"]["/MarkInfo"]["/Marked"]


def test_a_time_without_its_zone_is_refused() -> None:
    with pytest.raises(BadInput, match="time zone"):
        pdf_of(content(), made=datetime(2026, 11, 25))


def test_a_heavy_gross_mass_is_written_out() -> None:
    """Ten kilograms and more are figures, not powers of ten; the column stands in line."""
    rows = Weighings(2, {"gross_g": np.array([12012.6, 12010.25]), "tare_g": np.full(2, 2.1)}, {})
    verdict = judge_lot("oiml-r87", [mass_sample(rows)], {"mass": 12000.0}, 2, read_tables(None))
    balls = arranged(decide([], needed=()), [verdict], FACTS).sheets[0].balls
    assert [row[1] for row in balls.rows] == ["12012.60", "12010.25"]
