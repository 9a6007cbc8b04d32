"""The manual in a real browser: searched and read by keyboard, at both widths, on paper."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from reach import out_of_reach

pytestmark = pytest.mark.browser

OpenPage = Callable[..., Page]
SIZES = [(1024, 768), (390, 844)]
LOOKED_AT = [
    "/manual", "/manual?find=knot", "/manual?find=xylophone", "/manual/station_wind",
    "/manual/ball_wind", "/manual/knots_policy", "/manual/demo_live", "/manual/theory",
    "/manual/theory_strand", "/manual/dictionary_mill", "/manual/commands_weigh",
]  # fmt: skip


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("path", LOOKED_AT)
def test_nothing_is_hard_to_reach(open_page: OpenPage, path: str, theme: str) -> None:
    for width, height in SIZES[: 2 if theme == "light" else 1]:
        page = open_page(path, width=width, height=height, color_scheme=theme)
        assert out_of_reach(page) == []
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("script", [True, False])
def test_a_question_is_looked_up_by_keyboard(open_page: OpenPage, script: bool) -> None:
    page = open_page("/manual", java_script_enabled=script)
    field = page.get_by_role("searchbox", name="Look in the manual for")
    field.focus()
    page.keyboard.type("price of a knot limit")
    page.keyboard.press("Enter")
    places = page.get_by_role("region", name="Places that have these words, the best first")
    first = places.get_by_role("link").first
    expect(first).to_have_text("The price of a knot limit")
    first.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("The price of a knot limit")
    page.get_by_role("link", name="The manual", exact=True).first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("The manual")


def test_on_paper_nothing_is_cut_off(open_page: OpenPage) -> None:
    page = open_page("/manual/weigh_arl")
    page.emulate_media(media="print")
    expect(page.locator(".manual-find")).to_be_hidden()
    expect(page.locator("nav.line")).to_be_hidden()
    style = page.locator(".manual pre").first.evaluate("one => getComputedStyle(one).whiteSpace")
    assert style == "pre-wrap"


def test_formulas_are_drawn(open_page: OpenPage) -> None:
    page = open_page("/manual/ball_wind")
    sizes = page.locator("math").evaluate_all(
        "all => all.map(one => one.getBoundingClientRect()).map(box => [box.width, box.height])"
    )
    assert len(sizes) > 10
    assert all(width > 3 and height > 5 for width, height in sizes)
