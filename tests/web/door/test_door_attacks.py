"""What a stranger, a machine or a tablet left alone must not gain, tried one by one."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient
from tests.web.door.door_mill import HOST, NAMES, PASSWORD, DoorMill, door_mill

from clew.ledger.events.message import MILL_LINE
from clew.ledger.people.people import add_person, end_person, set_password
from clew.ledger.people.sessions import IDLE_US, begin_session, form_proof
from clew.ledger.people.tokens import add_token, end_token
from clew.ledger.store.ledger import now_us
from clew.ledger.store.reading import chain_records, head_of
from clew.web.app import create_app
from clew.web.asked.form_body import MOST_FIELDS
from clew.web.door.door import session_cookie
from clew.web.door.guard import HEADERS, Guard
from clew.web.run import stream as run_stream

__all__ = ["door_mill"]
SCRIPT = {"accept": "application/json"}


@pytest.fixture(scope="module")
def tablet(door_mill: DoorMill) -> Iterator[TestClient]:
    """The same mill at its own machine, where nobody signs in."""
    app = create_app(door_mill.bench.mill.folder)
    yield TestClient(
        app, base_url="http://127.0.0.1", follow_redirects=False, raise_server_exceptions=False
    )
    app.state.bench.ledger.close()


def _line(mill: DoorMill) -> str:
    return mill.bench.mill.read().mill.line[0].name


def test_a_token_of_another_line_enters_nothing_on_the_hands_page(door_mill: DoorMill) -> None:
    _, said = add_token(
        door_mill.ledger, "far box", ["events:write"], line="Elsewhere", author="root"
    )
    client = door_mill.client()
    client.headers["authorization"] = f"Bearer {said}"
    before = head_of(door_mill.ledger, _line(door_mill))
    press = {"deed": "doff", "lane": "1", "key": "far-1"}
    refused = client.post("/run/hand", data=press, headers=SCRIPT)
    assert refused.status_code == 422
    assert refused.json()["faults"][0]["expected"] == "only Elsewhere"
    assert head_of(door_mill.ledger, _line(door_mill)) == before


def test_a_token_of_one_line_closes_no_pallet_of_the_mill(door_mill: DoorMill) -> None:
    line = _line(door_mill)
    _, said = add_token(door_mill.ledger, "near box", ["events:write"], line=line, author="root")
    client = door_mill.client()
    client.headers["authorization"] = f"Bearer {said}"
    at = {"at": "2026-11-25T05:40:00Z"}
    pallet = {"kind": "pallet closed", "package": "P-1", "cases": ["C-1"], "key": "near-1", **at}
    before = head_of(door_mill.ledger, MILL_LINE)
    refused = client.post("/api/events", json=pallet)
    assert refused.status_code == 422
    assert refused.json()["faults"][0]["expected"] == f"only {line}"
    assert head_of(door_mill.ledger, MILL_LINE) == before
    doff = {"kind": "doff", "line": line, "lane": 1, "key": "near-2", **at}
    assert client.post("/api/events", json=doff).json()["kept"] == 1


def test_a_machine_takes_back_nothing_that_a_hand_entered(
    door_mill: DoorMill, tablet: TestClient
) -> None:
    press = {"deed": "doff", "lane": "1", "key": "unnamed-1"}
    seq = tablet.post("/run/hand", data=press, headers=SCRIPT).json()["seq"]
    machine = door_mill.client("events:write")
    refused = machine.post("/run/hand/undo", data={"seq": str(seq)}, headers=SCRIPT)
    assert refused.status_code == 422
    assert head_of(door_mill.ledger, _line(door_mill))[0] == seq
    own = tablet.post("/run/hand/undo", data={"seq": str(seq)}, headers=SCRIPT)
    assert own.status_code == 303


def test_one_takes_back_nothing_of_anothers(door_mill: DoorMill) -> None:
    press = {"deed": "doff", "lane": "1", "key": "anke-1"}
    seq = door_mill.client("hand").post("/run/hand", data=press, headers=SCRIPT).json()["seq"]
    for other in ("lead", "quality"):
        refused = door_mill.client(other).post(
            "/run/hand/undo", data={"seq": str(seq)}, headers=SCRIPT
        )
        assert refused.status_code == 422, other
    assert head_of(door_mill.ledger, _line(door_mill))[0] == seq


@pytest.mark.parametrize("path", ["/run/hand", "/run/hand/undo", "/run/end", "/who"])
def test_a_form_of_too_many_fields_is_refused(tablet: TestClient, path: str) -> None:
    body = "&".join(f"a{n}=1" for n in range(MOST_FIELDS + 1))
    kind = {"content-type": "application/x-www-form-urlencoded"}
    assert tablet.post(path, content=body, headers=kind).status_code == 413


def test_a_tick_that_is_none_of_ours_ticks_nothing(door_mill: DoorMill, tablet: TestClient) -> None:
    said = {"deed": "start-up", "done": ["9" * 5000, "x", "0"], "key": "tick-1"}
    assert tablet.post("/run/hand", data=said, headers=SCRIPT).status_code == 200
    last = list(chain_records(door_mill.ledger, _line(door_mill)))[-1]
    assert len(last.fields()["done"]) == 1


@pytest.mark.parametrize("key", ["k" * 121, "a\x00b", "a\x1b[31mb", "a\nb"])
def test_a_key_that_no_page_of_ours_has_made_is_refused(
    door_mill: DoorMill, tablet: TestClient, key: str
) -> None:
    tablet.post("/who", data={"hand": "Anke"})
    before = head_of(door_mill.ledger, _line(door_mill))
    press = {"deed": "doff", "lane": "1", "key": key}
    assert tablet.post("/run/hand", data=press).status_code == 422
    run = {"ball": "Querl 100", "lot": "SL-207", "key": key}
    assert tablet.post("/run/start", data=run).status_code == 422
    assert head_of(door_mill.ledger, _line(door_mill))[0] <= before[0]


@pytest.mark.parametrize("path", ["/wind", "/api/yarn"])
@pytest.mark.parametrize("scheme", ["http", "https"])
def test_a_fault_of_the_program_is_told_behind_the_same_headers(
    door_mill: DoorMill, monkeypatch: pytest.MonkeyPatch, path: str, scheme: str
) -> None:
    def broken() -> None:
        raise RuntimeError("the secret of the house")

    client = TestClient(
        door_mill.app, base_url=f"{scheme}://{HOST}", raise_server_exceptions=False,
        headers={"authorization": f"Bearer {door_mill.tokens['read']}"},
    )  # fmt: skip
    shown, read = door_mill.bench.show, door_mill.bench.mill.read

    def show(*given: Any, **said: Any) -> Any:
        monkeypatch.setattr(door_mill.bench.mill, "read", read)
        return shown(*given, **said)

    client.get("/wind")  # what a page keeps of the mill is there already
    monkeypatch.setattr(door_mill.bench, "show", show)
    monkeypatch.setattr(door_mill.bench.mill, "read", broken)
    monkeypatch.setattr(door_mill.bench.ledger, "ledger", lambda: door_mill.ledger)
    answer = client.get(path)
    assert answer.status_code == 500
    assert "the secret of the house" not in answer.text
    assert {name: answer.headers.get(name) for name in HEADERS} == HEADERS
    assert answer.headers["cache-control"] == "no-store"
    assert ("strict-transport-security" in answer.headers) == (scheme == "https")


@pytest.mark.parametrize(
    "name", ["via", "x-forwarded-proto", "x-forwarded-server", "x-forwarded-for", "forwarded"]
)
def test_a_proxy_before_an_open_workbench_is_noticed(tablet: TestClient, name: str) -> None:
    refused = tablet.get("/wind", headers={name: "1.1 proxy"})
    assert refused.status_code == 403
    assert "--behind-proxy" in refused.text


def test_a_live_page_that_lies_open_keeps_no_session_alive(
    door_mill: DoorMill, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = door_mill.client("hand")
    page, by_itself = client.get("/run"), client.get("/run?part=live")
    assert (page.status_code, by_itself.status_code) == (200, 200)
    for minutes in (60, 110):
        monkeypatch.setattr(door_mill.ledger, "clock", lambda m=minutes: now_us() + m * 60_000_000)
        assert client.get("/run?part=live").status_code == 200
    monkeypatch.setattr(door_mill.ledger, "clock", lambda: now_us() + IDLE_US + 1_000_000)
    assert client.get("/run?part=live").status_code == 303


def test_a_page_that_is_asked_for_keeps_the_session_alive(
    door_mill: DoorMill, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = door_mill.client("hand")
    monkeypatch.setattr(door_mill.ledger, "clock", lambda: now_us() + IDLE_US - 60_000_000)
    assert client.get("/run").status_code == 200
    monkeypatch.setattr(door_mill.ledger, "clock", lambda: now_us() + IDLE_US + 60_000_000)
    assert client.get("/run").status_code == 200


class Listener:
    """Asks for the stream, without a network."""

    def __init__(self, mill: DoorMill, headers: dict[str, str]) -> None:
        self.app, self.begun, self.status = mill.app, asyncio.Event(), 0
        said = {"host": HOST, "accept": "text/event-stream", **headers}
        self.scope = {
            "type": "http", "method": "GET", "path": "/run/stream", "query_string": b"",
            "scheme": "https", "http_version": "1.1", "server": (HOST, 443), "root_path": "",
            "raw_path": b"/run/stream", "client": ("10.0.0.9", 1),
            "headers": [(name.encode(), value.encode()) for name, value in said.items()],
        }  # fmt: skip

    async def receive(self) -> dict[str, Any]:
        await asyncio.Event().wait()
        return {}

    async def send(self, message: Any) -> None:
        self.status = message.get("status", self.status)
        if message.get("body"):
            self.begun.set()

    async def hear(self, then: Any) -> int:
        """Listen, do something, and wait for the stream's end; gives its status."""
        task = asyncio.create_task(self.app(self.scope, self.receive, self.send))
        await asyncio.wait_for(self.begun.wait(), 20)
        await asyncio.sleep(0.1)
        assert not task.done()
        await asyncio.to_thread(then)
        await asyncio.wait_for(task, 20)
        return self.status


def _cookie(token: str) -> dict[str, str]:
    return {"cookie": f"{session_cookie('https')}={token}"}


@pytest.mark.parametrize("how", ["ended", "another password", "signed out"])
def test_an_open_stream_ends_with_its_session(
    door_mill: DoorMill, monkeypatch: pytest.MonkeyPatch, how: str
) -> None:
    monkeypatch.setattr(run_stream, "ASK_AGAIN_S", 0.0)
    name = f"Gast {how}"
    add_person(door_mill.ledger, name, "hand", PASSWORD, author="root")
    token = begin_session(door_mill.ledger, name)

    def sign_out() -> None:
        from clew.ledger.people.sessions import end_session

        end_session(door_mill.ledger, token)

    ends = {
        "ended": lambda: end_person(door_mill.ledger, name, author="root"),
        "another password": lambda: set_password(
            door_mill.ledger, name, "green door at the mill", author="root"
        ),
        "signed out": sign_out,
    }

    async def listen() -> int:
        return await Listener(door_mill, _cookie(token)).hear(ends[how])

    assert asyncio.run(listen()) == 200


def test_an_open_stream_ends_with_its_token(
    door_mill: DoorMill, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(run_stream, "ASK_AGAIN_S", 0.0)
    _, said = add_token(door_mill.ledger, "wall screen", ["read"], author="root")

    async def listen() -> int:
        listener = Listener(door_mill, {"authorization": f"Bearer {said}"})
        return await listener.hear(lambda: end_token(door_mill.ledger, "wall screen", author="r"))

    assert asyncio.run(listen()) == 200


def test_that_a_stream_still_stands_is_asked_within_a_minute() -> None:
    assert run_stream.ASK_AGAIN_S + run_stream.STILL_HERE_S <= 60.0


def test_the_guard_is_outside_the_door(door_mill: DoorMill) -> None:
    assert door_mill.app.user_middleware[0].cls is Guard
    assert NAMES["hand"] not in door_mill.client().get("/nowhere", headers={"host": "x"}).text


@pytest.mark.parametrize("who", ["hand", "tablet"])
def test_half_a_form_is_no_form(door_mill: DoorMill, tablet: TestClient, who: str) -> None:
    token = begin_session(door_mill.ledger, NAMES["hand"])
    session = who == "hand"
    host = HOST if session else "127.0.0.1"
    body = f"csrf={form_proof(token)}&deed=doff&lane=1&key=half-{who}&clock=".encode()
    came = [
        {"type": "http.request", "body": body, "more_body": True}, {"type": "http.disconnect"},
    ]  # fmt: skip
    said = {"host": host, "content-type": "application/x-www-form-urlencoded"}
    said |= _cookie(token) if session else {}
    scope = {
        "type": "http", "method": "POST", "path": "/run/hand", "query_string": b"",
        "scheme": "https", "http_version": "1.1", "server": (host, 443), "root_path": "",
        "raw_path": b"/run/hand", "client": ("10.0.0.9", 1),
        "headers": [(name.encode(), value.encode()) for name, value in said.items()],
    }  # fmt: skip
    told: list[int] = []

    async def receive() -> dict[str, Any]:
        return came.pop(0) if len(came) > 1 else came[0]

    async def send(message: Any) -> None:
        told.extend([message["status"]] if "status" in message else [])

    before = head_of(door_mill.ledger, _line(door_mill))
    app: Any = door_mill.app if session else tablet.app
    asyncio.run(app(scope, receive, send))
    assert told == [403 if session else 400]
    assert head_of(door_mill.ledger, _line(door_mill)) == before
