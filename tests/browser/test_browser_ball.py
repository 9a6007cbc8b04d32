"""The ball in the browser: dragged by mouse and finger, turned by keys, grown turn by turn."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

pytestmark = pytest.mark.browser

OpenPage = Callable[..., Page]
INK = """canvas => {
  const pixels = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data;
  let dark = 0, sum = 0;
  for (let i = 3; i < pixels.length; i += 4) {
    if (pixels[i] > 200) { dark += 1; sum += pixels[i - 1] * (i % 997); }
  }
  return [dark / (pixels.length / 4), sum];
}"""


def ball(page: Page) -> Locator:
    page.wait_for_selector("canvas[data-view]")
    return page.locator(".ball-view canvas")


def middle(page: Page) -> tuple[float, float, float]:
    box = ball(page).bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2, box["width"]


def test_the_ball_fills_its_picture(open_page: OpenPage) -> None:
    share, _ = ball(open_page("/wind")).evaluate(INK)
    assert 0.4 < share < 0.85


def test_dragging_turns_the_ball(open_page: OpenPage) -> None:
    page = open_page("/wind")
    canvas = ball(page)
    view, picture = canvas.get_attribute("data-view"), canvas.evaluate(INK)
    x, y, width = middle(page)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + width / 4, y + width / 8, steps=5)
    page.mouse.up()
    expect(canvas).not_to_have_attribute("data-view", view or "")
    assert canvas.evaluate(INK) != picture
    rest = canvas.get_attribute("data-view")
    page.mouse.move(x - width / 4, y)
    assert canvas.get_attribute("data-view") == rest


def test_a_finger_turns_the_ball(open_page: OpenPage) -> None:
    page = open_page("/wind", has_touch=True)
    canvas = ball(page)
    view = canvas.get_attribute("data-view") or ""
    x, y, width = middle(page)
    touch = page.context.new_cdp_session(page)
    for kind, points in (
        ("touchStart", [{"x": x, "y": y}]),
        ("touchMove", [{"x": x + width / 6, "y": y}]),
        ("touchMove", [{"x": x + width / 3, "y": y}]),
        ("touchEnd", []),
    ):
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    expect(canvas).not_to_have_attribute("data-view", view)


def test_arrow_keys_turn_the_ball_and_home_puts_it_back(open_page: OpenPage) -> None:
    page = open_page("/wind")
    canvas = ball(page)
    view = canvas.get_attribute("data-view") or ""
    canvas.focus()
    for key in ("ArrowRight", "ArrowUp"):
        before = canvas.get_attribute("data-view") or ""
        page.keyboard.press(key)
        expect(canvas).not_to_have_attribute("data-view", before)
    page.keyboard.press("Home")
    expect(canvas).to_have_attribute("data-view", view)


def test_turns_can_be_taken_off_the_ball(open_page: OpenPage) -> None:
    page = open_page("/wind")
    canvas = ball(page)
    whole, _ = canvas.evaluate(INK)
    slider = page.get_by_role("slider", name="Turns laid")
    slider.fill("100")
    expect(canvas).to_have_attribute("data-turns", "100")
    assert canvas.evaluate(INK)[0] < whole / 2


def test_the_ball_follows_the_answer(open_page: OpenPage) -> None:
    page = open_page("/wind")
    canvas = ball(page)
    turns = page.locator(".set .figure").inner_text()
    expect(canvas).to_have_attribute("data-turns", turns)
    page.get_by_label("Shrink in steam", exact=False).first.fill("24 %")
    expect(page.locator(".set .figure")).not_to_have_text(turns)
    expect(canvas).to_have_attribute("data-turns", page.locator(".set .figure").inner_text())
