"""Lots in a real browser: what is found is entered, and the decision follows."""

from __future__ import annotations

import re
from collections.abc import Callable
from io import BytesIO

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader
from reach import out_of_reach

pytestmark = pytest.mark.browser

OpenPage = Callable[..., Page]
SIZES = [(1024, 768), (390, 844)]
LOT = "/lots?ball=Querl+100&lot=SL-207&size=720"
SEEN = f"{LOT}&knots_looked=83&knots_found=1&band_looked=83&band_found=0"


def verdict(page: Page) -> str:
    """The decision in one word."""
    return page.locator("#words .verdict strong").inner_text()


def test_entering_what_was_found_releases_the_lot(open_page: OpenPage) -> None:
    page = open_page("/lots")
    assert verdict(page) == "HELD"
    expect(page.get_by_role("heading", name="What would release it")).to_be_visible()
    page.get_by_label("Balls in the lot").fill("720")
    expect(page.locator("#plan-note")).to_contain_text("Look at 83 of the 720 balls")
    knots = page.get_by_role("group", name="More knots than the limit")
    knots.get_by_label("looked at").fill("83")
    knots.get_by_label("at fault").fill("1")
    expect(page.locator("#words .verdict strong")).to_have_text("RELEASED")
    assert "knots_looked=83" in page.url
    link = page.get_by_role("link", name="Release certificate (PDF)")
    paper = page.request.get(page.url.partition("/lots")[0] + str(link.get_attribute("href")))
    text = "".join(one.extract_text() for one in PdfReader(BytesIO(paper.body())).pages)
    assert "RELEASED" in text
    knots.get_by_label("at fault").fill("9")
    expect(page.locator("#words .verdict strong")).to_have_text("REWORK")
    expect(page.locator("#mini")).to_have_text("REWORK")
    address = page.url
    page.reload()
    assert page.url == address
    assert verdict(page) == "REWORK"


def test_lists_and_boxes_answer_when_they_are_changed(open_page: OpenPage) -> None:
    page = open_page(SEEN)
    page.get_by_label("State laws on hand-knitting thread").check()
    expect(page.locator("#answer")).to_contain_text("Net content, State laws")
    page.get_by_label("Shade readings").select_option("none")
    expect(page.locator("#words .verdict strong")).to_have_text("HELD")
    page.get_by_label("Balls are taken").select_option("file")
    expect(page.locator("#sample-note")).to_contain_text("in the order of the file")
    details = page.locator("#sheet-uk-2006-mass")
    details.locator("summary").first.click()
    page.get_by_label("Shade readings").select_option("shade-readings.csv")
    expect(page.locator("#words .verdict strong")).not_to_have_text("HELD")
    assert details.get_attribute("open") is not None


def test_a_fault_is_said_beside_its_input_and_goes_when_it_is_mended(open_page: OpenPage) -> None:
    page = open_page(SEEN)
    size = page.get_by_label("Balls in the lot")
    size.fill("12x")
    expect(page.locator("#size-fault")).to_contain_text("not a whole number")
    expect(size).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_role("heading", name="No answer until this is put right")).to_be_visible()
    size.fill("720")
    expect(page.locator("#words .verdict strong")).to_have_text("RELEASED")
    assert size.get_attribute("aria-invalid") is None


def test_another_ball_starts_anew(open_page: OpenPage) -> None:
    page = open_page(SEEN)
    page.get_by_label("Ball", exact=True).select_option("Dunnow 50")
    page.wait_for_url(re.compile("Dunnow"))
    assert "knots_looked" not in page.url
    assert verdict(page) == "Nothing to judge yet"
    expect(page.locator("#words")).to_contain_text("holds no ball of")


def test_by_keyboard_alone_a_lot_is_decided(open_page: OpenPage) -> None:
    page = open_page(LOT)
    page.get_by_label("Balls in the lot").focus()
    order = []
    for _ in range(8):
        page.keyboard.press("Tab")
        order.append(page.evaluate("document.activeElement.name"))
    assert order[:5] == ["file", "sample", "seed", "knots_looked", "knots_found"]
    page.locator("#knots_looked").focus()
    page.keyboard.type("83")
    page.keyboard.press("Tab")
    page.keyboard.type("0")
    page.keyboard.press("Enter")
    expect(page.locator("#words .verdict strong")).to_have_text("RELEASED")
    assert page.evaluate("document.activeElement.name") == "knots_found"
    page.locator("#rule-oiml-r87").focus()
    page.keyboard.press("Space")
    expect(page.locator("#answer")).to_contain_text("OIML R 87")


def test_without_script_the_form_says_the_same(open_page: OpenPage) -> None:
    page = open_page(LOT, java_script_enabled=False)
    assert verdict(page) == "HELD"
    page.locator("#knots_looked").fill("83")
    page.locator("#knots_found").fill("1")
    page.get_by_role("button", name="Decide").click()
    assert verdict(page) == "RELEASED"
    assert page.locator("#knots_looked").input_value() == "83"
    page.locator("#choose-ball").select_option("Querl 200")
    page.get_by_role("button", name="Show").click()
    assert "ball=Querl+200" in page.url


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("units", ["metric", "yard"])
@pytest.mark.parametrize("asked", [SEEN, f"{LOT}&rule=us-category-a&rule=oiml-r87&knots_found=1"])
def test_it_fits_its_screen(
    open_page: OpenPage, width: int, height: int, units: str, asked: str
) -> None:
    page = open_page(asked, width=width, height=height)
    if units == "yard":
        page.get_by_role("button", name="oz and yd").click()
        page.wait_for_selector('button[value="yard"][aria-pressed="true"]')
        page.wait_for_load_state("networkidle")
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    across = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert across[0] <= across[1]
    heads = page.locator("#words .verdict, #words h2").first.bounding_box()
    assert heads is not None
    assert heads["y"] < height


@pytest.mark.parametrize("light", ["light", "dark"])
@pytest.mark.parametrize(
    "asked",
    [SEEN, LOT, f"{LOT}&size=9&knots_found=3", f"{LOT}&knots_looked=83&knots_found=8",
     f"{SEEN}&rule=us-category-a", "/lots?ball=Dunnow+50"],
)  # fmt: skip
def test_axe_finds_nothing(open_page: OpenPage, light: str, asked: str) -> None:
    page = open_page(asked, color_scheme=light, bypass_csp=True)
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    assert out_of_reach(page) == []


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_what_is_touched_is_large_enough(open_page: OpenPage, width: int, height: int) -> None:
    page = open_page(SEEN, width=width, height=height)
    touched = ".lots-form input[type=text], .lots-form select, .lots-form .box, .paper-link, "
    touched_here = page.locator(
        f"{touched}#answer summary, #more > section > details > summary"
    ).all()
    assert touched_here
    for one in touched_here:
        if one.is_visible():
            box = one.bounding_box()
            assert box is not None
            assert box["height"] >= 44.0, one


def test_paper_carries_the_decision_and_no_controls(open_page: OpenPage) -> None:
    page = open_page(SEEN, color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    for gone in ("form.lots-form", "form.choose", "nav.line", ".paper-link"):
        assert not page.locator(gone).first.is_visible(), gone
    for kept in (".verdict", ".told", ".chart svg", "#sheet-eu-average-mass table", ".office"):
        assert page.locator(kept).first.is_visible(), kept
    expect(page.locator(".paper-only").first).to_contain_text("Querl 100, SL-207 Sloe")
