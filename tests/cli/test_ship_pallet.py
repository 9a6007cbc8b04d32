"""`clew ship pallet`: words, keys, the label, and what may not stand together."""

from __future__ import annotations

import json
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest
from click.testing import Result
from pypdf import PdfReader
from tests.ledger.shipping.bench import kinds_in, wound_mill

from clew.ledger.store.opening import VARIABLE

Run = Callable[..., Result]
CASES = ("095212340000000013", "095212340000000020")
PALLET = "095212340000000037"
BOTH = ("--case", CASES[0], "--case", CASES[1], "--by", "Ina")


@pytest.fixture
def ship(clew: Run, mill_dir: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run `clew ship pallet` in a mill with two cases closed."""
    monkeypatch.delenv(VARIABLE, raising=False)
    wound_mill(mill_dir)
    for _ in CASES:
        closed = clew("ship", "case", "--lot", "SL-207", "--balls", 20, "--by", "Ina",
                      "--mill", mill_dir)  # fmt: skip
        assert closed.exit_code == 0, closed.output
    return lambda *arguments: clew("ship", "pallet", *arguments, "--mill", mill_dir)


def test_a_pallet_is_closed_with_its_label(ship: Run, mill_dir: Path, tmp_path: Path) -> None:
    label = tmp_path / "pallet.pdf"
    result = ship(*BOTH, "--order", "1041", "--label", label)
    assert result.exit_code == 0, result.output
    first, mind, wrote = result.stdout.splitlines()
    assert first.startswith(f"Pallet {PALLET} is closed: 2 cases, 40 balls of SL-207, ")
    assert mind == "Mind: SL-207 is not decided on: its cases may not ship yet."
    assert wrote == f"wrote {label}"
    text = PdfReader(BytesIO(label.read_bytes())).pages[0].extract_text()
    assert "Customer 12" in text and "SL-207" in text
    assert kinds_in(mill_dir) == ["case closed", "case closed", "pallet closed"]
    again = tmp_path / "again.pdf"
    assert ship("--again", PALLET, "--label", again).exit_code == 0
    found = json.loads(ship("--again", PALLET, "--label", again, "--json").stdout)
    assert found == {"package": PALLET, "label": str(again)}
    assert ship("--again", PALLET).exit_code == 2
    assert "--again: no such pallet" in ship("--again", CASES[0], "--label", again).output


def test_json_has_stable_keys(ship: Run) -> None:
    found = json.loads(ship(*BOTH, "--json").stdout)
    assert set(found) == {
        "package", "seq", "at", "by", "cases", "balls", "lots", "gross_mass_g", "mind", "label",
    }  # fmt: skip
    assert (found["package"], found["cases"], found["balls"]) == (PALLET, list(CASES), 40)
    assert found["gross_mass_g"] > 25_000.0 + 40 * 100.0


def test_what_is_refused_names_its_option_and_keeps_nothing(
    ship: Run, mill_dir: Path, tmp_path: Path
) -> None:
    label = tmp_path / "out" / "p.pdf"
    for arguments, says in (
        (("--by", "Ina"), "--case: no case is named"),
        (BOTH[:4], "--by: nobody is named"),
        (("--case", "C-9", "--by", "Ina"), "--case: no such case was closed"),
        ((*BOTH, "--case", CASES[0]), f"case {CASES[0]} stands twice"),
        ((*BOTH, "--order", "1042"), "order 1042 is for Querl 200"),
        ((*BOTH, "--name", CASES[0]), "--name: "),
    ):
        result = ship(*arguments, "--label", label)
        assert result.exit_code == 2 and says in result.output, result.output
    assert kinds_in(mill_dir) == ["case closed"] * 2 and not label.parent.exists()


def test_stacking_anew_says_why(ship: Run) -> None:
    assert ship(*BOTH).exit_code == 0
    again = ship("--case", CASES[0], "--by", "Ina")
    assert again.exit_code == 2 and f"--case: case {CASES[0]} is on pallet {PALLET}" in again.output
    assert ship("--case", CASES[0], "--by", "Ina", "--anew", "the deck broke").exit_code == 0
