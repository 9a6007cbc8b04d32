"""Shift: its words, its accounts, and faults beside the field."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import shift_answer
from clew.line.simulate.words import shift_words
from clew.mill.model import Mill
from clew.web.shift.page import (
    INPUTS,
    QUICK_REPLICATIONS,
    REPLICATIONS,
    SHIFT_KEYS,
    open_shift,
)
from clew.web.shift.routes import lane_numbers
from clew.web.shift.view import waits_chart


def test_the_page_says_what_the_simulation_says(client: TestClient, demo_mill: Mill) -> None:
    page = client.get("/shift")
    assert page.status_code == 200
    layout = open_shift(demo_mill, {}, "metric").layout
    assert layout is not None
    answer = shift_answer(layout, replications=REPLICATIONS, seed=1)
    assert f'<span class="figure">{answer.balls.mean:.0f}</span> balls a shift' in page.text
    wind = answer.winder_share["winding"].mean
    assert f"{100 * wind:.0f}\u00a0% winding" in page.text
    assert "Hands hold the line up" in page.text
    for heading in (
        "One shift in motion", "The whole shift", "Where the winders’ time goes",
        "How long a full ball waits", "Why the feed stands", "How full the buffers stand",
        "What the hands do", "What to change", "Instant estimates beside it", "How it was got",
    ):  # fmt: skip
        assert heading in page.text, heading


def test_every_sentence_of_the_room_is_on_the_page_once(
    client: TestClient, demo_mill: Mill
) -> None:
    layout = open_shift(demo_mill, {}, "metric").layout
    assert layout is not None
    told = shift_words(shift_answer(layout, replications=REPLICATIONS, seed=1))
    text = html.unescape(client.get("/shift").text).replace("\u00a0", " ")
    assert told.holds_up in text
    for sentence in (*told.to_do[1:], told.caution, *told.reasons[2:]):
        assert text.count(sentence) == 1, sentence


def test_shares_of_a_lane_add_up_on_the_page(client: TestClient) -> None:
    text = client.get("/shift", params={"hands": "1"}).text
    widths: dict[float, float] = {}
    bars = text[text.index('id="winder-bars-title"') :].partition("</svg>")
    for y, wide in re.findall(r'class="under" x="[\d.]+" y="(\d+)" width="([\d.]+)"', bars[0]):
        widths[float(y)] = widths.get(float(y), 0.0) + float(wide)
    assert len(widths) == 7
    assert all(wide == pytest.approx(400.0, abs=1.5) for wide in widths.values())


def test_waits_are_sorted_into_classes_that_add_up(demo_mill: Mill) -> None:
    answer = shift_answer(layout_of(demo_mill, hands=1), replications=8, seed=1)
    chart = waits_chart(answer)
    assert chart is not None
    shares = [float(row[1].split("\u00a0")[0]) for row in chart.table.rows if row[1] != "0\u00a0%"]
    assert sum(shares) == pytest.approx(100.0, abs=1.0)
    assert chart.table.rows[0][2] == "100\u00a0%"


def test_values_tried_change_the_answer_and_are_kept(client: TestClient) -> None:
    text = client.get("/shift", params={"hands": "3", "doff_time": "5 s", "buffer": "500 m"}).text
    assert 'value="5 s"' in text
    assert 'value="500 m"' in text
    assert re.search(r'id="hands" name="hands" value="3"', text)
    more = int(re.search(r'class="figure">(\d+)<', text)[1])  # type: ignore[index]
    less = int(re.search(r'class="figure">(\d+)<', client.get("/shift").text)[1])  # type: ignore[index]
    assert more > less
    assert "hands=3" in text[text.index("data-timeline") :][:300]


def test_what_is_tried_is_marked_beside_the_figure(client: TestClient) -> None:
    text = html.unescape(client.get("/shift", params={"hands": "1", "doff_time": "5 s"}).text)
    said = re.search(r'<p class="tried">([^<]*)</p>', text)
    assert said is not None
    words = said[1].replace("\u00a0", " ")
    assert words == "Tried: 1 hand (mill file 2), a doff takes 5 s (mill file 7 s)"
    assert 'class="tried"' not in client.get("/shift").text


def test_another_shift_is_another_drawing_of_the_same_answer(client: TestClient) -> None:
    first, second = client.get("/shift").text, client.get("/shift", params={"drawn": "2"}).text
    figure = re.compile(r'class="figure">(\d+)<')
    assert figure.findall(first) == figure.findall(second)
    assert "drawn=2" in first[first.index("Another shift") - 200 :][:200]
    lane = re.compile(r'data-lane="\d+" data-winder="([^"]+)"')
    assert lane.findall(first) != lane.findall(second)
    assert "drawn=2" in second[second.index("data-timeline") :][:200]


def test_a_feed_past_what_rollers_can_is_said_and_not_refused(client: TestClient) -> None:
    page = client.get("/shift", params={"feed_speed": "420 m/min"})
    assert page.status_code == 200
    text = page.text.replace("\u00a0", " ")
    assert "A feed of 420 m/min is beyond the feed rollers, which can 400 m/min." in text
    assert "beyond the feed rollers" not in client.get("/shift").text
    client.cookies.set("clew_units", "yard")
    text = client.get("/shift", params={"feed_speed": "420 m/min"}).text.replace("\u00a0", " ")
    client.cookies.clear()
    assert "which can 437.4 yd/min" in text


def test_lanes_colours_and_cone_loading_can_be_tried(demo_mill: Mill) -> None:
    asked = {"lanes": "9", "colour_changes": "3", "load_time": "30 s", "shift_time": "4 h"}
    page = open_shift(demo_mill, asked, "metric")
    assert page.layout is not None
    own = layout_of(demo_mill, shift_s=14_400.0)
    assert page.layout.lanes == 9
    assert page.layout.colour_at_s == (3600.0, 7200.0, 10_800.0)
    assert page.layout.load_s == 30.0
    assert page.layout.colour_tie_s == own.colour_tie_s
    assert lane_numbers(page) == tuple(range(1, 10))


def test_rests_scale_with_the_shift(client: TestClient) -> None:
    assert client.get("/shift", params={"shift_time": "20 min"}).status_code == 200


def test_one_truth_is_told_of_the_walk(client: TestClient) -> None:
    text = client.get("/shift").text
    assert "walk is left out" not in text
    assert "a doff and the walk to it taken as one service" in text.replace("\u00a0", " ")
    shown = text[text.index("Instant estimates") :].partition("<details")[0]
    assert "Of the formulas the nearest is" in shown


def test_one_state_has_one_word(client: TestClient) -> None:
    text = client.get("/shift").text
    for other in ("they are doffed", "ran dry", "full, waits", "doffed now", "change ▶"):
        assert other not in text, other
    for word in ("winding", "waiting for a doff", "being doffed", "starved", "broken"):
        assert word in text, word


def test_without_script_a_moment_is_asked_by_address(client: TestClient) -> None:
    for at in ("2:30", "2:30:00", "150 min", "2.5 h"):
        text = client.get("/shift", params={"at": at}).text
        assert "The line 2:30:00 into the shift" in text
        assert "From 2:30 to 3:00" in text
        assert "at=2%3A35%3A00" in text
        assert "at=2%3A25%3A00" in text


@pytest.mark.parametrize(
    ("asked", "key", "words"),
    [
        ({"hands": "0"}, "hands", "a whole number from 1 to 16"),
        ({"hands": "2.5"}, "hands", "a whole number from 1 to 16"),
        ({"feed_speed": "fast"}, "feed_speed", "not a quantity"),
        ({"feed_speed": "7000 m/min"}, "feed_speed", "6000 m/min"),
        ({"buffer": "0 m"}, "buffer", ""),
        ({"buffer": "1 mm"}, "buffer", "a larger buffer"),
        ({"buffer": "100000 km"}, "buffer", "a smaller buffer"),
        ({"feed_speed": "1 m/min"}, "feed_speed", "slower than a twentieth of the winders"),
        ({"doff_time": "0 s"}, "doff_time", "more than 0, at most 24 h"),
        ({"load_time": "30 h"}, "load_time", "at most 24 h"),
        ({"shift_time": "300 h"}, "shift_time", "at most 24 h"),
        ({"shift_time": "5 s"}, "shift_time", "at least 20 s"),
        ({"colour_changes": "13"}, "colour_changes", "a whole number from 0 to 12"),
        ({"lanes": "0"}, "lanes", "a whole number from 1 to 16"),
    ],
)
def test_what_is_wrong_stands_beside_the_field(
    client: TestClient, asked: dict[str, str], key: str, words: str
) -> None:
    page = client.get("/shift", params=asked)
    assert page.status_code == 422
    beside = re.search(rf'<p class="fault" id="{key}-fault" data-live>([^<]*)</p>', page.text)
    assert beside is not None
    assert beside[1]
    assert words in beside[1]
    assert "No answer until this is put right" in page.text
    assert "data-player" not in page.text


def test_a_moment_outside_the_shift_is_refused_in_words(client: TestClient) -> None:
    page = client.get("/shift", params={"at": "9:00"})
    assert page.status_code == 422
    assert "no moment of the shift" in page.text
    assert "from 0:00 to 8:00:00" in page.text


def test_parts_carry_what_changes_and_no_more(client: TestClient) -> None:
    def parts(part: str) -> set[str]:
        text = client.get("/shift", params={"part": part}).text
        assert "<html" not in text
        return set(re.findall(r' id="([\w-]+)" data-live', text))

    faults = {f"{key}-fault" for key in INPUTS}
    assert parts("answer") == {"words", "mini", "answer"} | faults
    rest = {"words", "mini", "answer", "shift-line", "change", "more"}
    assert parts("price") == rest | faults
    assert parts("change") == {"change"}
    assert "One more hand" in client.get("/shift", params={"part": "change"}).text
    strip = client.get("/shift", params={"part": "strip", "at": "1:10"}).text
    assert "From 1:00 to 1:30" in strip


def test_a_moving_slider_hears_of_few_shifts_and_of_all_once_it_rests(
    client: TestClient, demo_mill: Mill
) -> None:
    layout = open_shift(demo_mill, {"hands": "3"}, "metric").layout
    assert layout is not None
    few, many = (
        shift_answer(layout, replications=count, seed=1).balls
        for count in (QUICK_REPLICATIONS, REPLICATIONS)
    )
    moving, resting = (
        client.get("/shift", params={"hands": "3", "part": part}).text
        for part in ("answer", "price")
    )
    assert f'<span class="figure">{few.mean:.0f}</span> balls a shift' in moving
    assert f"Mean of {QUICK_REPLICATIONS} simulated shifts (" in moving
    assert "follow once they rest" in moving
    assert "9 shifts of 10" not in moving  # eight of them tell nothing of that
    assert f'<span class="figure">{many.mean:.0f}</span> balls a shift' in resting
    assert f"Mean of {REPLICATIONS} simulated shifts (" in resting
    assert "data-quick" in moving
    assert "data-quick" not in resting
    assert "Rank what one improvement is worth" in resting
    assert abs(few.mean - many.mean) <= few.high - few.low


def test_a_moving_slider_keeps_faults_beside_their_inputs(client: TestClient) -> None:
    moving = client.get("/shift", params={"hands": "40", "part": "answer"})
    assert moving.status_code == 422
    assert "a whole number from 1 to 16" in moving.text
    assert "follow once they rest" not in moving.text


def test_what_to_change_can_be_asked_without_script(client: TestClient) -> None:
    plain, asked = client.get("/shift").text, client.get("/shift", params={"change": "yes"}).text
    assert "Rank what one improvement is worth" in plain
    assert "One more hand" not in plain
    assert "One more hand" in asked
    assert 'class="worths"' in asked


def test_yards_and_pounds_are_said_to_who_reads_them(client: TestClient) -> None:
    client.cookies.set("clew_units", "yard")
    text = client.get("/shift").text
    assert re.search(r"balls a shift, [\d.]+\u00a0lb", text)
    assert "yd/min" in text
    assert "miles each" in text
    client.cookies.clear()


def test_every_line_of_the_demo_mill_has_its_shift(client: TestClient, demo_mill: Mill) -> None:
    for ball in demo_mill.ball:
        page = client.get("/shift", params={"ball": ball.name, "lot": "none"})
        assert page.status_code == 200
        assert "data-player" in page.text


def test_a_name_that_is_not_asked_is_refused(client: TestClient) -> None:
    page = client.get("/shift", params={"crewe": "3"})
    assert page.status_code == 422
    assert "nothing of that name is asked here" in page.text
    assert "hands" in SHIFT_KEYS


def test_a_shift_too_busy_to_draw_is_still_accounted(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("clew.web.shift.page.MOST_DRAWN", 10)
    page = client.get("/shift")
    assert page.status_code == 200
    assert "too many changes to be drawn" in page.text
    assert "Where the winders’ time goes" in page.text
    said = client.get("/api/line/shift/timeline")
    assert said.status_code == 422


def test_the_mill_that_cannot_be_read_is_left_to_the_pages(tmp_path: Path) -> None:
    from clew.web.mill_on_disk import MillOnDisk
    from clew.web.shift.page import warm_shift

    warm_shift(MillOnDisk(tmp_path))
