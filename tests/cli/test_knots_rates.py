"""`clew knots rates`: the keys programs rely on, words for people, every bad row by name."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from clew.cli.knots.rates import rates
from clew.faults import BadInput

HEAD = "cone,supplier,dye_lot,mass,count,knots\n"
ROWS = (
    "1,Fell,L1,1.5 kg,250 tex,2\n2,Fell,L1,1.5 kg,250 tex,3\n3,Fell,L2,1.5 kg,4 Nm,0\n"
    "1,Beck,L2,1.5 kg,250 tex,15\n2,Beck,L2,1.5 kg,250 tex,16\n3,Beck,L3,1.5 kg,250 tex,14\n"
    "1,Scar,L3,1.5 kg,250 tex,1\n2,Scar,L3,1.5 kg,250 tex,2\n"
)


@pytest.fixture
def log(tmp_path: Path) -> Path:
    file = tmp_path / "cones.csv"
    file.write_text(HEAD + ROWS, encoding="utf-8")
    return file


def as_json(log: Path, *options: str) -> dict[str, Any]:
    result = CliRunner().invoke(rates, [str(log), "--json", *options])
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


def faults_of(file: Path, *options: str) -> BadInput:
    result = CliRunner().invoke(rates, [str(file), *options])
    assert isinstance(result.exception, BadInput), result.output
    return result.exception


def test_json_has_the_keys_programs_rely_on(log: Path) -> None:
    found = as_json(log, "--compare", "Beck", "Fell")
    assert found["cones"] == 8
    pooled = found["pooled"]
    assert (pooled["knots"], pooled["length_km"]) == (53, pytest.approx(48.0))
    assert pooled["low_per_km"] < pooled["per_km"] < pooled["high_per_km"]
    assert found["dispersion"]["degrees"] == 7
    assert found["gamma"]["shape_low"] < found["gamma"]["shape"]
    assert found["suppliers"]["sources"][0]["name"] == "Beck"
    assert {one["name"] for one in found["dye_lots"]["sources"]} == {"L1", "L2", "L3"}
    assert found["compared"]["ratio"] == pytest.approx(9.0)
    assert [point["name"] for point in found["chart"]["points"]] == ["L1", "L2", "L3"]
    needed = found["cones_needed"]
    assert needed["against_pooled"]["cones"] < needed["against_another"]["cones"]
    assert needed["cone_length_km"] == pytest.approx(6.0)


def test_the_seed_changes_the_dealing_only(log: Path) -> None:
    log.write_text(HEAD + "1,Fell,L1,1 kg,250 tex,2\n2,Beck,L1,1 kg,250 tex,5\n", encoding="utf-8")
    first, again, other = (as_json(log, "--seed", seed) for seed in ("1", "1", "2"))
    assert first == again
    assert first["dispersion"].pop("p_drawn") != other["dispersion"].pop("p_drawn")
    del first["dispersion"]["seed"], other["dispersion"]["seed"]
    assert first == other


def test_people_read_who_is_worse_and_what_it_would_take(log: Path) -> None:
    shown = CliRunner().invoke(
        rates, [str(log), "--compare", "Beck", "Fell", "--units", "yard", "--chart-by", "supplier"]
    )
    assert shown.exit_code == 0, shown.output
    first = shown.stdout.splitlines()[0]
    assert "53 knots on 8 cones" in first
    assert "Worse than the rest: Beck." in first
    assert "/1000 yd" in first
    assert "To see 2 times the rate" in shown.stdout
    assert "Beck against Fell: not told apart." in shown.stdout
    assert "9 times" in shown.stdout
    assert "/km" not in shown.stdout


def test_cones_that_differ_are_compared_whole_and_charted_with_wider_limits(log: Path) -> None:
    found = as_json(log, "--compare", "Beck", "Fell")
    assert found["cones_differ"] is True
    compared = found["compared"]
    assert compared["p_value"] < 0.001
    assert compared["swapped_cones"]["p_value"] == pytest.approx(0.1)
    assert (compared["told_apart"], compared["told_apart_by"]) == (False, "swapped_cones")
    assert found["chart"]["cone_shape"] == found["gamma"]["shape"]
    assert all(not point["signal"] for point in found["chart"]["points"])
    shown = CliRunner().invoke(rates, [str(log), "--compare", "Beck", "Fell"]).stdout
    assert "if cones were alike" in shown
    assert "all 20 splits" in shown
    assert "So few cones cannot show less than 10 %" in shown
    assert "limits for cones that differ (shape 0.86)" in shown


def test_like_cones_are_compared_by_their_counts(log: Path) -> None:
    rows = [
        f"{place},{name},,1.5 kg,250 tex,{knots}\n"
        for name, all_of_them in (("Beck", (5, 6, 5, 6)), ("Fell", (2, 1, 2, 1)))
        for place, knots in enumerate(all_of_them)
    ]
    log.write_text(HEAD + "".join(rows), encoding="utf-8")
    found = as_json(log, "--compare", "Beck", "Fell")
    assert found["cones_differ"] is False
    assert (found["compared"]["told_apart"], found["compared"]["told_apart_by"]) == (
        True,
        "p_value",
    )
    assert found["chart"]["cone_shape"] is None
    assert found["compared"]["told_apart"] == (found["compared"]["p_value"] <= 0.05)


def test_the_seed_of_swapped_cones_is_shown(log: Path) -> None:
    rng = np.random.default_rng(2)
    rows = [
        f"{place},{name},,1.5 kg,250 tex,{int(rng.poisson(3.0 * rng.gamma(1.2, 1 / 1.2)))}\n"
        for name in ("Beck", "Fell")
        for place in range(12)
    ]
    log.write_text(HEAD + "".join(rows), encoding="utf-8")
    first, other = (as_json(log, "--compare", "Beck", "Fell", "--seed", one) for one in ("1", "7"))
    assert first["compared"]["swapped_cones"]["p_value"] != pytest.approx(
        other["compared"]["swapped_cones"]["p_value"], abs=1e-9
    )
    options = [str(log), "--compare", "Beck", "Fell", "--seed", "7"]
    assert "9999 splits drawn, seed 7" in CliRunner().invoke(rates, options).stdout


@pytest.mark.parametrize("units", ["metric", "yard"])
def test_tables_stay_whole_at_80_columns_and_speak_one_unit(log: Path, units: str) -> None:
    options = [str(log), "--compare", "Beck", "Fell", "--units", units]
    lines = CliRunner().invoke(rates, options).stdout.splitlines()
    for head, rows in (("spinner ", 3), ("dye lot  cones", 3), ("dye lot  joins", 3)):
        start = next(place for place, line in enumerate(lines) if line.startswith(head))
        table = lines[start + 1 : start + 1 + rows]
        assert all(line.split()[0] in {"Beck", "Fell", "Scar", "L1", "L2", "L3"} for line in table)
        assert all(len(line) <= 80 for line in table)
        assert "/" not in "".join(table)
    text = "".join(lines)
    assert ("/km" in text, "/1000 yd" in text) == (units == "metric", units == "yard")
    assert "/100 km" not in text


def test_a_log_without_knots_and_with_one_cone_is_answered(log: Path) -> None:
    log.write_text(HEAD + "1,Fell,,1.5 kg,250 tex,0\n", encoding="utf-8")
    found = as_json(log)
    assert found["pooled"]["per_km"] == 0.0
    assert found["pooled"]["high_per_km"] == pytest.approx(3.6889 / 6, abs=1e-4)
    assert found["dispersion"] is found["gamma"] is found["suppliers"] is None
    assert CliRunner().invoke(rates, [str(log)]).exit_code == 0


def test_every_bad_row_is_named_at_once(log: Path) -> None:
    log.write_text(
        HEAD + "1,Fell,L1,1.5,250 tex,2\n1,Fell,L1,0 kg,250 tex,-3\n3,,L1,1.5 kg,,1.5\n"
        "4,Fell,L2,1 t,0.01 tex,1\n5,Fell,L2,nan kg,250 tex,\n6,Fell,L2,1 kg,250 tex,3\n",
        encoding="utf-8",
    )
    places = {(fault.line, fault.key) for fault in faults_of(log).faults}
    assert places == {
        (2, "mass"), (3, "mass"), (3, "knots"), (3, "cone"), (4, "supplier"), (4, "count"),
        (4, "knots"), (5, "mass"), (6, "mass"), (6, "knots"),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("cone,supplier,dye_lot,mass,count\n1,Fell,L1,1 kg,250 tex\n", "knots: a column"),
        (HEAD, "no rows"),
        ("", "an empty file"),
        (HEAD + '1,Fell,L1,1 kg,250 tex,"1,5"\n', "not a count of knots"),
        (HEAD.replace("knots", "joins") + ROWS, "unknown column"),
    ],
)
def test_logs_that_are_none_say_why(log: Path, text: str, said: str) -> None:
    log.write_text(text, encoding="utf-8")
    assert said in str(faults_of(log))


def test_spinners_to_compare_must_stand_in_the_log(log: Path) -> None:
    assert "no such spinner" in str(faults_of(log, "--compare", "Fell", "Nobody"))
    assert "one spinner twice" in str(faults_of(log, "--compare", "Fell", "Fell"))


@pytest.mark.parametrize("option", [("--times", "1"), ("--power", "100 %"), ("--times", "nan")])
def test_plans_that_cannot_be_are_refused(log: Path, option: tuple[str, str]) -> None:
    assert faults_of(log, *option).faults
