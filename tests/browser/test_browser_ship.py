"""Case, "Close and ship", in a real browser: by keyboard, on a phone, without script."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import closing
from io import BytesIO
from typing import Any

import pytest
from line_server import LineServer
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader
from reach import out_of_reach
from tests.ledger.shipping.bench import decide, wind

from clew.ledger.store.opening import open_ledger, url_of

pytestmark = pytest.mark.browser

OpenPage = Callable[..., Page]


@pytest.fixture(scope="module")
def packed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LineServer]:
    """A line with a lot of balls to case, some of it released."""
    server = LineServer(tmp_path_factory.mktemp("ship") / "mill", minutes=3.0)
    with closing(open_ledger(url_of(server.folder))) as ledger:
        wind(ledger, "L1-A", "SL-207", 900)
        wind(ledger, "L1-B", "SL-211", 200)
        decide(ledger, "SL-207", "release")
    server.start()
    yield server
    server.stop()


@pytest.fixture
def open_packed(chromium: Browser, packed: LineServer) -> Iterator[OpenPage]:
    """Open a page of that mill with Ina at the tablet; an error of a script fails the test."""
    contexts = []
    wrong: list[str] = []

    def opened(path: str, *, width: int = 1024, height: int = 768, **context: Any) -> Page:
        made = chromium.new_context(viewport={"width": width, "height": height}, **context)
        contexts.append(made)
        made.add_cookies([{"name": "clew_hand", "value": "Ina", "url": packed.address}])
        page = made.new_page()
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.goto(packed.address + path)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert not wrong


def press_into(page: Page, selector: str, *keys: str) -> None:
    """Go to a field, as Tab would, and type there."""
    page.locator(selector).focus()
    for key in keys:
        page.keyboard.press(key)


def name_of(page: Page) -> str:
    """The name of what was just kept."""
    expect(page.locator("#ship .ship-told")).to_be_visible()
    return page.locator("#ship .ship-name strong").inner_text()


def test_by_keyboard_alone_from_case_to_delivery_note(
    open_packed: OpenPage, packed: LineServer
) -> None:
    page = open_packed("/case#ship")
    page.locator("#case-line").focus()
    order = []
    for _ in range(6):
        page.keyboard.press("Tab")
        order.append(page.evaluate("document.activeElement.id || document.activeElement.type"))
    fields = [f"case-{one}" for one in ("lot", "with", "balls", "order", "by")]
    assert order == [*fields, "submit"]
    page.locator("#case-lot").select_option("SL-207")
    page.locator("#case-order").select_option("1041")
    press_into(page, "#case-balls", "Control+a", *"60", "Enter")
    case = name_of(page)
    expect(page.locator("#ship .ship-told")).to_contain_text("60 Querl 100 of SL-207")
    expect(page.locator("#ship .ship-told")).to_be_in_viewport()  # the name is seen at once
    expect(page.get_by_role("link", name="Its label (PDF)")).to_be_visible()

    press_into(page, f'#close-pallet input[value="{case}"]', "Space")
    press_into(page, "#close-pallet .go", "Enter")
    expect(page.locator("#ship .ship-name")).to_contain_text("Pallet")
    pallet = name_of(page)
    assert page.locator(f'#close-pallet input[value="{case}"]').count() == 0

    press_into(page, f'#ship-out input[value="{pallet}"]', "Space")
    press_into(page, "#ship-out .go", "Enter")
    expect(page.get_by_role("alert")).to_contain_text("Not shipped; nothing is recorded")
    expect(page.get_by_role("alert")).to_be_in_viewport()
    expect(page.locator("#ship-order-fault")).to_contain_text("no order is chosen")
    expect(page.locator(f'#ship-out input[value="{pallet}"]')).to_be_checked()
    press_into(page, "#ship-order", *"1041", "Enter")
    page.locator("#ship-order").select_option("1041")
    press_into(page, "#ship-out .go", "Enter")
    expect(page.locator("#ship .ship-name")).to_contain_text("Delivery D-")
    note = page.locator("#ship .ship-told").get_by_role("link", name="Delivery note")
    paper = page.request.get(packed.address + str(note.get_attribute("href")))
    text = "".join(one.extract_text() for one in PdfReader(BytesIO(paper.body())).pages)
    assert "60 balls now" in " ".join(text.split())
    page.reload()  # what was kept is told again, and not kept again
    expect(page.locator("#ship .ship-lately")).to_contain_text(f"on pallet {pallet}")


def test_on_a_phone_without_script_a_case_is_closed(open_packed: OpenPage) -> None:
    page = open_packed("/case#ship", width=390, height=844, java_script_enabled=False)
    page.locator("#case-lot").select_option("SL-211")
    page.locator("#case-balls").fill("9999")
    page.locator("#close-case .go").click()
    expect(page.locator("#case-balls-fault")).to_contain_text("0 are in cases (9999)")
    assert page.locator("#case-lot").input_value() == "SL-211"
    page.locator("#case-balls").fill("50")
    page.locator("#close-case .go").click()
    case = name_of(page)
    expect(page.locator("#ship .ship-told")).to_contain_text("SL-211 is not decided on")
    across = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert across[0] <= across[1]
    touched = "#ship input:not([type=hidden]):not([type=checkbox]), #ship select, #ship .go"
    for one in page.locator(f"{touched}, #ship .ship-tick, #ship .tap").all():
        box = one.bounding_box()
        assert box is not None
        assert box["height"] >= 44.0, one
    page.locator(f'#ship-out input[value="{case}"]').check()
    page.locator("#ship-order").select_option("1041")
    page.locator("#ship-out .go").click()
    expect(page.locator("#ship-out")).to_contain_text("SL-211 is not released")


@pytest.mark.parametrize("light", ["light", "dark"])
def test_axe_finds_nothing(open_packed: OpenPage, light: str) -> None:
    page = open_packed("/case", color_scheme=light, bypass_csp=True)
    page.locator("#case-balls").fill("70")
    page.locator("#case-lot").select_option("SL-207")
    page.locator("#close-case .go").click()
    name_of(page)
    found = out_of_reach(page, "#ship")
    page.locator("#case-balls").fill("many")
    page.locator("#close-case .go").click()
    expect(page.locator("#case-balls-fault")).to_be_visible()
    found += out_of_reach(page, "#ship")
    page.locator("#ship-out .go").click()
    expect(page.locator("#ship-package-fault")).to_be_visible()
    assert not found + out_of_reach(page, "#ship")


@pytest.mark.parametrize(("width", "height"), [(1024, 768), (390, 844)])
def test_a_mill_in_which_nothing_was_made_is_told_how(
    open_page: OpenPage, width: int, height: int
) -> None:
    page = open_page("/case#ship", width=width, height=height, bypass_csp=True)
    expect(page.locator("#ship")).to_contain_text("Nothing for sale was made yet")
    assert not out_of_reach(page, "#ship")
