"""Knots: it says what the rooms say, in both systems of units, and refuses in plain lines."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from clew.cli.knots.price import price
from clew.cli.main import main
from clew.knots.cutting import plan_cuts
from clew.knots.from_mill import knot_terms
from clew.knots.law import knot_law
from clew.knots.strand_draw import draw_strand
from clew.mill.model import Mill
from clew.web.drawn.figures import Figures
from clew.web.drawn.strand_drawing import KIND_WORDS, LETTERS, Lane, strand_lines
from clew.web.knots.inputs import KNOTS_KEYS, joins_allowed
from clew.web.knots.money import coin, small_sum, whole_sum
from clew.web.knots.page import BALLS_DRAWN, open_knots, strand_of
from clew.web.knots.view import law_chart
from clew.web.knots.words import chance_words, held_words, out_of

Opener = Callable[[Path], TestClient]
SVG = "{http://www.w3.org/2000/svg}"


def shown(page: str) -> str:
    """What a page says, without its markup."""
    text = re.sub(r"\s+", " ", re.sub(r"<[^>]*>", "", page)).replace("\u00a0", " ")
    return html.unescape(text)


def changed(folder: Path, *changes: tuple[str, str]) -> Path:
    file = folder / "mill.toml"
    text = file.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    file.write_text(text, encoding="utf-8")
    return folder


@pytest.mark.parametrize("units", ["metric", "yard"])
def test_knots_says_what_the_law_says_for_every_ball(
    client: TestClient, demo_mill: Mill, units: str
) -> None:
    client.cookies.set("clew_units", units)
    for ball in demo_mill.ball:
        page = client.get("/knots", params={"ball": ball.name, "part": "answer"})
        assert page.status_code == 200
        terms = knot_terms(demo_mill, ball.name)
        law = knot_law(terms.sources, terms.rule.ball_length_m)
        text = shown(page.text)
        found = re.search(
            rf"Of (\d+) balls of {ball.name}, (\d+) holds? no knot, (\d+) holds? one, (\d+) hold",
            text,
        )
        assert found
        of, *counts = (int(one) for one in found.groups())
        assert sum(counts) == of
        more = 1.0 - law.pmf[0] - law.pmf[1]
        for count, chance in zip(counts, (law.pmf[0], law.pmf[1], more), strict=True):
            assert abs(count / of - chance) <= 1.0 / of
        over = float(law.pmf[ball.knot_limit + 1 :].sum())
        said = re.search(rf"Limit {ball.knot_limit}: (\d+) balls in (\d[\d ]*\d)", text)
        assert said
        assert int(said[1]) / int(said[2].replace(" ", "")) == pytest.approx(over, rel=0.1)
        total = sum(law.mean_by_source.values())
        ties = f"{100 * law.mean_by_source['cone_ties'] / total:.0f} %"
        assert f"ties from cone to cone {ties}" in text
        assert ("shorter than 5 m" if units == "metric" else "shorter than 5.47 yd") in text


def test_the_parts_together_hold_every_live_piece_of_the_page(client: TestClient) -> None:
    for query in ("knot_limit=1", "knot_limit=x"):
        page = client.get(f"/knots?{query}")
        answer = client.get(f"/knots?{query}&part=answer")
        priced = client.get(f"/knots?{query}&part=price")
        assert page.status_code == answer.status_code == priced.status_code
        live = re.findall(r'id="([^"]+)" data-live', page.text)
        assert live
        quick, late = (re.findall(r'id="([^"]+)" data-live', one.text) for one in (answer, priced))
        assert sorted(live) == sorted(quick + late)
        assert re.findall(r'id="([^"]+)" data-live data-later', page.text) == late


def test_the_quick_part_prices_nothing(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object) -> None:
        raise AssertionError("a limit was priced")

    monkeypatch.setattr("clew.web.knots.page.price_of_limits", never)
    assert client.get("/knots?breaks=0.413+/km&part=answer").status_code == 200


def test_the_price_says_what_the_command_says(client: TestClient, demo_folder: Path) -> None:
    arguments = ["--ball", "Querl 100", "--lot", "SL-207", "--mill", str(demo_folder), "--json"]
    result = CliRunner().invoke(price, arguments)
    assert result.exit_code == 0, result.output
    command = json.loads(result.output)
    said = client.get("/api/knots/price", params={"ball": "Querl 100", "lot": "SL-207"}).json()
    assert said == command
    today, half = command["tables"][:2]
    step = next(one for one in today["steps"] if one["looser"] == today["limit_today"])
    cost = small_sum(step["cost_per_ball"]["value"], "GBP")
    text = shown(client.get("/knots?part=price").text)
    assert f"A limit of 1 would cost at least {cost}" in text
    halved = small_sum(half["rows"][1]["cost_per_ball"]["value"], "GBP")
    assert f"or {halved} with half the breaks" in text
    for name in ("yield_frac", "second_share", "waste_frac"):
        assert f"{100 * today['rows'][0][name]['value']:.2f} %" in text
    assert "mill’s own estimate" in text
    assert "Spliced instead of knotted" in text


def test_the_law_has_the_keys_of_the_command(client: TestClient, demo_folder: Path) -> None:
    arguments = ["knots", "law", "--ball", "Querl 100", "--lot", "SL-207"]
    result = CliRunner().invoke(main, [*arguments, "--mill", str(demo_folder), "--json"])
    assert result.exit_code == 0, result.output
    said = client.get("/api/knots/law", params={"ball": "Querl 100", "lot": "SL-207"}).json()
    assert said == json.loads(result.output)


def test_the_strand_is_drawn_from_its_seed_and_cut_by_the_room(
    client: TestClient, demo_mill: Mill
) -> None:
    asked = {"ball": "Dunnow 50", "lot": "none", "seed": "6", "knot_limit": "0"}
    said = client.get("/api/knots/strand", params=asked).json()
    terms = knot_terms(demo_mill, "Dunnow 50")
    knots = draw_strand(terms.sources, BALLS_DRAWN * terms.rule.ball_length_m, seed=6)
    assert [one["at_m"] for one in said["joins"]] == knots.positions_m.tolist()
    assert [one["kind"] for one in said["joins"]] == list(knots.kinds)
    cuts = plan_cuts(knots, replace(terms.rule, limit=0), terms.prices)
    assert said["plans"]["best"]["value"] == cuts.best.value
    assert said["plans"]["part"]["waste_m"] == cuts.part_every.waste_m
    other = client.get("/api/knots/strand", params={**asked, "seed": "7"}).json()
    assert other["joins"] != said["joins"]
    page = client.get("/knots", params={**asked, "part": "answer"}).text
    assert "Strand number 6" in page
    assert "/knots?ball=Dunnow+50&amp;lot=none&amp;knot_limit=0&amp;seed=7#strand" in page
    assert whole_sum(cuts.best.value, "GBP") in page


def test_trying_moves_the_answer_as_it_must(client: TestClient) -> None:
    plain = client.get("/api/knots/law").json()
    for asked, more in (
        ({"breaks": "0.7 /km"}, True),
        ({"cone_mass": "3.2 kg"}, False),
        ({"cone_mass": "112.8766779 oz"}, False),
        ({"shrink": "40 %"}, True),
    ):
        tried = client.get("/api/knots/law", params=asked).json()
        assert (tried["mean"] > plain["mean"]) is more, asked
    heavier = client.get("/api/knots/law", params={"cone_mass": "3.2 kg"}).json()
    ties = plain["mean_by_source"]["cone_ties"]
    assert heavier["mean_by_source"]["cone_ties"] == pytest.approx(ties / 2)
    longer = client.get("/api/knots/law", params={"shortest_piece": "20 m"}).json()
    assert longer["p_piece_under_min"] > 3 * plain["p_piece_under_min"]


@pytest.mark.parametrize(
    ("asked", "key", "words"),
    [
        ({"knot_limit": "two"}, "knot_limit", "not a whole number"),
        ({"knot_limit": "1.5"}, "knot_limit", "not a whole number"),
        ({"knot_limit": "-1"}, "knot_limit", "not a whole number"),
        ({"knot_limit": "9" * 30}, "knot_limit", "not a whole number"),
        ({"knot_limit": "201"}, "knot_limit", "out of reach"),
        ({"breaks": "20000"}, "breaks", "0 to 10000"),
        ({"breaks": "20000 /km"}, "breaks", "0 to 10000"),
        ({"cone_mass": "1.6 m"}, "cone_mass", "m is a length, not a mass"),
        ({"cone_mass": "0 g"}, "cone_mass", "a mass of 0"),
        ({"shortest_piece": "short"}, "shortest_piece", "not a quantity"),
        ({"shrink": "95 %"}, "shrink", "less than 90 %"),
    ],
)
def test_a_fault_stands_beside_its_input(
    client: TestClient, asked: dict[str, str], key: str, words: str
) -> None:
    page, said = client.get("/knots", params=asked), client.get("/api/knots/strand", params=asked)
    assert page.status_code == said.status_code == 422
    beside = page.text.split(f'id="{key}-fault" data-live>')[1].split("</p>")[0]
    assert words in html.unescape(beside)
    assert [fault["key"] for fault in said.json()["faults"]] == [key]
    assert "No answer until this is put right" in page.text


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"seed": "x"}, "not a whole number"),
        ({"seed": "99999999999"}, "out of reach"),
        ({"breaks": "5000 /km"}, "too many joins in one ball"),
        ({"lot": "BR-091"}, "is of Dunnow"),
        ({"ball": "Nope"}, "no such ball"),
        ({"knots": "2"}, "nothing of that name is asked here"),
    ],
)
def test_what_has_no_input_of_its_own_is_told_too(
    client: TestClient, asked: dict[str, str], words: str
) -> None:
    for part in ("", "answer", "price"):
        page = client.get("/knots", params={**asked, "part": part})
        assert page.status_code == 422
        assert "Traceback" not in page.text
    assert words in client.get("/knots", params=asked).text
    said = client.get("/api/knots/law", params=asked)
    assert said.status_code == 422
    assert words in str(said.json()["faults"])


def test_more_joins_than_can_be_priced_leave_law_and_strand(client: TestClient) -> None:
    """At 700 breaks a km the band's upper end is beyond the law, and the strands too full."""
    page = client.get("/knots", params={"breaks": "700 /km"})
    assert page.status_code == 200
    assert "Each tick is a join" in page.text
    assert "hold no knot" in page.text


def test_without_a_price_law_and_strand_stand_and_the_key_is_named(
    open_mill: Opener, mill_dir: Path
) -> None:
    text = (mill_dir / "mill.toml").read_text(encoding="utf-8")
    (line,) = re.findall(r"^price = 4\.6.*\n", text, flags=re.M)
    client = open_mill(changed(mill_dir, (line, "")))
    page = client.get("/knots")
    assert page.status_code == 200
    text = shown(page.text)
    assert "No price stated. Fill in price of the ball “Querl 100”" in text
    assert "hold no knot" in text
    assert "straight: 5 first-quality" in text
    assert "best:" not in text
    assert "£" not in text
    said = client.get("/api/knots/strand").json()
    assert set(said["plans"]) == {"straight", "part"}
    assert said["plans"]["straight"]["value"] is None
    refused = client.get("/api/knots/price")
    assert refused.status_code == 422
    assert refused.json()["faults"][0]["key"] == "price"


def test_a_yarn_without_breaks_leaves_the_ties(client: TestClient) -> None:
    said = client.get("/api/knots/law", params={"breaks": "0 /km"}).json()
    assert said["mean_by_source"]["breaks"] == 0.0
    text = shown(client.get("/knots", params={"breaks": "0 /km", "part": "answer"}).text)
    assert "breaks re-tied" not in text.split("A strand, drawn")[0]
    assert "They come from: ties from cone to cone 91 %" in text


def test_a_mill_that_splices_speaks_of_splices_and_lets_twice_as_many_pass(
    open_mill: Opener, mill_dir: Path, demo_mill: Mill
) -> None:
    client = open_mill(changed(mill_dir, ('made_as = "knot"', 'made_as = "splice"')))
    text = shown(client.get("/knots?knot_limit=1&part=answer").text)
    terms = knot_terms(demo_mill, "Querl 100")
    law = knot_law(terms.sources, terms.rule.ball_length_m)
    assert "86 hold no splice" in text
    assert f"Limit 1: {chance_words(law.more_than(2))}".replace("\u00a0", " ") in text
    assert "limit 1 lets 2 of them pass" in text
    free = changed(mill_dir, ("splice_counts = 0.5", "splice_counts = 0.0"))
    text = shown(open_mill(free).get("/knots?part=answer").text)
    assert "no ball is over it, for a splice counts nothing" in text


def test_a_form_sent_unchanged_in_yards_is_the_mill_files_answer(client: TestClient) -> None:
    client.cookies.set("clew_units", "yard")
    page = client.get("/knots?part=").text
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)" data-mill', page))
    assert set(fields) | {"ball", "lot", "seed"} == set(KNOTS_KEYS)
    assert "1000 yd" in fields["breaks"]
    sent = client.get("/api/knots/law", params=fields).json()
    assert sent == client.get("/api/knots/law").json()
    assert 'class="moved"' not in client.get("/knots", params=fields).text


def test_the_law_chart_marks_what_is_over_the_limit_and_not_by_colour_alone(
    demo_mill: Mill,
) -> None:
    page = open_knots(demo_mill, {"breaks": "6 /km"}, "metric")
    assert page.law is not None
    chart = law_chart(page.law, 2, 2, "knot")
    root = ElementTree.fromstring(str(chart.svg))
    assert root.attrib["role"] == "img"
    bars = [
        one for one in root.iter(f"{SVG}path") if "dasharray" in str(one.attrib)
        and one.attrib.get("fill") == "var(--madder-soft)"
    ]  # fmt: skip
    texts = ["".join(one.itertext()) for one in root.iter(f"{SVG}text")]
    assert "limit 2" in texts
    assert "11 or more" in texts
    assert len(bars) == sum(name.split()[0].isdigit() and "knot" in name for name in texts) - 2 + 1
    assert all("over the limit" in row[0] for row in chart.table.rows[3:])
    assert not any("over the limit" in row[0] for row in chart.table.rows[:3])
    assert not re.findall(r'(?:fill|stroke)="(#[0-9a-fA-F]+|black|white)"', str(chart.svg))


def test_a_limit_out_of_sight_draws_no_rule(demo_mill: Mill) -> None:
    page = open_knots(demo_mill, {"knot_limit": "150"}, "metric")
    assert page.law is not None
    chart = law_chart(page.law, page.allowed, 150, "knot")
    assert "limit 150" not in str(chart.svg)
    assert "no knot" in str(chart.svg)


def test_every_join_is_drawn_once_where_it_is_with_its_letter(demo_mill: Mill) -> None:
    page = open_knots(demo_mill, {"breaks": "3 /km", "knot_limit": "1"}, "metric")
    assert page.terms is not None
    strand = strand_of(page.terms, 4)
    lanes = (Lane("best", strand.cuts.best), Lane("part", strand.cuts.part_every))
    lines = strand_lines(strand.knots, lanes, 200.0, Figures("metric"))
    assert len(lines) == BALLS_DRAWN // 5
    letters: list[str] = []
    whole = {"first": 0.0, "second": 0.0}
    for line in lines:
        root = ElementTree.fromstring(str(line))
        letters += [one.text or "" for one in root.iter("text") if one.attrib["class"] == "letter"]
        for one in root.iter("rect"):
            if one.attrib["class"] in whole:
                whole[one.attrib["class"]] += float(one.attrib["width"]) + 2.0
        assert root.find("title").text.startswith("Strand from ")
    assert sorted(letters) == sorted(LETTERS[kind] for kind in strand.knots.kinds)
    ball_wide = (360.0 - 4.0 - 62.0) / 5.0
    for kind, wide in whole.items():
        balls = sum(getattr(lane.plan, kind) for lane in lanes)
        assert wide == pytest.approx(balls * ball_wide, rel=0.02)
    assert set(LETTERS) == set(KIND_WORDS)
    assert len(set(LETTERS.values())) == len(LETTERS)


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.0, "no ball"), (1e-9, "fewer than 1 ball in a million"), (7.86e-4, "8 balls in 10 000"),
        (0.5, "50 balls in 100"), (1.0, "100 balls in 100"), (1e-6, "1 ball in a million"),
        (4.8e-5, "48 balls in a million"),
    ],
)  # fmt: skip
def test_a_chance_is_said_as_whole_balls(chance: float, said: str) -> None:
    assert chance_words(chance).replace("\u00a0", " ") == said


def test_a_chance_as_whole_balls_is_within_a_tenth() -> None:
    for chance in np.geomspace(5e-6, 1.0, 200):
        count, of = out_of(float(chance))
        assert count / of == pytest.approx(chance, rel=0.1)


def test_what_balls_hold_adds_up_and_shows_the_few(demo_mill: Mill) -> None:
    terms = knot_terms(demo_mill, "Sallowe 100")
    law = knot_law(terms.sources, terms.rule.ball_length_m / 20.0)
    of, held = held_words(law, "knot")
    counts = [int(one.replace("\u00a0", " ").split(" hold")[0].replace(" ", "")) for one in held]
    assert sum(counts) == int(of.replace("\u00a0", ""))


@pytest.mark.parametrize(
    ("value", "currency", "said"),
    [
        (0.00284, "GBP", "0.28p"), (0.25972, "GBP", "26p"), (1.5, "GBP", "£1.50"),
        (0.0, "GBP", "0p"), (-0.014, "EUR", "−1.4 cent"), (0.0996, "USD", "10¢"),
        (0.0123, "NOK", "0.012 NOK"), (float("inf"), "GBP", "without bound"),
    ],
)  # fmt: skip
def test_small_money_has_two_figures(value: float, currency: str, said: str) -> None:
    assert small_sum(value, currency) == said
    assert coin(currency) in {"p", "cent", "¢", "NOK"}


def test_a_part_of_a_knot_lets_more_joins_pass() -> None:
    assert [joins_allowed(2, counts) for counts in (1.0, 0.5, 0.0)] == [2, 4, None]


def test_a_tried_limit_is_not_called_todays(client: TestClient) -> None:
    text = shown(client.get("/knots", params={"knot_limit": "0", "breaks": "6 /km"}).text)
    assert "0 (tried)" in text
    assert "(today)" not in text
    assert "the breaks tried" in text
    assert "hold a piece shorter" not in text


def test_a_kilogram_is_a_pound_in_yards(client: TestClient) -> None:
    client.cookies.set("clew_units", "yard")
    text = shown(client.get("/knots", params={"part": "price"}).text)
    assert "Cost a lb" in text
    assert "Cost a kg" not in text
    assert "547 000 yd" in text.replace("\u00a0", " ")
