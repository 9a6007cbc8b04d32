"""`clew knots` through the command itself: fixed keys, and a line and exit code 2 for a mistake."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

Run = Callable[..., Result]
Json = Callable[..., dict[str, Any]]

LAW = ("knots", "law", "--ball-length", "200 m", "--breaks-per-km", "1.0")
CONES = ("--cone-length", "4000 m", "--cone-cv", "0 %")
CUT = (
    "--ball-length", "200 m", "--limit", "2", "--min-piece", "5 m", "--price-first", "6",
    "--price-second", "3", "--waste-per-m", "0.01", "--parting", "0.02", "--join-length", "0.1 m",
    "--strand-length", "12 km",
)  # fmt: skip


def test_the_law_has_the_keys_programs_rely_on(clew_json: Json) -> None:
    found = clew_json(*LAW, *CONES)
    assert found["mean"] == pytest.approx(0.2 + 200 / 4000, abs=1e-9)
    assert sum(found["pmf"]) == pytest.approx(1.0)
    assert found["p_more_than"]["0"] == pytest.approx(1 - found["pmf"][0])


def test_a_law_in_steam_counts_a_fifth_more_joins(clew_json: Json) -> None:
    """Cones and breaks are per metre before steam: at a shrink of 20 % a ball holds more."""
    before, after = clew_json(*LAW, *CONES), clew_json(*LAW, *CONES, "--shrink", "20 %")
    assert after["mean"] == pytest.approx(before["mean"] / 0.8, rel=1e-9)


def test_a_cutting_plan_has_the_keys_programs_rely_on(clew_json: Json, tmp_path: Path) -> None:
    file = tmp_path / "map.csv"
    rows = "".join(f"{place} m,tie\n" for place in (150.0, 160.0, 170.0, 5000.5))
    file.write_text("position,kind\n" + rows, encoding="utf-8")
    found = clew_json("knots", "cut", file, *CUT)
    assert {"value", "first", "second", "waste_m", "partings", "starts_m"} <= set(found)
    assert found["first"] + found["second"] == len(found["starts_m"])
    assert found["value"] >= found["straight_through"]["value"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("position,kind\n13 km,tie\n", "beyond"),
        ("position,kind\n-1 m,tie\n", "negative"),
        ("position,kind\nnan m,tie\n", "not a number"),
        ('position,kind\n"1,5 m",tie\n', "comma"),
        ("position,kind\n5 m,tie\n5 m,break\n", ""),
        ("place\n5 m\n", "column"),
    ],
)
def test_a_bad_map_is_named_and_exit_code_2(
    clew: Run, tmp_path: Path, text: str, words: str
) -> None:
    file = tmp_path / "map.csv"
    file.write_text(text, encoding="utf-8")
    result = clew("knots", "cut", file, *CUT)
    assert result.exit_code == 2
    assert words in result.stderr
    assert "Traceback" not in result.output


def test_a_bad_cone_log_names_every_row(clew: Run, tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    file.write_text(
        "cone,supplier,dye_lot,mass,count,knots\nA1,S,L,1.6,400 tex,2\nA2,S,L,1.6 kg,400 tex,-1\n",
        encoding="utf-8",
    )
    result = clew("knots", "rates", file)
    assert result.exit_code == 2
    assert [
        f"log.csv:{line}:" in row
        for line, row in zip((2, 3), result.stderr.splitlines(), strict=True)
    ] == [True, True]


def test_rates_give_a_pooled_rate_with_its_interval(clew_json: Json, tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    rows = "".join(f"C{n},S{n % 2},L{n % 3},1.6 kg,400 tex,{n % 3}\n" for n in range(12))
    file.write_text("cone,supplier,dye_lot,mass,count,knots\n" + rows, encoding="utf-8")
    pooled = clew_json("knots", "rates", file)["pooled"]
    assert pooled["per_km"] == pytest.approx(12 / (12 * 4.0))
    assert pooled["low_per_km"] < pooled["per_km"] < pooled["high_per_km"]


def test_the_law_of_a_ball_of_the_mill_goes_through_steam(clew_json: Json, mill_dir: Path) -> None:
    found = clew_json("knots", "law", "--mill", mill_dir, "--ball", "querl 100")
    # 0.35 breaks per km before a shrink of a fifth, 3200 m of cone after it
    assert found["mean_by_source"]["breaks"] == pytest.approx(0.35 / 800 * 200)
    assert found["mean_by_source"]["cone_ties"] == pytest.approx(200 / 3200)
    assert found["shrink_frac"] == pytest.approx(0.2)
    assert found["ball"] == "Querl 100"


def test_a_value_by_hand_stands_in_place_of_the_mills(clew_json: Json, mill_dir: Path) -> None:
    found = clew_json(
        "knots", "law", "--mill", mill_dir, "--ball", "Querl 100", "--cone-length", "8 km"
    )
    assert found["mean_by_source"]["cone_ties"] == pytest.approx(200 / 6400)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "--ball-length: no ball"),
        (("--lot", "SL-207"), "--lot: a dye lot without a ball"),
        (("--ball-length", "200 m", "--breaks-per-km", "many"), "--breaks-per-km: not a quantity"),
        (("--ball-length", "200 m", "--cone-length", "0 m"), "--cone-length: out of range"),
    ],
)
def test_the_law_names_the_option_that_is_wrong(
    clew: Run, arguments: tuple[str, ...], words: str
) -> None:
    result = clew("knots", "law", *arguments)
    assert result.exit_code == 2
    assert words in result.stderr
