"""Case in a real browser: packing and cost in reach of everybody, with script and without."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from reach import SIZES_AND_LIGHTS, out_of_reach

pytestmark = pytest.mark.browser

OpenPage = Callable[..., Page]
SIZES = [(1024, 768), (390, 844)]
NOTHING_FITS = "/case?ball=Querl+200&case=Small"


def test_names_and_roles(open_page: OpenPage) -> None:
    page = open_page("/case")
    expect(page.get_by_role("heading", level=1)).to_have_text(
        "Which bag, case and pallet, and what does a ball cost by the time it leaves?"
    )
    for name in ("Ball", "Dye lot", "Line", "Case"):
        expect(page.get_by_role("combobox", name=name, exact=True)).to_be_visible()
    for name in ("Balls a bag", "Balls of a run"):
        expect(page.get_by_role("textbox", name=name)).to_be_visible()
    expect(page.get_by_role("link", name="Case", exact=True)).to_have_attribute(
        "aria-current", "page"
    )
    expect(page.locator(".cost-said")).to_have_text(
        re.compile(r"^A ball of Querl 100 costs \d+\.\d\d\sGBP, between ")
    )
    expect(
        page.get_by_role("img", name=re.compile("What a ball of Querl 100 costs"))
    ).to_be_visible()
    assert page.locator("svg.pack-drawing").count() >= 2


WORTH = "What one point of shrink, one gram, one break is worth"


def test_another_ball_in_another_case(open_page: OpenPage) -> None:
    page = open_page("/case")
    page.get_by_label("Ball", exact=True).select_option("Dunnow 50")
    page.wait_for_url(re.compile("ball=Dunnow"))
    assert "lot=" not in page.url  # of another yarn: the page takes one that fits
    page.get_by_role("combobox", name="Case", exact=True).select_option("Large")
    page.wait_for_url(re.compile("case=Large"))
    page.get_by_role("textbox", name="Balls a bag").fill("5")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile("bag=5"))
    expect(page.locator("#words .said").first).to_contain_text("Dunnow 50")
    expect(page.locator("#lift table").first.locator("tbody th")).to_have_text(["Large"])
    expect(page.get_by_role("textbox", name="Balls a bag")).to_have_value("5")


def test_without_script_the_form_says_the_same(open_page: OpenPage) -> None:
    page = open_page("/case", java_script_enabled=False)
    page.get_by_label("Ball", exact=True).select_option("Querl 200")
    page.get_by_role("combobox", name="Case", exact=True).select_option("Large")
    page.get_by_role("button", name="Show").click()
    expect(page.locator("#words .said").first).to_contain_text("Querl 200")
    page.get_by_role("link", name=WORTH).click()
    expect(page.locator("#worth table")).to_contain_text("gram more giveaway")


def test_a_fault_is_said_beside_its_input(open_page: OpenPage) -> None:
    page = open_page("/case")
    page.get_by_role("textbox", name="Balls a bag").fill("many")
    page.keyboard.press("Enter")
    expect(page.locator("#bag-fault")).to_contain_text("not a whole number")
    expect(page.get_by_role("textbox", name="Balls a bag")).to_have_attribute(
        "aria-invalid", "true"
    )


@pytest.mark.parametrize(("width", "height", "scheme"), SIZES_AND_LIGHTS)
@pytest.mark.parametrize("path", ["/case?worth=yes", NOTHING_FITS, "/case?bag=x"])
def test_everybody_can_use_it(
    open_page: OpenPage, path: str, width: int, height: int, scheme: str
) -> None:
    page = open_page(path, width=width, height=height, color_scheme=scheme)
    page.evaluate("document.querySelectorAll('main details').forEach(one => one.open = true)")
    across = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert across[0] <= across[1]
    assert out_of_reach(page) == []


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_what_is_touched_is_large_enough(open_page: OpenPage, width: int, height: int) -> None:
    page = open_page("/case", width=width, height=height)
    touched_here = page.locator("main a.tap, main button:visible").all()
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


def test_on_paper_stand_packing_and_cost_without_inputs(open_page: OpenPage) -> None:
    page = open_page("/case", color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    for gone in ("form.choose", "nav.line", "#ship"):
        assert not page.locator(gone).first.is_visible(), gone
    for kept in ("#words .said", "svg.pack-drawing", "#cost svg", "#lift table"):
        assert page.locator(kept).first.is_visible(), kept
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
