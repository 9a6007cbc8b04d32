"""`clew ship case`: words, keys, the label, and that paper and record come together."""

from __future__ import annotations

import json
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest
from click.testing import Result
from pypdf import PdfReader
from tests.ledger.shipping.bench import decide_in, kinds_in, wound_mill

from clew.ledger.store.opening import VARIABLE

Run = Callable[..., Result]
CASE = ("--lot", "SL-207", "--by", "Ina")
FIRST = "095212340000000013"


@pytest.fixture
def ship(clew: Run, mill_dir: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run `clew ship case` in a mill with 60 balls wound."""
    monkeypatch.delenv(VARIABLE, raising=False)
    wound_mill(mill_dir)
    return lambda *arguments: clew("ship", "case", *arguments, "--mill", mill_dir)


def text_of(path: Path) -> str:
    return "\n".join(one.extract_text() for one in PdfReader(BytesIO(path.read_bytes())).pages)


def test_a_case_is_closed_with_its_label(ship: Run, mill_dir: Path, tmp_path: Path) -> None:
    label = tmp_path / "labels" / "case.pdf"
    result = ship(*CASE, "--balls", 20, "--order", "1041", "--label", label)
    assert result.exit_code == 0, result.output
    assert result.stdout.splitlines() == [
        f"Case {FIRST} is closed on Line 1: 20 Querl 100 of SL-207.",
        "40 balls of it are left on Line 1.",
        "Mind: SL-207 is not decided on: its cases may not ship yet.",
        "Mind: 20 balls, 80 make a full case: a part case, without a GTIN.",
        f"wrote {label}",
    ]
    text = text_of(label)
    assert "SL-207" in text and "Customer 12" in text and "1041" in text
    assert kinds_in(mill_dir) == ["case closed"]
    assert [one.name for one in label.parent.iterdir()] == ["case.pdf"]


def test_json_has_stable_keys(ship: Run, mill_dir: Path) -> None:
    decide_in(mill_dir, "SL-207", "release")
    result = ship(*CASE, "--balls", 20, "--from", "2025-11-25T05:00", "--upto", "2025-11-25T05:30",
                  "--json")  # fmt: skip
    found = json.loads(result.stdout)
    assert set(found) == {
        "package", "line", "lot", "run", "seq", "at", "by", "ball_name", "balls", "from", "upto",
        "order", "left_balls", "mind", "label",
    }  # fmt: skip
    assert (found["package"], found["left_balls"]) == (FIRST, 40)
    assert found["from"] == "2025-11-25T05:00:00Z"


def test_the_label_is_printed_again_without_a_record(
    ship: Run, mill_dir: Path, tmp_path: Path
) -> None:
    ship(*CASE, "--balls", 20)
    label = tmp_path / "again.pdf"
    result = ship("--again", f"(00){FIRST}", "--label", label)
    assert result.exit_code == 0, result.output
    assert result.stdout.splitlines()[-1] == f"wrote {label}"
    assert "SL-207" in text_of(label) and kinds_in(mill_dir) == ["case closed"]
    found = json.loads(ship("--again", FIRST, "--label", label, "--json").stdout)
    assert found == {"package": FIRST, "label": str(label)}
    assert ship("--again", FIRST).exit_code == 2
    missing = ship("--again", "C-9", "--label", label)
    assert missing.exit_code == 2 and "--again: no such case was closed" in missing.output


def test_no_record_without_its_paper(ship: Run, mill_dir: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    result = ship(*CASE, "--balls", 20, "--label", tmp_path / "file" / "case.pdf")
    assert result.exit_code == 2 and "nothing is recorded" in result.output
    folder = ship(*CASE, "--balls", 20, "--label", tmp_path)
    assert folder.exit_code == 2 and "nothing is recorded" in folder.output
    assert kinds_in(mill_dir) == []


def test_no_paper_without_its_record(ship: Run, mill_dir: Path, tmp_path: Path) -> None:
    label = tmp_path / "out" / "case.pdf"
    result = ship(*CASE, "--balls", 200, "--label", label)
    assert result.exit_code == 2
    assert "--balls: 60 balls of SL-207 were taken off on Line 1" in result.output
    assert not label.parent.exists() and kinds_in(mill_dir) == []


def test_a_ledger_that_fails_at_the_last_leaves_no_paper(
    ship: Run, mill_dir: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from clew.ledger.store.ledger import Ledger
    from clew.ledger.store.trouble import CannotKeep

    def full(*_arguments: object, **_terms: object) -> None:
        raise CannotKeep("the disk that holds the ledger is full", for_good=True)

    label = tmp_path / "out" / "case.pdf"
    monkeypatch.setattr(Ledger, "append", full)
    result = ship(*CASE, "--balls", 20, "--label", label)
    assert result.exit_code == 2 and "the disk that holds the ledger is full" in result.output
    assert list(label.parent.iterdir()) == []


def test_a_paper_that_cannot_be_put_there_is_told(
    ship: Run, mill_dir: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    label = tmp_path / "out" / "case.pdf"

    def stuck(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", stuck)
    result = ship(*CASE, "--balls", 20, "--label", label)
    assert result.exit_code == 2 and "it is recorded, but the paper" in result.output
    assert f"clew ship case --again {FIRST} prints it" in result.output
    assert kinds_in(mill_dir) == ["case closed"] and list(label.parent.iterdir()) == []


def test_what_is_refused_names_its_option(ship: Run, tmp_path: Path) -> None:
    orders = tmp_path / "orders.csv"
    orders.write_text(
        "order,customer,ball,colour,balls,due\n77,Customer 9,Querl 200,Sloe,40,2026-12-09\n",
        encoding="utf-8",
    )
    for arguments, says in (
        (("--balls", 5), "--lot: no dye lot is named"),
        ((*CASE[:2], "--balls", 5), "--by: nobody is named"),
        ((*CASE, "--lot", "SL-211", "--balls", 5), "may not share a case"),
        ((*CASE, "--balls", 5, "--order", "9"), "--order: no such order"),
        ((*CASE, "--balls", 5, "--order", "77", "--orders", orders), "order 77 is for Querl 200"),
        ((*CASE, "--balls", 5, "--orders", tmp_path), "cannot be read"),
        ((*CASE, "--balls", 5, "--line", "Line 9"), "no such line"),
        ((*CASE, "--balls", 5, "--token", "K1"), "--token: 1 tokens for 5 balls"),
    ):
        result = ship(*arguments)
        assert result.exit_code == 2 and says in result.output, result.output
        assert "Traceback" not in result.output


def test_the_label_of_two_dye_lots_names_both_and_says_neither_as_its_batch(
    mill_dir: Path, tmp_path: Path
) -> None:
    from clew.ledger.shipping.packed import CaseKept
    from clew.mill import read_mill
    from clew.papers.labels.of_record import closed_case_pdf

    mixed = CaseKept(FIRST, "Line 1", "R-1", "SL-207", "Querl 100", 80, "19521234001017", 0, 1,
                     ("SL-207", "SL-211"))  # fmt: skip
    label = tmp_path / "case.pdf"
    label.write_bytes(closed_case_pdf(read_mill(mill_dir), mixed, None))
    text = text_of(label)
    assert "SL-207 and SL-211" in text
    assert "(10)" not in text and f"(00){FIRST}" in text
