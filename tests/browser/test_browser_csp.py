"""Every page and every chart under the policy that is really sent: nothing of ours is refused."""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import urlencode

import pytest
from line_server import LineServer
from playwright.sync_api import Browser, ConsoleMessage, Page, expect

from clew.web.stations import LINE

pytestmark = pytest.mark.browser

LOT = "/lots?ball=Querl+100&lot=SL-207&size=720&knots_looked=83&knots_found=1"
CONE = "/trace?" + urlencode({"what": "cone", "name": "SL-207-203"})
CHARTED = {
    "/creel": 1, "/knots": 4, "/knots/answer": 0, "/steam": 1, "/dry": 2, "/wind": 3, "/shift": 1,
    "/band": 3, "/band?chart=cusum&winder=2": 3, LOT: 1, "/run": 6, "/orders": 1, "/case": 5,
}  # fmt: skip
"""Pages that draw, with the fewest drawings beside those of the line that each must have."""
OTHERS = [
    "/lots",
    "/wind/card",
    "/run/hand",
    "/run/hand?lane=3",
    "/trace",
    CONE,
    "/who",
    "/manual",
    "/manual/ball_wind",
    "/nowhere",
]
LISTEN = """
window.violated = [];
document.addEventListener("securitypolicyviolation", (event) =>
  window.violated.push(`${event.violatedDirective} ${event.blockedURI} ${event.sourceFile}`));
"""
DRAWN = """() => [...document.querySelectorAll("main svg:not(.defs)")].map((one) => {
  const box = one.getBoundingClientRect();
  const hidden = !one.checkVisibility() || one.closest(".paper-only, [hidden]") !== null;
  return {hidden, key: one.id || one.getAttribute("class") || "", width: box.width,
          height: box.height, shapes: one.querySelectorAll("*").length};
})"""
LATER = """(code) => new Promise((done) => setTimeout(() => {
  try { done(String(%s)); } catch (error) { done(error.name); }
}))"""
"""Runs outside the browser's own door for tests, which the policy does not hold."""


@pytest.fixture(scope="module")
def line(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LineServer]:
    """A line that has run for half an hour."""
    server = LineServer(tmp_path_factory.mktemp("csp") / "mill")
    server.start()
    yield server
    server.stop()


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    """A page on which everything that the policy refuses is noted."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    made = context.new_page()
    made.add_init_script(LISTEN)
    yield made
    context.close()


def wrong_on(page: Page) -> list[str]:
    """Listen for what the console says of the policy, and for scripts that break."""
    wrong: list[str] = []

    def heard(said: ConsoleMessage) -> None:
        if "Content Security" in said.text or "Refused to" in said.text:
            wrong.append(said.text)

    page.on("console", heard)
    page.on("pageerror", lambda error: wrong.append(str(error)))
    return wrong


def open_all(page: Page) -> None:
    """Open what is folded away, so that whatever it draws is drawn."""
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")


def test_every_station_that_is_open_is_looked_at_here() -> None:
    paths = [one.path for station in LINE for one in (station, *station.hung) if one.path]
    looked = {path.partition("?")[0] for path in [*CHARTED, *OTHERS]}
    assert [path for path in paths if path not in looked] == []


@pytest.mark.parametrize("path", [*CHARTED, *OTHERS])
def test_nothing_on_a_page_is_refused_and_every_drawing_is_there(
    page: Page, line: LineServer, path: str
) -> None:
    wrong = wrong_on(page)
    answer = page.goto(line.address + path)
    assert answer is not None
    policy = answer.headers["content-security-policy"]
    assert "script-src 'self';" in policy
    for lax in ("unsafe-inline", "unsafe-eval", "unsafe-hashes", "data:", "blob:", "*", "http"):
        assert lax not in policy
    if path == "/shift":  # what is reckoned aside is drawn when it is there
        page.wait_for_selector(".worth-figure", timeout=60_000)
    open_all(page)
    drawn = page.evaluate(DRAWN)
    seen = [one for one in drawn if not one["hidden"]]
    assert len(seen) >= CHARTED.get(path, 0), drawn
    for one in seen:
        assert one["width"] >= 10, one
        assert one["height"] >= 10, one
        assert one["shapes"] > 0, one
    charts = page.locator("figure.chart")
    for number in range(charts.count()):
        expect(charts.nth(number).locator("svg").first).to_be_visible()
    assert page.evaluate("window.violated") == []
    assert wrong == []


def test_a_page_that_is_drawn_anew_by_its_script_is_drawn_under_the_policy_too(
    page: Page, line: LineServer
) -> None:
    wrong = wrong_on(page)
    page.goto(line.address + "/run")
    card = page.locator("#lane-4")
    before = line.tell(kind="stop", lane=4, why="cone change", key="csp-stop")
    assert before["events"][0]["seq"] > 0
    expect(card).to_contain_text("cone change")
    expect(card.locator("svg")).to_be_visible()
    page.goto(line.address + "/wind")
    turns = page.locator(".set .figure").inner_text()
    page.locator('input[name="shrink"]').fill("22 %")
    expect(page.locator(".set .figure")).not_to_have_text(turns)
    assert page.evaluate("window.violated") == []
    assert wrong == []


@pytest.mark.parametrize("code", ["new Function('return 7')()", "eval('7')", "setTimeout('7')"])
def test_text_is_never_run_as_a_program(page: Page, line: LineServer, code: str) -> None:
    page.goto(line.address + "/wind")
    assert page.evaluate(LATER % "3 + 4") == "7"  # the way itself works
    found = page.evaluate(LATER % code)
    if code.startswith("setTimeout"):
        page.wait_for_function("window.violated.length > 0")  # refused without an error
    else:
        assert found == "EvalError"
    assert any("script-src" in one and "eval" in one for one in page.evaluate("window.violated"))


def test_a_script_or_style_that_somebody_slips_in_does_nothing(
    page: Page, line: LineServer
) -> None:
    page.goto(line.address + "/run")
    page.evaluate("""() => {
      const script = document.createElement("script");
      script.textContent = "window.ran = true; window.made = new Function('return 7')();";
      document.body.append(script);
      const away = document.createElement("script");
      away.src = "https://elsewhere.example/x.js";
      document.body.append(away);
      document.body.insertAdjacentHTML("beforeend",
        "<p id='slipped' style='color: rgb(1, 2, 3)' onclick='window.ran = true'>x</p>");
    }""")
    page.locator("#slipped").click()
    assert page.evaluate("[window.ran, window.made]") == [None, None]
    assert page.evaluate("getComputedStyle(document.getElementById('slipped')).color") != (
        "rgb(1, 2, 3)"
    )
    page.wait_for_function("window.violated.length >= 4")
    refused = " ".join(page.evaluate("window.violated"))
    for directive in ("script-src-elem inline", "script-src-elem https:", "style-src-attr inline",
                      "script-src-attr inline"):  # fmt: skip
        assert directive in refused
