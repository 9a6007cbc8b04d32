"""Trace in a real browser: from what a band says to the recall list, by role and name alone."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from io import BytesIO

import pytest
from line_server import LineServer
from playwright.sync_api import Browser, ConsoleMessage, Page, expect
from pypdf import PdfReader
from reach import out_of_reach

from clew.ledger.store.opening import open_ledger, url_of
from clew.ledger.store.reading import records_in_time
from clew.ledger.trace.band_code import write_band_code
from clew.mill import read_mill

pytestmark = pytest.mark.browser

SIZES = [(1024, 768), (390, 844)]
FIELD = "Its name, or what the band says"
OpenTrace = Callable[..., Page]


@pytest.fixture(scope="module")
def line(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LineServer]:
    """A line that has run for an hour."""
    server = LineServer(tmp_path_factory.mktemp("trace") / "mill", minutes=60.0)
    server.start()
    yield server
    server.stop()


@pytest.fixture(scope="module")
def code(line: LineServer) -> str:
    """What the band of one of its balls says."""
    ledger, mill = open_ledger(url_of(line.folder)), read_mill(line.folder)
    banded = list(records_in_time(ledger, "Line 1", kinds=("banded",), lane=4))
    ledger.close()
    return write_band_code("SL-207", "Line 1", 4, banded[-5].at_us, mill.mill.time_zone)


def spinner_of(line: LineServer, cone: str) -> str:
    """Who spun a cone, as was told when it was loaded."""
    ledger = open_ledger(url_of(line.folder))
    loaded = list(records_in_time(ledger, "Line 1", kinds=("cone loaded",)))
    ledger.close()
    (found,) = {str(one.fields()["spinner"]) for one in loaded if one.cone == cone}
    return found


@pytest.fixture
def open_trace(chromium: Browser, line: LineServer) -> Iterator[OpenTrace]:
    """Open Trace; an error of a script, or one in the console, fails the test."""
    contexts = []
    wrong: list[str] = []

    def heard(said: ConsoleMessage) -> None:
        if said.type == "error" and "status of 422" not in said.text:
            wrong.append(said.text)

    def opened(path: str = "", width: int = 1024, height: int = 768, **context: object) -> Page:
        made = chromium.new_context(viewport={"width": width, "height": height}, **context)  # type: ignore[arg-type]
        contexts.append(made)
        page = made.new_page()
        page.on("console", heard)
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.goto(line.address + (path or "/wind"))
        return page

    yield opened
    for context in contexts:
        context.close()
    assert not wrong


def ask(page: Page, what: str, name: str) -> None:
    """Enter what is in the hand, and trace it."""
    page.get_by_label("From", exact=True).select_option(label=what)
    page.get_by_label(FIELD).fill(name)
    page.get_by_label(FIELD).press("Enter")


@pytest.mark.parametrize("script", [True, False])
def test_from_a_band_to_the_recall_list(
    open_trace: OpenTrace, line: LineServer, code: str, script: bool
) -> None:
    page = open_trace(java_script_enabled=script)
    page.get_by_role("link", name="Trace").click()
    expect(page.get_by_role("heading", name="What can be asked")).to_be_visible()
    ask(page, "What a band says", code)
    words = page.get_by_role("region", name="In words")
    expect(words).to_contain_text("winder 4")
    cones = page.get_by_role("region", name="Table: Its cones")
    cone = cones.get_by_role("rowheader").first.inner_text()
    assert cone.startswith("SL-207-4")
    expect(cones.get_by_role("row").nth(1)).to_contain_text(spinner_of(line, cone))

    ask(page, "A cone", cone)
    expect(words).to_contain_text(f"Cone {cone}: in ")
    balls = page.get_by_role("region", name="Table: Balls")
    assert balls.get_by_role("row").count() > 2
    listed = {}
    for name in ("recall list (PDF)", "the same as a table (CSV)"):
        href = page.get_by_role("link", name=name).get_attribute("href")
        listed[name] = page.request.get(f"{line.address}{href}")
        assert listed[name].ok
    paper = PdfReader(BytesIO(listed["recall list (PDF)"].body()))
    text = " ".join(one.extract_text() for one in paper.pages).replace("\u200b", "")
    assert cone in text
    table = listed["the same as a table (CSV)"].text()
    cases = page.get_by_role("region", name="Table: Cases").get_by_role("rowheader")
    assert cases.count() > 0
    for number in range(cases.count()):
        assert cases.nth(number).inner_text() in table


def test_what_is_no_code_is_said_beside_the_field_and_stays_typed(open_trace: OpenTrace) -> None:
    page = open_trace("/trace")
    ask(page, "What a band says", "hello")
    expect(page.get_by_role("alert")).to_contain_text("no code of a band")
    field = page.get_by_label(FIELD)
    expect(field).to_have_value("hello")
    expect(field).to_have_attribute("aria-invalid", "true")
    described = field.get_attribute("aria-describedby")
    assert page.locator(f"#{described}").get_by_text("no code of a band").count() == 1


def test_on_paper_stand_the_words_and_the_tables_alone(open_trace: OpenTrace) -> None:
    page = open_trace("/trace?what=cone&name=SL-207-203")
    page.emulate_media(media="print")
    for gone in (".trace-form", ".take-along", "nav.line"):
        expect(page.locator(gone).first).to_be_hidden()
    for kept in (".verdict .headline", ".traced >> nth=0", ".note"):
        expect(page.locator(kept)).to_be_visible()


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("asked", ["empty", "back", "on", "lot", "fault"])
def test_nothing_is_hard_to_reach(open_trace: OpenTrace, code: str, asked: str, theme: str) -> None:
    names = {"back": ("What a band says", code), "on": ("A cone", "SL-207-203"),
             "lot": ("A dye lot", "SL-207"), "fault": ("What a band says", "hello")}  # fmt: skip
    for width, height in SIZES[: 2 if theme == "light" else 1]:
        page = open_trace("/trace", width, height, color_scheme=theme)
        if asked in names:
            ask(page, *names[asked])
            page.wait_for_url("**/trace?*")
        assert out_of_reach(page) == []
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
