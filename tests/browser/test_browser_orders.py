"""Orders in a real browser: the verdict is read, a bar is dragged, a wish is priced."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect
from reach import SIZES_AND_LIGHTS, out_of_reach

pytestmark = pytest.mark.browser

OpenPage = Callable[..., Page]
SIZES = [(1024, 768), (390, 844)]
ORDERS = "/orders?now=2026-11-30+06:00&within=10"
SEVERAL = "/orders?now=2026-11-30+06:00&within=1&orders=orders.csv"
WISH = f"{ORDERS}&run=1042&line=Line+1&place=1"
PRICED = re.compile(r"^1042 as number \d on Line 1 costs ")


def bars(page: Page) -> Locator:
    """The bars of the drawing that this screen shows, in their order."""
    return page.locator(".plan-part > .plan-figure > svg:visible .bar")


def middle(one: Locator) -> tuple[float, float]:
    box = one.locator(".run").bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2.0, box["y"] + box["height"] / 2.0


def drag(page: Page, one: Locator, x: float, y: float) -> None:
    """Take a bar with the mouse and let it go elsewhere."""
    one.scroll_into_view_if_needed()
    page.mouse.move(*middle(one))
    page.mouse.down()
    page.mouse.move(x, y, steps=6)
    page.mouse.up()


def test_the_verdict_and_what_comes_next_stand_first(open_page: OpenPage) -> None:
    page = open_page(ORDERS)
    expect(page.get_by_role("heading", level=1)).to_have_text(
        "Which order runs next, on which line, and will everything be done in time?"
    )
    expect(page.locator("#words .said")).to_have_text("All 4 orders will be done in time.")
    expect(page.locator("#words .next")).to_have_text(
        re.compile(r"^Line 1: \w+ \d+ in \w+ from .*, then \w+ ")
    )
    expect(page.get_by_role("link", name="Orders")).to_have_attribute("aria-current", "page")
    for name in ("Orders", "Run", "put on"):
        expect(page.get_by_role("combobox", name=name, exact=True)).to_be_visible()
    expect(page.get_by_role("img", name=re.compile("4 runs, 4 changes"))).to_be_visible()
    for heading in ("The plan", "Do the cones suffice?", "What it costs"):
        expect(page.get_by_role("heading", name=heading)).to_be_visible()


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_a_bar_dragged_to_the_front_says_what_that_wish_costs(
    open_page: OpenPage, width: int, height: int
) -> None:
    page = open_page(ORDERS, width=width, height=height)
    page.evaluate("window.kept = true")
    expect(bars(page)).to_have_count(4)
    last = bars(page).nth(3)
    name = last.get_attribute("data-run")
    bars(page).nth(0).scroll_into_view_if_needed()
    x, y = middle(bars(page).nth(0))
    drag(page, last, x - 40.0, y)
    expect(page.locator(".wish-said")).to_have_text(
        re.compile(f"^{name} as number 1 on Line 1 costs ")
    )
    expect(page.locator("#wish svg:visible .bar").first).to_have_attribute("data-run", str(name))
    expect(page.locator(".ghost")).to_have_count(0)
    expect(bars(page).nth(3)).to_have_attribute("data-run", str(name))  # the plan itself stays
    assert page.evaluate("window.kept") is True
    # a second wish is of the plan too, not of the first wish
    first = bars(page).nth(0).get_attribute("data-run")
    drag(page, bars(page).nth(0), *middle(bars(page).nth(3)))
    expect(page.locator(".wish-said")).to_have_text(re.compile(f"^{first} as number [34] on "))


def test_a_click_on_a_bar_asks_nothing(open_page: OpenPage) -> None:
    page = open_page(ORDERS)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    bars(page).nth(1).scroll_into_view_if_needed()
    page.mouse.click(*middle(bars(page).nth(1)))
    page.wait_for_timeout(200)
    assert not [one for one in asked if "part=wish" in one]
    expect(page.locator(".wish-said")).to_have_count(0)


def test_the_same_wish_by_the_keyboard_alone(open_page: OpenPage) -> None:
    page = open_page(ORDERS)
    page.evaluate("window.kept = true")
    page.get_by_role("combobox", name="Run", exact=True).focus()
    page.keyboard.type("1042")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.name") == "place"
    page.keyboard.type("1")
    page.keyboard.press("Enter")
    expect(page.locator(".wish-said")).to_have_text(PRICED)
    assert page.evaluate("window.kept") is True
    # who used the form stays in it
    assert page.evaluate("document.activeElement.closest('[data-wish]') !== null")
    expect(page.get_by_role("combobox", name="Run", exact=True)).to_have_value("1042")


def test_a_wish_that_cannot_be_is_told_and_the_form_stays(open_page: OpenPage) -> None:
    page = open_page(ORDERS)
    page.get_by_label("as number").fill("0")
    page.get_by_role("button", name="Price it").click()
    expect(page.locator("#wish .warn")).to_contain_text("no such place; expected 1 or more.")
    page.get_by_label("as number").fill("2")
    page.get_by_role("button", name="Price it").click()
    expect(page.locator(".wish-said")).to_contain_text(" as number 2 on Line 1 costs ")
    expect(page.locator("#wish.stale")).to_have_count(0)


def test_without_script_the_form_says_the_same(open_page: OpenPage) -> None:
    page = open_page(ORDERS, java_script_enabled=False)
    expect(page.locator("#words .said")).to_have_text("All 4 orders will be done in time.")
    expect(page.locator(".with-script")).to_be_hidden()
    page.get_by_role("combobox", name="Run", exact=True).select_option("1042")
    page.get_by_label("as number").fill("1")
    page.get_by_role("button", name="Price it").click()
    expect(page.locator(".wish-said")).to_have_text(PRICED)
    assert "run=1042" in page.url and "now=2026-11-30" in page.url
    page.get_by_label("Seconds to search").fill("1")
    page.get_by_role("combobox", name="Orders", exact=True).select_option("orders.csv")
    page.get_by_role("button", name="Plan it").click()
    expect(page.locator("#words")).to_contain_text("1111 cannot be met from stock")


def test_a_fault_is_said_beside_its_input(open_page: OpenPage) -> None:
    page = open_page(ORDERS)
    page.get_by_label("Seconds to search").fill("99")
    page.get_by_role("button", name="Plan it").click()
    expect(page.locator("#within-fault")).to_contain_text("1 to 30 s")
    expect(page.get_by_label("Seconds to search")).to_have_attribute("aria-invalid", "true")


@pytest.mark.parametrize(("width", "height", "scheme"), SIZES_AND_LIGHTS)
@pytest.mark.parametrize("path", [WISH, SEVERAL, f"{ORDERS}&seed=x"])
def test_everybody_can_use_it(
    open_page: OpenPage, path: str, width: int, height: int, scheme: str
) -> None:
    page = open_page(path, width=width, height=height, color_scheme=scheme)
    page.evaluate("document.querySelectorAll('main details').forEach(one => one.open = true)")
    across = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert across[0] <= across[1]
    assert out_of_reach(page) == []


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_one_drawing_is_shown_and_what_is_touched_is_large_enough(
    open_page: OpenPage, width: int, height: int
) -> None:
    page = open_page(ORDERS, width=width, height=height)
    expect(page.locator(".plan-part > .plan-figure > svg:visible")).to_have_count(1)
    touched_here = page.locator("main a.tap, main button").all()
    assert touched_here
    for one in touched_here:
        box = one.bounding_box()
        assert box is not None
        assert box["height"] >= 44, one.inner_text()
    if width < 500:
        for one in page.locator("main select, main input[type=text]").all():
            box = one.bounding_box()
            assert box is not None
            assert box["height"] >= 44


def test_a_finger_drags_a_bar_and_the_page_stands_still(open_page: OpenPage) -> None:
    page = open_page(ORDERS, width=390, height=844, has_touch=True)
    expect(page.get_by_text("Drag a bar to ask what the wish costs.")).to_be_visible()
    first = bars(page).nth(0)
    first.scroll_into_view_if_needed()
    # where a finger may scroll is known once the scrolled page is drawn
    page.evaluate("new Promise(done => requestAnimationFrame(() => setTimeout(done, 100)))")
    x, y = middle(first)
    stood = page.evaluate("window.scrollY")
    touch = page.context.new_cdp_session(page)
    for kind, points in (
        ("touchStart", [{"x": x, "y": y}]),
        *(("touchMove", [{"x": x + step, "y": y + step}]) for step in range(10, 100, 10)),
        ("touchEnd", []),
    ):
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    expect(page.locator("#wish .wish-said")).to_be_visible()
    assert page.evaluate("window.scrollY") == stood


def test_on_paper_stand_the_plan_and_no_inputs(open_page: OpenPage) -> None:
    page = open_page(ORDERS, color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    for gone in ("form.orders-form", "form.wish-form", "nav.line", ".deeds", "#wish"):
        assert not page.locator(gone).first.is_visible(), gone
    expect(page.locator(".plan-part > .plan-figure > svg:visible")).to_have_count(1)
    expect(page.locator("#words .said")).to_be_visible()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
