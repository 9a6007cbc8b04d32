"""`clew knots cones`: its words, its fixed keys, and faults by option."""

from __future__ import annotations

import json
from typing import Any

import pytest
from click.testing import CliRunner

from clew.cli.knots.cones import _told_from_none, cones
from clew.faults import BadInput

NARROW = ("--spread", "0 %", "--spread", "1 %")
BY_HAND = (
    *("--ball-length", "100 m", "--cone-length", "3750 m", "--shrink", "20 %"),
    *("--cone-cv", "0.4 %", "--price-first", "6", "--price-second", "4", "--parting", "0.02"),
    *NARROW,
)


def run(*arguments: str) -> str:
    result = CliRunner().invoke(cones, list(arguments), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


def run_json(*arguments: str) -> dict[str, Any]:
    found = json.loads(run(*arguments, "--json"))
    assert isinstance(found, dict)
    return found


def test_the_form_fixed_for_scripts():
    found = run_json(*BY_HAND, "--cone-count", "400 tex", "--lot-cones", "10")
    assert set(found) == {
        "ball_length_m", "shrink_frac", "cone_cv", "currency", "ball_price", "tie_loss",
        "tie_makes_second_frac", "range_before_steam_m", "today", "best", "gain_per_km",
        "gain_a_year", "start_anew_pays_below_cv", "size_matters_below_cv", "lot", "by_spread",
    }  # fmt: skip
    assert set(found["today"]) == set(found["best"]) == {"wind_on", "start_anew", "drop_short"}
    assert set(found["today"]["wind_on"]) == {
        "cone_before_steam_m", "cone_after_steam_m", "cone_mass_g", "drop_up_to_m",
        "balls_per_cone", "tied_share", "leftover_m_per_cone", "money_per_km",
    }  # fmt: skip
    now = found["today"]["wind_on"]
    assert now["cone_after_steam_m"] == pytest.approx(3000.0)
    assert now["cone_mass_g"] == pytest.approx(1500.0)
    assert now["tied_share"] == pytest.approx(1 / 30)
    # no other joins, limit 0: every tie makes a second-quality ball
    assert found["tie_loss"] == pytest.approx(2.0)
    assert now["money_per_km"] == pytest.approx(60.0 - 2.0 / 3.0)
    assert found["range_before_steam_m"] == pytest.approx([3625.0, 3875.0])
    assert found["gain_per_km"] == pytest.approx(
        found["best"]["drop_short"]["money_per_km"] - now["money_per_km"]
    )
    assert found["lot"]["tied_balls"] == 9.0
    assert [one["cone_cv"] for one in found["by_spread"]] == [0.0, 0.01]
    assert found["by_spread"][0]["best"]["start_anew"]["tied_share"] == 0.0
    assert 0.004 < found["start_anew_pays_below_cv"] < 0.01


def test_the_words_say_the_target_before_steam():
    text = run(*BY_HAND, "--cone-count", "400 tex")
    best = run_json(*BY_HAND)["best"]["drop_short"]
    assert text.startswith(f"Wind cones to {best['cone_before_steam_m']:.1f} m (1")
    assert f"{best['drop_up_to_m']:.1f} m or less, else tie and wind on" in text
    assert "makes 100.00 % of them second-quality" in text


def test_lengths_masses_and_money_in_yards():
    now = run_json(*BY_HAND)["today"]["wind_on"]
    text = run(*BY_HAND, "--cone-count", "400 tex", "--units", "yard")
    length = f"{now['cone_before_steam_m'] / 0.9144:.1f}"
    assert f"over winding today's {length} yd (52.91 oz) on: " in text
    today = next(line for line in text.splitlines() if line.startswith("today: wind on"))
    assert today.split()[3:5] == [length, "52.9"]
    assert today.split()[-1] == f"{0.9144 * now['money_per_km']:.4f}"
    assert "tables: a 1000 yd." in text
    assert " m (" not in text
    assert "/km" not in text


def test_a_tie_that_costs_nothing_is_wound_over():
    text = run(*BY_HAND, "--tie-loss", "0")
    assert text.startswith("Wind on over every tie")
    assert "does not pay against winding on, however small the spread" in text


def test_wide_cones_have_no_best_size():
    text = run(*BY_HAND, "--cone-cv", "5 %")
    assert text.startswith("Drop what a cone leaves over when it is 33.0 m or less; no cone size")
    assert "From a spread of about 1.64 % on" in text


def test_even_cones_of_whole_balls():
    text = run(*BY_HAND, "--cone-cv", "0 %")
    assert "every tie falls on a ball's end" in text


def test_a_ball_of_the_mill(tmp_path):
    from clew.mill.demo_mill import write_demo

    write_demo(tmp_path)
    found = run_json("--mill", str(tmp_path), "--ball", "Querl 100", *NARROW)
    assert found["today"]["wind_on"]["cone_mass_g"] == pytest.approx(1600.0)
    assert found["currency"] == "GBP"
    assert found["gain_a_year"] > 0.0


def test_cones_shorter_than_a_ball():
    found = run_json(
        *("--ball-length", "400 m", "--cone-length", "300 m", "--cone-cv", "10 %"),
        *("--price-first", "6", "--price-second", "4", "--spread", "10 %"),
        *("--shortest", "290 m", "--longest", "310 m"),
    )
    assert found["today"]["wind_on"]["tied_share"] == pytest.approx(1.0, abs=1e-3)
    # 0.5 % of so short a cone is nothing to so long a ball: it is not among those compared
    assert _told_from_none(400.0 / 290.0) == [0.0, 0.01, 0.02, 0.03, 0.05]


@pytest.mark.parametrize(
    ("arguments", "option"),
    [
        (("--cone-length", "0 m"), "--cone-length"),
        (("--cone-cv", "40 %"), "--cone-cv"),
        (("--cone-cv", "0.0001 %"), "--cone-cv"),
        (("--spread", "40 %"), "--spread"),
        (("--tie-loss", "-1"), "--tie-loss"),
        (("--tie-cost", "nan"), "--tie-cost"),
        (("--tie-cost", "1e308"), "--tie-cost"),
        (("--tie-loss", "1e308", "--json"), "--tie-loss"),
        (("--waste-per-m", "1e308", "--json"), "--waste-per-m"),
        (("--parting", "1e308", "--json"), "--parting"),
        (("--price-first", "1e308"), "--price-first"),
        (("--price-first", "0", "--price-second", "0"), "--price-first"),
        (("--near", "60 m"), "--near"),
        (("--lot-cones", "5000"), "--lot-cones"),
        (("--shortest", "4000 m", "--longest", "3000 m"), "--shortest"),
        (("--longest", "30000 m"), "--longest"),
        (("--ball-length", "100"), "--ball-length"),
    ],
)
def test_a_fault_names_its_option(arguments, option):
    with pytest.raises(BadInput) as bad:
        run(*BY_HAND, *arguments)
    assert option in {fault.key for fault in bad.value.faults}


def test_no_cone_and_no_price_are_said():
    with pytest.raises(BadInput) as bad:
        run("--ball-length", "100 m", "--price-first", "6", "--price-second", "4")
    assert bad.value.faults[0].key == "--cone-length"
    with pytest.raises(BadInput) as bad:
        run("--ball-length", "100 m", "--cone-length", "3000 m")
    assert "--price-first" in bad.value.faults[0].expected


@pytest.mark.parametrize(
    "money",
    [
        ("--tie-cost", "1e12"),
        ("--tie-loss", "1e12"),
        ("--parting", "1e12", "--waste-per-m", "1e12"),
        ("--price-first", "1e12"),
    ],
)
def test_the_most_money_is_worked_with(money):
    assert run_json(*BY_HAND, *money)["best"]["drop_short"]["balls_per_cone"] > 0.0


def test_money_has_its_currency_and_rows_stay_whole_in_80_columns(tmp_path, monkeypatch):
    from clew.mill.demo_mill import write_demo

    monkeypatch.setenv("COLUMNS", "80")
    write_demo(tmp_path)
    lines = run("--mill", str(tmp_path), "--ball", "Querl 100").splitlines()
    assert " GBP a year: " in lines[1]
    assert lines[1].count(" GBP") == 5
    head = next(number for number, line in enumerate(lines) if line.startswith("cones "))
    assert lines[head].split()[-1] == "GBP/km"
    starts = [line.split("  ")[0] for line in lines[head + 1 : head + 6]]
    assert starts == [
        "today: wind on", "today: start anew", "today: drop short",
        "best: start anew", "best: drop short",
    ]  # fmt: skip
    assert lines[head + 7].startswith("spread, %")
    assert [line.split()[0] for line in lines[head + 8 :]] == ["0", "0.5", "1", "2", "3", "5"]


def test_a_splice_that_counts_nothing_is_wound_over(tmp_path):
    from clew.mill.demo_mill import write_demo

    write_demo(tmp_path)
    file = tmp_path / "mill.toml"
    text = file.read_text(encoding="utf-8")
    text = text.replace('made_as = "knot"', 'made_as = "splice"')
    file.write_text(text.replace("splice_counts = 0.5", "splice_counts = 0.0"), encoding="utf-8")
    shown = run("--mill", str(tmp_path), "--ball", "Querl 100", *NARROW)
    assert "costs a ball 0.0000 GBP: a splice that counts 0 is not seen." in shown
