"""The command of the law: its fixed keys, its table, and faults by option."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
from click.testing import CliRunner

from clew.cli.knots.law import law
from clew.faults import BadInput


def run(*arguments: str) -> str:
    result = CliRunner().invoke(law, list(arguments), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


def run_json(*arguments: str) -> dict[str, Any]:
    found = json.loads(run(*arguments, "--json"))
    assert isinstance(found, dict)
    return found


FIXED = (
    *("--ball-length", "200 m", "--breaks-per-km", "1.0"),
    *("--cone-length", "4000 m", "--cone-cv", "0 %"),
)


def test_the_form_fixed_for_scripts():
    """Poisson of 0.2 breaks and a tie in every twentieth ball."""
    found = run_json(*FIXED)
    assert found["pmf"][0] == pytest.approx(0.95 * math.exp(-0.2), abs=1e-12)
    assert found["pmf"][1] == pytest.approx(math.exp(-0.2) * (0.95 * 0.2 + 0.05), abs=1e-12)
    assert found["mean"] == pytest.approx(0.25, abs=1e-12)
    assert found["p_more_than"]["0"] == pytest.approx(1.0 - found["pmf"][0], abs=1e-12)
    assert list(found["p_more_than"])[:6] == ["0", "1", "2", "3", "4", "5"]


def test_every_option_moves_its_own_figure():
    found = run_json(
        *FIXED,
        *("--dispersion", "2", "--line-breaks-per-km", "0.3", "--colour-ties-per-km", "0.1"),
        *("--shrink", "20 %", "--check", "20000", "--seed", "4", "--min-piece", "10 m"),
    )
    assert found["mean_by_source"] == pytest.approx(
        {"breaks": 0.25, "cone_ties": 0.0625, "line_breaks": 0.06, "colour_ties": 0.02}
    )
    assert found["mean"] == pytest.approx(0.3925, abs=1e-9)
    assert found["after_steam"]["cone_length_m"] == pytest.approx(3200.0)
    assert found["drawn"]["seed"] == 4
    assert found["drawn"]["mean"] == pytest.approx(0.3925, abs=0.03)
    assert found["p_within_limit"]["1"] < 1.0 - found["p_more_than"]["1"]


def test_no_source_at_all_is_an_answer():
    found = run_json("--ball-length", "50 m")
    assert found["pmf"] == [1.0]
    assert found["p_more_than"]["0"] == 0.0
    assert found["after_steam"]["dispersion"] is None
    assert "0 joins a ball" in run("--ball-length", "50 m")


def test_the_table_shows_the_drawn_balls_beside_the_law():
    text = run(*FIXED, "--check", "1000", "--ball-number", "20")
    assert "ball 20 after a cone's start" in text
    assert "of 1000 drawn" in text


def test_lengths_are_in_the_mills_units_or_those_asked_for(tmp_path):
    from clew.mill.demo_mill import write_demo

    assert run("--ball-length", "200 m").startswith("200 m, anywhere")
    asked = run("--ball-length", "200 m", "--units", "yard")
    assert asked.startswith("218.723 yd, anywhere")
    assert "pieces ≥ 5.468 yd" in asked
    write_demo(tmp_path)
    file = tmp_path / "mill.toml"
    text = file.read_text(encoding="utf-8")
    assert 'units = "metric"' in text
    file.write_text(text.replace('units = "metric"', 'units = "yard"'), encoding="utf-8")
    named = ("--mill", str(tmp_path), "--ball", "Querl 100")
    assert run(*named).startswith("218.723 yd, anywhere")
    assert run(*named, "--units", "metric").startswith("200 m, anywhere")


def test_a_count_of_no_break_is_told(tmp_path):
    from clew.mill.demo_mill import write_demo

    write_demo(tmp_path)
    named = ("--mill", str(tmp_path), "--ball", "Querl 100")
    assert "No break" not in run(*named)
    file = tmp_path / "mill.toml"
    text = file.read_text(encoding="utf-8").replace('breaks = "0.35 /km"', 'breaks = "0 /km"')
    file.write_text(text, encoding="utf-8")
    # 3.69 on 180 km before steam; 144 km of ball yarn, 200 m of it in a ball
    last = run(*named).splitlines()[-1]
    assert last == (
        "No break in 180 km counted: at most 0.02 /km (95 %), so at most 0.0051 more joins a ball."
    )


@pytest.mark.parametrize(
    ("arguments", "option"),
    [
        (("--ball-length", "0 m"), "--ball-length"),
        (("--ball-length", "200"), "--ball-length"),
        (("--ball-length", "200 m", "--breaks-per-km", "nan"), "--breaks-per-km"),
        (("--ball-length", "200 m", "--dispersion", "0"), "--dispersion"),
        (("--ball-length", "200 m", "--cone-length", "0 m"), "--cone-length"),
        (("--ball-length", "200 m", "--shrink", "95 %"), "--shrink"),
        (("--ball-length", "200 m", "--ball-number", "100000"), "--ball-number"),
        (("--ball-length", "9000 km", "--breaks-per-km", "1"), "--ball-length"),
    ],
)
def test_a_fault_names_its_option(arguments, option):
    with pytest.raises(BadInput) as bad:
        run(*arguments)
    assert option in {fault.key for fault in bad.value.faults}
