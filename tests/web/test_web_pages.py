"""Every page of every ball and lot: it answers, it says what the rooms say, it asks nobody else."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient

from clew.ball.run_card import run_card_of
from clew.ball.yarn_answer import yarn_answer
from clew.mill.model import Mill
from clew.papers.ball_words import basis_words, cover_words, short_words, target_words
from clew.quantities import UnitSystem
from clew.web.asked.chosen import NO_LOT, lots_for
from clew.web.creel.page import choice_groups

Opener = Callable[[Path], TestClient]

SVG_NAME = "http://www.w3.org/2000/svg"


def wind_questions(mill: Mill) -> list[dict[str, str]]:
    return [
        {"ball": ball.name, "lot": lot.value}
        for ball in mill.ball
        for lot in lots_for(mill, ball.yarn)
    ]


def shown(html: str) -> str:
    """What a page says, without its markup."""
    text = re.sub(r"<(style|script)\b.*?</\1>", " ", html, flags=re.S)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", "", text)).replace("\u00a0", " ")


@pytest.mark.parametrize("units", ["metric", pytest.param("yard", marks=pytest.mark.long)])
def test_wind_says_what_the_rooms_say_for_every_ball_and_lot(
    client: TestClient, demo_mill: Mill, units: UnitSystem
) -> None:
    client.cookies.set("clew_units", units)
    for asked in wind_questions(demo_mill):
        answer = client.get("/wind", params=asked)
        lot = "" if asked["lot"] == NO_LOT else asked["lot"]
        card = run_card_of(demo_mill, asked["ball"], lot, demo_mill.line[0].name)
        text = shown(answer.text)
        assert answer.status_code == 200
        assert f"Set {card.answer.turns} turns" in text
        assert target_words(card.answer, card.terms.promise, units) in text
        assert short_words(card.answer) in text
        assert basis_words(card, units) in text
        assert cover_words(card.coverage, units) in text
        ounces = card.answer.mass_g / 28.349523125
        mass = f"{card.answer.mass_g:.1f} g" if units == "metric" else f"{ounces:.2f} oz"
        assert f"holds {mass}" in text
        for setting in card.settings:
            assert f"<td>{setting.counts}</td>" in answer.text


@pytest.mark.parametrize("units", ["metric", "yard"])
def test_creel_says_what_the_rooms_say_for_every_yarn_and_lot(
    client: TestClient, demo_mill: Mill, units: str
) -> None:
    client.cookies.set("clew_units", units)
    for group in choice_groups(demo_mill):
        for choice in group.choices:
            answer = client.get("/creel", params={"of": choice.value})
            kind, _, name = choice.value.partition(":")
            lot = demo_mill.find_dye_lot(name)[1] if kind == "lot" else None
            yarn = demo_mill.find_yarn(group.words)
            found = yarn_answer(yarn, demo_mill.find_blend(yarn.blend), lot)
            text = shown(answer.text)
            assert answer.status_code == 200
            tex = found.steamed.count_tex
            count = f"{tex:.0f} tex" if units == "metric" else f"{496054.648 / tex:.0f} yd/lb"
            assert f"Steamed it will be {count}" in text
            assert f"class {found.weight_class.category}, {found.weight_class.words}" in text
            assert "voluntary guideline" in text


@pytest.mark.parametrize(
    "path",
    [
        "/creel",
        "/wind",
        "/knots",
        "/orders",
        "/case?worth=yes",
        "/run",
        "/run/hand?lane=3",
        "/trace",
        "/nowhere",
        "/wind?tension=x",
    ],
)
def test_a_page_names_no_address_outside_and_carries_no_inline_script_or_style(
    client: TestClient, path: str
) -> None:
    html = client.get(path).text
    outside = {
        found for found in re.findall(r"(?:https?:)?//[^\s\"'<>)]+", html) if found != SVG_NAME
    }
    assert not outside
    assert not re.search(r"<script(?![^>]*\bsrc=)", html)
    assert not re.search(r"\sstyle=|<style|\son\w+=", html)


def test_the_part_for_script_holds_every_live_piece_of_the_page(client: TestClient) -> None:
    for path in ("/wind?tension=45+cN", "/creel?shrink=21+%25", "/wind?tension=x"):
        page = client.get(path)
        part = client.get(path + "&part=answer")
        assert part.status_code == page.status_code
        live = set(re.findall(r'id="([^"]+)" data-live(?! data-later)', page.text))
        assert live
        assert live == set(re.findall(r'id="([^"]+)" data-live(?! data-later)', part.text))
        rest = client.get(path + "&part=price")  # what comes once the hand rests
        later = set(re.findall(r'id="([^"]+)" data-live data-later', page.text))
        assert later <= set(re.findall(r'id="([^"]+)" data-live', part.text + rest.text))
        assert "<html" not in part.text


def test_what_is_typed_changes_the_answer_and_stays_typed(client: TestClient) -> None:
    plain = client.get("/api/ball/turns").json()
    typed = client.get("/api/ball/turns", params={"shrink": "22 %"}).json()
    page = client.get("/wind", params={"shrink": "22 %"}).text
    assert typed["turns"] != plain["turns"]
    assert f"Set {typed['turns']} turns" in shown(page)
    assert 'value="22 %"' in page


def test_an_ounce_and_a_gram_are_read_alike(client: TestClient) -> None:
    grams = client.get("/api/ball/turns", params={"target_mass": "113.3980925 g"}).json()
    ounces = client.get("/api/ball/turns", params={"target_mass": "4 oz"}).json()
    assert grams["turns"] == ounces["turns"]


def test_a_value_shown_in_the_other_units_is_the_mill_files_value(client: TestClient) -> None:
    """Sending the form unchanged in yards gives the same turns as not sending it at all."""
    client.cookies.set("clew_units", "yard")
    page = client.get("/wind").text
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)" data-mill', page))
    assert "oz" in fields["target_mass"]
    sent = client.get("/api/ball/turns", params=fields).json()
    assert sent == client.get("/api/ball/turns").json()


def test_the_line_is_the_navigation_and_every_station_is_a_link(client: TestClient) -> None:
    html = client.get("/wind").text
    nav = html[html.index("<nav") : html.index("</nav>")]
    names = re.findall(r'class="name">(\w+)<', nav)
    assert names == [
        "Orders", "Creel", "Knots", "Steam", "Dry", "Wind", "Shift", "Run", "Band", "Case", "Lots",
        "Trace",
    ]  # fmt: skip
    assert re.findall(r'href="([^"]+)"', nav) == [f"/{name.lower()}" for name in names]
    assert nav.count('aria-current="page"') == 1


def test_the_way_from_creel_to_wind_keeps_what_was_typed(client: TestClient) -> None:
    page = client.get("/creel", params={"of": "lot:OA-019", "shrink": "4 %"}).text
    expected = urlencode({"ball": "Sallowe 100", "lot": "OA-019", "shrink": "4 %"})
    assert f"/wind?{expected}".replace("&", "&amp;") in page
    assert client.get(f"/wind?{expected}").status_code == 200


def test_a_yarn_without_measured_cones_says_so(client: TestClient) -> None:
    assert "Not measured" in client.get("/wind", params={"lot": "SL-211"}).text
    assert "Not measured" not in client.get("/wind", params={"lot": "SL-207"}).text


def test_the_front_leads_to_a_page(client: TestClient) -> None:
    answer = client.get("/")
    assert answer.status_code == 307
    assert client.get(answer.headers["location"]).status_code == 200


def test_words_from_the_mill_file_are_shown_as_words(open_mill: Opener, mill_dir: Path) -> None:
    file = mill_dir / "mill.toml"
    text = file.read_text(encoding="utf-8").replace("Ostrel Mill", "<b>Mill</b> & Sons")
    file.write_text(text, encoding="utf-8")
    html = open_mill(mill_dir).get("/wind").text
    assert "&lt;b&gt;Mill&lt;/b&gt; &amp; Sons" in html
    assert "<b>Mill" not in html


def test_wind_says_what_each_source_of_doubt_differs_between(client: TestClient) -> None:
    """What averages out over a run, and over what, as the rooms reckon it."""
    page = client.get("/wind").text
    rows = {
        row["key"]: row["differs_between"]
        for row in client.get("/api/ball/turns?ball=Querl 100").json()["contributions"]
    }
    assert rows["winder"] == "winders"
    assert rows["count_cone"] == "cones"
    for words in ("run to run", "winder to winder", "cone to cone", "ball to ball"):
        assert words in page
