"""One command from a list of orders to everything it is worked by."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from clew.cli.main import main
from clew.mill import write_demo

ORDERS = """order,customer,ball,colour,balls,due,dye_lots
A1,Customer 1,Querl 100,Sloe,240,2026-12-04,one
A2,Customer 2,Querl 100,Bracken,165,2026-12-04,one
A3,Customer 3,Dunnow 50,Slate,130,2026-12-07,any
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_demo(tmp_path / "mill")
    (tmp_path / "mill" / "list.csv").write_text(ORDERS, encoding="utf-8")
    return tmp_path


def planned(folder: Path, *more: str) -> tuple[int, str]:
    mill = folder / "mill"
    found = CliRunner().invoke(
        main,
        ["plan", "sequence", str(mill / "list.csv"), "--mill", str(mill), "--within", "3 s",
         "--now", "2026-11-26 06:00", "--out", str(folder / "out"), *more],
    )  # fmt: skip
    return found.exit_code, found.output


def words_of(path: Path) -> str:
    return " ".join(page.extract_text() for page in PdfReader(path).pages)


def test_a_list_of_orders_becomes_everything_it_is_worked_by(folder: Path) -> None:
    code, said = planned(folder)
    assert code == 0, said
    out = folder / "out"
    names = {str(path.relative_to(out)) for path in out.rglob("*") if path.is_file()}
    assert {"plan.csv", "plan.json"} <= names
    for run in ("a1", "a2", "a3"):
        assert {f"labels/bands-{run}.pdf", f"labels/cases-{run}.pdf"} <= names
    for card in ("querl-100-sl-211", "querl-100-br-088", "dunnow-50-sa-340"):
        assert {f"cards/run-card-{card}.pdf", f"cards/run-card-{card}.html"} <= names
    for paper in ("shift-plan", "pick-list"):
        assert f"shifts/{paper}-2026-11-26-0600.pdf" in names
    assert f"wrote {len(names)} files" in said


def test_the_papers_speak_of_the_runs_of_the_plan(folder: Path) -> None:
    planned(folder)
    out = folder / "out"
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    lots = {run["lot"] for line in plan["lines"] for run in line["runs"]}
    shift = words_of(out / "shifts" / "shift-plan-2026-11-26-0600.pdf")
    assert all(lot in shift for lot in lots)
    cases = words_of(out / "labels" / "cases-a2.pdf")
    assert cases.count("BR-088") >= 3  # 165 balls are two full cases and one of five
    assert "Balls 80" in cases
    assert "Balls 5" in cases


def test_nothing_is_written_where_the_orders_cannot_be_read(folder: Path) -> None:
    (folder / "mill" / "list.csv").write_text(ORDERS.replace("240", "many"), encoding="utf-8")
    code, said = planned(folder)
    assert code == 2, said
    assert not (folder / "out").exists()


def test_a_band_that_would_break_law_is_left_out_and_said(folder: Path) -> None:
    mill = folder / "mill" / "mill.toml"
    text = mill.read_text(encoding="utf-8")
    mill.write_text(text.replace('"100 % wool"', '"100 % cotton"'), encoding="utf-8")
    code, said = planned(folder)
    assert code == 0, said
    assert "Bands of A3: Fibre content" in said
    assert not (folder / "out" / "labels" / "bands-a3.pdf").exists()
    assert (folder / "out" / "labels" / "cases-a3.pdf").exists()
