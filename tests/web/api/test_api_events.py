"""Events over HTTP: kept once, answered after the commit, refused one by one with a reason."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Iterator, MutableMapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from random import Random
from typing import Any

import pytest
from fastapi import FastAPI
from jsonschema import Draft202012Validator
from starlette.requests import Request
from starlette.testclient import TestClient

from clew.ledger.ingest.arriving import MOST_BYTES, MOST_MESSAGES
from clew.ledger.people.roles import MAY
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.reading import chain_records, heads_of
from clew.ledger.store.trouble import CannotKeep
from clew.web.api.events_taken import take_in
from clew.web.app import create_app
from clew.web.door.who import Who
from random_messages import good_message, raw_garbage

AT = "2026-09-01T05:40:00Z"
JSON = {"content-type": "application/json"}


@pytest.fixture
def at(mill_dir: Path) -> Iterator[TestClient]:
    """The workbench of a mill whose ledger is empty; faults of the program are raised."""
    with TestClient(create_app(mill_dir), base_url="http://127.0.0.1") as client:
        yield client


def doff(key: str, **more: Any) -> dict[str, Any]:
    return {"kind": "doff", "line": "Line 1", "lane": 2, "at": AT, "key": key, **more}


def rows(folder: Path) -> dict[str, int]:
    path = folder / "mill.db"
    if not path.exists():
        return {}
    ledger = Ledger(sqlite_url(path))
    try:
        return heads_of(ledger)
    finally:
        ledger.close()


def test_a_message_is_kept_and_sent_again_kept_already(at: TestClient, mill_dir: Path) -> None:
    first = at.post("/api/events", json=doff("1"))
    assert first.status_code == 200
    assert first.json()["events"] == [
        {"outcome": "kept", "line": "Line 1", "seq": 1, "flags": [], "faults": []}
    ]
    again = at.post("/api/events", json=doff("1"))
    assert again.status_code == 200
    assert again.json()["events"][0]["outcome"] == "already"
    assert again.json()["events"][0]["seq"] == 1
    assert rows(mill_dir) == {"Line 1": 1}


def test_it_is_in_the_file_before_the_answer(at: TestClient, mill_dir: Path) -> None:
    at.post("/api/events", json=doff("1", ball=7))
    ledger = Ledger(sqlite_url(mill_dir / "mill.db"))
    (record,) = chain_records(ledger, "Line 1")
    ledger.close()
    assert (record.source, record.key, record.ball, record.author) == ("http", "1", 7, "")


def test_a_source_stands_behind_its_sender(at: TestClient) -> None:
    at.post("/api/events", json=[doff("1", source="scale 2"), doff("1", source="scale 3")])
    found = at.get("/api/events", params={"line": "Line 1"}).json()["events"]
    assert [one["source"] for one in found] == ["http/scale 2", "http/scale 3"]


def test_of_a_batch_the_good_are_kept(at: TestClient, mill_dir: Path) -> None:
    at.post("/api/events", json=doff("0"))
    batch = [doff("1"), doff("2", lane=99), doff("0"), doff("0", lane=3), 5, doff("3", colour="x")]
    answer = at.post("/api/events", json={"events": batch})
    said = answer.json()
    assert answer.status_code == 422
    outcomes = [one["outcome"] for one in said["events"]]
    assert outcomes == ["kept", "refused", "already", "refused", "refused", "refused"]
    assert (said["kept"], said["already"], said["refused"]) == (1, 1, 4)
    assert "in the ledger" in said["words"]
    assert [one["place"] for one in said["faults"]] == ["event 2", "event 4", "event 5", "event 6"]
    assert all(one["faults"] for one in said["events"] if one["outcome"] == "refused")
    assert said["events"][3]["seq"] == 1
    assert rows(mill_dir) == {"Line 1": 2}


def test_one_key_twice_in_a_batch_is_one_message(at: TestClient, mill_dir: Path) -> None:
    said = at.post("/api/events", json=[doff("1"), doff("1")]).json()
    assert [one["outcome"] for one in said["events"]] == ["kept", "already"]
    assert rows(mill_dir) == {"Line 1": 1}


def test_a_lone_clash_says_so(at: TestClient) -> None:
    at.post("/api/events", json=doff("1"))
    answer = at.post("/api/events", json=doff("1", lane=3))
    assert answer.status_code == 409
    assert answer.json()["faults"][0]["key"] == "key"


def test_out_of_range_and_an_unknown_line_are_kept_and_flagged(at: TestClient) -> None:
    said = {"kind": "weighing", "line": "Line 9", "lane": 1, "at": AT, "key": "1", "mass_g": 0}
    (found,) = at.post("/api/events", json=said).json()["events"]
    assert found["outcome"] == "kept"
    assert found["flags"] == ["mass_g out of range", "line not in the mill file"]


def test_a_moment_without_an_offset_is_the_mills(at: TestClient) -> None:
    at.post("/api/events", json=doff("1", at="2026-07-01T12:00"))
    (found,) = at.get("/api/events", params={"line": "Line 1"}).json()["events"]
    assert found["at"] == "2026-07-01T11:00:00Z"


@pytest.mark.parametrize(
    "kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", "", "text/x"]
)
def test_only_json_is_taken(at: TestClient, mill_dir: Path, kind: str) -> None:
    """A form on a page from elsewhere cannot say that it sends JSON without being asked first."""
    answer = at.post(
        "/api/events", content=json.dumps(doff("1")).encode(), headers={"content-type": kind}
    )
    assert answer.status_code == 415
    assert answer.json()["faults"][0]["what"] == "not JSON"
    assert rows(mill_dir) == {}


def test_too_long_and_too_many(at: TestClient, mill_dir: Path) -> None:
    long = at.post("/api/events", content=b" " * (MOST_BYTES + 1), headers=JSON)
    assert long.status_code == 413

    def unsaid() -> Iterator[bytes]:
        for _ in range(30):
            yield b" " * 100_000

    assert at.post("/api/events", content=unsaid(), headers=JSON).status_code == 413
    many = at.post("/api/events", json=[doff(str(n)) for n in range(MOST_MESSAGES + 1)])
    assert many.status_code == 422
    assert many.json()["faults"][0]["what"] == "too many messages"
    assert rows(mill_dir) == {}
    whole = at.post("/api/events", json=[doff(str(n)) for n in range(MOST_MESSAGES)])
    assert whole.json()["kept"] == MOST_MESSAGES


@pytest.mark.parametrize(
    ("raw", "what"),
    [
        (b"", "no JSON"),
        (b'{"kind":"doff",}', "no JSON"),
        (b'{"kind":"doff","kind":"tie"}', "named twice"),
        (b'{"counts":NaN}', "no JSON number"),
        (b"\xff", "no UTF-8"),
        (b"[" * 50_000, "too deep"),
        (b'{"a":' * 9 + b"1" + b"}" * 9, "too deep"),
        (b"1" * 5000, "too long"),
        (b"[]", "no message"),
        (b'{"events":[],"x":1}', 'beside "events"'),
        (b'"[[[[[[[[[[[[["', "no message"),
    ],
)
def test_what_cannot_be_read_says_why(at: TestClient, raw: bytes, what: str) -> None:
    answer = at.post("/api/events", content=raw, headers=JSON)
    assert answer.status_code == 422
    assert what in answer.json()["faults"][0]["what"]
    assert set(answer.json()["faults"][0]) == {"what", "expected", "key", "value", "place"}


async def ask(app: FastAPI, raw: bytes) -> tuple[int, dict[str, Any]]:
    """Post a body straight to the application: ten thousand times a client would take long."""
    answer: dict[str, Any] = {"body": b""}

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": raw, "more_body": False}

    async def send(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            answer["status"] = message["status"]
        else:
            answer["body"] += message.get("body", b"")

    scope = {
        "type": "http", "http_version": "1.1", "method": "POST", "path": "/api/events",
        "raw_path": b"/api/events", "root_path": "", "query_string": b"", "scheme": "http",
        "headers": [(b"host", b"127.0.0.1"), (b"content-type", b"application/json")],
        "client": ("127.0.0.1", 50_000), "server": ("127.0.0.1", 80),
    }  # fmt: skip
    await app(scope, receive, send)
    return answer["status"], json.loads(answer["body"])


@pytest.mark.parametrize(
    "bodies",
    [pytest.param(1_500, id="many"), pytest.param(10_000, id="more", marks=pytest.mark.long)],
)
def test_spoilt_bodies(mill_dir: Path, bodies: int) -> None:
    """No crash, every refusal says why, and what is acknowledged, no more, is in the ledger."""
    rng = Random(2026)
    app = create_app(mill_dir)
    kept = 0
    statuses: dict[int, int] = {}

    async def all_of_them() -> None:
        nonlocal kept
        for number in range(bodies):
            raw = raw_garbage(rng, good_message(rng, number))
            status, said = await ask(app, raw)
            statuses[status] = statuses.get(status, 0) + 1
            assert status in (200, 409, 422), raw
            assert (status == 200) == (not said["faults"]), raw
            assert all(one["what"] for one in said["faults"])
            kept += said.get("kept", 0)

    asyncio.run(all_of_them())
    app.state.bench.ledger.close()
    assert sum(rows(mill_dir).values()) == kept
    assert kept > 0.03 * bodies
    assert statuses[422] > 0.5 * bodies


def test_posts_side_by_side_are_kept_once_each(at: TestClient, mill_dir: Path) -> None:
    """Six senders, two of them with the same keys."""

    def send(sender: int) -> int:
        mine = sender % 5
        kept = 0
        for n in range(0, 40, 4):
            batch = [doff(f"{mine}-{one}") for one in range(n, n + 4)]
            answer = at.post("/api/events", json=batch)
            assert answer.status_code == 200
            kept += answer.json()["kept"]
        return kept

    with ThreadPoolExecutor(6) as pool:
        kept = sum(pool.map(send, range(6)))
    assert kept == 200
    assert rows(mill_dir) == {"Line 1": 200}


@pytest.mark.parametrize(("for_good", "wait"), [(True, "60"), (False, "5")])
def test_what_cannot_be_kept_is_not_acknowledged(
    at: TestClient, mill_dir: Path, monkeypatch: pytest.MonkeyPatch, for_good: bool, wait: str
) -> None:
    at.post("/api/events", json=doff("0"))

    def full(*_: object, **__: object) -> None:
        raise CannotKeep("the disk that holds the ledger is full", for_good=for_good)

    with monkeypatch.context() as patch:
        patch.setattr(Ledger, "append", full)
        answer = at.post("/api/events", json=[doff("1"), doff("2", lane=99)])
    assert answer.status_code == 503
    assert answer.headers["retry-after"] == wait
    assert answer.json()["faults"][0]["value"] == "the disk that holds the ledger is full"
    assert rows(mill_dir) == {"Line 1": 1}
    assert at.post("/api/events", json=doff("1")).json()["kept"] == 1


def test_a_ledger_that_cannot_be_opened(mill_dir: Path) -> None:
    (mill_dir / "mill.db").write_bytes(b"no database at all, " * 100)
    with TestClient(create_app(mill_dir), base_url="http://127.0.0.1") as client:
        answer = client.post("/api/events", json=doff("1"))
        assert answer.status_code == 503
        assert "damaged" in answer.json()["faults"][0]["value"]
        assert client.get("/api/ledger").status_code == 503
        assert "damaged" in client.app.state.bench.ledger.trouble()  # type: ignore[attr-defined]


def test_reading_back_by_place(at: TestClient) -> None:
    kinds = ("doff", "feed on", "feed off")
    batch = [doff(str(n)) | {"kind": kinds[n % 3]} for n in range(25)]
    at.post("/api/events", json=batch)
    seen, after = [], 0
    while True:
        page = at.get("/api/events", params={"line": "Line 1", "after": after, "most": 7}).json()
        seen += [one["seq"] for one in page["events"]]
        after = page["after"]
        if not page["more"]:
            break
    assert seen == list(range(1, 26))
    only = at.get("/api/events", params={"line": "Line 1", "kind": ["feed on", "feed off"]}).json()
    assert {one["kind"] for one in only["events"]} == {"feed on", "feed off"}
    assert len(only["events"]) == 16
    assert only["after"] == 25
    last = at.get("/api/events", params={"line": "Line 1", "after": 25}).json()
    assert (last["events"], last["after"], last["more"], last["head"]) == ([], 25, False, 25)


@pytest.mark.parametrize(
    "asked", [{"kind": "no"}, {"most": 0}, {"most": 1001}, {"after": -1}, {"line": "a\x00b"},
              {"line": "x" * 121}, {"after": "x"}, {"lane": "1"}],
)  # fmt: skip
def test_reading_back_refuses_in_the_one_shape(at: TestClient, asked: dict[str, Any]) -> None:
    at.post("/api/events", json=doff("0"))
    answer = at.get("/api/events", params=asked)
    assert answer.status_code == 422
    assert set(answer.json()["faults"][0]) == {"what", "expected", "key", "value", "place"}


def test_reading_makes_no_ledger(at: TestClient, mill_dir: Path) -> None:
    assert at.get("/api/events").status_code == 422
    assert "no ledger yet" in at.get("/api/ledger").json()["faults"][0]["what"]
    assert not (mill_dir / "mill.db").exists()


def test_where_the_chains_stand(at: TestClient) -> None:
    shipped = {"kind": "shipped", "at": AT, "key": "1", "package": "P1", "customer": "A"}
    at.post("/api/events", json=[doff("1"), doff("2"), shipped])
    said = at.get("/api/ledger").json()
    assert [(one["line"], one["head"]) for one in said["chains"]] == [("", 1), ("Line 1", 2)]
    assert said["trouble"] == ""
    last = at.get("/api/events", params={"line": "Line 1", "after": 1}).json()["events"][0]
    assert last["hash"] == said["chains"][1]["hash"]


def test_another_database_in_the_mill_file_is_opened(at: TestClient, mill_dir: Path) -> None:
    at.post("/api/events", json=doff("1"))
    file = mill_dir / "mill.toml"
    other = mill_dir / "other.db"
    text = file.read_text(encoding="utf-8")
    said = f'[ledger]\ndatabase = "{sqlite_url(other)}"\n'
    text = text.replace("[ledger]\n", said) if "[ledger]\n" in text else f"{text}\n{said}"
    file.write_text(text, encoding="utf-8")
    assert at.post("/api/events", json=doff("2")).json()["events"][0]["seq"] == 1
    assert other.exists()


def test_the_description_has_the_messages_own_schema(at: TestClient) -> None:
    said = at.get("/openapi.json").json()
    body = said["paths"]["/api/events"]["post"]["requestBody"]["content"]["application/json"]
    schema = {**body["schema"], "components": said["components"]}
    validator = Draft202012Validator(schema)
    rng = Random(3)
    for number in range(40):
        assert validator.is_valid(good_message(rng, number))
    assert not validator.is_valid(doff("1", lane=99))
    assert not validator.is_valid([])


def sent_by(who: Who) -> Request:
    return Request({"type": "http", "headers": [], "state": {"who": who}})


def test_who_signed_in_is_the_author(at: TestClient) -> None:
    app: Any = at.app
    who = Who("Anke", "lead", "session", MAY["lead"], "web")
    said = [doff("1", author="Somebody"), {**doff("2"), "kind": "run end", "run": "R1"}]
    del said[1]["lane"]
    results = take_in(app.state.bench, sent_by(who), said)
    assert [one.outcome for one in results] == ["kept", "kept"]
    found = at.get("/api/events", params={"line": "Line 1"}).json()["events"]
    assert [(one["author"], one["source"]) for one in found] == [("Anke", "web")] * 2


def test_a_sender_enters_what_its_role_and_its_line_allow(at: TestClient, mill_dir: Path) -> None:
    app: Any = at.app
    token = Who("", "", "token", frozenset({"enter events"}), "scale 2", line="Line 1")
    said = [
        doff("1"),
        doff("2", line="Line 2"),
        {"kind": "run end", "line": "Line 1", "run": "R1", "at": AT, "key": "3"},
    ]
    results = take_in(app.state.bench, sent_by(token), said)
    assert [one.outcome for one in results] == ["kept", "refused", "refused"]
    assert [one.faults[0].key for one in results[1:]] == ["line", "kind"]
    assert rows(mill_dir) == {"Line 1": 1}


def test_the_ledger_is_let_go_with_the_workbench(mill_dir: Path) -> None:
    def held() -> int:
        links = [one for one in Path("/proc/self/fd").iterdir() if one.is_symlink()]
        return sum(one.readlink() == mill_dir / "mill.db" for one in links if one.exists())

    with TestClient(create_app(mill_dir), base_url="http://127.0.0.1") as client:
        client.post("/api/events", json=doff("1"))
        assert held() >= 1
    assert held() == 0
