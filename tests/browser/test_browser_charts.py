"""Charts in a browser: drawn by the server first, by the browser once they are seen."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, Request, expect

from conftest import OpenPage

pytestmark = pytest.mark.browser

FIRST = "#answer [data-chart]"
UNDRAWN = "[data-chart]:not([data-drawn])"


def drawn_chart(page: Page) -> None:
    """Wait until the first chart of the page is drawn by the browser."""
    page.locator(FIRST).first.scroll_into_view_if_needed()
    expect(page.locator(FIRST).first).to_have_attribute("data-drawn", "1", timeout=60_000)


def test_a_chart_is_drawn_by_the_browser_once_it_is_seen(open_page: OpenPage) -> None:
    page = open_page("/wind", height=400)
    page.evaluate("scrollTo(0, 0)")
    assert page.locator(UNDRAWN).count() > 0
    drawn_chart(page)
    assert page.locator(UNDRAWN).count() > 0  # what lies further down is not drawn yet
    for place in page.locator("[data-chart]").all():
        expect(place.locator("svg")).to_have_count(1)


def test_what_the_browser_draws_has_the_name_the_words_and_the_colours_of_the_page(
    open_page: OpenPage,
) -> None:
    page = open_page("/wind", java_script_enabled=False)
    by_server = page.locator(f"{FIRST} svg").first
    name = by_server.locator("title").text_content()
    words = {text for text in by_server.locator("text").all_text_contents() if text.strip()}
    page = open_page("/wind")
    drawn_chart(page)
    svg = page.locator(f"{FIRST}[data-drawn] svg").first
    expect(page.get_by_role("img", name=name or "")).to_have_count(1)
    assert {text for text in svg.locator("text").all_text_contents() if text.strip()} == words
    html = svg.evaluate("svg => svg.outerHTML")
    assert "var(--" in html
    assert not re.findall(r'(?:fill|stroke)="(#[0-9a-fA-F]+|black|white|blue)"', html)
    assert not svg.locator("[role], [aria-label]").count()


def test_a_slider_is_followed_without_the_server_drawing(open_page: OpenPage) -> None:
    page = open_page("/creel")
    page.locator("[data-chart]").first.scroll_into_view_if_needed()
    expect(page.locator("[data-chart]").first).to_have_attribute("data-drawn", "1", timeout=60_000)
    before = page.locator("[data-chart] svg").first.text_content()
    asked: list[Request] = []
    page.on("request", lambda one: asked.append(one) if "part=answer" in one.url else None)
    page.get_by_role("textbox", name=re.compile("Shrink")).fill("24 %")
    expect(page.locator("[data-chart] svg").first).not_to_have_text(before or "")
    assert asked
    assert all(one.headers.get("clew-draws") == "charts" for one in asked)
    answer = asked[-1].response()
    assert answer is not None
    assert "<svg hidden>" in answer.text()
    expect(page.locator("[data-chart][data-drawn]").first.locator("svg")).to_have_count(1)


def test_a_line_is_read_off_where_the_pointer_is(open_page: OpenPage) -> None:
    page = open_page("/wind")
    place = page.locator('[data-chart="angle"]')
    place.locator("xpath=ancestor::details").evaluate_all("all => all.forEach(d => d.open = true)")
    place.scroll_into_view_if_needed()
    expect(place).to_have_attribute("data-drawn", "1", timeout=60_000)
    place.locator("svg").hover()
    expect(place.locator(".chart-tip")).to_have_text(
        re.compile(r"latitude, ° -?[\d.]+: angle of wind, ° [\d.]+")
    )


def test_where_the_means_do_not_come_the_servers_drawing_stays(open_page: OpenPage) -> None:
    page = open_page("/creel", java_script_enabled=False)
    expect(page.locator("[data-chart] svg").first).to_be_visible()
    assert page.locator("[data-chart] svg[hidden]").count() == 0
