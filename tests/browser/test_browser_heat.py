"""Steam and Dry in a real browser: sliders answer, they fit tablet and phone, axe is content."""

from __future__ import annotations

import re
import time
import urllib.error
import urllib.request
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from reach import out_of_reach

pytestmark = pytest.mark.browser

OpenPage = Callable[..., Page]
SHORT = "/dry?feed_speed=390+m/min"
COOL = "/steam?steam_temperature=92+C&belt_speed=0.5+m/min"
PATHS = ["/steam", "/dry", SHORT, COOL]

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
TEXT_OUTSIDE = """() => [...document.querySelectorAll('.chart svg')].map(one => {
  const box = one.getBoundingClientRect();
  const texts = [...one.querySelectorAll('text')];
  return texts.map(text => [text.textContent, text.getBoundingClientRect()])
    .filter(([, at]) => at.left < box.left - 2 || at.right > box.right + 2
      || at.top < box.top - 2 || at.bottom > box.bottom + 2).map(([words]) => words).join('; ');
})"""


@pytest.fixture(scope="module", autouse=True)
def answering(workbench: str) -> None:
    """Wait for the first answer: the address is printed a little before anyone listens there."""
    for _ in range(100):
        try:
            with urllib.request.urlopen(workbench + "/steam", timeout=30) as answer:
                assert answer.status == 200
                return
        except urllib.error.URLError:
            time.sleep(0.1)
    pytest.fail("the workbench does not answer")


@pytest.mark.parametrize(
    ("path", "slider", "key", "words"),
    [
        ("/steam", "Belt speed, slider", "belt_speed", "of feed"),
        ("/dry", "Dryer temperature, slider", "dryer_temperature", "regain once cooled"),
    ],
)
def test_a_slider_answers_and_the_address_keeps_it(
    open_page: OpenPage, path: str, slider: str, key: str, words: str
) -> None:
    page = open_page(path)
    said, picture = page.locator("#words"), page.locator("#picture svg:not([hidden])").first
    before, drawn = said.inner_text(), picture.text_content()
    page.get_by_role("slider", name=slider).focus()
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    expect(said).not_to_have_text(before, use_inner_text=True)
    expect(picture).not_to_have_text(drawn or "")
    expect(said).to_contain_text(words)
    assert page.evaluate("document.activeElement.type") == "range"
    page.wait_for_url(f"**{key}=**")
    page.wait_for_load_state("networkidle")
    after = said.inner_text()
    page.reload()
    assert said.inner_text() == after
    page.get_by_role("link", name="Back to the mill file").click()
    expect(said).to_have_text(before, use_inner_text=True)


def test_a_wrong_text_takes_the_answer_away_and_heals(open_page: OpenPage) -> None:
    page = open_page("/dry")
    before = page.locator("#words").inner_text()
    field = page.get_by_label("Regain wanted", exact=False).first
    field.fill("dry")
    expect(page.locator("#regain_out-fault")).to_contain_text("not a quantity")
    expect(page.locator("#words")).to_contain_text("No answer until this is put right")
    expect(page.locator("#picture svg")).to_have_count(0)
    field.fill("9.5 %")
    expect(page.locator("#words")).to_have_text(before, use_inner_text=True)


def test_from_steam_to_dry_with_what_was_typed_and_another_ball(open_page: OpenPage) -> None:
    page = open_page("/steam")
    page.get_by_label("Feed speed", exact=False).first.fill("280 m/min")
    page.wait_for_url("**feed_speed=**")
    expect(page.locator("#words")).to_contain_text("280")
    page.get_by_role("link", name="Dry: does it come off dry enough?").click()
    page.wait_for_url("**/dry?**")
    assert page.locator("#feed_speed").input_value() == "280 m/min"
    page.get_by_label("Ball", exact=True).select_option("Sallowe 100")
    page.wait_for_url("**Sallowe**")
    expect(page.locator(".paper-only").first).to_contain_text("Sallowe 100")


@pytest.mark.parametrize("path", ["/steam", "/dry"])
def test_everything_works_without_script(open_page: OpenPage, path: str) -> None:
    page = open_page(path, java_script_enabled=False)
    assert page.locator("#picture svg").first.is_visible()
    before = page.locator("#words").text_content() or ""
    page.get_by_label("Feed speed", exact=False).fill("250 m/min")
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator("#words")).not_to_have_text(before)
    assert page.get_by_label("Feed speed", exact=False).input_value() == "250 m/min"
    page.get_by_label("Ball", exact=True).select_option("Querl 200")
    page.get_by_role("button", name="Show").click()
    assert "ball=Querl+200" in page.url


@pytest.mark.parametrize("light", ["light", "dark"])
@pytest.mark.parametrize("path", PATHS)
def test_axe_finds_nothing(open_page: OpenPage, path: str, light: str) -> None:
    page = open_page(path, color_scheme=light, bypass_csp=True)
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    assert out_of_reach(page) == []


@pytest.mark.parametrize("units", ["metric", "yard"])
@pytest.mark.parametrize(("width", "height"), [(1024, 768), (390, 844)])
@pytest.mark.parametrize("path", PATHS)
def test_a_page_fits_tablet_and_telephone_and_is_touched_easily(
    open_page: OpenPage, path: str, width: int, height: int, units: str
) -> None:
    page = open_page(path, width=width, height=height, has_touch=True)
    if units == "yard":
        page.get_by_role("button", name="oz and yd").click()
        page.wait_for_selector('button[value="yard"][aria-pressed="true"]')
        page.wait_for_load_state("load")
        expect(page.locator("#words")).to_contain_text("yd/min" if "/dry" in path else "lb")
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    across = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert across[0] <= across[1]
    outside = page.evaluate(TEXT_OUTSIDE)
    assert outside
    assert not any(outside), outside
    if width == 390:
        touched = page.evaluate(
            "[...document.querySelectorAll('.try input:not([type=hidden]), .choose select, "
            ".try .plain-link, .tap')].filter(one => one.checkVisibility())"
            ".map(one => [one.outerHTML.slice(0, 80), one.getBoundingClientRect().height])"
        )
        assert touched
        assert not [one for one in touched if one[1] < 43.5]


@pytest.mark.parametrize("path", ["/steam", "/dry"])
def test_the_keyboard_reaches_everything_and_shows_where_it_is(
    open_page: OpenPage, path: str
) -> None:
    page = open_page(path)
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


@pytest.mark.parametrize("path", ["/steam?belt_speed=0.9+m/min", SHORT])
def test_paper_carries_words_pictures_and_cautions(open_page: OpenPage, path: str) -> None:
    page = open_page(path, color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    for gone in ("nav.line", "form.try", "form.choose", ".deeds"):
        assert not page.locator(gone).first.is_visible(), gone
    shown = "#answer table" if path.startswith("/steam") else "#answer svg"
    for kept in ("#words", "#picture svg", shown, ".cautions"):
        assert page.locator(kept).first.is_visible(), kept
    assert re.search(r"speed [\d.]+ m/min", page.locator(".paper-only").first.inner_text())
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
