"""Dry: it says what the room says, how sure it is, and what limits the line."""

from __future__ import annotations

import html
import math
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
from starlette.testclient import TestClient

from clew.line.heat.answer import HeatAnswer, heat_answer
from clew.line.heat.from_mill import heat_doubts, heat_terms, winding_terms
from clew.line.heat.heat_words import CAUTIONS
from clew.line.heat.speed_limits import SpeedLimit, SpeedLimits, speed_limits
from clew.line.heat.terms import DOUBT_WORDS, HeatDoubts
from clew.mill.model import Mill
from clew.quantities import number
from clew.web.drawn.figures import Figures
from clew.web.heat.dry_view import limits_caption, limits_chart, regain_caption, regain_chart
from clew.web.heat.said import (
    allowed_words,
    dry_words,
    energy_words,
    limit_words,
    needed_words,
    sure_words,
)
from clew.web.heat.table import adding_up, heat_table

Opener = Callable[[Path], TestClient]
SVG = "{http://www.w3.org/2000/svg}"
YD = 0.9144


def shown(page: str) -> str:
    """What a page says, without its markup."""
    text = re.sub(r"\s+", " ", re.sub(r"<[^>]*>", "", page)).replace("\u00a0", " ")
    return html.unescape(text)


def plain(words: str) -> str:
    return words.replace("\u00a0", " ")


def of_lot(mill: Mill, ball: str, lot: str) -> tuple[HeatAnswer, SpeedLimits]:
    terms = heat_terms(mill, "Line 1", ball, lot)
    answer = heat_answer(terms, heat_doubts(mill, "Line 1"))
    return answer, speed_limits(terms, winding_terms(mill, "Line 1", ball, lot))


def texts(svg: object) -> list[str]:
    drawn = ElementTree.fromstring(str(svg))
    return [plain("".join(one.itertext())) for one in drawn.iter(f"{SVG}text")]


@pytest.mark.parametrize("units", ["metric", "yard"])
def test_dry_says_what_the_room_says_for_every_ball(
    client: TestClient, demo_mill: Mill, units: str
) -> None:
    client.cookies.set("clew_units", units)
    for ball in demo_mill.ball:
        answer, limits = of_lot(demo_mill, ball.name, "")
        page = client.get("/dry", params={"ball": ball.name, "lot": "none"})
        assert page.status_code == 200
        text = shown(page.text)
        cooled, doubt = answer.dried.regain_cooled_frac, answer.doubt
        wanted = f"{number(100 * answer.terms.regain_wanted_frac, 3)} % wanted"
        assert f"{number(100 * cooled, 3)} % regain once cooled, {wanted}." in text
        assert answer.dry_enough
        share = round(100 * (1 - doubt.too_damp_share))
        assert f"Dry enough in {share} of 100 cases, as far as yarn and dryer are known: " in text
        tenths = round(10 * doubt.too_damp_share)
        assert f"Perhaps dry enough, but {tenths} in 10 too damp: " in text
        low, high = (number(100 * x, 3) for x in (doubt.cooled_low_frac, doubt.cooled_high_frac))
        assert f"the regain may be {low} to {high} %; the largest part" in text
        first = limits.first
        verb = "limit" if first.station == "hands" else "limits"
        feed = 60 * first.feed_m_per_s
        most = f"{number(feed, 3)} m/min" if units == "metric" else f"{number(feed / YD, 3)} yd/min"
        assert f"The {first.station} {verb} the line: {most} of feed" in text
        for place, one in enumerate(limits.limits):
            assert f"{place + 1}. {one.station}: " in text
        for key, share in doubt.shares:
            row = f"{DOUBT_WORDS[key]}{100 * share:.0f} %"
            assert (row in text) is (share >= 0.005)
        for caution in CAUTIONS:
            assert caution in text


def test_the_numbers_of_heat_add_up_and_are_paid(demo_mill: Mill) -> None:
    answer, _ = of_lot(demo_mill, "Querl 100", "SL-207")
    rows = {row[0]: row[1:] for row in heat_table(answer, Figures()).rows}
    parts = ("water off the yarn", "fresh air warmed", "yarn warmed", "shell and belt, stated")
    total = sum(float(rows[part][0]) for part in parts)
    assert total == pytest.approx(float(rows["the dryer"][0]))
    assert float(rows["the dryer"][0]) == pytest.approx(answer.money.dryer_kw, abs=0.1)
    lost = "lost in boiler and heater, at an efficiency of 80\u00a0%"
    fuel = float(rows["fuel for both"][0])
    assert fuel == pytest.approx(
        sum(float(rows[part][0]) for part in ("the dryer", "the steamer", lost))
    )
    assert float(rows[lost][0]) == pytest.approx(0.2 * fuel, abs=0.1)
    assert rows["fuel for both"][1] == number(answer.money.fuel_kwh_per_kg, 2)
    assert rows["fuel for both"][2] == f"{100 * (answer.money.money_per_h or 0):.0f}p"
    in_lb = {row[0]: row[1:] for row in heat_table(answer, Figures("yard")).rows}
    assert float(in_lb["the steamer"][1]) == pytest.approx(
        answer.money.steam_kwh_per_kg * 0.45359237, abs=1e-3
    )
    unpriced = heat_answer(replace(answer.terms, fuel_per_kwh=None), draws=20)
    assert len(heat_table(unpriced, Figures()).head) == 3
    assert "fuel_per_kwh" in energy_words(unpriced, Figures())


def test_the_regain_picture_names_its_lines_and_holds_the_band(demo_mill: Mill) -> None:
    answer, _ = of_lot(demo_mill, "Querl 100", "SL-207")
    chart = regain_chart(answer)
    said = texts(chart.svg)
    after = number(100 * answer.dried.regain_after_frac, 3)
    cooled = number(100 * answer.dried.regain_cooled_frac, 3)
    for words in ("wanted 9.5 %", f"dryer’s end {after} %", f"{cooled} %", "cooled"):
        assert words in said
    assert "falling rate all the way" in regain_caption(answer)
    drawn = ElementTree.fromstring(str(chart.svg))
    assert drawn.get("role") == "img"
    assert drawn.get("aria-labelledby") == "regain-title regain-desc"
    head, *_, end, once, wanted = chart.table.rows
    assert head[0] == "0\u00a0s"
    assert end[:2] == ("300\u00a0s", f"{after}\u00a0%")
    assert once[1] == f"{cooled}\u00a0%"
    assert wanted[1] == "9.5\u00a0%"


def test_the_constant_rate_is_drawn_apart_from_the_falling_one(demo_mill: Mill) -> None:
    answer, _ = of_lot(demo_mill, "Querl 100", "")
    bent = heat_answer(replace(answer.terms, critical_regain_frac=0.14), draws=20)
    said = texts(regain_chart(bent).svg)
    assert "critical 14 %" in said
    assert "Dashed: at a constant rate down to 14 %" in plain(regain_caption(bent))
    assert "at a constant" in needed_words(bent)
    straight = heat_answer(
        replace(answer.terms, critical_regain_frac=0.03, drying_factor=0.2), draws=20
    )
    assert "constant rate all the way" in regain_caption(straight)
    assert "critical" not in " ".join(texts(regain_chart(straight).svg))


def test_a_short_dryer_is_followed_past_its_end(client: TestClient, demo_mill: Mill) -> None:
    text = shown(client.get("/dry", params={"feed_speed": "390 m/min"}).text)
    assert "Not dry enough: 10.1 % regain once cooled, 9.5 % wanted." in text
    assert "Mind. The dryer is short: 10.1 % once cooled" in text
    assert "Dotted past the dryer’s end: if it were longer." in text
    assert "Dashed outline: the line runs above it." in text
    never, _ = of_lot(demo_mill, "Querl 100", "")
    damp = heat_answer(replace(never.terms, regain_wanted_frac=0.001, dryer_c=25.0), draws=20)
    assert math.isinf(sum(damp.needed_s))
    assert needed_words(damp) == "no dwell in this air gives the regain wanted"
    assert dry_words(damp)[0] == "Not dry enough"
    assert sure_words(damp)[0].startswith("Too damp in every one of 20 cases,")
    assert regain_chart(damp).table.rows


def test_how_sure_is_said_and_a_probably_only_where_it_is_not(demo_mill: Mill) -> None:
    answer, _ = of_lot(demo_mill, "Querl 100", "")
    assert dry_words(answer)[0] == "Perhaps dry enough, but 4 in 10 too damp"
    for damp, verdict in (
        (0.05, "Dry enough"),
        (0.051, "Probably dry enough"),
        (0.2, "Probably dry enough"),
        (0.21, "Perhaps dry enough, but 2 in 10 too damp"),
        (0.5, "Perhaps dry enough, but 5 in 10 too damp"),
    ):
        doubt = replace(answer.doubt, too_damp_share=damp)
        assert dry_words(replace(answer, doubt=doubt))[0] == verdict
    none = HeatDoubts(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    sure = heat_answer(answer.terms, none, draws=20)
    assert dry_words(sure)[0] == "Dry enough"
    assert sure_words(sure)[0].startswith("Dry enough in every one of 20 cases,")
    assert "of the doubt" not in sure_words(sure)[1]
    # the two largest lie within a point: neither is most of it
    assert sure_words(answer)[1].endswith(
        "the largest parts of the doubt are the critical regain, below which drying slows down, "
        "and the drying rate itself"
    )
    alone = replace(answer.doubt, shares=(("critical_cv", 0.6), ("heat_cv", 0.4)))
    assert sure_words(replace(answer, doubt=alone))[1].endswith(
        "the largest part of the doubt is the critical regain, below which drying slows down"
    )
    over = heat_answer(replace(answer.terms, dryer_c=140.0, regain_wanted_frac=0.3), draws=20)
    assert dry_words(over)[0] == "Drier than it need be"


@pytest.mark.parametrize("units", ["metric", "yard"])
def test_limits_are_ranked_and_the_feed_stands_across_them(demo_mill: Mill, units: str) -> None:
    figures = Figures("metric" if units == "metric" else "yard")
    _, limits = of_lot(demo_mill, "Querl 100", "SL-207")
    chart = limits_chart(limits, figures)
    said = texts(chart.svg)
    own, unit = (1.0, "m/min") if units == "metric" else (YD, "yd/min")
    feeds = [one.feed_m_per_s for one in limits.limits]
    assert feeds == sorted(feeds)
    assert [row[0] for row in chart.table.rows] == [one.station for one in limits.limits]
    for place, one in enumerate(limits.limits):
        name = f"{place + 1}. {one.station}: {plain(figures.speed(one.feed_m_per_s))}"
        assert name in said
    assert f"runs at {number(300 / own, 3)} {unit}" in said
    assert f"not below {number(60 * limits.least_feed_m_per_s / own, 3)} {unit}" in said
    fast = [one for one in limits.limits if one.feed_m_per_s < limits.feed_m_per_s]
    assert len([one for one in said if one.startswith("too fast:")]) == len(fast)
    runs = [one for one in said if one.startswith("runs at")]
    assert len(runs) == len(feeds) - len(fast) + 1


def test_what_cannot_be_and_what_limits_nothing(demo_mill: Mill) -> None:
    figures = Figures()
    one = SpeedLimit("dryer", 0.0, "never a regain of 1 %: its air is too damp")
    two = SpeedLimit("winder", 6.0, "why")
    three = SpeedLimit("feed", math.inf, "what the rollers can")
    none = SpeedLimits(5.0, (one, two, three), 0.0, ("feed",), 0.5)
    said = texts(limits_chart(none, figures).svg)
    assert "1. dryer: no speed will do" in said
    assert "3. feed: no limit" in said
    assert limit_words(none, figures)[0] == "No speed will do for the dryer"
    assert allowed_words(none, figures) == "no speed will do for the dryer"
    assert "Not stated: what the feed allows." in limits_caption(none, figures)
    assert "queue" not in limits_caption(none, figures)
    crew = SpeedLimits(5.0, (SpeedLimit("hands", 6.0, "why"),), 0.0, (), 0.7)
    assert limits_caption(crew, figures).endswith(
        "Hands may hold the line up below both. The page Shift knows queues and the buffer."
    )
    assert "not below" not in " ".join(said)
    free = SpeedLimits(5.0, (three,), 0.0, (), 0.5)
    assert limit_words(free, figures) == ("Nothing that was stated limits the speed", "")
    assert allowed_words(free, figures) == "no limit of speed"
    assert limits_chart(free, figures).table.rows[0][1:3] == ("no limit", "–")
    slow = SpeedLimits(1.0, (two,), 2.0, (), 0.1)
    assert "below 120 m/min the yarn lies too long in steam" in plain(limit_words(slow, figures)[1])
    even = SpeedLimits(6.0, (two,), 0.0, (), 0.1)
    assert limit_words(even, figures)[1].endswith("just there")


def test_inputs_are_kept_and_faults_stand_beside_them(client: TestClient) -> None:
    asked = {"regain_out": "500 %", "belt_speed": "slow", "dryer_temperature": "100 °C"}
    page = client.get("/dry", params=asked)
    assert page.status_code == 422
    for text in asked.values():
        assert f'value="{text}"' in page.text
    assert page.text.count('aria-invalid="true"') == 2
    for key, words in (("belt_speed", "not a quantity"), ("regain_out", "a regain above")):
        beside = page.text.split(f'id="{key}-fault" data-live>')[1].split("</p>")[0]
        assert words in beside


def test_what_is_typed_changes_the_answer_and_the_mill_stays(client: TestClient) -> None:
    hot = shown(client.get("/dry", params={"dryer_temperature": "115 °C"}).text)
    own = shown(client.get("/dry").text)
    said = client.get("/api/line/heat", params={"dryer_temperature": "115 °C"}).json()
    assert f"{number(100 * said['regain']['cooled_frac'], 3)} % regain once cooled" in hot
    assert "Tried: dryer temperature 115 °C (mill file 95 °C)." in hot
    assert "Tried:" not in own
    assert hot != own


def test_the_belt_alone_changes_no_regain_and_the_page_says_why(client: TestClient) -> None:
    slow, fast = (
        shown(client.get("/dry", params={"belt_speed": speed}).text)
        for speed in ("0.9 m/min", "3 m/min")
    )
    said = re.compile(r"[\d.]+ % regain once cooled")
    assert said.search(slow).group() == said.search(fast).group()  # type: ignore[union-attr]  # each page has it
    why = "a faster belt lays the yarn thinner, so the same area of lay dries it for a shorter time"
    assert fast.count(why) == 2
    assert shown(client.get("/dry").text).count(why) == 1


@pytest.mark.parametrize("path", ["/steam", "/dry"])
def test_one_caution_stands_with_the_answer(client: TestClient, path: str) -> None:
    for query in ("", "?belt_speed=x"):
        words = client.get(path + query).text.split('id="words"')[1].split("</section>")[0]
        assert words.count("Before anyone reaches in:") == 1


def test_parts_are_rounded_so_that_they_add_up() -> None:
    assert adding_up((1.28, 2.27, 3.25), 6.8, 1) == [1.3, 2.3, 3.2]
    for parts in ((0.04, 0.04, 0.04), (2.0, -0.31, 0.15), (10.0,)):
        whole = round(sum(parts), 1)
        found = adding_up(parts, whole, 1)
        assert sum(found) == pytest.approx(whole)
        for part, printed in zip(parts, found, strict=True):
            assert abs(part - printed) < 0.1


def test_the_part_holds_every_live_piece_of_the_page(client: TestClient) -> None:
    for query in ("belt_speed=1.2+m/min", "belt_speed=x"):
        page, part = client.get(f"/dry?{query}"), client.get(f"/dry?{query}&part=answer")
        assert page.status_code == part.status_code
        live = re.findall(r'id="([^"]+)" data-live', page.text)
        assert sorted(live) == sorted(re.findall(r'id="([^"]+)" data-live', part.text))
        assert "<html" not in part.text


@pytest.mark.parametrize("path", ["/steam", "/dry", "/dry?belt_speed=x", "/steam?belt_speed=x"])
def test_a_page_names_no_address_outside_and_carries_no_inline_script_or_style(
    client: TestClient, path: str
) -> None:
    page = client.get(path).text
    outside = set(re.findall(r"(?:https?:)?//[^\s\"'<>)]+", page)) - {SVG[1:-1]}
    assert not outside
    assert not re.search(r"<script(?![^>]*\bsrc=)", page)
    assert not re.search(r"\sstyle=|<style|\son\w+=", page)
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
