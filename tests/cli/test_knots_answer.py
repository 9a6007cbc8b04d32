"""`clew knots answer`: keys for programs, words for people, the letter, faults by option."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from clew.cli.knots.answer import answer
from clew.cli.knots.price import price
from clew.faults import BadInput
from clew.knots.law import knot_law
from clew.knots.sources import sources_after_steam

HAND = (
    *("--ball-length", "200 m", "--breaks-per-km", "1", "--cone-length", "4000 m"),
    *("--dispersion", "2", "--shrink", "20 %", "--limit", "2"),
)
MONEY = ("--price-first", "4", "--price-second", "2", "--ball-mass", "100 g")


def run(*arguments: str) -> Result:
    return CliRunner().invoke(answer, list(arguments))


def run_json(*arguments: str) -> dict[str, Any]:
    result = run(*arguments, "--json")
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


def faults_of(*arguments: str) -> set[str]:
    result = run(*arguments)
    assert isinstance(result.exception, BadInput), result.output
    return {fault.key for fault in result.exception.faults}


def test_json_has_the_keys_programs_rely_on():
    found = run_json(*HAND, "--at", "12 m", "--at", "80 m")
    sources = sources_after_steam(
        breaks_per_km=1.0, cone_length_m=4000.0, dispersion=2.0, shrink_frac=0.2
    )
    law = knot_law(sources, 200.0)
    assert found["joins"] == 2
    assert found["p_exactly"]["value"] == pytest.approx(law.pmf[2])
    assert found["exactly_per_10000"]["value"] == pytest.approx(1e4 * law.pmf[2])
    assert found["p_at_least"]["value"] == pytest.approx(law.more_than(1))
    assert found["shortest_piece_m"] == pytest.approx(12.0)
    assert found["first_quality"] is True
    assert sum(found["split"]["expected"].values()) == pytest.approx(2.0)
    assert found["split"]["used_places"] is True
    assert len(found["split"]["by_join"]) == 2
    assert found["cones_to_see_doubling"]["cones"] > 0
    assert found["prevention"] is None
    assert found["letter"][0].startswith("DRAFT")


def test_the_limit_that_would_have_kept_it_back_is_priced():
    found = run_json(*HAND, *MONEY, "--joins", "2")["prevention"]
    assert found["limit"] == 1
    assert 0.0 < found["cost_per_ball"]["value"] < 2.0
    assert 0.0 < found["more_than_today_per_ball"]["value"] < found["cost_per_ball"]["value"]
    # one who winds on pays far more than one who knows the whole strand
    straight = found["straight_more_than_today_per_ball"]
    assert straight["value"] > 1.5 * found["more_than_today_per_ball"]["value"]
    asked = (*HAND, *MONEY, "--limits", "1,2", "--habit", "straight", "--no-halved", "--json")
    rows = json.loads(CliRunner().invoke(price, list(asked)).stdout)["tables"][0]["rows"]
    assert found["straight_per_ball"]["value"] == pytest.approx(rows[0]["cost_per_ball"]["value"])
    said = run(*HAND, *MONEY, "--joins", "2").stdout
    assert "by one who knows the whole strand" in said
    assert "wound straight through" in said


def test_a_ball_with_a_short_piece_is_priced_no_limit():
    said = run(*HAND, *MONEY, "--at", "3 m")
    assert "shortest-piece rule already forbids such a ball" in said.stdout
    assert "would have kept it back" not in said.stdout
    assert run_json(*HAND, *MONEY, "--at", "3 m")["prevention"] is None


def test_a_ball_without_a_knot_needs_no_answer():
    result = run(*HAND, "--joins", "0")
    assert isinstance(result.exception, BadInput)
    assert "a ball without a knot needs no answer" in str(result.exception.faults[0])


def test_a_piece_too_near_to_the_rule_to_tell():
    found = run_json(*HAND, "--at", "100 m", "--at", "194.95 m", "--join-length", "0.1 m")
    assert found["first_quality"] is None
    assert found["near_the_piece_rule"] is True
    assert found["within_limit"] is True


def test_every_sum_has_its_currency():
    demo = Path(__file__).parents[2] / "src" / "clew" / "mill" / "demo"
    text = run("--mill", str(demo), "--ball", "Querl 100", "--joins", "2").stdout
    (line,) = [one for one in text.splitlines() if "would have kept it back" in one]
    sums = re.findall(r"(\S+) (0\.\d+)", line)
    assert len(sums) == 12
    assert {word.strip("(") for word, _ in sums} == {"GBP"}


def test_words_come_first_then_the_tables():
    text = run(*HAND, "--at", "12 m", "--at", "80 m").stdout
    assert text.startswith("2 knots in a ball of 200 m: one ball in")
    assert "first-quality ball" in text.splitlines()[1]
    assert "no sample of the lot" in text
    assert text.index("no sample of the lot") < text.index("what they were")
    assert "knot at" in text
    assert "join" not in text


def test_yards_are_printed_in_yards():
    text = run(*HAND, "--at", "20 yd", "--units", "yard").stdout
    assert "218.7 yd" in text
    assert "20 yd" in text


def test_a_ball_of_the_mill_with_its_band_and_its_year():
    demo = Path(__file__).parents[2] / "src" / "clew" / "mill" / "demo"
    found = run_json("--mill", str(demo), "--ball", "Querl 100", "--joins", "2")
    assert found["p_exactly"]["low"] < found["p_exactly"]["value"] < found["p_exactly"]["high"]
    assert found["exactly_a_year"]["value"] > found["sold_as_first_a_year"]["value"] > 0.0
    assert found["currency"] == "GBP"
    assert any("Querl 100" in one for one in found["letter"])


def test_the_letter_alone_and_in_a_file(tmp_path: Path):
    file = tmp_path / "draft.txt"
    result = run(*HAND, *MONEY, "--joins", "3", "--letter", "--out", str(file))
    assert result.exit_code == 0
    assert result.stdout.startswith("DRAFT")
    assert "what they were" not in result.stdout
    assert file.read_text(encoding="utf-8") == result.stdout


def test_exit_codes():
    assert run(*HAND, "--joins", "3").exit_code == 0
    assert run(*HAND, "--joins", "3", "--check").exit_code == 1
    assert run(*HAND, "--joins", "2", "--check").exit_code == 0
    assert run(*HAND, "--at", "2 m", "--check").exit_code == 1


def test_the_seed_decides_what_is_drawn():
    short = (*HAND, "--cone-length", "300 m", "--cone-cv", "30 %", "--joins", "3")
    one, same, other = (run_json(*short, "--seed", seed)["split"] for seed in ("1", "1", "2"))
    assert one == same
    assert one["drawn"] > 0
    assert one["expected"] != other["expected"]


@pytest.mark.parametrize(
    ("arguments", "option"),
    [
        ((), "--joins"),
        (("--joins", "-1"), "--joins"),
        (("--joins", "201"), "--joins"),
        (("--joins", "1", "--at", "3 m", "--at", "9 m"), "--joins"),
        (("--at", "201 m"), "--at"),
        (("--at", "7 m", "--at", "7 m"), "--at"),
        (("--at", "7"), "--at"),
    ],
)
def test_a_fault_names_its_option(arguments, option):
    assert option in faults_of(*HAND, *arguments)
