"""The shift end to end in a real browser, as a person walks it: by keyboard, and by touch."""

from __future__ import annotations

import json
import re
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from line_server import STARTS_WITHIN_S, LineServer
from playwright.sync_api import Browser, Locator, Page, expect
from pypdf import PdfReader

from clew.ledger.store.opening import open_ledger, url_of
from clew.ledger.store.reading import records_in_time
from clew.ledger.trace.band_code import write_band_code
from clew.mill import read_mill, write_demo

pytestmark = pytest.mark.browser

OpenPage = Callable[..., Page]
LEAD = "Ina Marl"
LOT, ORDER = "SL-207", "1041"
BALLS = 200
CASE_BALLS = 80
MOST_TABS = 240
TAKE_OFF = re.compile(r"What to do\.\s+Take off\s\d+\sturns\s+\(\d+\scounts\)")
WAY_TO_BAND_US = 5 * 60_000_000
"""A ball gets its band so long after its doff [us]; the walk does not wait for it."""


class EmptyServer(LineServer):
    """`clew serve` on a mill of which nothing is recorded yet."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        write_demo(folder)
        self.port, self.address, self._server = 0, "", None


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LineServer]:
    """A line whose winder 4 has run heavy for three quarters of an hour."""
    server = LineServer(tmp_path_factory.mktemp("running") / "mill", minutes=45.0)
    server.start()
    yield server
    server.stop()


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[LineServer]:
    """A mill before its first shift."""
    server = EmptyServer(tmp_path / "mill")
    server.start()
    yield server
    server.stop()


@pytest.fixture
def open_page(chromium: Browser) -> Iterator[OpenPage]:
    """Open a page; an error of a script, or one in the console, fails the test."""
    contexts = []
    wrong: list[str] = []

    def opened(address: str, *, width: int = 1024, height: int = 768, **context: Any) -> Page:
        made = chromium.new_context(viewport={"width": width, "height": height}, **context)
        contexts.append(made)
        page = made.new_page()
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.goto(address)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert not wrong


class ByKeyboard:
    """A person who has a keyboard and no mouse: Tab, Enter, Space and typing."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def reach(self, there: Locator) -> None:
        """Go on with Tab until it has the focus, and see that the focus is seen."""
        expect(there).to_have_count(1)
        for _ in range(MOST_TABS):
            self.page.keyboard.press("Tab")
            if there.evaluate("one => one === document.activeElement"):
                outline = there.evaluate(
                    "one => { const it = getComputedStyle(one);"
                    " return it.outlineStyle + ' ' + it.outlineWidth }"
                )
                assert not outline.startswith("none"), there
                assert not outline.endswith(" 0px"), there
                return
        raise AssertionError(f"Tab does not reach {there}")

    def press(self, there: Locator) -> None:
        self.reach(there)
        self.page.keyboard.press("Enter")

    def tick(self, there: Locator) -> None:
        self.reach(there)
        self.page.keyboard.press("Space")

    def fill(self, there: Locator, text: str) -> None:
        self.reach(there)
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)


class ByTouch:
    """A person with a phone: taps, and types what the field asks."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def press(self, there: Locator) -> None:
        there.tap()

    tick = press

    def fill(self, there: Locator, text: str) -> None:
        there.tap()
        there.fill(text)


def told_by_machines(server: LineServer) -> None:
    """Send what winders, scale and bander count of a run, after its start."""
    start = datetime.now(UTC)
    told: list[dict[str, Any]] = []
    for number in range(BALLS):
        lane, ball = number % 6 + 1, number // 6 + 1
        at = start + timedelta(microseconds=1000 * number)
        mass = 100.9 + 0.25 * ((number * 7) % 11 - 5)
        for kind, said in (("doff", {}), ("weighing", {"mass_g": round(mass, 2)}), ("banded", {})):
            told.append({
                "line": "Line 1", "kind": kind, "lane": lane, "ball": ball, "at": at.isoformat(),
                "key": f"{kind} {number} {start.timestamp()}", **said,
            })  # fmt: skip
    request = urllib.request.Request(
        f"{server.address}/api/events",
        data=json.dumps(told).encode(),
        headers={"Content-Type": "application/json"},
    )
    with urllib.request.urlopen(request, timeout=STARTS_WITHIN_S) as answer:
        outcomes = {one["outcome"] for one in json.loads(answer.read())["events"]}
    assert outcomes == {"kept"}


def code_of_a_ball(server: LineServer) -> str:
    """Read what the band of the ball that came back says."""
    with closing(open_ledger(url_of(server.folder))) as ledger:
        one = next(records_in_time(ledger, "Line 1", kinds=("doff",), lane=4))
    banded_us = one.at_us + WAY_TO_BAND_US
    return write_band_code(LOT, "Line 1", 4, banded_us, read_mill(server.folder).mill.time_zone)


def recorded(server: LineServer, kind: str, line: str = "Line 1") -> list[Any]:
    with closing(open_ledger(url_of(server.folder))) as ledger:
        return list(records_in_time(ledger, line, kinds=(kind,)))


def walk(page: Page, by: ByKeyboard | ByTouch, server: LineServer) -> None:
    """From the plan to a ball that came back, without typing what Clew knows."""
    link: Callable[[str], Locator] = lambda name: page.get_by_role("link", name=name, exact=True)  # noqa: E731
    button: Callable[[str], Locator] = lambda name: page.get_by_role("button", name=name)  # noqa: E731
    field: Callable[[str], Locator] = lambda name: page.get_by_role("textbox", name=name)  # noqa: E731

    # who leads, said once
    by.press(link("Who is at the tablet?"))
    by.fill(field("Name"), LEAD)
    page.keyboard.press("Enter")
    expect(page.get_by_role("banner")).to_contain_text(LEAD)

    # plan -> run card -> start
    by.press(link("Orders"))
    by.press(link(f"Run card of {ORDER}"))
    expect(page.get_by_role("region", name="Run card")).to_contain_text("Querl 100")
    by.press(link("Start this run"))
    expect(page.get_by_role("combobox", name="Ball")).to_have_value("Querl 100")
    expect(page.get_by_role("combobox", name="Dye lot")).to_have_value(LOT)
    by.press(button("Start the run"))
    expect(page.get_by_role("status").first).to_contain_text("The run has started")
    (start,) = recorded(server, "run start")
    assert (start.lot, start.author, start.fields()["order"]) == (LOT, LEAD, ORDER)
    told_by_machines(server)

    # live: a tie, a weight, a correction, the next colour
    by.press(link("Enter for lane 4"))
    by.press(button("Tie seen"))
    expect(page.get_by_role("status").first).to_contain_text("Kept: Tie seen, lane 4")
    by.press(page.get_by_text("Ball weighed", exact=True))  # a summary's name is its text
    by.fill(field("Scale shows"), "104.1")
    by.press(button("Enter: ball weighed, lane 4"))
    expect(page.get_by_role("status").first).to_contain_text("Kept: ball weighed, lane 4")
    by.press(link("The line now"))
    by.press(link("Change a setting"))
    by.fill(field("Winder 4"), "780")
    by.fill(field("Why"), "runs heavy")
    by.press(button("Enter the change"))
    expect(page.get_by_role("status").first).to_contain_text("The change is kept")
    by.press(button("Take it back"))
    expect(page.get_by_role("status").first).to_contain_text("Taken back")
    by.press(link("Enter for lane 4"))
    by.press(page.get_by_text("Dye lot tied on", exact=True))
    by.fill(page.get_by_role("combobox", name="Dye lot that comes on"), "SL-211")
    by.press(button("Enter: dye lot tied on, lane 4"))
    expect(page.get_by_role("status").first).to_contain_text("Kept: dye lot tied on, lane 4")
    by.press(link("The line now"))

    # end -> lot test -> release kept
    by.press(link("End this run"))
    by.fill(field("Why"), "order done")
    by.press(button("End the run"))
    expect(page.get_by_role("status").first).to_contain_text("The run has ended")
    by.press(link(f"Test the lot {LOT}"))
    expect(page.get_by_role("combobox", name="Weighings")).to_have_value(f"run:{start.run}")
    expect(field("Balls in the lot")).to_have_value(str(BALLS + 1))
    looked = re.search(r"Look at (\d+)", page.get_by_role("main").inner_text())
    assert looked
    for fault in ("more knots than the limit", "wrong or missing band", "out of shape"):
        by.fill(field(f"{fault}: looked at"), looked[1])
        by.fill(field(f"{fault}: at fault"), "0")
    page.keyboard.press("Enter")
    keep = button("Keep it in the ledger")
    expect(page.get_by_role("main")).to_contain_text("RELEASED")
    by.press(keep)
    expect(page.get_by_role("main")).to_contain_text(f"The ledger has {LOT} released by {LEAD}")

    # case -> pallet -> out
    by.press(link(f"Pack it: close a case of {LOT}"))
    expect(page.get_by_role("combobox", name="Dye lot", exact=True).last).to_have_value(LOT)
    expect(field("Balls in it")).to_have_value(str(CASE_BALLS))
    by.press(button("Close the case"))
    ship = page.get_by_role("status").last
    expect(ship).to_contain_text(f"{CASE_BALLS} Querl 100 of {LOT}")
    (case,) = [one.package for one in recorded(server, "case closed")]
    expect(link("Its label (PDF)")).to_be_visible()
    by.press(link("Put it on a pallet"))
    expect(page.get_by_role("checkbox", name=case).first).to_be_checked()
    by.press(button("Close the pallet"))
    expect(ship).to_contain_text("Pallet")
    by.press(link("Ship it"))
    by.press(button("Ship").last)
    expect(ship).to_contain_text("has left")
    note = link("Delivery note").first
    paper = page.request.get(server.address + str(note.get_attribute("href")))
    text = "".join(one.extract_text() for one in PdfReader(BytesIO(paper.body())).pages)
    assert f"{CASE_BALLS} balls now" in " ".join(text.split())

    # one ball comes back
    by.press(link("Trace"))
    by.fill(field("Its name, or what the band says"), code_of_a_ball(server))
    page.keyboard.press("Enter")
    words = page.get_by_role("region", name="In words")
    expect(words).to_contain_text("winder 4")
    expect(words).to_contain_text(f"Run {start.run} of dye lot {LOT}")
    expect(link(f"Where all of dye lot {LOT} went")).to_be_visible()


def test_the_whole_shift_with_a_keyboard(open_page: OpenPage, fresh: LineServer) -> None:
    page = open_page(fresh.address)
    walk(page, ByKeyboard(page), fresh)


def test_the_whole_shift_by_touch_on_a_phone(open_page: OpenPage, fresh: LineServer) -> None:
    page = open_page(fresh.address, width=390, height=844, has_touch=True)
    walk(page, ByTouch(page), fresh)


@pytest.mark.parametrize("phone", [False, True])
def test_why_winder_4_runs_heavy_is_four_actions_from_the_first_page(
    open_page: OpenPage, running: LineServer, phone: bool
) -> None:
    size = {"width": 390, "height": 844, "has_touch": True} if phone else {}
    page = open_page(running.address, **size)
    page.get_by_role("link", name="Why winder 4 runs heavy").click()  # the first action of four
    why = page.get_by_role("region", name="Why winder 4 stands where it does, and what to do")
    expect(why).to_be_in_viewport()
    expect(why).to_contain_text(re.compile(r"Winder 4 runs \d\.\d+\sg heavy"))
    expect(why).to_contain_text("The winder: it winds another length")
    expect(why).to_contain_text("Its yarn: what it is fed is heavier or lighter in count")
    expect(why).to_contain_text("The scale, or the yarn of all winders")
    expect(why).to_contain_text(TAKE_OFF)
    to_set = why.inner_text().split("from 786 to ")[1].split(".")[0]
    page.get_by_role("link", name="Enter this change on Run").click()
    expect(page.get_by_role("textbox", name="Winder 4")).to_have_value(to_set)
    assert int(to_set) < 786


def test_without_a_run_the_same_question_is_answered_from_the_line_s_drawing(
    open_page: OpenPage, workbench: str
) -> None:
    page = open_page(workbench)
    page.get_by_role("link", name="Band").click()
    page.get_by_role("link", name="Winder 4").click()
    why = page.get_by_role("region", name="Why winder 4 stands where it does, and what to do")
    expect(why).to_contain_text(TAKE_OFF)


@pytest.mark.parametrize(
    ("path", "words", "way"),
    [
        ("/run", "Nothing was recorded on Line 1 yet", "Start the run below"),
        ("/case", "Nothing for sale was made yet", "Run"),
        ("/trace", "Nothing was banded yet", "Run"),
    ],
)
def test_before_the_first_shift_every_page_says_what_will_stand_there(
    open_page: OpenPage, workbench: str, path: str, words: str, way: str
) -> None:
    page = open_page(workbench + path)
    expect(page.get_by_role("main")).to_contain_text(words)
    expect(page.get_by_role("main").get_by_role("link", name=way, exact=True).first).to_be_visible()
