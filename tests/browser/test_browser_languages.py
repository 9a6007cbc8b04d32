"""Longer words of other languages: no page is wider than its screen, no drawing cuts its words."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

pytestmark = pytest.mark.browser

OpenPage = Callable[..., Page]
PAGES = (
    "/orders", "/creel", "/knots", "/steam", "/dry", "/wind", "/shift", "/run", "/run/hand?lane=3",
    "/band", "/case", "/lots", "/trace", "/who", "/manual",
)  # fmt: skip
SIZES = ((390, 844), (1024, 768))
SIDEWAYS = "[document.documentElement.scrollWidth, window.innerWidth]"
CUT = """() => [...document.querySelectorAll('.shift-drawing, .strip, .worths')].flatMap((svg) => {
  const room = svg.getBoundingClientRect();
  return [...svg.querySelectorAll('text')].filter((text) => text.checkVisibility() && (
    text.getBoundingClientRect().left < room.left - 3 ||
    text.getBoundingClientRect().right > room.right + 3)).map((text) => text.textContent);
})"""
"""Words of the shift's drawings that stand out of them."""


@pytest.mark.parametrize("language", ["de", "fr", "es"])
def test_no_page_is_wider_than_its_screen(
    open_page: OpenPage, workbench: str, language: str
) -> None:
    page = open_page("/who")
    page.context.add_cookies([{"name": "clew_language", "value": language, "url": workbench}])
    wide, cut = [], []
    for path in PAGES:
        page.goto(workbench + path, wait_until="domcontentloaded")
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            if page.evaluate(SIDEWAYS)[0] > width:
                wide.append((path, width))
            cut += [(path, width, words) for words in page.evaluate(CUT)]
    assert (wide, cut) == ([], [])
