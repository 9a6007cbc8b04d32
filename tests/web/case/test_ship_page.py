"""Case, "Close and ship": a shift's balls go from the winders to the delivery note on the page."""

from __future__ import annotations

import html
import io
import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from pypdf import PdfReader
from starlette.testclient import TestClient
from tests.ledger.shipping.bench import decide, said_by, tell, wind
from tests.web.door.door_mill import ORIGIN, DoorMill, door_mill

from clew.ledger.events.message import Record
from clew.ledger.store.ledger import FILE_NAME, Ledger
from clew.ledger.store.reading import chain_records
from clew.ledger.store.trouble import CannotKeep
from clew.mill import write_demo

__all__ = ["door_mill"]

Opener = Callable[[Path], TestClient]
FIELD = re.compile(r'<input[^>]*\bname="(?P<name>[^"]+)"[^>]*\bvalue="(?P<value>[^"]*)"[^>]*>')
CHOSEN = re.compile(r'<select id="\S+" name="(\w+)".*?</select>', re.S)
CASE, PALLET, SHIP = "/case/close-case", "/case/close-pallet", "/case/ship"
KINDS = ("case closed", "pallet closed", "shipped")


def ledger_of(client: TestClient) -> Ledger:
    ledger = client.app.state.bench.ledger.ledger()  # type: ignore[attr-defined]
    assert isinstance(ledger, Ledger)
    return ledger


def kept(client: TestClient) -> list[Record]:
    ledger = ledger_of(client)
    told = [*chain_records(ledger, "Line 1"), *chain_records(ledger, "")]
    return [one for one in told if one.kind in KINDS]


@pytest.fixture
def bare(open_mill: Opener, tmp_path: Path) -> TestClient:
    """The workbench of a mill of its own, in which nothing happened yet; Ina is at the tablet."""
    write_demo(tmp_path / "mill")
    made = open_mill(tmp_path / "mill")
    made.cookies.set("clew_hand", "Ina")
    return made


@pytest.fixture
def tablet(bare: TestClient) -> TestClient:
    """The same with 200 balls of SL-207 taken off, of which 4 were pulled."""
    wind(ledger_of(bare), "L1-251125-1", "SL-207", 200, pulled=4, order="1041")
    return bare


def page_of(client: TestClient, address: str = "/case") -> str:
    answer = client.get(address.partition("#")[0])
    assert answer.status_code == 200, answer.text
    return html.unescape(answer.text)


def form_of(page: str, path: str) -> dict[str, str]:
    """What a form would send as it stands: hidden and filled fields, and what is selected."""
    form = page.split(f'action="{path}#')[1].split("</form>", maxsplit=1)[0]
    fields = {
        found["name"]: found["value"]
        for found in FIELD.finditer(form)
        if 'type="checkbox"' not in found[0]
    }
    for found in CHOSEN.finditer(form):
        chosen = re.search(r'<option value="([^"]*)" selected', found[0])
        first = re.search(r'<option value="([^"]*)"', found[0])
        assert first is not None
        fields[found[1]] = (chosen or first)[1]
    return fields


def boxes_of(page: str, path: str, *, ticked: bool = False) -> list[str]:
    form = page.split(f'action="{path}#')[1].split("</form>", maxsplit=1)[0]
    found = re.findall(r'type="checkbox" name="\w+" value="([^"]*)"( checked)?', form)
    return [value for value, checked in found if checked or not ticked]


def said(markup: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", html.unescape(markup))).strip()


def ship_part(markup: str) -> str:
    return said(markup.split('id="ship">')[1].split("</section>", maxsplit=1)[0])


def close_case(client: TestClient, **more: str) -> str:
    """Close a case as the page stands; gives its name."""
    answer = client.post(CASE, data=form_of(page_of(client), CASE) | more)
    return told_of(answer)["closed"]


def told_of(answer: Any) -> dict[str, str]:
    assert answer.status_code == 303, said(answer.text)
    parts = urlsplit(answer.headers["location"])
    assert (parts.path, parts.fragment) == ("/case", "ship")
    return {key: values[-1] for key, values in parse_qs(parts.query).items()}


def text_of(client: TestClient, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "application/pdf"
    found = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages)
    return " ".join(found.replace("\u200b", "").split())


def test_the_last_case_of_a_run_is_offered_what_is_left(tablet: TestClient) -> None:
    assert form_of(page_of(tablet), CASE)["balls"] == "80"
    close_case(tablet)
    close_case(tablet)
    assert form_of(page_of(tablet), CASE)["balls"] == "36"


def test_before_anything_is_made_the_page_teaches_and_makes_no_ledger(
    bare: TestClient, tmp_path: Path
) -> None:
    text = ship_part(page_of(bare))
    assert "Nothing for sale was made yet" in text
    assert "start one on Run" in text
    assert "Two dozen bands at true size" in text
    assert CASE not in page_of(bare)
    answer = bare.post(CASE, data={"line": "Line 1", "lot": "SL-207", "balls": "80", "by": "Ina"})
    assert answer.status_code == 422
    assert not (tmp_path / "mill" / FILE_NAME).exists()


def test_from_the_run_to_the_delivery_note(bare: TestClient) -> None:
    start = bare.get("/run").text.split('action="/run/start"')[1].split("</form>")[0]
    hidden = {found["name"]: found["value"] for found in FIELD.finditer(start)}
    assert hidden.pop("trial") == "yes"  # a box that stays unticked
    more = {"ball": "Querl 100", "lot": "SL-207", "order": "1041"}
    assert bare.post("/run/start", data=hidden | more).status_code == 303
    ledger = ledger_of(bare)
    ledger.append([
        said_by(kind, ledger.clock(), f"{kind} {number}", lane=1, ball=number)
        for number in range(170)
        for kind in ("doff", "banded")
    ])  # fmt: skip

    page = page_of(bare)
    assert "Line 1: 170 balls of SL-207 left to case; 80 Querl 100 make a full case, its run " in (
        ship_part(page)
    )
    form = form_of(page, CASE)
    wanted = {"line": "Line 1", "lot": "SL-207", "balls": "80", "order": "1041", "by": "Ina"}
    assert {key: form[key] for key in wanted} == wanted
    answer = bare.post(CASE, data=form)
    first = told_of(answer)["closed"]
    page = page_of(bare, answer.headers["location"])
    assert f"Case {first} is closed: 80 Querl 100 of SL-207." in ship_part(page)
    assert "Mind: SL-207 is not decided on: its cases may not ship yet." in ship_part(page)
    assert boxes_of(page, PALLET) == [first]
    label = re.search(r'href="(/case/label\.pdf\?[^"]*)">Its label', page)
    assert label is not None
    text = text_of(bare, label[1])
    for words in ("SL-207", "Querl 100", "Customer 12", "1041"):
        assert words in text

    second, third = close_case(bare), close_case(bare, balls="10")
    assert "Line 1: 0 balls of SL-207 left to case" in ship_part(page_of(bare))
    page = page_of(bare)
    answer = bare.post(PALLET, data={**form_of(page, PALLET), "case": [first, second]})
    pallet = told_of(answer)["closed"]
    page = page_of(bare, answer.headers["location"])
    assert f"Pallet {pallet} is closed: 2 cases, 160 Querl 100 of SL-207." in ship_part(page)
    assert "SL-207" in text_of(bare, f"/case/label.pdf?package={pallet}")
    assert boxes_of(page, PALLET) == [third]
    assert boxes_of(page, SHIP) == [pallet, third]

    leaves = {**form_of(page, SHIP), "order": "1041", "package": [pallet, third]}
    refused = bare.post(SHIP, data=leaves)
    assert refused.status_code == 422
    assert "Not shipped; nothing is recorded SL-207 is not released: nobody decided on it." in (
        ship_part(refused.text)
    )
    assert boxes_of(refused.text, SHIP, ticked=True) == [pallet, third]
    assert form_of(refused.text, SHIP)["order"] == "1041"
    assert not any(one.kind == "shipped" for one in kept(bare))

    decide(ledger, "SL-207", "release")
    leaves["key"] = form_of(refused.text, SHIP)["key"]
    answer = bare.post(SHIP, data=leaves)
    assert told_of(answer) == {"delivery": "D-0001"}
    page = page_of(bare, answer.headers["location"])
    text = ship_part(page)
    assert "Delivery D-0001 has left: 2 packages to Customer 12, order 1041." in text
    assert f"left with D-0001 to Customer 12, on pallet {pallet}" in text
    assert boxes_of(page, SHIP) == []
    note = text_of(bare, "/case/note.pdf?delivery=D-0001")
    assert "170 balls now, 170 of 1200 with what left before: 1030 still to come." in note
    assert pallet in note.replace(" ", "")
    packed = text_of(bare, "/case/packing-list.pdf?delivery=D-0001").replace(" ", "")
    for package in (pallet, first, second, third):
        assert package in packed
    assert [one.author for one in kept(bare)] == ["Ina"] * 6


def test_a_lot_on_hold_does_not_leave_and_every_reason_is_said(tablet: TestClient) -> None:
    case = close_case(tablet)
    decide(ledger_of(tablet), "SL-207", "hold", why="shade")
    page = page_of(tablet)
    assert "SL-207 is on hold" in ship_part(page)
    form = {**form_of(page, SHIP), "order": "1042", "package": case}
    refused = tablet.post(SHIP, data=form)
    assert refused.status_code == 422
    text = ship_part(refused.text)
    assert "SL-207 is on hold by Ina: shade." in text
    assert "order 1042 is for Querl 200 in Oatmeal." in text
    assert [one.kind for one in kept(tablet)] == ["case closed"]


@pytest.mark.parametrize("name", ["case", "pallet", "ship"])
def test_a_form_that_is_sent_twice_does_one_thing(tablet: TestClient, name: str) -> None:
    decide(ledger_of(tablet), "SL-207", "release")
    path = {"case": CASE, "pallet": PALLET, "ship": SHIP}[name]
    more = {}
    if name != "case":
        one = close_case(tablet)
        more = {"pallet": {"case": one}, "ship": {"package": one, "order": "1041"}}[name]
    before = len(kept(tablet))
    form = form_of(page_of(tablet), path) | more
    first, again = (tablet.post(path, data=form) for _ in range(2))
    assert told_of(first) == told_of(again)
    assert len(kept(tablet)) == before + 1


def test_a_form_sent_twice_at_one_moment_does_one_thing(tablet: TestClient) -> None:
    form = form_of(page_of(tablet), CASE)

    def send(_: int) -> str:
        own = TestClient(tablet.app, base_url="http://127.0.0.1", follow_redirects=False)
        return told_of(own.post(CASE, data=form))["closed"]

    with ThreadPoolExecutor(4) as threads:
        names = set(threads.map(send, range(4)))
    assert [one.package for one in kept(tablet)] == list(names)


def test_no_name_that_no_page_offers_is_looked_for(tablet: TestClient) -> None:
    page = page_of(tablet)
    for path, name in ((PALLET, "case"), (SHIP, "package")):
        form = form_of(page, path) | {"order": "1041", name: "C\x01-" + "9" * 500}
        refused = tablet.post(path, data=form)
        assert refused.status_code == 422
        assert "is ticked" in ship_part(refused.text)
    assert tablet.get("/case/label.pdf?package=a%00b").status_code == 422
    odd = form_of(page, CASE) | {"page": "ball=none&foo=1&lot=" + "x" * 5000, "balls": "0"}
    assert tablet.post(CASE, data=odd).status_code == 422
    assert tablet.post(CASE, data=form_of(page, CASE) | {"by": "I\x02na"}).status_code == 422


def test_a_form_sent_again_with_something_else_in_it_loses_nothing(tablet: TestClient) -> None:
    form = form_of(page_of(tablet), CASE)
    told_of(tablet.post(CASE, data=form))
    other = tablet.post(CASE, data=form | {"balls": "70"})
    assert other.status_code == 422
    assert "This form was sent before, for case" in ship_part(other.text)
    anew = form_of(other.text, CASE)
    assert anew["balls"] == "70"
    told_of(tablet.post(CASE, data=anew))
    assert [one.fields()["balls"] for one in kept(tablet)] == [80, 70]


def test_what_left_and_came_back_does_not_leave_again_by_the_old_form(tablet: TestClient) -> None:
    ledger = ledger_of(tablet)
    decide(ledger, "SL-207", "release")
    case = close_case(tablet)
    form = form_of(page_of(tablet), SHIP) | {"package": case, "order": "1041"}
    told_of(tablet.post(SHIP, data=form))
    tell(ledger, "returned", ledger.clock(), "back", package=case, customer="Customer 12",
         why="not wanted")  # fmt: skip
    page = page_of(tablet)
    assert boxes_of(page, SHIP) == boxes_of(page, PALLET) == [case]
    assert "1 of 1 came back" in ship_part(page)
    assert tablet.post(SHIP, data=form).status_code == 422
    anew = form_of(page, SHIP) | {"package": case, "order": "1041"}
    assert told_of(tablet.post(SHIP, data=anew))["delivery"] == "D-0002"


def test_more_balls_than_were_told_ask_why(tablet: TestClient) -> None:
    form = form_of(page_of(tablet), CASE)
    refused = tablet.post(CASE, data=form | {"balls": "197", "order": "1041"})
    assert refused.status_code == 422
    text = ship_part(refused.text)
    assert "200 balls of SL-207 were taken off on Line 1, 4 pulled, 0 are in cases (197)" in text
    assert "at most 196, or say below why there are more" in text
    assert "--anyway" not in text
    again = form_of(refused.text, CASE)
    assert (again["balls"], again["order"], again["anyway"]) == ("197", "1041", "")
    told_of(tablet.post(CASE, data=again | {"anyway": "the reader was off"}))
    (record,) = kept(tablet)
    assert record.fields()["note"] == "closed anyway: the reader was off"


def test_everything_wrong_is_said_at_once_and_nothing_typed_is_lost(tablet: TestClient) -> None:
    form = form_of(page_of(tablet, "/case?ball=Querl+100&bag=5"), CASE)
    typed = {"lot": "XX-1", "balls": "<b>many", "order": "9", "by": ""}
    refused = tablet.post(CASE, data=form | typed)
    assert refused.status_code == 422
    text = ship_part(refused.text)
    for words in ("no such lot ('XX-1')", "not a whole number", "no such order ('9')",
                  "nobody is named"):  # fmt: skip
        assert words in text
    assert 'value="&lt;b&gt;many"' in refused.text
    assert refused.text.count('id="case-by-fault"') == 1
    assert re.search(r'name="bag" value="5"', refused.text)  # the page around it stands as it was
    for path, words in ((PALLET, "no case is ticked"), (SHIP, "nothing is ticked")):
        answer = tablet.post(path, data=form_of(page_of(tablet), path))
        assert (answer.status_code, words in ship_part(answer.text)) == (422, True)
    assert "no order is chosen" in ship_part(answer.text)
    assert kept(tablet) == []


def test_cases_that_may_not_stand_together_are_refused_in_words(tablet: TestClient) -> None:
    wind(ledger_of(tablet), "L1-251125-2", "SL-211", 90)
    one, other = close_case(tablet, lot="SL-207"), close_case(tablet, lot="SL-211", order="")
    form = form_of(page_of(tablet), PALLET)
    refused = tablet.post(PALLET, data={**form, "case": [one, other]})
    assert refused.status_code == 422
    text = ship_part(refused.text)
    assert "on one pallet without an order" in text
    assert "--order" not in text
    assert set(boxes_of(refused.text, PALLET, ticked=True)) == {one, other}


def test_a_second_dye_lot_goes_in_only_where_the_order_takes_it(tablet: TestClient) -> None:
    wind(ledger_of(tablet), "L1-251125-2", "SL-211", 90)
    form = form_of(page_of(tablet), CASE)
    assert form["with"] == ""
    refused = tablet.post(CASE, data=form | {"with": "SL-207", "order": "1041"})
    assert refused.status_code == 422
    text = ship_part(refused.text)
    assert "SL-211 and SL-207 may not share a case: order 1041 takes one dye lot in a case" in text
    again = form_of(refused.text, CASE)
    assert (again["lot"], again["with"]) == ("SL-211", "SL-207")
    assert kept(tablet) == []


def test_when_nothing_can_be_kept_the_form_stays(
    tablet: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    form = form_of(page_of(tablet), CASE) | {"balls": "77"}

    def full(*_: object, **__: object) -> None:
        raise CannotKeep("the disk that holds the ledger is full", for_good=True)

    with monkeypatch.context() as patched:
        patched.setattr(Ledger, "append", full)
        refused = tablet.post(CASE, data=form)
    assert refused.status_code == 503
    assert "the disk that holds the ledger is full" in ship_part(refused.text)
    assert form_of(refused.text, CASE)["balls"] == "77"
    assert kept(tablet) == []


def test_a_ledger_that_cannot_be_read_leaves_the_rest_of_the_page(
    tablet: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def away(*_: object, **__: object) -> None:
        raise CannotKeep("the database does not answer", for_good=False)

    monkeypatch.setattr("clew.web.case.ship_view.ship_state", away)
    page = page_of(tablet)
    assert "The ledger cannot be read: the database does not answer" in ship_part(page)
    assert "What a ball costs" in page


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("/case/label.pdf?package=C-9", "no such case was closed"),
        ("/case/label.pdf?package=C-9&order=77", "no such order"),
        ("/case/note.pdf?delivery=D-9", "no such delivery was shipped"),
        ("/case/packing-list.pdf", "no such delivery was shipped"),
        ("/case/note.pdf?foo=1", "nothing of that name is asked here"),
    ],
)
def test_papers_of_what_there_is_not(tablet: TestClient, asked: str, words: str) -> None:
    answer = tablet.get(asked)
    assert answer.status_code == 422
    assert words in said(answer.text)


def test_a_name_in_the_address_that_is_none_tells_nothing(tablet: TestClient) -> None:
    page = page_of(tablet, "/case?closed=%3Cb%3E&delivery=D-7&for=1")
    assert 'class="ship-name"' not in page
    assert "<b>" not in page


@pytest.mark.parametrize(
    ("role", "closes", "ships"),
    [("hand", True, False), ("lead", True, True), ("quality", True, False),
     ("office", True, True)],
)  # fmt: skip
def test_who_may_close_and_who_may_ship(
    door_mill: DoorMill, role: str, closes: bool, ships: bool
) -> None:
    if not list(chain_records(door_mill.ledger, "Line 1")):
        wind(door_mill.ledger, "L1-251125-1", "SL-207", 40)
    client = door_mill.client(role)
    page = html.unescape(client.get("/case").text)
    assert (f'action="{CASE}#' in page) is closes
    assert (f'action="{SHIP}#' in page) is ships
    form = form_of(page, CASE) | {"balls": "2", "by": "Somebody Else"}
    proof = client.headers.pop("x-csrf")
    assert form["csrf"] == proof
    assert client.post(CASE, data=form | {"csrf": "forged"}, headers=ORIGIN).status_code == 403
    told_of(client.post(CASE, data=form, headers=ORIGIN))
    last = list(chain_records(door_mill.ledger, "Line 1"))[-1]
    assert (last.kind, last.source) == ("case closed", "web")
    assert last.author != "Somebody Else"  # who signed in, whatever the form says
    shipping = {"csrf": proof, "key": f"k-{role}", "order": "1041", "package": last.package}
    answer = client.post(SHIP, data=shipping, headers=ORIGIN)
    assert answer.status_code == (422 if ships else 403)  # 422: nobody decided on the lot


def test_a_box_that_reports_closes_for_nobody(door_mill: DoorMill) -> None:
    client = door_mill.client("events:write")
    answer = client.post(CASE, data={"line": "Line 1", "lot": "SL-207", "balls": "1", "by": "Ina"})
    assert answer.status_code == 422
    assert "nobody is named" in answer.text.casefold()
