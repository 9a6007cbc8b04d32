"""`clew ship note`: shipped, not shipped, said twice; papers, trace and recall after it."""

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
CASES = ("095212340000000013", "095212340000000020", "095212340000000037")
PALLET = "095212340000000044"
BY = ("--by", "Ina")
ALL = ("--order", "1041", "--pallet", PALLET, "--case", CASES[2], *BY)


@pytest.fixture
def run(clew: Run, mill_dir: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run `clew` in a mill with a pallet of two cases and a third beside it."""
    monkeypatch.delenv(VARIABLE, raising=False)
    wound_mill(mill_dir)
    for _ in CASES:
        assert clew("ship", "case", "--lot", "SL-207", "--balls", 20, *BY,
                    "--mill", mill_dir).exit_code == 0  # fmt: skip
    assert clew("ship", "pallet", "--case", CASES[0], "--case", CASES[1], *BY,
                "--mill", mill_dir).exit_code == 0  # fmt: skip
    return lambda *arguments: clew(*arguments, "--mill", mill_dir)


def text_of(path: Path) -> str:
    return "\n".join(one.extract_text() for one in PdfReader(BytesIO(path.read_bytes())).pages)


def test_a_lot_on_hold_does_not_leave(run: Run, mill_dir: Path, tmp_path: Path) -> None:
    decide_in(mill_dir, "SL-207", "hold")
    note = tmp_path / "out" / "note.pdf"
    result = run("ship", "note", *ALL, "--note", note)
    assert result.exit_code == 1
    assert result.stdout.splitlines() == [
        "Not shipped for order 1041; nothing is recorded:", "  SL-207 is on hold by Ina",
    ]  # fmt: skip
    assert not note.parent.exists() and "shipped" not in kinds_in(mill_dir)
    said = run("ship", "note", *ALL, "--json")
    assert said.exit_code == 1
    assert json.loads(said.stdout) == {
        "shipped": False, "order": "1041", "reasons": ["SL-207 is on hold by Ina"],
    }  # fmt: skip


def test_what_is_released_leaves_once_with_its_papers(
    run: Run, mill_dir: Path, tmp_path: Path
) -> None:
    decide_in(mill_dir, "SL-207", "release")
    note, packing = tmp_path / "note.pdf", tmp_path / "list.pdf"
    result = run("ship", "note", *ALL, "--note", note, "--packing-list", packing)
    assert result.exit_code == 0, result.output
    assert result.stdout.splitlines() == [
        "Delivery D-0001 has left: 1 pallet, 3 cases, 1 of them on none to Customer 12.",
        "Order 1041: 60 balls now, 60 of 1200 with what left before: 1140 still to come.",
        f"wrote {note}", f"wrote {packing}",
    ]  # fmt: skip
    assert "Delivery note D-0001" in text_of(note) and PALLET in text_of(note)
    assert all(one in text_of(packing) for one in (*CASES, PALLET))
    told = kinds_in(mill_dir)
    assert told.count("shipped") == 2
    note.unlink()
    again = run("ship", "note", *ALL, "--note", note)
    assert again.exit_code == 0 and "has left already; nothing new is recorded" in again.stdout
    assert note.exists() and kinds_in(mill_dir) == told
    printed = run("ship", "note", "--again", "D-0001", "--packing-list", packing)
    assert printed.exit_code == 0 and f"wrote {packing}" in printed.stdout
    part = run("ship", "note", "--order", "1041", "--case", CASES[2], *BY)
    assert part.exit_code == 1 and f"case {CASES[2]} left with D-0001" in part.stdout
    trace = run("lot", "trace", "--pallet", PALLET)
    assert trace.exit_code == 0, trace.output
    assert f"{CASES[0]}: sure, shipped to Customer 12, pallet {PALLET}, delivery D-0001" in (
        trace.stdout
    )
    events = tmp_path / "events.json"
    case = run("lot", "trace", "--case", CASES[2], "--epcis", events)
    assert case.exit_code == 0, case.output
    assert "D-0001" in events.read_text(encoding="utf-8")
    proven = [
        one
        for one in text_of(note).replace("\u200b", "").splitlines()
        if one.startswith("Line 1 · ")
    ]
    checked = run("ledger", "verify", "--anchor", proven[0])
    assert checked.exit_code == 0, checked.output


def test_json_has_stable_keys(run: Run, mill_dir: Path) -> None:
    decide_in(mill_dir, "SL-207", "release")
    found = json.loads(run("ship", "note", *ALL, "--customer", "customer 12", "--json").stdout)
    assert set(found) == {
        "shipped", "already", "delivery", "order", "customer", "by", "at", "seqs", "packages",
        "cases", "lots", "balls", "before_balls", "asked_balls", "certificates", "anchors", "wrote",
    }  # fmt: skip
    assert (found["balls"], found["cases"], len(found["seqs"])) == (60, list(CASES), 2)
    assert found["certificates"][0]["lot"] == "SL-207"


def test_an_order_from_a_file_counts_too(run: Run, mill_dir: Path, tmp_path: Path) -> None:
    decide_in(mill_dir, "SL-207", "release")
    orders = tmp_path / "orders.csv"
    orders.write_text(
        "order,customer,ball,colour,balls,due\nA-7,Tarn,Querl 100,Sloe,50,2026-12-09\n",
        encoding="utf-8",
    )
    result = run("ship", "note", "--orders", orders, "--order", "A-7", *ALL[2:])
    assert result.exit_code == 0, result.output
    assert "Order A-7: 60 balls now, 60 of 50 with what left before: 10 over." in result.stdout
    assert "to Tarn." in result.stdout


def test_bad_input_says_why_in_one_line(run: Run, mill_dir: Path, tmp_path: Path) -> None:
    decide_in(mill_dir, "SL-207", "release")
    for arguments, says in (
        (ALL[2:], "--order: no order is named"),
        (("--order", "9", *ALL[2:]), "--order: no such order"),
        (ALL[:-2], "--by: nobody is named"),
        ((*ALL, "--customer", "Customer 7"), "--customer: order 1041 is of Customer 12"),
        ((*ALL, "--pallet", "P-9"), "no such pallet or case was closed"),
        (("--order", "1041", *BY), "--pallet: nothing to ship"),
        (("--again", "D-0009"), "no such delivery was shipped"),
        ((*ALL, "--note", tmp_path), "cannot be written; nothing is recorded"),
    ):
        result = run("ship", "note", *arguments)
        assert result.exit_code == 2 and says in result.output, result.output
    assert "shipped" not in kinds_in(mill_dir)
