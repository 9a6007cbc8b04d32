"""Band in a real browser: words and charts in reach of everybody, with script and without."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from reach import SIZES_AND_LIGHTS, out_of_reach

pytestmark = pytest.mark.browser

OpenPage = Callable[..., Page]
SIZES = [(1024, 768), (390, 844)]


def ready(page: Page) -> Page:
    """Wait for what comes later."""
    page.wait_for_selector("#law .office", timeout=60_000)
    return page


@pytest.mark.parametrize(("width", "height", "scheme"), SIZES_AND_LIGHTS)
@pytest.mark.parametrize("path", ["/band", "/band?chart=cusum&winder=2"])
def test_everybody_can_use_it(
    open_page: OpenPage, path: str, width: int, height: int, scheme: str
) -> None:
    page = ready(open_page(path, width=width, height=height, color_scheme=scheme))
    for details in page.locator("main details").all():
        details.evaluate("one => { one.open = true; }")
    assert out_of_reach(page) == []


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_nothing_runs_out_of_the_page(open_page: OpenPage, width: int, height: int) -> None:
    page = ready(open_page("/band", width=width, height=height))
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_names_and_roles(open_page: OpenPage) -> None:
    page = ready(open_page("/band"))
    expect(page.get_by_role("heading", level=1)).to_have_text(
        "What do the winders do now, and what do I change?"
    )
    for name in ("Weighings", "Ball", "Dye lot", "Line"):
        expect(page.get_by_role("combobox", name=name, exact=True)).to_be_visible()
    charted = page.get_by_role("navigation", name="What is charted, and how")
    expect(charted.get_by_role("link", name="Mass")).to_have_attribute("aria-current", "true")
    for winder in range(1, 7):
        expect(page.get_by_role("link", name=f"Winder {winder}", exact=True)).to_be_visible()
        expect(
            page.get_by_role("img", name=re.compile(f"^Winder {winder}: .*signal"))
        ).to_be_visible()
    expect(page.get_by_role("link", name="Band")).to_have_attribute("aria-current", "page")
    expect(page.get_by_role("img", name=re.compile("Chance that a lot passes"))).to_be_visible()


def test_a_slider_answers_without_loading_the_page_anew(open_page: OpenPage) -> None:
    page = ready(open_page("/band"))
    page.evaluate("window.kept = true")
    before = page.locator("#words .said").inner_text()
    page.get_by_label("Target mass, slider").fill("103")
    expect(page.locator("#words .tried")).to_contain_text("target mass 103")
    assert page.locator("#words .said").inner_text() != before
    assert page.evaluate("window.kept") is True
    assert "target_mass=103" in page.url
    expect(page.locator("#law")).to_contain_text("You are set to 103.00", timeout=60_000)


def test_another_winder_and_another_chart_by_the_keyboard_alone(open_page: OpenPage) -> None:
    page = open_page("/band")
    page.get_by_role("link", name="Winder 3", exact=True).focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Winder 3, large")).to_be_visible()
    page.get_by_role("link", name="EWMA").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("link", name="EWMA")).to_have_attribute("aria-current", "true")
    expect(page.get_by_role("heading", name="Winder 3, large")).to_be_visible()


def test_a_dye_lot_is_chosen_from_the_list(open_page: OpenPage) -> None:
    page = open_page("/band")
    page.get_by_label("Dye lot", exact=True).select_option("SL-207")
    expect(page.locator("#words")).to_contain_text("for balls to come of dye lot SL-207")


def test_without_script_the_page_says_the_same(open_page: OpenPage) -> None:
    page = open_page("/band", java_script_enabled=False)
    expect(page.locator("#words .said")).to_contain_text("off winder 4")
    expect(page.locator("svg.control.small")).to_have_count(6)
    page.get_by_role("link", name="CUSUM").click()
    expect(page.locator("#picture")).to_contain_text("The sums run in standard deviations")
    page.get_by_label("Target mass").fill("103 g")
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator("#words .tried")).to_contain_text("target mass 103 g")
    page.get_by_role("link", name="Find the least lawful target").click()
    expect(page.locator("#law .office")).to_be_visible()


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_what_is_touched_is_large_enough(open_page: OpenPage, width: int, height: int) -> None:
    page = ready(open_page("/band", width=width, height=height))
    touched_here = page.locator("#picture a.tap, #law a.tap").all()
    assert touched_here
    for one in touched_here:
        box = one.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 44, one.inner_text()
    if width < 500:
        fields = "main select, main input[type=text], main input[type=range]"
        for one in page.locator(fields).all():
            box = one.bounding_box()
            assert box is not None
            assert box["height"] >= 44


def test_on_paper_stand_the_answer_and_the_charts_without_inputs(open_page: OpenPage) -> None:
    page = ready(open_page("/band"))
    page.emulate_media(media="print")
    expect(page.locator(".paper-only").first).to_be_visible()
    for gone in (".try", ".choose", ".charted", "nav.line"):
        expect(page.locator(gone)).to_be_hidden()
    expect(page.locator("svg.control.small").first).to_be_visible()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
