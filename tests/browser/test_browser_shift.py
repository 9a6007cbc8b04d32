"""Shift in a real browser: the line plays, pauses, steps and stands still when it is asked to."""

from __future__ import annotations

import re
from collections.abc import Callable
from time import sleep
from urllib.error import URLError
from urllib.request import urlopen

import pytest
from playwright.sync_api import Page, expect
from reach import out_of_reach

from clew.line.layout_from_mill import layout_of
from clew.line.simulate.timeline import Timeline, timeline
from clew.mill.model import Mill

pytestmark = pytest.mark.browser

OpenPage = Callable[..., Page]
SIZES = [(1024, 768), (390, 844)]
COMPILES_WITHIN_S = 180.0
STILL = "/shift?ball=Querl+100&lot=none"


@pytest.fixture(scope="module", autouse=True)
def compiled(workbench: str) -> None:
    """The simulator got ready once, so that no page waits longer than a browser would."""
    for _ in range(100):
        try:
            with urlopen(f"{workbench}/shift", timeout=COMPILES_WITHIN_S) as answer:
                assert answer.status == 200
                return
        except URLError:  # its address is said a moment before it listens
            sleep(0.1)
    pytest.fail("the workbench does not answer")


def ready(page: Page) -> Page:
    """Bring the player into sight, with its first window and what comes later there."""
    page.wait_for_selector("[data-keys]:not([hidden])")
    page.locator("#shift-line").scroll_into_view_if_needed()
    page.locator(".player-keys").scroll_into_view_if_needed()
    page.wait_for_selector(".worth-figure", timeout=30_000)
    return page


def seconds(page: Page) -> int:
    """The shift's clock."""
    hours, minutes, rest = page.locator("[data-clock]").inner_text().split(":")
    return 3600 * int(hours) + 60 * int(minutes) + int(rest)


def winders(page: Page) -> list[str]:
    """What the drawing that is seen says of each winder."""
    return [str(one.get_attribute("data-winder"))
            for one in page.locator("svg[data-shift]:visible g.lane").all()]  # fmt: skip


def scrub_to(page: Page, at_s: int) -> None:
    """Move the slider as a hand does, and wait until the drawing has followed."""
    page.locator("[data-scrub]").evaluate(
        "(one, at) => { one.value = at; one.dispatchEvent(new Event('input', {bubbles: true})); }",
        at_s,
    )
    page.wait_for_load_state("networkidle")


@pytest.fixture
def shift(demo_mill: Mill) -> Timeline:
    """The shift that the page draws."""
    return timeline(layout_of(demo_mill, ball_name="Querl 100"), seed=1)


def expected(shift: Timeline, at_s: float) -> list[str]:
    """What the timeline says of each winder at a moment."""
    found = []
    for lane in range(shift.layout.lanes):
        said = [one.state for one in shift.lanes
                if one.lane == lane and one.part == "winder" and one.at_s <= at_s]  # fmt: skip
        found.append(said[-1])
    return found


def test_it_plays_of_itself_and_pause_stops_it(open_page: OpenPage) -> None:
    page = ready(open_page(STILL))
    play = page.get_by_role("button", name="Pause")
    expect(play).to_be_visible()
    begun = seconds(page)
    page.wait_for_function(
        "from => document.querySelector('[data-clock]').textContent > from",
        arg=page.locator("[data-clock]").inner_text(),
    )
    assert seconds(page) > begun
    assert page.locator("[data-said]").inner_text() == ""
    play.click()
    stopped = seconds(page)
    page.wait_for_timeout(400)
    assert seconds(page) == stopped
    assert re.match(r"Of 6 winders: ", page.locator("[data-said]").inner_text())
    page.get_by_role("button", name="Play").click()
    page.wait_for_function(
        "from => document.querySelector('[data-clock]').textContent > from",
        arg=page.locator("[data-clock]").inner_text(),
    )


def test_it_waits_until_it_is_in_sight(open_page: OpenPage) -> None:
    page = open_page(STILL, width=1024, height=400)
    page.wait_for_selector("[data-keys]:not([hidden])")
    page.wait_for_load_state("networkidle")
    assert page.locator("[data-clock]").inner_text() == "1:00:00"
    expect(page.locator("[data-play]")).to_have_text("Play")
    page.locator("[data-stage]").scroll_into_view_if_needed()
    expect(page.get_by_role("button", name="Pause")).to_be_visible()


def test_the_first_lanes_are_seen_at_once(open_page: OpenPage) -> None:
    page = open_page(STILL, width=1024, height=768, reduced_motion="reduce")
    page.wait_for_selector("[data-keys]:not([hidden])")
    second = page.locator("svg[data-shift]:visible g.lane").nth(1).locator(".vessel").bounding_box()
    assert second is not None
    assert second["y"] + second["height"] < 768


def test_another_shift_leaves_the_answer(open_page: OpenPage) -> None:
    page = ready(open_page(STILL, reduced_motion="reduce"))
    figure, first = page.locator(".set .figure").inner_text(), winders(page)
    page.get_by_role("link", name="Another shift").click()
    page = ready(page)
    assert "drawn=2" in page.url
    assert page.locator(".set .figure").inner_text() == figure
    assert page.locator(".player .note").inner_text().startswith("Shift 2 of those simulated")
    scrub_to(page, 3600)
    assert winders(page) != first


def test_a_faster_speed_goes_faster(open_page: OpenPage) -> None:
    page = ready(open_page(STILL))
    page.get_by_role("button", name="times 300").click()
    begun = seconds(page)
    page.wait_for_function(
        "from => { const [h, m, s] = document.querySelector('[data-clock]').textContent.split(':')"
        ".map(Number); return 3600 * h + 60 * m + s > from + 120; }",
        arg=begun,
        timeout=10_000,
    )
    pressed = page.locator('[data-speed][aria-pressed="true"]').all()
    assert [one.get_attribute("data-speed") for one in pressed] == ["300"]


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_at_each_moment_the_drawing_says_what_the_timeline_says(
    open_page: OpenPage, shift: Timeline, width: int, height: int
) -> None:
    page = ready(open_page(STILL, width=width, height=height, reduced_motion="reduce"))
    for at_s in (0, 100, 1199, 1200, 10_800, 20_460, 28_799):
        scrub_to(page, at_s)
        page.wait_for_function(
            "words => [...document.querySelectorAll('svg[data-shift]')]"
            ".filter(one => one.checkVisibility())[0]"
            ".querySelectorAll('g.lane').values().every("
            "(one, place) => one.dataset.winder === words[place])",
            arg=expected(shift, at_s),
            timeout=5000,
        )
        assert winders(page) == expected(shift, at_s)


def test_the_script_draws_what_the_server_drew(open_page: OpenPage, shift: Timeline) -> None:
    gap = next(one for one in shift.lanes if one.state == "a gap arrives")
    at_s = int(gap.at_s) - 60
    at = f"{at_s // 3600}:{at_s // 60 % 60:02d}:{at_s % 60:02d}"
    page = ready(open_page(f"{STILL}&at={at}", reduced_motion="reduce"))
    scripted = page.locator("svg.shift-drawing.wide")
    plain = open_page(f"{STILL}&at={at}", java_script_enabled=False)
    drawn = plain.locator("svg.shift-drawing.wide")
    assert winders(page) == winders(plain)
    for part, mark in (
        (".level", "height"), (".hand", "transform"), (".lay", "transform"), (".gap", "width"),
    ):  # fmt: skip
        here, there = (
            [str(one.get_attribute(mark)) for one in svg.locator(part).all()]
            for svg in (scripted, drawn)
        )
        assert len(here) == len(there) > 0
        for one, other in zip(here, there, strict=True):
            pairs = zip(re.findall(r"[\d.]+", one), re.findall(r"[\d.]+", other), strict=True)
            assert all(abs(float(a) - float(b)) < 0.35 for a, b in pairs), (part, one, other)
    for words in (".state", ".count", ".feed-words", ".percent", ".doing"):
        assert (
            scripted.locator(words).all_text_contents() == drawn.locator(words).all_text_contents()
        )


def test_what_stood_too_long_is_marked_alike_by_script_and_server(open_page: OpenPage) -> None:
    asked = f"{STILL}&hands=1&at=0:42"
    page, plain = (
        ready(open_page(asked, reduced_motion="reduce")),
        open_page(asked, java_script_enabled=False),
    )
    scrub_to(page, 2521)
    scrub_to(page, 2520)
    for part, mark in ((".marks .spoilt", "width"), ("g.lane", "data-ball")):
        here, there = (
            [one.get_attribute(mark) for one in one_page.locator(f"svg.wide {part}").all()]
            for one_page in (page, plain)
        )
        assert len(here) == len(there) > 1
        if mark == "width":
            pairs = zip(here, there, strict=True)
            assert all(abs(float(a or 0) - float(b or 0)) < 0.35 for a, b in pairs)
        else:
            assert here == there
            assert set(here) == {"sound", "spoilt"}


def test_keys_play_go_and_step(open_page: OpenPage) -> None:
    page = ready(open_page(f"{STILL}&at=1:00:00", reduced_motion="reduce"))
    page.locator("[data-scrub]").focus()
    page.keyboard.press("ArrowRight")
    assert seconds(page) == 3610
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowLeft")
    assert seconds(page) == 3590
    page.keyboard.press(".")
    page.wait_for_function("() => document.querySelector('[data-clock]').textContent > '0:59:50'")
    assert 3590 < seconds(page) < 3620
    page.keyboard.press(",")
    page.wait_for_function("() => document.querySelector('[data-clock]').textContent <= '0:59:50'")
    page.keyboard.press(" ")
    expect(page.get_by_role("button", name="Pause")).to_be_visible()
    page.keyboard.press(" ")
    play = page.get_by_role("button", name="Play")
    expect(play).to_be_visible()
    play.focus()
    page.keyboard.press(" ")
    expect(page.get_by_role("button", name="Pause")).to_be_visible()
    page.keyboard.press("Enter")
    expect(play).to_be_visible()


def test_whoever_wants_no_motion_gets_a_still_line(open_page: OpenPage) -> None:
    page = ready(open_page(STILL, reduced_motion="reduce"))
    expect(page.get_by_role("button", name="Play")).to_be_visible()
    still = page.locator("[data-clock]").inner_text()
    page.wait_for_timeout(500)
    assert page.locator("[data-clock]").inner_text() == still == "1:00:00"


def test_a_strip_is_a_way_to_its_moment_and_follows(open_page: OpenPage) -> None:
    page = ready(open_page(STILL, reduced_motion="reduce"))
    strip = page.locator('svg[data-strip="shift"]:visible')
    box = strip.bounding_box()
    assert box is not None
    strip.click(position={"x": box["width"] * 0.8, "y": box["height"] * 0.5})
    assert 5 * 3600 < seconds(page) < 7 * 3600
    hour, minutes = divmod(seconds(page) // 1800 * 30, 60)
    expect(page.locator("#shift-near h2")).to_contain_text(f"From {hour}:{minutes:02d}")


def test_a_value_tried_moves_on_at_the_same_moment(open_page: OpenPage) -> None:
    page = ready(open_page(f"{STILL}&at=2:00:00", reduced_motion="reduce"))
    before = page.locator(".set .figure").inner_text()
    page.locator("#hands").fill("3")
    expect(page.locator(".set .figure")).not_to_have_text(before)
    expect(page.locator("svg[data-shift]:visible g.hand")).to_have_count(3)
    expect(page.locator("[data-clock]")).to_have_text("2:00:00")
    assert "hands=3" in page.url
    expect(page.locator("#change .worth-figure")).to_contain_text("One hand fewer", timeout=30_000)


def test_without_script_it_stands_at_the_moment_that_is_asked(open_page: OpenPage) -> None:
    page = open_page(STILL, java_script_enabled=False)
    assert page.locator("[data-keys]").is_hidden()
    page.locator("#moment-at").fill("2:30")
    page.get_by_role("button", name="Show").last.click()
    expect(page.locator("svg.shift-drawing.wide title")).to_have_text(
        "The line 2:30:00 into the shift"
    )
    page.get_by_role("link", name="5 min on").click()
    expect(page.locator("svg.shift-drawing.wide title")).to_have_text(
        "The line 2:35:00 into the shift"
    )
    page.get_by_role("link", name="Rank what one improvement is worth").click()
    expect(page.locator(".worth-figure")).to_be_visible()


@pytest.mark.parametrize("units", ["metric", "yard"])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_it_fits_its_screen(open_page: OpenPage, width: int, height: int, units: str) -> None:
    page = ready(open_page("/shift", width=width, height=height, reduced_motion="reduce"))
    if units == "yard":
        page.get_by_role("button", name="oz and yd").click()
        page.wait_for_selector('button[value="yard"][aria-pressed="true"]')
        ready(page)
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    across = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert across[0] <= across[1]
    assert page.locator("svg.shift-drawing:visible").count() == 1
    if width == 1024:
        box = page.locator(".player-keys").bounding_box()
        line = page.locator("svg.shift-drawing:visible").bounding_box()
        assert box is not None
        assert line is not None
        assert line["y"] + line["height"] - box["y"] < height


@pytest.mark.parametrize("light", ["light", "dark"])
def test_axe_finds_nothing(open_page: OpenPage, light: str) -> None:
    page = ready(open_page("/shift?at=5:41", color_scheme=light, bypass_csp=True,
                           reduced_motion="reduce"))  # fmt: skip
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    assert out_of_reach(page) == []


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_what_is_touched_is_large_enough(open_page: OpenPage, width: int, height: int) -> None:
    page = ready(open_page("/shift", width=width, height=height, reduced_motion="reduce"))
    touched_here = page.locator(".player-keys button, .player-keys input").all()
    assert touched_here
    for one in touched_here:
        box = one.bounding_box()
        assert box is not None
        assert min(box["height"], box["width"]) >= 44.0


def test_paper_carries_the_line_and_no_controls(open_page: OpenPage) -> None:
    page = ready(open_page("/shift", color_scheme="dark", reduced_motion="reduce"))
    page.emulate_media(media="print", color_scheme="dark")
    for gone in (".player-keys", ".moment", "form.try", "nav.line", "svg.shift-drawing.narrow"):
        assert not page.locator(gone).first.is_visible(), gone
    for kept in ("svg.shift-drawing.wide", "svg.strip.wide", ".bars", ".worths", ".paper-only"):
        assert page.locator(kept).first.is_visible(), kept
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
