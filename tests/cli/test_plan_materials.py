"""`clew plan materials`: its words, its keys, its exit codes."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

Run = Callable[..., Result]


def test_the_orders_of_the_mill_file(clew: Run, mill_dir: Path) -> None:
    result = clew("plan", "materials", "--mill", mill_dir)
    assert result.exit_code == 0, result.output
    assert result.stdout.startswith("All 4 orders can be met from stock, each 95 % sure.\n")
    assert "Most of the doubt about cones: " in result.stdout


def test_an_order_that_cannot_be_met_says_what_frees_it(clew: Run, mill_dir: Path) -> None:
    result = clew("plan", "materials", mill_dir / "orders.csv", "--mill", mill_dir)
    assert result.exit_code == 1, result.output
    head, conflict, more, *_ = result.stdout.splitlines()
    assert head == "10 of 11 orders can be met from stock, each 95 % sure; 1111 cannot."
    assert conflict.startswith("Order 1111 (880 Querl 100, Kingcup): one dye lot must do for all")
    assert more.startswith("  it takes ") and more.endswith(" more cones of KC-501")
    assert "Ask the dyehouse for\n  Kingcup on Querl: a new lot of " in result.stdout


def test_json_has_stable_keys(clew: Run, mill_dir: Path) -> None:
    result = clew(
        "plan", "materials", mill_dir / "orders.csv", "--mill", mill_dir, "--sure", "50 %",
        "--seed", 2, "--json",
    )  # fmt: skip
    found = json.loads(result.stdout)
    assert result.exit_code == (0 if found["met"] else 1)
    assert set(found) == {
        "met", "sure_frac", "seed", "proven", "dominant_doubt", "dominant_doubt_frac", "orders",
        "lots", "runs", "asks", "shade_notes",
    }  # fmt: skip
    assert (found["sure_frac"], found["seed"]) == (0.5, 2)
    assert {"order", "cones_mean", "cones_sure", "p_enough", "conflict", "frees"} <= set(
        found["orders"][0]
    )
    assert {"run", "lot", "balls", "wound_balls", "cones", "due", "lines"} <= set(found["runs"][0])


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"order,customer\n", "due: a column is missing"),
        (b"order\xff", "not UTF-8 text"),
        (b"", "an empty file"),
        (b"order,customer,ball,colour,balls,due\n1,A,Querl 100,Slow,9,2026-12-04\n",
         "colour: no such colour in the mill (got 'Slow'); expected Sloe, perhaps"),
    ],
)  # fmt: skip
def test_bad_files(clew: Run, mill_dir: Path, content: bytes, says: str) -> None:
    file = mill_dir / "asked.csv"
    file.write_bytes(content)
    result = clew("plan", "materials", file, "--mill", mill_dir)
    assert result.exit_code == 2, result.output
    assert says in result.output and "Traceback" not in result.output


def test_no_file_and_no_orders(clew: Run, mill_dir: Path) -> None:
    missing = clew("plan", "materials", mill_dir / "none.csv", "--mill", mill_dir)
    assert missing.exit_code == 2 and "cannot be read" in missing.output
    mill_file = mill_dir / "mill.toml"
    before, _, after = mill_file.read_text(encoding="utf-8").partition("[[order]]")
    rest = after[after.index("# ---") :]
    mill_file.write_text(before + rest, encoding="utf-8")
    bare = clew("plan", "materials", "--mill", mill_dir)
    assert bare.exit_code == 2 and "no orders in the mill file" in bare.output


@pytest.mark.parametrize("sure", ["40 %", "100 %", "very"])
def test_a_chance_that_cannot_be_used(clew: Run, mill_dir: Path, sure: str) -> None:
    result = clew("plan", "materials", "--mill", mill_dir, "--sure", sure)
    assert result.exit_code == 2, result.output
    assert "sure" in result.output and "Traceback" not in result.output
