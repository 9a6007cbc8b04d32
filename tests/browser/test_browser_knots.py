"""Knots in a real browser: sliders answer at once, and the price when they rest."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from reach import out_of_reach

pytestmark = pytest.mark.browser

OpenPage = Callable[..., Page]
FULL = "/knots?breaks=6+/km&knot_limit=1&seed=3"
PRICED_WITHIN_MS = 30_000


def at_rest(page: Page) -> Page:
    """Wait until the price is that of the inputs."""
    expect(page.locator("[data-later][aria-busy]")).to_have_count(0, timeout=PRICED_WITHIN_MS)
    return page


def test_a_slider_answers_at_once_and_the_price_when_it_rests(open_page: OpenPage) -> None:
    page = open_page("/knots")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    words, price = page.locator("#words"), page.locator("#price-words")
    before, cost = words.inner_text(), price.inner_text()
    slider = page.get_by_role("slider", name="Breaks on the cone, slider")
    slider.focus()
    for _ in range(6):
        page.keyboard.press("ArrowRight")
    expect(words).not_to_have_text(before, use_inner_text=True)
    expect(price).to_have_attribute("aria-busy", "true")
    at_rest(page)
    expect(price).not_to_have_text(cost, use_inner_text=True)
    assert page.evaluate("document.activeElement.type") == "range"
    assert len([one for one in asked if one.endswith("part=price")]) == 1
    assert "breaks=" in page.url
    after = price.inner_text()
    page.reload()
    assert price.inner_text() == after


def test_the_limit_slides_by_ones_and_moves_its_rule(open_page: OpenPage) -> None:
    page = open_page("/knots?breaks=6+/km")
    chart = page.locator("#answer svg").first
    assert "limit 2" in (chart.text_content() or "")
    slider = page.get_by_role("slider", name="Knot limit, slider")
    slider.focus()
    page.keyboard.press("ArrowLeft")
    expect(page.locator("#knot_limit")).to_have_value("1")
    expect(page.locator("#answer svg").first).to_contain_text("limit 1")
    expect(page.locator("#words")).to_contain_text("Limit 1:")
    at_rest(page)
    expect(page.locator("#price-words")).to_contain_text("A limit of 0 would cost")
    page.get_by_role("link", name="Back to the mill file").click()
    expect(page.locator("#words")).to_contain_text("Limit 2:")
    expect(page.locator("#words")).to_contain_text("86\u00a0hold no knot")


def test_a_wrong_text_takes_answer_and_price_away_and_heals(open_page: OpenPage) -> None:
    page = open_page("/knots")
    before = page.locator("#price-words").inner_text()
    page.get_by_label("Knot limit", exact=False).first.fill("few")
    expect(page.locator("#knot_limit-fault")).to_contain_text("not a whole number")
    at_rest(page)
    expect(page.locator("#price-words")).to_be_hidden()
    page.get_by_label("Knot limit", exact=False).first.fill("2")
    at_rest(page)
    expect(page.locator("#price-words")).to_have_text(before, use_inner_text=True)


def test_another_strand_is_drawn_and_stays_while_values_change(open_page: OpenPage) -> None:
    page = open_page("/knots?breaks=3+/km")
    drawn = page.locator(".strand-lines").inner_html()
    page.get_by_role("link", name="Another strand").click()
    page.wait_for_url("**seed=2**")
    assert page.locator(".strand-lines").inner_html() != drawn
    expect(page.locator("#strand")).to_contain_text("Strand number 2")
    page.get_by_label("Shortest piece", exact=False).first.fill("20 m")
    page.wait_for_url("**shortest_piece=**")
    assert "seed=2" in page.url
    assert "breaks=3" in page.url


def test_everything_works_without_script(open_page: OpenPage) -> None:
    page = open_page("/knots", java_script_enabled=False)
    assert page.locator("#price svg").first.is_visible()
    assert page.locator(".strand-drawing").first.is_visible()
    before = page.locator("#words").text_content() or ""
    page.get_by_label("Mass of a cone", exact=False).fill("0.8 kg")
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator("#words")).not_to_have_text(before)
    assert page.get_by_label("Mass of a cone", exact=False).input_value() == "0.8 kg"
    page.get_by_role("link", name="Another strand").click()
    assert "cone_mass=0.8" in page.url
    page.get_by_label("Ball", exact=True).select_option("Querl 200")
    page.get_by_role("button", name="Show").click()
    expect(page.locator("#words")).to_contain_text("of Querl 200")
    page.get_by_role("link", name="Knots").click()
    expect(page.locator("#words")).to_have_text(before)


@pytest.mark.parametrize("light", ["light", "dark"])
def test_axe_finds_nothing_on_a_full_strand(open_page: OpenPage, light: str) -> None:
    page = at_rest(open_page(FULL, color_scheme=light, bypass_csp=True))
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    assert out_of_reach(page) == []


@pytest.mark.parametrize("units", ["metric", "yard"])
def test_a_telephone_shows_the_strand_legibly_and_is_touched_easily(
    open_page: OpenPage, units: str
) -> None:
    page = open_page(FULL, width=390, height=844, has_touch=True)
    if units == "yard":
        page.get_by_role("button", name="oz and yd").click()
        page.wait_for_selector('button[value="yard"][aria-pressed="true"]')
        expect(page.locator("#strand")).to_contain_text("yd")
    page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
    across = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert across[0] <= across[1]
    heights = page.evaluate(
        "['.letter', '.grade', '.lane'].map(one => "
        "document.querySelector('.strand-lines ' + one).getBoundingClientRect().height)"
    )
    assert min(heights) >= 11
    touched = page.evaluate(
        "[...document.querySelectorAll('.try input:not([type=hidden]), .choose select, "
        ".try .plain-link, .tap, .hung a')].filter(one => one.checkVisibility())"
        ".map(one => [one.outerHTML.slice(0, 80), one.getBoundingClientRect().height])"
    )
    assert touched
    assert not [one for one in touched if one[1] < 43.5]
    widest = page.evaluate(
        "Math.max(...[...document.querySelectorAll('.strand-drawing text')]"
        ".map(one => one.getBoundingClientRect().right))"
    )
    assert widest <= 390


def test_paper_carries_law_strand_and_price(open_page: OpenPage) -> None:
    page = open_page("/knots?knot_limit=1", color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    for gone in ("nav.line", "form.try", "form.choose", ".tap"):
        assert not page.locator(gone).first.is_visible(), gone
    for kept in ("#words", "#price-words", "#answer svg", ".strand-drawing", "#price svg"):
        assert page.locator(kept).first.is_visible(), kept
    assert re.search(r"knot limit 1", page.locator(".paper-only").first.inner_text())
