"""`clew plan pack`: its words, its keys, its exit codes."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from click.testing import Result

Run = Callable[..., Result]


def test_words_first_then_tables(clew: Run, mill_dir: Path) -> None:
    result = clew("plan", "pack", "Querl", "100", "--mill", mill_dir)
    assert result.exit_code == 0, result.output
    first, second, *_ = result.stdout.splitlines()
    assert first.startswith("Querl 100: pack 10 to a bag, 8 bags to the case Medium")
    assert "not the largest" in second
    assert "index" in result.stdout and "GBP" in result.stdout
    assert "safe" not in result.stdout.casefold()


def test_json(clew_json: Callable[..., dict[str, Any]], mill_dir: Path) -> None:
    found = clew_json("plan", "pack", "Dunnow", "50", "--free", "--mill", mill_dir)
    assert found["best"]["case_shipped"]["gross_mass_g"] <= 12_000.0
    assert found["best"]["cost_per_ball_money"]["total"] == min(
        one["cost_per_ball_money"]["total"] for one in found["options"]
    )
    assert found["free"]["board_m2"] > 0.0
    keys = [one["key"] for one in found["drawings"]]
    assert {"case_layer_1", "case_side", "pallet_layer", "pallet_side"} <= set(keys)
    again = clew_json("plan", "pack", "Dunnow", "50", "--free", "--mill", mill_dir)
    assert again == found


def test_one_case_by_name_or_by_size(clew: Run, mill_dir: Path) -> None:
    ask = ("plan", "pack", "Querl", "100", "--mill", mill_dir, "--balls-per-bag", 10, "--json")
    named = json.loads(clew(*ask, "--case", "medium").stdout)
    sized = json.loads(clew(*ask, "--case", "590x390x390 mm").stdout)
    inches = json.loads(clew(*ask, "--case", "23.23 x 15.36 x 15.36 in").stdout)
    assert [one["case"] for one in named["options"]] == ["Medium"]
    assert sized["best"]["bags_per_case"] == named["best"]["bags_per_case"] == 8
    assert inches["best"]["bags_per_case"] == 8
    assert sized["best"]["case_priced"] is False
    words = clew(*ask[:-1], "--case", "590x390x390 mm").stdout
    assert "without the case, which has no price" in words


def test_nothing_fits_is_exit_code_1(clew: Run, mill_dir: Path) -> None:
    result = clew("plan", "pack", "Querl", "100", "--case", "Small", "--mill", mill_dir)
    assert result.exit_code == 1, result.output
    assert result.stdout.startswith("Querl 100 cannot be packed so.")
    assert "mm longer inside along its length" in result.stdout
    assert "the case Medium" in result.stdout
    assert "Traceback" not in result.output


def test_bad_input_is_exit_code_2(clew: Run, mill_dir: Path) -> None:
    for extra, says in (
        (("--case", "600x400"), "no such case"),
        (("--case", "1..2x3x4 mm"), "no such case"),
        (("--case", "9x9x9 mm"), "no such case"),
        (("--case", "600x400x300 kg"), "no such case"),
        (("--balls-per-bag", "0"), "no count of balls"),
    ):
        result = clew("plan", "pack", "Querl", "100", "--mill", mill_dir, *extra)
        assert result.exit_code == 2, result.output
        assert says in result.output and "Traceback" not in result.output
    unknown = clew("plan", "pack", "Nobody", "--mill", mill_dir)
    assert unknown.exit_code == 2 and "no such ball" in unknown.output


def test_a_slip_of_the_unit_is_one_line_and_exit_code_2(clew: Run, mill_dir: Path) -> None:
    file = mill_dir / "mill.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(
        text.replace('inner_length = "590 mm"', 'inner_length = "590 m"', 1), encoding="utf-8"
    )
    result = clew("plan", "pack", "Querl", "100", "--mill", mill_dir)
    assert result.exit_code == 2 and result.stdout == ""
    assert 'pack case "Medium"' in result.output and "at most 3000 mm" in result.output
    assert "Traceback" not in result.output


def test_a_case_made_to_size_that_is_too_heavy_is_no_answer(clew: Run, mill_dir: Path) -> None:
    file = mill_dir / "mill.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(
        text.replace('heaviest_lift = "12 kg"', 'heaviest_lift = "1 kg"', 1), encoding="utf-8"
    )
    ask = ("plan", "pack", "Querl", "100", "--case", "Small", "--free", "--mill", mill_dir)
    result = clew(*ask)
    assert result.exit_code == 1, result.output
    assert "the mill's heaviest lift is 1 kg" in result.stdout
