"""Run: the page says what the live answer says; what a lead enters there is kept once."""

from __future__ import annotations

import html
import io
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from pypdf import PdfReader
from starlette.testclient import TestClient
from tests.web.door.door_mill import DoorMill, door_mill

from clew.cli.play.shift_script import shift_script
from clew.ledger.events.message import Record
from clew.ledger.events.moments import us_of
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.state.answer import Between, LiveAnswer
from clew.ledger.state.live import live_answer
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.opening import open_ledger, url_of
from clew.ledger.store.reading import records_in_time
from clew.ledger.store.trouble import CannotKeep
from clew.mill import read_mill, write_demo
from clew.mill.model import Mill
from clew.web.app import create_app
from clew.web.door.rules import addresses_of
from clew.web.drawn.figures import Figures
from clew.web.run.view import lane_cards, tie_rows
from clew.web.workbench import Workbench

__all__ = ["door_mill"]

Opener = Callable[[Path], TestClient]

LINE = "Line 1"
INPUT = re.compile(r'<input[^>]*\bname="(?P<name>[^"]+)"[^>]*\bvalue="(?P<value>[^"]*)"')
STARTED = datetime(2026, 11, 25, 6, 0, tzinfo=UTC)
MINUTES = 40.0
NOW = STARTED + timedelta(minutes=MINUTES, seconds=20)
BY_HAND = [
    {"kind": "stop", "lane": 2, "why": "wrap round a roller"},
    {"kind": "cone loaded", "lane": 3, "cone": "C-777", "lot": "BR-088"},
    {"kind": "weighing", "lane": 5, "mass_g": 80.0},
]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A mill whose line has run for a while, with something wrong on three lanes."""
    made = tmp_path_factory.mktemp("run") / "mill"
    write_demo(made)
    ledger = open_ledger(url_of(made))
    told = list(shift_script(start=STARTED, minutes=MINUTES).messages)
    at = (NOW - timedelta(seconds=10)).isoformat()
    told += [
        {"line": LINE, "at": at, "source": "hand", "key": f"hand-{number}", **said}
        for number, said in enumerate(BY_HAND)
    ]
    ledger.append([read_message(one, Sender("demo")) for one in told])
    ledger.close()
    return made


@pytest.fixture
def client(open_mill: Opener, folder: Path) -> TestClient:
    """Its workbench, whose clock stands still."""
    made = open_mill(folder)
    ledger_of(made).clock = lambda: us_of(NOW)
    return made


@pytest.fixture
def tablet(open_mill: Opener, tmp_path: Path) -> TestClient:
    """The workbench of a mill of its own, with a lead at the tablet."""
    write_demo(tmp_path / "mill")
    made = open_mill(tmp_path / "mill")
    made.cookies.set("clew_hand", "Ina")
    return made


def bench_of(client: TestClient) -> Workbench:
    bench = client.app.state.bench  # type: ignore[attr-defined]
    assert isinstance(bench, Workbench)
    return bench


def ledger_of(client: TestClient) -> Ledger:
    return bench_of(client).ledger.ledger()


def kept(client: TestClient, *kinds: str) -> list[Record]:
    return list(records_in_time(ledger_of(client), LINE, kinds=kinds))


def text_of(client: TestClient, status: int = 200, **asked: str) -> str:
    answer = client.get("/run", params=asked)
    assert answer.status_code == status, answer.text
    return html.unescape(answer.text).replace("\u00a0", " ")


def said(markup: str) -> str:
    """What a piece of the page says, without its markup."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", markup)).strip()


def card_of(page: str, lane: int) -> str:
    return said(page.split(f'id="lane-{lane}"')[1].split("</li>", maxsplit=1)[0])


def form_of(page: str, name: str) -> dict[str, str]:
    """What a form of the page would send: its hidden fields and what is filled in."""
    form = page.split(f'action="/run/{name}"')[1].split("</form>", maxsplit=1)[0]
    return {found["name"]: found["value"] for found in INPUT.finditer(form)}


def answer_of(client: TestClient) -> LiveAnswer:
    mill = read_mill(bench_of(client).mill.folder)
    return live_answer(ledger_of(client), mill, LINE, us_of(NOW))


def test_the_page_says_what_the_live_answer_says(client: TestClient) -> None:
    page, live = text_of(client), answer_of(client)
    text = said(page)
    assert len(live.words) > 3
    for words in live.words:
        assert words in text
    assert {1, 2} & {one.urgency for one in live.alarms}
    for alarm in live.alarms:
        assert f"{alarm.words}. {alarm.todo[0].upper()}{alarm.todo[1:]}. Since " in text
    assert page.index(live.words[0]) < page.index("C-777") < page.index("in the order of the row")
    rows = re.findall(r"<tr><th scope=\"row\">(\d+)</th>", page)
    assert rows == [str(tie.winder) for tie in live.ties]
    assert f"{live.doffed} taken off, {live.pulled} pulled" in text
    assert f"{live.open_case} of {live.case_balls} balls" in text
    assert f"{LINE} · {live.head_seq} · " in text


def test_every_lane_says_what_is_on_it(client: TestClient) -> None:
    page, live = text_of(client), answer_of(client)
    assert [one.lane for one in live.lanes] == [1, 2, 3, 4, 5, 6]
    for lane in live.lanes:
        card = card_of(page, lane.lane)
        assert card.startswith(f"> {lane.winder} {lane.state_words}")
        assert f"{lane.cone}, {lane.cone_lot}; {lane.cones_left} in reserve" in card
        assert f"{lane.joins} of at most {lane.joins_limit}" in card
        assert f"{lane.counts:g} of {lane.counts_set:g} counts" in card
        assert f"mean {lane.mean_g:.1f} g" in card
        if lane.to_tie_min is not None and lane.to_tie_min.middle >= 0.5:
            assert f"Next tie {lane.to_tie_min.middle:.0f} min" in card
    assert "wrap round a roller" in card_of(page, 2)
    assert "Next tie when it goes on" in card_of(page, 2)


def test_what_cannot_be_timed_is_not_called_a_stop_nor_what_is_overdue_near(
    client: TestClient,
) -> None:
    live = answer_of(client)
    unknown = replace(
        live, ties=tuple(replace(one, station="dryer", to_winder_s=None) for one in live.ties)
    )
    standing = {one.lane for one in live.lanes if one.state in ("stopped", "no feed")}
    due = {one.lane: one.due for one in tie_rows(unknown)}
    assert due == {lane: "when it goes on" if lane in standing else "not known" for lane in due}
    assert "not known" in due.values()
    past = Between(-2.0, -3.0, -1.0)
    late = replace(live, lanes=tuple(replace(one, to_tie_min=past) for one in live.lanes))
    cards = lane_cards(late, Figures("metric"), tare_g=0.0)
    assert {one.tie for one in cards} == {"should be made by now"}


def test_a_ball_outside_the_limits_is_a_cross_and_is_counted_in_words(client: TestClient) -> None:
    drawn = text_of(client).split('id="lane-5"')[1].split("</li>")[0]
    assert drawn.count('class="off"') == 1
    assert "the latest 80.0 g on the right; 1 outside the call-out limits" in drawn
    assert 'class="off"' not in text_of(client).split('id="lane-4"')[1].split("</li>")[0]


def test_a_ball_weighed_with_its_band_is_drawn_without_it(
    tablet: TestClient, demo_mill: Mill
) -> None:
    tare_g = demo_mill.find_ball("Querl 100").tare_mass_g
    assert tare_g
    start = form_of(text_of(tablet), "start") | {"ball": "Querl 100", "lot": "SL-207"}
    tablet.post("/run/start", data=start)
    (record,) = kept(tablet, "run start")
    high_g = record.fields()["call_high_g"]
    told = [
        {"line": LINE, "kind": "weighing", "lane": 1, "ball": number, "mass_g": high_g + more_g,
         "gross": gross, "key": f"b{number}", "at": datetime.now(UTC).isoformat()}
        for number, (more_g, gross) in enumerate([(0.5 * tare_g, True), (-1.0, False)], start=1)
    ]  # fmt: skip
    assert tablet.post("/api/events", json=told).status_code == 200
    strip = text_of(tablet).split('id="balls-1-title"')[1].split("</svg>", maxsplit=1)[0]
    assert "none outside the call-out limits" in strip
    assert (strip.count('class="ball"'), strip.count('class="off"')) == (2, 0)


def test_masses_stand_in_the_units_of_the_reader(client: TestClient) -> None:
    client.cookies.set("clew_units", "yard")
    live, text = answer_of(client), said(text_of(client))
    mean_g = live.mean_g
    assert mean_g is not None
    assert f"mean {mean_g / 28.349523125:.2f} oz" in text
    assert f"{80.0 / 28.349523125:.2f} oz" in text  # an alarm's words are the ledger's, in grams
    assert not re.search(r"\d g\b", text)


def test_the_part_that_is_asked_for_again_is_the_piece_of_the_page(client: TestClient) -> None:
    page, part = client.get("/run").text, client.get("/run", params={"part": "live"}).text
    assert part.strip().startswith('<div id="live"')
    assert "<html" not in part
    assert part.strip() in page


def test_the_shift_so_far_can_be_taken_along(client: TestClient) -> None:
    answer = client.get("/run/report.pdf", params={"line": LINE})
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/pdf"
    words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages)
    assert LINE in words
    assert "SL-207" in words
    assert client.get("/run/report.pdf", params={"line": "Line 9"}).status_code == 422
    assert client.get("/run/report.pdf", params={"shift": "never"}).status_code == 422


@pytest.mark.parametrize("asked", [{"line": "Line 9"}, {"foo": "1"}])
def test_what_is_not_there_is_a_plain_page(client: TestClient, asked: dict[str, str]) -> None:
    assert "Traceback" not in text_of(client, 422, **asked)


def test_a_line_of_which_nothing_was_told_says_what_to_do(tablet: TestClient) -> None:
    page = text_of(tablet)
    text = said(page)
    assert "no run is in progress" in text
    assert "Nothing was recorded on Line 1 yet" in text
    assert "clew demo --live" in text
    assert "Start the run below" in text
    assert 'action="/run/start"' in page
    assert 'action="/run/end"' not in page
    assert [card_of(page, lane).count("no run") for lane in range(1, 7)] == [1] * 6


def test_a_run_is_started_changed_and_ended(tablet: TestClient, demo_mill: Mill) -> None:
    form = form_of(text_of(tablet), "start")
    started = tablet.post("/run/start", data=form | {"ball": "Querl 100", "lot": "SL-207"})
    assert (started.status_code, started.headers["location"]) == (
        303, "/run?line=Line+1&told=start",
    )  # fmt: skip
    (record,) = kept(tablet, "run start")
    assert (record.author, record.lot, record.source) == ("Ina", "SL-207", "tablet")
    assert record.fields()["ball_name"] == "Querl 100"
    page = text_of(tablet, told="start")
    assert "The run has started." in page
    assert record.run in page
    assert 'action="/run/start"' not in page

    form = form_of(page, "set")
    assert float(form["winder-4"]) == record.fields()["counts"]["4"]
    tablet.post("/run/set", data=form | {"winder-4": "770,5", "why": "runs heavy"})
    (changed,) = kept(tablet, "run set")
    assert changed.fields()["counts"] == {"4": 770.5}  # the others stand as they were
    assert changed.fields()["why"] == "runs heavy"

    form = form_of(text_of(tablet), "end")
    tablet.post("/run/end", data=form | {"why": "order done"})
    (ended,) = kept(tablet, "run end")
    assert (ended.run, ended.author) == (record.run, "Ina")
    text = said(text_of(tablet, told="end"))
    assert f"{record.run} ended" in text
    assert demo_mill.line[0].name in text


@pytest.mark.parametrize("name", ["start", "set", "end"])
def test_a_button_that_is_pressed_twice_does_one_thing(tablet: TestClient, name: str) -> None:
    start = form_of(text_of(tablet), "start") | {"ball": "Querl 100", "lot": "SL-207"}
    more = {"start": start, "set": {"winder-4": "770", "why": "heavy"}, "end": {"why": "done"}}
    if name != "start":
        tablet.post("/run/start", data=start)
    form = (form_of(text_of(tablet), name) if name != "start" else {}) | more[name]
    for _ in range(2):
        answer = tablet.post(f"/run/{name}", data=form)
        assert answer.status_code == 303
        assert answer.headers["location"].endswith(f"told={name}")
    assert len(kept(tablet, f"run {name}")) == 1


@pytest.mark.parametrize(
    ("name", "other"),
    [
        ("start", {"lot": "SL-211"}), ("start", {"order": "1041"}), ("set", {"winder-4": "760"}),
        ("set", {"winder-5": "770"}), ("set", {"target": "103 g"}), ("set", {"why": "light"}),
        ("end", {"why": "out of cones"}),
    ],
)  # fmt: skip
def test_a_form_sent_again_with_something_else_in_it_is_not_said_to_be_kept(
    tablet: TestClient, name: str, other: dict[str, str]
) -> None:
    start = form_of(text_of(tablet), "start") | {"ball": "Querl 100", "lot": "SL-207"}
    more = {"start": start, "set": {"winder-4": "770", "why": "heavy"}, "end": {"why": "done"}}
    if name != "start":
        tablet.post("/run/start", data=start)
    form = (form_of(text_of(tablet), name) if name != "start" else {}) | more[name]
    assert tablet.post(f"/run/{name}", data=form).status_code == 303
    again = tablet.post(f"/run/{name}", data=form | other)  # the button Back, and changed there
    assert again.status_code == 422
    assert "this form was sent before, with something else in it" in said(again.text)
    assert len(kept(tablet, f"run {name}")) == 1


def test_a_form_that_was_taken_back_is_not_said_to_be_kept(tablet: TestClient) -> None:
    form = form_of(text_of(tablet), "start") | {"ball": "Querl 100", "lot": "SL-207"}
    tablet.post("/run/start", data=form)
    (record,) = kept(tablet, "run start")
    assert tablet.post("/run/undo", data={"line": LINE, "seq": str(record.seq)}).status_code == 303
    assert tablet.post("/run/start", data=form).status_code == 422
    anew = form | {"key": "another-form-1"}
    assert tablet.post("/run/start", data=anew).status_code == 303
    assert "no run is in progress" not in said(text_of(tablet))


def test_a_counter_is_typed_with_the_mark_of_whoever_types_it(tablet: TestClient) -> None:
    start = form_of(text_of(tablet), "start") | {"ball": "Querl 100", "lot": "SL-207"}
    tablet.post("/run/start", data=start)
    form = form_of(text_of(tablet), "set") | {"why": "heavy"}
    assert tablet.post("/run/set", data=form | {"winder-4": "1,000"}).status_code == 422
    tablet.cookies.set("clew_language", "de")
    assert tablet.post("/run/set", data=form | {"winder-4": "1.000"}).status_code == 422
    assert kept(tablet, "run set") == []
    typed = {"winder-4": "770,5", "target": "101,5 g"}
    assert tablet.post("/run/set", data=form | typed).status_code == 303
    (record,) = kept(tablet, "run set")
    assert (record.fields()["counts"], record.fields()["target_g"]) == ({"4": 770.5}, 101.5)


def test_what_was_typed_stays_beside_what_is_wrong_with_it(tablet: TestClient) -> None:
    start = form_of(text_of(tablet), "start")
    other = {"ball": "Querl 200", "lot": "BR-091", "order": "1041", "trial": "yes"}
    refused = tablet.post("/run/start", data=start | other)
    page = html.unescape(refused.text)
    assert refused.status_code == 422
    assert "lot: BR-091 is Dunnow, Querl 200 is wound of Querl" in said(page)
    assert '<details id="start-run" open>' in page
    assert "<option selected>Querl 200</option>" in page
    assert '<option value="BR-091" selected>' in page
    assert 'value="1041"' in page
    assert re.search(r'name="trial" value="yes" checked', page)
    assert page.index('role="alert"') < page.index('id="live"')  # in sight, not below the fold

    tablet.post("/run/start", data=start | {"ball": "Querl 100", "lot": "SL-207"})
    change = form_of(text_of(tablet), "set")
    typed = {"winder-2": "many", "target": "heavy", "why": "so <b>that</b>"}
    refused = tablet.post("/run/set", data=change | typed)
    text = said(html.unescape(refused.text))
    assert refused.status_code == 422
    assert "winder 2: no counter setting ('many'); expected a number" in text
    assert "target: " in text
    assert 'value="many"' in refused.text
    assert 'value="heavy"' in refused.text
    assert "so &lt;b&gt;that" in refused.text
    assert tablet.post("/run/set", data=change).status_code == 422  # nothing changed, and no reason
    assert tablet.post("/run/end", data=form_of(text_of(tablet), "end")).status_code == 422
    assert kept(tablet, "run set", "run end") == []


def test_a_run_is_led_by_name(tablet: TestClient) -> None:
    tablet.cookies.clear()
    page = text_of(tablet)
    assert "say who is at the tablet" in page
    refused = tablet.post(
        "/run/start", data=form_of(page, "start") | {"ball": "Querl 100", "lot": "SL-207"}
    )
    assert refused.status_code == 422
    assert "nobody is named" in refused.text
    assert kept(tablet, "run start") == []


def test_when_nothing_can_be_kept_the_page_says_so_and_keeps_what_was_typed(
    tablet: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    form = form_of(text_of(tablet), "start") | {"ball": "Querl 200", "lot": "OA-023"}

    def full(*_: object, **__: object) -> None:
        raise CannotKeep("the disk that holds the ledger is full", for_good=True)

    with monkeypatch.context() as patched:
        patched.setattr(Ledger, "append", full)
        refused = tablet.post("/run/start", data=form)
        assert refused.status_code == 503
        assert "the disk that holds the ledger is full" in refused.text
        assert "<option selected>Querl 200</option>" in refused.text
    assert kept(tablet, "run start") == []


def test_a_ledger_that_cannot_be_read_is_told_with_what_to_do(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def away(*_: object, **__: object) -> None:
        raise CannotKeep("the database does not answer", for_good=False)

    monkeypatch.setattr("clew.ledger.state.live.head_of", away)
    text = said(text_of(client))
    assert "The ledger cannot be read" in text
    assert "the database does not answer" in text
    assert "tally sheet" in text
    assert "The lanes" not in text


def test_each_of_several_lines_has_its_own_run(open_mill: Opener, tmp_path: Path) -> None:
    write_demo(tmp_path / "mill")
    file = tmp_path / "mill" / "mill.toml"
    told = file.read_text(encoding="utf-8")
    begins = told.index("[[line]]")
    ends = re.compile(r"^\[(?!\[line[.\]])", re.M).search(told, begins)
    assert ends is not None
    one = told[begins : ends.start()]
    both = one + one.replace('name = "Line 1"', 'name = "Line 2"')
    file.write_text(told[:begins] + both + told[ends.start() :], encoding="utf-8")
    client = open_mill(tmp_path / "mill")
    client.cookies.set("clew_hand", "Ina")
    page = text_of(client, line="Line 2")
    assert '<a class="tap" href="/run?line=Line%202" aria-current="true">Line 2</a>' in page
    form = form_of(page, "start") | {"ball": "Querl 100", "lot": "SL-207"}
    assert form["line"] == "Line 2"
    answer = client.post("/run/start", data=form)
    assert answer.headers["location"] == "/run?line=Line+2&told=start"
    assert "Line 2: Querl 100 of Sloe SL-207" in said(text_of(client, line="Line 2"))
    assert "Line 1: no run is in progress" in said(text_of(client))


@pytest.mark.parametrize(("role", "leads"), [("hand", False), ("lead", True)])
def test_only_a_lead_sees_what_a_lead_does(door_mill: DoorMill, role: str, leads: bool) -> None:
    page = html.unescape(door_mill.client(role).get("/run").text)
    assert ('action="/run/start"' in page) is leads
    assert ("is signed in as hand" in page) is not leads
    assert "Enter what happened" in page


@pytest.mark.parametrize(
    ("page", "addresses"),
    [
        ("run.md", ["/run", "/run/hand", "/run/report.pdf", "/run/stream"]),
        ("lot_trace.md", ["/trace"]),
    ],
)
def test_the_manual_names_these_addresses_and_no_others(page: str, addresses: list[str]) -> None:
    text = (Path(__file__).parents[3] / "docs" / page).read_text(encoding="utf-8")
    named = {found.partition("?")[0] for found in re.findall(r"`(/[a-z][^`\s]*)`", text)}
    served = {one.partition(" ")[2] for one in addresses_of(create_app(Path("no-mill")).routes)}
    assert sorted(named) == addresses
    assert named <= served
