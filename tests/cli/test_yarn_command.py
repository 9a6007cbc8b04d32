"""`clew yarn`: keys for programs, words for people, one line for a mistake."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

Run = Callable[..., Result]
Json = Callable[..., dict[str, Any]]


def test_convert_gives_value_and_unit(clew_json: Json) -> None:
    assert clew_json("yarn", "convert", "30", "tex", "Ne") == {
        "value": pytest.approx(19.6847, abs=5e-5),
        "unit": "Ne",
    }


def test_commercial_takes_content_or_regain(clew_json: Json) -> None:
    wet = clew_json(
        "yarn",
        "commercial",
        "--mass",
        "100 kg",
        "--moisture-content",
        "4 %",
        "--blend",
        "67 polyester, 33 cotton",
        "--table",
        "eu-1007-2011",
    )
    assert wet["dry_mass_kg"] == pytest.approx(96.0)
    assert wet["allowance_frac"] == pytest.approx(0.67 * 0.015 + 0.33 * 0.085)
    assert wet["commercial_mass_kg"] == pytest.approx(96.0 * (1 + wet["allowance_frac"]))
    dry = clew_json(
        "yarn", "commercial", "--mass", "104 kg", "--regain", "4 %", "--blend", "100 cotton"
    )
    assert dry["dry_mass_kg"] == pytest.approx(100.0)


def test_commercial_wants_moisture_once(clew: Run) -> None:
    both = clew(
        "yarn",
        "commercial",
        "--mass",
        "1 kg",
        "--regain",
        "4 %",
        "--moisture-content",
        "4 %",
        "--blend",
        "100 cotton",
    )
    none = clew("yarn", "commercial", "--mass", "1 kg", "--blend", "100 cotton")
    assert both.exit_code == none.exit_code == 2
    assert "moisture is given once" in both.stderr


def test_bulk_keys(clew_json: Json) -> None:
    found = clew_json("yarn", "bulk", "--count", "400 tex", "--shrink", "20 %")
    assert found["count_tex"] == pytest.approx(500.0)
    assert found["length_m_per_100g"] == pytest.approx(200.0)
    assert found["overfeed_frac"] == pytest.approx(0.25)


def test_bulk_with_spread_gives_an_interval(clew_json: Json) -> None:
    found = clew_json(
        "yarn", "bulk", "--count", "400 tex", "--shrink", "20 %", "--shrink-sd", "1 %"
    )
    low, high = found["count_tex_interval"]
    assert low < 500 < high
    assert (high - low) / 500 == pytest.approx(2 * 1.96 * 0.01 / 0.8, rel=0.02)


def test_class_keys(clew_json: Json) -> None:
    found = clew_json("yarn", "class", "--mass", "100 g", "--length", "220 yd")
    assert found["category"] == 4
    assert found["count_tex"] == pytest.approx(100 / (220 * 0.9144) * 1000)


def test_ply_reads_both_ways(clew_json: Json) -> None:
    assert clew_json("yarn", "ply", "2/28 Nm")["count_tex"] == pytest.approx(1000 / 14)
    assert clew_json("yarn", "ply", "20 tex", "30 tex", "--take-up", "4 %")[
        "count_tex"
    ] == pytest.approx(50 / 0.96)


def test_shrink_is_read_off_the_mills_own_trials(
    clew_json: Json, clew: Run, tmp_path: Path
) -> None:
    rows = [
        (time, temp, (0.10 + 0.001 * (temp - 90)) * (1 - 2.718281828 ** (-(time - 5) / 20)))
        for temp in (90, 95, 100)
        for time in (15, 25, 40, 60, 90)
    ]
    file = tmp_path / "trials.csv"
    file.write_text(
        "time,temperature,shrink\n"
        + "".join(f"{t} s,{c} °C,{100 * s:.3f} %\n" for t, c, s in rows),
        encoding="utf-8",
    )
    found = clew_json("yarn", "shrink", file, "--time", "45 s", "--temperature", "97 °C")
    assert found["shrink_frac"] == pytest.approx(0.107 * (1 - 2.718281828**-2), abs=5e-4)
    beyond = clew("yarn", "shrink", file, "--time", "45 s", "--temperature", "110 °C")
    assert beyond.exit_code == 2
    assert len(beyond.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["yarn", "convert", "x", "tex", "Ne"], "not a number"),
        (["yarn", "convert", "nan", "tex", "Ne"], "more than 0"),
        (["yarn", "convert", "30", "tex", "furlong"], "no such count system"),
        (
            ["yarn", "bulk", "--count", "400", "--shrink", "20 %"],
            "--count: a number without a unit",
        ),
        (
            ["yarn", "bulk", "--count", "400 tex", "--shrink", "0.2"],
            "--shrink: a number without a unit",
        ),
        (["yarn", "bulk", "--count", "400 tex", "--shrink", "100 %"], "shrink"),
        (["yarn", "class", "--mass", "0 g", "--length", "220 yd"], "without mass or length"),
        (["yarn", "class", "--mass", "-3 g", "--length", "220 yd"], "cannot be negative"),
        (
            ["yarn", "commercial", "--mass", "1 kg", "--regain", "4 %", "--blend", "50 cotton"],
            "100 %",
        ),
        (
            ["yarn", "commercial", "--mass", "1 kg", "--regain", "4 %", "--blend", "100 cottn"],
            "fibre",
        ),
        (
            [
                "yarn",
                "commercial",
                "--mass",
                "1 kg",
                "--regain",
                "4 %",
                "--blend",
                "100 cotton",
                "--table",
                "x",
            ],
            "table",
        ),
        (["yarn", "ply", "2/28"], ""),
        (
            ["yarn", "shrink", "no-such-file.csv", "--time", "45 s", "--temperature", "97 °C"],
            "no-such-file.csv",
        ),
    ],
)
def test_a_mistake_is_one_line_and_exit_code_2(clew: Run, arguments: list[str], words: str) -> None:
    result = clew(*arguments)
    assert result.exit_code == 2
    assert words in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1
    assert "Traceback" not in result.output


def test_ten_balls_of_one_cone_are_hardly_one_sample(clew_json: Json) -> None:
    """Worked by hand: 1.8, 0.6, 0.5, 0.4 % give 2.0025 % and an intraclass correlation of 0.81."""
    spreads = ("--cone-cv", "1.8 %", "--within-cv", "0.6 %", "--length-cv", "0.5 %")
    found = clew_json("yarn", "even", *spreads, "--moisture-cv", "0.4 %", "--balls", "10")
    assert found["ball_mass_cv_frac"] == pytest.approx(0.020025, abs=5e-7)
    assert found["intraclass"] == pytest.approx(0.81, abs=5e-3)
    assert found["effective_balls"] == pytest.approx(10 / (1 + 9 * found["intraclass"]))


def test_thickness_gives_diameter_and_the_lower_limit(clew_json: Json) -> None:
    found = clew_json(
        "yarn", "thickness", "--count", "500 tex", "--blend", "100 acrylic", "--packing", "50 %",
        "--fibre", "3.3 dtex", "--fibre-length", "90 mm", "--length", "200 m",
    )  # fmt: skip
    density = found["fibre_density_kg_m3"]
    by_hand_mm = (4 * 500 / (3.14159265 * density * 0.5)) ** 0.5
    assert found["diameter_mm"] == pytest.approx(by_hand_mm, rel=1e-6)
    assert found["fibres_in_section"] == pytest.approx(5000 / 3.3)
    assert found["limit_cv_frac"] == pytest.approx((5000 / 3.3) ** -0.5)
    assert 0 < found["limit_cv_at_length_frac"] < 0.05 * found["limit_cv_frac"]


def test_output_is_speed_times_count(clew_json: Json) -> None:
    found = clew_json(
        "yarn", "output", "--speed", "300 m/min", "--count", "500 tex", "--lanes", "6"
    )
    assert found["output_kg_per_h"] == pytest.approx(300 * 60 * 0.5 / 1000 * 6)
