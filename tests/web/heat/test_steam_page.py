"""Steam: it says what the room says, in both systems of units, and refuses in plain lines."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
from starlette.testclient import TestClient

from clew.line.heat.answer import heat_answer
from clew.line.heat.from_mill import heat_terms
from clew.line.heat.heat_words import CAUTIONS
from clew.line.heat.steamer import steamed
from clew.mill.model import Mill
from clew.quantities import number
from clew.web.asked.chosen import NO_LOT, lots_for
from clew.web.drawn.figures import Figures
from clew.web.heat.figures import degrees_for, held_together, on_mass, step, superheat
from clew.web.heat.said import bulk_words, steam_words
from clew.web.heat.steam_view import bulk_chart
from clew.web.knots.money import small_sum

Opener = Callable[[Path], TestClient]
SVG = "{http://www.w3.org/2000/svg}"
LB = 0.45359237


def shown(page: str) -> str:
    """What a page says, without its markup."""
    text = re.sub(r"\s+", " ", re.sub(r"<[^>]*>", "", page)).replace("\u00a0", " ")
    return html.unescape(text)


def with_line(folder: Path, **values: str) -> Path:
    """Change keys of the demo mill's line; an empty value takes the key out."""
    file = folder / "mill.toml"
    text = file.read_text(encoding="utf-8")
    for key, value in values.items():
        line = f"{key} = {value}" if value else ""
        text, found = re.subn(rf"(?m)^{key} = .*$", line, text, count=1)
        if not found:
            text = text.replace("[[line.winder]]", f"{line}\n[[line.winder]]", 1)
    file.write_text(text, encoding="utf-8")
    return folder


@pytest.mark.parametrize("units", ["metric", "yard"])
def test_steam_says_what_the_room_says_for_every_ball_and_lot(
    client: TestClient, demo_mill: Mill, units: str
) -> None:
    client.cookies.set("clew_units", units)
    for ball in demo_mill.ball:
        for lot in lots_for(demo_mill, ball.yarn):
            named = "" if lot.value == NO_LOT else lot.value
            terms = heat_terms(demo_mill, "Line 1", ball.name, named)
            steam = steamed(terms)
            page = client.get("/steam", params={"ball": ball.name, "lot": lot.value})
            assert page.status_code == 200
            text = shown(page.text)
            zone = "100 °C" if units == "metric" else "212 °F"
            assert f"Full bulk: the yarn lies {steam.dwell_s:.0f} s in steam of {zone};" in text
            assert f"the bulk is there after {steam.full_dwell_s:.0f} s." in text
            drawn = steam.demand.total_kg_per_h
            said = f"{number(drawn, 2)} kg" if units == "metric" else f"{number(drawn / LB, 2)} lb"
            paid = 0.06 * steam.heat_kw / terms.heat_efficiency_frac
            assert f"{said} of steam an hour, {small_sum(paid, 'GBP')} an hour of fuel." in text
            onto = steam.condensed.condensate_kg_per_kg / (1.0 + terms.regain_in_frac)
            assert (
                f"{on_mass(onto, Figures('metric' if units == 'metric' else 'yard'))}".replace(
                    "\u00a0", " "
                )
                in text
            )
            for caution in CAUTIONS:
                assert caution in text
            assert "Mind." not in text


def test_the_picture_is_the_rooms_own(demo_mill: Mill) -> None:
    terms = heat_terms(demo_mill, "Line 1", "Querl 100")
    chart = bulk_chart(heat_answer(terms, draws=20), Figures())
    drawn = ElementTree.fromstring(str(chart.svg))
    assert drawn.get("role") == "img"
    texts = ["".join(one.itertext()) for one in drawn.iter(f"{SVG}text")]
    for words in ("full bulk 46\u00a0s", "out of steam 76\u00a0s", "longest 150\u00a0s"):
        assert words in texts
    dashes = {one.get("stroke-dasharray") for one in drawn.iter(f"{SVG}line")}
    assert len(dashes - {None}) >= 2
    time, place, bulk = zip(*chart.table.rows, strict=True)
    assert time[-1] == "76\u00a0s"
    assert place[0] == "0.0\u00a0m"
    assert place[-1] == "1.4\u00a0m"
    assert bulk[0] == "0\u00a0%"
    half = number(100 * (1 - 2.718281828459045 ** (-terms.steam_dwell_s / 2 / 10)), 3)
    assert bulk[len(bulk) // 2] == f"{half}\u00a0%"


@pytest.mark.parametrize(
    ("asked", "verdict", "warned"),
    [
        ({"belt_speed": "3 m/min"}, "Short of full bulk: 28 s in steam", ""),
        ({"belt_speed": "0.5 m/min"}, "Full bulk, but too long in steam:", "longer than the 150 s"),
        ({"steam_temperature": "92 °C"}, "No full bulk: the yarn gets to 92 °C", "no full bulk at"),
        (
            {"steam_temperature": "110 °C"},
            "in steam of 110 °C; the bulk is there after 46 s; the yarn itself gets no hotter than "
            "100 °C.",
            "10.0 K above boiling",
        ),
        ({"feed_speed": "600"}, "Short of full bulk: 38 s in steam of 100 °C", ""),
    ],
)
def test_the_verdict_and_the_warning_follow_what_is_tried(
    client: TestClient, asked: dict[str, str], verdict: str, warned: str
) -> None:
    text = shown(client.get("/steam", params=asked).text)
    assert verdict in text
    assert ("Mind." in text) is bool(warned)
    assert warned in text


def test_a_tried_feed_takes_the_belt_along_and_comes_to_the_limit(client: TestClient) -> None:
    def said(**asked: str) -> str:
        return shown(client.get("/steam", params=asked).text)

    own = said()
    allows = "The steamer allows up to 497 m/min of feed, the belt going along."
    below = "Below 153 m/min the yarn would lie longer than the 150 s in steam"
    assert f"{allows} {below}" in own
    assert "The feed is 300 m/min." in own
    assert "Tried:" not in own
    faster = said(feed_speed="360")
    assert f"{allows} {below}" in faster
    assert (
        "Tried: feed speed 360 m/min (mill file 300 m/min). "
        "The belt goes along at 1.32 m/min (mill file 1.1 m/min)" in faster
    )
    over = said(feed_speed="600 m/min")
    assert allows in over
    assert "The feed of 600 m/min is too fast for it." in over
    under = said(feed_speed="150 m/min")
    assert "The feed of 150 m/min is too slow for it." in under
    assert "Full bulk, but too long in steam" in under
    both = said(feed_speed="360 m/min", belt_speed="1.2 m/min")
    assert "belt speed 1.2 m/min (mill file 1.1 m/min)." in both
    assert "The belt goes along" not in both
    assert "allows up to 547 m/min" in both
    # a program says both: with the feed alone the lay grows thicker
    asked = {"lot": "none", "feed_speed": "360 m/min"}
    found = client.get("/api/line/limits", params=asked).json()["limits"]
    (steamer,) = (one["feed_m_per_min"] for one in found if one["station"] == "steamer")
    assert steamer == pytest.approx(597, abs=1)


@pytest.mark.parametrize(("units", "most"), [("metric", "4.19 m/min"), ("yard", "4.582 yd/min")])
def test_a_belt_that_lays_too_thin_is_a_fault_beside_it(
    client: TestClient, units: str, most: str
) -> None:
    client.cookies.set("clew_units", units)
    for path in ("/steam", "/dry"):
        page = client.get(path, params={"belt_speed": "100 m/min", "lot": "none"})
        assert page.status_code == 422
        beside = page.text.split('id="belt_speed-fault" data-live>')[1].split("</p>")[0]
        assert "thinner than one layer of strand" in beside
        assert f"at most {most} at this feed" in beside


def test_degrees_of_a_warning_are_the_readers(client: TestClient) -> None:
    client.cookies.set("clew_units", "yard")
    cool = shown(client.get("/steam", params={"steam_temperature": "92 °C"}).text)
    assert "The steam zone's 197.6 °F is below 208.4 °F" in cool
    assert "The steam may be 18.0 °F above boiling" in shown(
        client.get("/steam", params={"steam_temperature": "110 °C"}).text
    )
    assert "°C" not in cool.replace("steam temperature 92 °C", "")
    assert degrees_for("from 20 °C to 99.5 °C, 3 K more", "yard") == (
        "from 68 °F to 211.1 °F, 5 °F more"
    )
    assert degrees_for("20 °C", "metric") == "20 °C"
    assert held_together("76 s, 9 sheep and 20 °C") == "76\u00a0s, 9 sheep and 20\u00a0°C"
    assert step(3.0, Figures("yard")) == "5.4\u00a0°F"
    assert superheat(3.0, Figures()) == "3\u00a0K"
    assert superheat(0.026, Figures()) == "none"


@pytest.mark.parametrize("path", ["/steam", "/dry"])
def test_a_fibre_that_softens_or_yellows_is_named(
    open_mill: Opener, mill_dir: Path, path: str
) -> None:
    file = mill_dir / "mill.toml"
    text = file.read_text(encoding="utf-8")
    blend = re.compile(r'fibre = "wool_combed", share = "55 %"')
    text = blend.sub('fibre = "polypropylene", share = "55 %"', text, count=1)
    file.write_text(text, encoding="utf-8")
    folder = with_line(mill_dir, dryer_temperature='"150 °C"')
    said = shown(open_mill(folder).get(path).text)
    assert re.search(r"150 °C is at or above \d+ °C, where polypropylene softens", said)
    assert ("yellows or turns harsh" in said) is (path == "/dry")


def test_what_the_mill_does_not_say_is_said(open_mill: Opener, mill_dir: Path) -> None:
    bare = {"steam_supply_gauge": "", "steam_losses_kg_per_h": "", "fuel_per_kwh": ""}
    text = shown(open_mill(with_line(mill_dir, **bare)).get("/steam").text)
    assert "superheat behind the nozzle is not judged" in text
    assert "What slots, shell and pipes lose is not stated" in text
    assert re.search(r"kg of steam an hour\.", text)
    assert "times the least, the steam" not in text


def test_inputs_are_kept_and_faults_stand_beside_them(client: TestClient) -> None:
    asked = {"feed_speed": "310 m/min", "belt_speed": "slow", "steam_temperature": "20 °C"}
    page = client.get("/steam", params=asked)
    assert page.status_code == 422
    for text in asked.values():
        assert f'value="{text}"' in page.text
    assert page.text.count('aria-invalid="true"') == 2
    for key, words in (("belt_speed", "not a quantity"), ("steam_temperature", "at least 60 °C")):
        beside = page.text.split(f'id="{key}-fault" data-live>')[1].split("</p>")[0]
        assert words in beside
    assert "No answer until this is put right" in page.text
    assert CAUTIONS[0] in shown(page.text)


@pytest.mark.parametrize(
    ("units", "limit"), [("metric", "at most 6000 m/min"), ("yard", "at most 6562 yd/min")]
)
def test_a_limit_of_the_room_has_the_readers_unit(
    client: TestClient, units: str, limit: str
) -> None:
    client.cookies.set("clew_units", units)
    page = client.get("/steam", params={"feed_speed": "9000 m/min"})
    assert page.status_code == 422
    beside = page.text.split('id="feed_speed-fault" data-live>')[1].split("</p>")[0]
    assert limit in beside


def test_the_part_holds_every_live_piece_of_the_page(client: TestClient) -> None:
    for query in ("belt_speed=1.2+m/min", "belt_speed=x"):
        page, part = client.get(f"/steam?{query}"), client.get(f"/steam?{query}&part=answer")
        assert page.status_code == part.status_code
        live = re.findall(r'id="([^"]+)" data-live', page.text)
        assert sorted(live) == sorted(re.findall(r'id="([^"]+)" data-live', part.text))
        assert "<html" not in part.text


def test_a_name_that_is_not_asked_is_refused(client: TestClient) -> None:
    page = client.get("/steam?dryer_temperature=95+C")
    assert page.status_code == 422
    assert "nothing of that name is asked here" in page.text


def test_the_way_to_dry_keeps_what_both_ask(client: TestClient) -> None:
    asked = {"feed_speed": "310 m/min", "steam_temperature": "99 °C", "lot": "SL-211"}
    page = client.get("/steam", params=asked).text
    (link,) = {html.unescape(one) for one in re.findall(r'href="(/dry\?[^"]*)"', page)}
    assert link == "/dry?ball=Querl+100&lot=SL-211&line=Line+1&feed_speed=310+m%2Fmin"
    other = client.get(link)
    assert other.status_code == 200
    assert 'value="310 m/min"' in other.text


def test_a_dye_lot_of_another_yarn_can_be_changed_on_the_page(client: TestClient) -> None:
    page = client.get("/steam", params={"ball": "Querl 100", "lot": "OA-019"})
    assert page.status_code == 422
    assert '<option value="SL-207"' in page.text


def test_words_without_a_price_or_a_reachable_bulk(demo_mill: Mill) -> None:
    terms = heat_terms(demo_mill, "Line 1", "Querl 100")
    unpriced = heat_answer(replace(terms, fuel_per_kwh=None), draws=20)
    assert steam_words(unpriced, Figures())[0].endswith("of steam an hour")
    cool = heat_answer(replace(terms, steam_c=90.0), draws=20)
    assert bulk_words(cool, Figures())[0] == "No full bulk"
    chart = bulk_chart(cool, Figures())
    assert chart.title.startswith("Bulk along the steamer, were it hot enough")
    assert "full bulk" not in str(chart.svg)
