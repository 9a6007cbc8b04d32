"""Inputs answer while they are changed; without script the page does the same by its forms."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

OpenPage = Callable[..., Page]


def drag(page: Page, label: str, share: float) -> None:
    """Drag a slider's handle to a share of its way."""
    slider = page.get_by_role("slider", name=label)
    slider.scroll_into_view_if_needed()
    box = slider.bounding_box()
    assert box is not None
    y = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + box["width"] / 2, y)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * share, y, steps=6)
    page.mouse.up()


def test_dragging_a_slider_changes_the_words_and_the_address(open_page: OpenPage) -> None:
    page = open_page("/wind")
    words = page.locator("#words")
    before = words.inner_text()
    drag(page, "Shrink in steam, slider", 0.8)
    expect(words).not_to_have_text(before)
    field = page.get_by_label("Shrink in steam", exact=False).first
    typed = field.input_value()
    assert re.fullmatch(r"\d+(\.\d+)? %", typed)
    page.wait_for_load_state("networkidle")
    assert "shrink=" in page.url
    assert page.locator("#mini").inner_text().split()[0] in words.inner_text()
    after = words.inner_text()
    page.reload()
    assert words.inner_text() == after
    assert page.get_by_label("Shrink in steam", exact=False).first.input_value() == typed
    page.get_by_role("link", name="Back to the mill file").click()
    expect(words).to_have_text(before, use_inner_text=True)
    assert "shrink" not in page.url


def test_a_slider_is_moved_by_the_arrow_keys(open_page: OpenPage) -> None:
    page = open_page("/creel")
    words = page.locator("#words")
    before = words.inner_text()
    slider = page.get_by_role("slider", name="Count as it comes, slider")
    slider.focus()
    for _ in range(8):
        page.keyboard.press("ArrowRight")
    expect(words).not_to_have_text(before)
    assert (slider.get_attribute("aria-valuetext") or "").endswith("tex")
    assert page.evaluate("document.activeElement.type") == "range"


def test_a_reader_of_commas_slides_and_types_with_commas(open_page: OpenPage) -> None:
    page = open_page("/wind", locale="de-DE")
    words, field = page.locator("#words"), page.locator("#shrink")
    slider, before = page.locator("#shrink + input[type=range]"), words.inner_text()
    slider.focus()
    page.keyboard.press("ArrowRight")
    expect(field).to_have_value(re.compile(r"^\d+,\d+ %$"))
    expect(words).not_to_have_text(before, use_inner_text=True)
    slid = words.inner_text()
    field.fill("21,5 %")
    expect(slider).to_have_js_property("value", "21.5")
    expect(words).not_to_have_text(slid, use_inner_text=True)
    assert "21%2C5" in page.url
    assert page.locator("#shrink-fault").inner_text() == ""
    after = words.inner_text()
    page.reload()
    expect(page.locator("#shrink")).to_have_value("21,5 %")
    expect(words).to_have_text(after, use_inner_text=True)


def test_an_answer_of_other_values_is_marked_while_none_comes(open_page: OpenPage) -> None:
    """A session may end while a slider moves: what comes then is the page to sign in."""
    page = open_page("/creel")
    words, slider = page.locator("#words"), page.locator("#count + input[type=range]")
    page.route("**/creel?*part=answer", lambda route: route.fulfill(
        content_type="text/html", body="<h1>Sign in</h1>"
    ))  # fmt: skip
    slider.focus()
    page.keyboard.press("ArrowRight")
    expect(words).to_have_class(re.compile(r"\bstale\b"))
    page.unroute("**/creel?*part=answer")
    page.keyboard.press("ArrowRight")
    expect(words).not_to_have_class(re.compile(r"\bstale\b"))


def test_a_wrong_text_is_told_beside_its_field_and_heals(open_page: OpenPage) -> None:
    page = open_page("/wind")
    words = page.locator("#words")
    before = words.inner_text()
    field = page.get_by_label("Winding tension", exact=False).first
    field.fill("forty")
    expect(page.locator("#tension-fault")).to_contain_text("not a quantity")
    assert field.get_attribute("aria-invalid") == "true"
    assert field.input_value() == "forty"
    expect(words).to_contain_text("No answer until this is put right")
    field.fill("40 cN")
    expect(words).to_have_text(before, use_inner_text=True)
    assert field.get_attribute("aria-invalid") is None
    assert page.locator("#tension-fault").inner_text() == ""


def test_an_opened_table_stays_open_while_values_change(open_page: OpenPage) -> None:
    page = open_page("/wind")
    page.locator("#mass-table summary").click()
    words = page.locator("#words")
    before = words.inner_text()
    drag(page, "Target mass, slider", 0.9)
    expect(words).not_to_have_text(before)
    assert page.locator("#mass-table").get_attribute("open") is not None


def test_choosing_another_ball_answers_at_once(open_page: OpenPage) -> None:
    page = open_page("/wind")
    page.get_by_label("Ball", exact=True).select_option("Querl 200")
    page.wait_for_url("**/wind?ball=Querl+200**")
    assert page.get_by_label("Ball", exact=True).input_value() == "Querl 200"


def test_choosing_a_ball_of_another_yarn_takes_a_lot_that_fits(open_page: OpenPage) -> None:
    page = open_page("/wind?lot=SL-207")
    page.get_by_label("Ball", exact=True).select_option("Dunnow 50")
    page.wait_for_url("**ball=Dunnow+50**")
    expect(page.locator("#words")).to_contain_text("binds")


def test_everything_works_without_script(open_page: OpenPage) -> None:
    page = open_page("/wind", java_script_enabled=False)
    assert page.locator(".ball-drawing").is_visible()
    assert not page.locator("canvas").is_visible()
    before = page.locator(".set .figure").inner_text()
    page.get_by_label("Shrink in steam", exact=False).fill("23 %")
    page.get_by_role("button", name="Work it out").click()
    assert page.locator(".set .figure").inner_text() != before
    assert page.get_by_label("Shrink in steam", exact=False).input_value() == "23 %"
    page.get_by_role("button", name="oz and yd").click()
    assert " oz" in page.locator("#words").inner_text().replace("\u00a0", " ")
    assert "shrink=23" in page.url
    page.get_by_role("button", name="night").click()
    assert page.locator("html").get_attribute("data-theme") == "dark"
    page.get_by_label("Ball", exact=True).select_option("Querl 200")
    page.get_by_role("button", name="Show").click()
    assert "Querl+200" in page.url
    page.get_by_role("link", name="Creel").click()
    assert page.locator("#words").inner_text()
