"""`clew weigh components`: keys programs rely on, words first, one clear line for bad input."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from clew.cli.weigh.components import components
from clew.faults import BadInput


def write(path: Path, seed: int, winder_4: float = 0.0, lanes: bool = False) -> Path:
    rng = np.random.default_rng(seed)
    rows = ["lot,cone,lane,winder,mass_g,length_m"]
    cones = rng.normal(0, 0.6, 80)
    for k in range(480):
        winder = k % 6
        cone = k // 60 * 6 + winder
        lot = "L1" if k < 240 else "L2"
        mass = 100 + cones[cone] + rng.normal(0, 0.5) + (winder_4 if winder == 3 else 0.0)
        length = 200 + rng.normal(0, 1) if k % 40 < 6 else None
        rows.append(
            f"{lot},{lot}-{cone},{winder + 1},{winder + 1},{mass:.2f},"
            f"{'' if length is None else f'{length:.2f}'}"
        )
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


@pytest.fixture
def today(tmp_path: Path) -> Path:
    return write(tmp_path / "today.csv", 2, winder_4=2.0)


def as_json(file: Path, *options: str) -> dict[str, Any]:
    result = CliRunner().invoke(components, [str(file), "--json", *options])
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


def fault_of(file: Path, *options: str) -> str:
    result = CliRunner().invoke(components, [str(file), *options])
    assert isinstance(result.exception, BadInput), result.output
    return str(result.exception)


def test_variances_by_name(today: Path) -> None:
    found = as_json(today, "--factors", "lot,winder")
    assert set(found["variances"]) == {"lot", "winder", "within"}
    for name, variance in found["variances"].items():
        assert found[name] == variance >= 0.0
    assert found["winder"] > found["lot"]
    assert found["balls"] == 480 and found["converged"]
    assert [one["source"] for one in found["parts"]] == ["lot", "winder", "within"]
    assert found["effects"]["winder"][3]["effect_g"] > 1.0
    assert "not corrected for moisture" in found["condition"]


def test_words_come_first(today: Path) -> None:
    result = CliRunner().invoke(components, [str(today), "--factors", "cone,winder"])
    assert result.exit_code == 0, result.output
    lines = result.output.splitlines()
    assert lines[0].startswith("A single ball varies by")
    assert any("Winder 4 runs" in line and "above the rest" in line for line in lines[:3])


def test_lane_and_winder_are_told_as_winder(today: Path) -> None:
    found = as_json(today, "--factors", "lane,winder")
    assert found["lane"] is None and found["variances"]["lane"] is None
    assert any("told as winder" in one for one in found["cautions"])


def test_yesterday_against_today(today: Path, tmp_path: Path) -> None:
    before = write(tmp_path / "before.csv", 1)
    found = as_json(today, "--factors", "cone,winder", "--compare", str(before))
    change = found["change"]
    parts = {one["name"]: one["change_g"] for one in change["parts"]}
    assert sum(parts.values()) == pytest.approx(change["change_g"], abs=1e-9)
    assert max(parts, key=lambda name: abs(parts[name])) == "winder 4"
    result = CliRunner().invoke(components, [str(today), "--compare", str(before)])
    assert "Today's balls are" in result.output
    assert "since yesterday" in result.output


def test_length_and_moments(today: Path) -> None:
    found = as_json(today, "--value", "length", "--factors", "winder")
    assert found["unit"] == "m" and found["left_out"] == 480 - found["balls"]
    assert "mean_m" in found
    moments = as_json(today, "--factors", "winder", "--method", "anova")
    reml = as_json(today, "--factors", "winder")
    assert moments["winder"] == pytest.approx(reml["winder"], rel=1e-6)  # a balanced set
    assert moments["parts"][0]["low_sd_g"] is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("winder,mass_g\n", "no rows"),
        ("winder,mass_g\n1,100\n", "too few balls"),
        ("winder,mass_g\n1,100\n2,100\n1,100\n2,100\n", "nothing varies"),
        ("winder,mass_g\n1,nan\n2,-1\n3,100\n", "below zero"),
        ("winder\n1\n2\n3\n", "mass_g"),
        ("mass_g\n100\n101\n102\n", "winder"),
    ],
)
def test_bad_files_give_one_clear_line(tmp_path: Path, text: str, words: str) -> None:
    file = tmp_path / "bad.csv"
    file.write_text(text, encoding="utf-8")
    assert words in fault_of(file, "--factors", "winder")


@pytest.mark.parametrize("factors", ["", "colour", "winder,winder"])
def test_sources_that_cannot_be_used(today: Path, factors: str) -> None:
    assert "--factors" in fault_of(today, "--factors", factors)


def test_without_factors_the_file_says_which(tmp_path: Path, today: Path) -> None:
    assert [one["source"] for one in as_json(today)["parts"]] == ["lot", "cone", "winder", "within"]
    file = tmp_path / "bare.csv"
    file.write_text("mass_g\n100\n101\n99.5\n", encoding="utf-8")
    found = as_json(file)
    assert list(found["variances"]) == ["within"]
    assert found["within"] == pytest.approx(0.5833333, abs=1e-6)


def test_one_winder_is_told_with_a_caution(tmp_path: Path) -> None:
    file = tmp_path / "one.csv"
    file.write_text("winder,mass_g\n1,100\n1,101\n1,99\n1,100.5\n", encoding="utf-8")
    found = as_json(file, "--factors", "winder")
    assert found["winder"] is None and found["within"] > 0.0
    assert any("only one winder here" in one for one in found["cautions"])
