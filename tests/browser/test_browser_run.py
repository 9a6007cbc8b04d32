"""Run and the hands' page in a real browser: they move with the line, and outlive the network."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from line_server import LineServer
from playwright.sync_api import Browser, Page, expect
from reach import out_of_reach

from clew.ledger.store.opening import open_ledger, url_of
from clew.ledger.store.reading import records_in_time

pytestmark = pytest.mark.browser

SIZES = ((1024, 768), (390, 844))
OpenLine = Callable[..., Page]


@pytest.fixture(scope="module")
def line(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LineServer]:
    """A line that has run for half an hour."""
    server = LineServer(tmp_path_factory.mktemp("line") / "mill")
    server.start()
    yield server
    server.stop()


@pytest.fixture
def open_line(chromium: Browser, line: LineServer) -> Iterator[OpenLine]:
    """Open a page of that line; an error of a script fails the test."""
    contexts = []
    wrong: list[str] = []

    def opened(path: str, *, width: int = 1024, height: int = 768, **context: object) -> Page:
        made = chromium.new_context(viewport={"width": width, "height": height}, **context)  # type: ignore[arg-type]
        contexts.append(made)
        page = made.new_page()
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on(
            "console",
            lambda said: wrong.append(said.text) if "Content Security" in said.text else None,
        )
        page.goto(line.address + path)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert not wrong


def kept(line: LineServer, kind: str) -> list[tuple[int, str]]:
    """What a hand entered of a kind: lane and key."""
    ledger = open_ledger(url_of(line.folder))
    found = [
        (one.lane, one.key)
        for one in records_in_time(ledger, "Line 1", kinds=(kind,))
        if one.source == "tablet"
    ]
    ledger.close()
    return found


def test_the_page_follows_the_line_by_itself(open_line: OpenLine, line: LineServer) -> None:
    page = open_line("/run")
    expect(page.get_by_role("heading", name="The lanes, in the order of the row")).to_be_visible()
    card = page.locator("#lane-2")
    expect(card).not_to_contain_text("C-777")
    line.tell(kind="stop", lane=2, why="wrap round a roller", key="stop-2")
    expect(card).to_contain_text("wrap round a roller")
    line.tell(kind="cone loaded", lane=2, cone="C-777", lot="BR-088", key="wrong-lot")
    expect(page.locator(".alarms .urgency-1", has_text="C-777").first).to_be_visible()
    line.tell(kind="cone off", lane=2, cone="C-777", to="stock", key="wrong-lot-off")
    line.tell(kind="go on", lane=2, key="go-2")
    expect(card).not_to_contain_text("wrap round a roller")


def test_a_touch_is_kept_and_said_back(open_line: OpenLine, line: LineServer) -> None:
    page = open_line("/run/hand")
    page.get_by_role("link", name="Lane 4").click()
    page.get_by_role("button", name="Break at the winder").click()
    expect(page.locator("#told")).to_contain_text("Kept: Break at the winder, lane 4")
    expect(page.locator(".entered li").first).to_contain_text("Break at the winder, lane 4")
    assert [lane for lane, _ in kept(line, "retie") if lane == 4] == [4]
    page.locator("#deed-weighed summary").click()
    page.get_by_role("textbox", name="Scale shows").fill("heavy")
    page.get_by_role("button", name="Enter: ball weighed, lane 4").click()
    expect(page.locator("#told")).to_contain_text("Not kept")
    expect(page.get_by_role("textbox", name="Scale shows")).to_have_value("heavy")
    page.get_by_role("textbox", name="Scale shows").fill("101.4")
    page.get_by_role("button", name="Enter: ball weighed, lane 4").click()
    expect(page.locator("#told")).to_contain_text("Kept: ball weighed, lane 4")


def test_what_is_touched_while_nothing_answers_is_sent_later_and_once(
    open_line: OpenLine, line: LineServer
) -> None:
    page = open_line("/run/hand?lane=5")
    watching = open_line("/run")
    line.stop()
    page.get_by_role("button", name="Doff", exact=True).click()
    expect(page.locator("#waiting")).to_contain_text("1 entry waits on this tablet")
    page.get_by_role("button", name="Tie seen").click()
    expect(page.locator("#waiting")).to_contain_text("2 entries wait on this tablet")
    expect(watching.locator("#away")).to_contain_text("The workbench has not answered since")
    line.start()
    expect(page.locator("#waiting")).to_be_hidden(timeout=40_000)
    expect(watching.locator("#away")).to_be_hidden(timeout=40_000)
    # other tests touch other lanes of this line
    assert [lane for lane, _ in kept(line, "doff") if lane == 5] == [5]
    assert [lane for lane, _ in kept(line, "seen") if lane == 5] == [5]


def test_a_run_is_changed_ended_and_started_from_the_page(
    open_line: OpenLine, line: LineServer
) -> None:
    page = open_line("/who")
    page.get_by_role("textbox").fill("Ina Marl")
    page.get_by_role("textbox").press("Enter")
    expect(page.get_by_role("banner")).to_contain_text("Ina Marl")
    page = page.context.new_page()
    page.goto(line.address + "/run")
    page.locator("#set-run summary").click()
    page.get_by_role("textbox", name="Winder 4").fill("770")
    page.get_by_role("button", name="Enter the change").click()
    expect(page.get_by_role("alert")).to_contain_text("why")
    expect(page.get_by_role("textbox", name="Winder 4")).to_have_value("770")
    page.get_by_role("textbox", name="Why", exact=True).fill("runs heavy")
    page.get_by_role("button", name="Enter the change").click()
    expect(page.get_by_role("status").first).to_contain_text("The change is kept")
    page.locator("#end-run summary").click()
    page.locator("#end-why").fill("order done")
    page.get_by_role("button", name="End the run").click()
    expect(page.get_by_role("status").first).to_contain_text("The run has ended")
    page.locator("#start-run summary").click()
    page.get_by_label("Ball", exact=True).select_option("Querl 200")
    page.get_by_label("Dye lot", exact=True).select_option("OA-023")
    page.get_by_role("button", name="Start the run").click()
    expect(page.get_by_role("status").first).to_contain_text("The run has started")
    expect(page.locator("#live")).to_contain_text("Querl 200")


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("path", ["/run", "/run/hand", "/run/hand?lane=3", "/who"])
def test_nothing_is_hard_to_reach(open_line: OpenLine, path: str, theme: str) -> None:
    for width, height in SIZES[: 2 if theme == "light" else 1]:
        page = open_line(path, width=width, height=height, color_scheme=theme)
        for details in page.locator("details summary").all():
            details.click()
        assert out_of_reach(page) == []
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_everything_is_there_without_script(open_line: OpenLine, line: LineServer) -> None:
    page = open_line("/run/hand?lane=6", java_script_enabled=False)
    before = len(kept(line, "doff"))
    page.get_by_role("button", name="Doff", exact=True).click()
    expect(page.locator("#told")).to_contain_text("Kept as record")
    assert len(kept(line, "doff")) == before + 1
    page.get_by_role("button", name="Take back").first.click()
    expect(page.locator("#told")).to_contain_text("Taken back")
