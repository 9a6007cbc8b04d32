"""Each page in a real browser: it fits, it is reached by keyboard, it has nothing axe finds."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page
from reach import out_of_reach

pytestmark = pytest.mark.browser

OpenPage = Callable[..., Page]
PAGES = [
    "/creel", "/creel?of=yarn:Sallowe", "/wind?ball=Dunnow+50&lot=SA-340", "/wind/card", "/knots",
    "/knots/answer?joins=3&at=12+m,+80+m",
]  # fmt: skip
SIZES = [(1024, 768), (390, 844)]


def settled(page: Page) -> Page:
    """Wait for the ball to be painted where there is one."""
    if page.locator(".ball-view").count():
        page.wait_for_selector("canvas[data-view]")
    return page


@pytest.mark.parametrize("units", ["metric", "yard"])
@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("path", PAGES)
def test_a_page_fits_its_screen_and_asks_nobody_else(
    open_page: OpenPage, path: str, width: int, height: int, units: str
) -> None:
    page = settled(open_page(path, width=width, height=height))
    if units == "yard":
        page.get_by_role("button", name="oz and yd").click()
        page.wait_for_selector('button[value="yard"][aria-pressed="true"]')
        page.wait_for_load_state("load")
        settled(page)
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    across = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert across[0] <= across[1]


@pytest.mark.parametrize("locale", ["de-DE", "fr-FR", "es-ES"])
def test_longer_words_fit_a_telephone_too(open_page: OpenPage, locale: str) -> None:
    page = open_page("/manual", width=390, height=844, locale=locale)
    front = page.url.removesuffix("/manual")
    assert page.locator("html").get_attribute("lang") == locale[:2]
    for path in ("/manual", "/orders?within=1", "/steam", "/dry", *PAGES):
        page.goto(front + path, timeout=90_000)
        settled(page)
        page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
        across = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
        assert across[0] <= across[1], path
    cut = page.evaluate(
        "[...document.querySelectorAll('.line .name')].filter(name => {"
        " const place = name.getBoundingClientRect();"
        " return place.left < 0 || place.right > innerWidth; }).map(name => name.textContent)"
    )
    assert cut == []


@pytest.mark.parametrize("light", ["light", "dark"])
@pytest.mark.parametrize("path", [*PAGES, "/nowhere"])
def test_axe_finds_nothing(open_page: OpenPage, path: str, light: str) -> None:
    if path == "/nowhere":
        path = "/creel"
        page = open_page(path, color_scheme=light, bypass_csp=True)
        page.get_by_label("Shrink in steam", exact=False).first.fill("nonsense")
        page.wait_for_selector(".faults")
    else:
        page = settled(open_page(path, color_scheme=light, bypass_csp=True))
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    assert out_of_reach(page) == []


FOCUSABLE = """() => [...document.querySelectorAll(
  'a[href], button, input:not([type=hidden]), select, summary, [tabindex="0"]')]
  .filter(one => one.checkVisibility() && !one.hidden && !one.disabled).length"""
FOCUSED = """() => {
  const one = document.activeElement;
  if (one === document.body) return null;
  const style = getComputedStyle(one);
  window.reached = window.reached || new Map();
  if (!window.reached.has(one)) window.reached.set(one, window.reached.size);
  const seen = style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2;
  return [window.reached.get(one), seen, one.outerHTML.slice(0, 120)];
}"""


@pytest.mark.parametrize("path", ["/creel", "/wind", "/knots", "/orders", "/case"])
def test_the_keyboard_reaches_everything_and_shows_where_it_is(
    open_page: OpenPage, path: str
) -> None:
    page = settled(open_page(path))
    reached = set()
    for _ in range(page.evaluate(FOCUSABLE) + 5):
        page.keyboard.press("Tab")
        focused = page.evaluate(FOCUSED)
        if focused is None:
            break
        place, seen, which = focused
        assert seen, f"no mark of focus on {which}"
        reached.add(place)
    assert len(reached) == page.evaluate(FOCUSABLE)


def test_the_first_tab_skips_to_the_answer(open_page: OpenPage) -> None:
    page = open_page("/creel")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"


def test_night_and_day_by_choice_and_by_the_machine(open_page: OpenPage) -> None:
    ground = "getComputedStyle(document.body).backgroundColor"
    night = open_page("/creel", color_scheme="dark").evaluate(ground)
    page = open_page("/creel", color_scheme="light")
    assert page.evaluate(ground) != night
    page.get_by_role("button", name="night").click()
    assert page.evaluate(ground) == night
    page.wait_for_load_state("networkidle")
    page.reload()
    assert page.evaluate(ground) == night
    assert page.get_by_role("button", name="night").get_attribute("aria-pressed") == "true"


def test_paper_carries_the_answer_and_no_controls(open_page: OpenPage) -> None:
    page = settled(open_page("/wind", color_scheme="dark"))
    page.emulate_media(media="print", color_scheme="dark")
    for gone in ("nav.line", "form.try", "form.choose", "canvas", ".reader"):
        assert not page.locator(gone).first.is_visible(), gone
    for kept in (".set .figure", ".settings", ".ball-drawing", ".section-drawing", ".paper-only"):
        assert page.locator(kept).first.is_visible(), kept
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(20, 34, 42)"
