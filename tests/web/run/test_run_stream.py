"""The stream that a page hears, really served: another process appends, twenty readers listen."""

from __future__ import annotations

import asyncio
import json
import queue
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path

import pytest
import uvicorn

from clew.faults import BadInput, Fault
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.store.opening import open_ledger, url_of
from clew.ledger.store.reading import heads_of
from clew.ledger.store.trouble import CannotKeep
from clew.mill import write_demo
from clew.web.app import create_app
from clew.web.run import routes as run_routes
from clew.web.run.stream import HeadWatch

MANY = 20
LONG_S = 30.0
"""So long at most is waited for what must come: the machine that tests may be busy [s]."""
APPEND = """
import sys
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.store.opening import open_ledger
ledger = open_ledger(sys.argv[1])
for line in sys.stdin:
    said = {"line": "Line 1", "kind": "note", "note": line.strip(), "key": line.strip(),
            "at": "2026-11-25T06:00:00Z", "source": "other"}
    ledger.append([read_message(said, Sender("other"))])
    print("kept", flush=True)
"""


class Served:
    """A workbench that is really served, in a thread of this process."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.app = create_app(folder)
        self.bench = self.app.state.bench
        self._door = socket.socket()
        self._door.bind(("127.0.0.1", 0))
        self.port = int(self._door.getsockname()[1])
        config = uvicorn.Config(self.app, log_level="critical", timeout_graceful_shutdown=3)
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._server.run, kwargs={"sockets": [self._door]})
        self._thread.start()
        until(lambda: self._server.started)

    def close(self) -> None:
        """Stop it as `clew serve` does."""
        self.bench.closing = True
        self._server.should_exit = True
        self._thread.join(LONG_S)
        self._door.close()
        assert not self._thread.is_alive()


class Reader:
    """One who reads the stream; what was said comes as (moment [s], event, data)."""

    def __init__(self, port: int) -> None:
        self.connection = HTTPConnection("127.0.0.1", port, timeout=LONG_S)
        self.connection.request("GET", "/run/stream")
        self.response: HTTPResponse = self.connection.getresponse()
        self.said: queue.Queue[tuple[float, str, object]] = queue.Queue()
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()

    def _read(self) -> None:
        event = ""
        try:
            for line in self.response:
                if line.startswith(b"event: "):
                    event = line[7:].decode().strip()
                elif line.startswith(b"data: "):
                    self.said.put((time.monotonic(), event, json.loads(line[6:])))
        except (OSError, ValueError, AttributeError):
            pass  # it was closed under our hands
        self.said.put((time.monotonic(), "end", None))

    def hear(self, event: str) -> tuple[float, object]:
        """Wait for the next event of a name."""
        while True:
            at_s, name, data = self.said.get(timeout=LONG_S)
            if name == event:
                return at_s, data

    def close(self) -> None:
        """Go away, as a tablet does that is switched off."""
        if self.connection.sock is not None:
            self.connection.sock.shutdown(socket.SHUT_RDWR)
        self.connection.close()
        self._thread.join(LONG_S)


def until(done: object) -> None:
    """Wait until something is so."""
    upto_s = time.monotonic() + LONG_S
    while not done():  # type: ignore[operator]
        assert time.monotonic() < upto_s, "it never was"
        time.sleep(0.01)


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """The workbench of a mill of its own, really served."""
    write_demo(tmp_path / "mill")
    made = Served(tmp_path / "mill")
    yield made
    made.close()


@pytest.fixture
def looks(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """When the ledger was looked at."""
    found: list[float] = []

    def counted(ledger: object) -> dict[str, int]:
        found.append(time.monotonic())
        return heads_of(ledger)  # type: ignore[arg-type]

    monkeypatch.setattr(run_routes, "heads_of", counted)
    return found


def test_what_another_process_keeps_is_heard_by_every_reader(served: Served) -> None:
    readers = [Reader(served.port) for _ in range(3)]
    assert [one.hear("heads")[1] for one in readers] == [{}] * 3
    other = subprocess.Popen(
        [sys.executable, "-c", APPEND, url_of(served.folder)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert other.stdin is not None
    assert other.stdout is not None
    waits = []
    for number in range(1, 8):
        other.stdin.write(f"note {number}\n")
        other.stdin.flush()
        assert other.stdout.readline() == "kept\n"
        kept_s = time.monotonic()
        heard = [one.hear("heads") for one in readers]
        assert [data for _, data in heard] == [{"Line 1": number}] * 3
        waits.append(max(at_s for at_s, _ in heard) - kept_s)
    other.stdin.close()
    other.wait(LONG_S)
    other.stdout.close()
    assert (
        sorted(waits)[len(waits) // 2] < 1.0
    )  # the bound of a page; one pause may be the machine's
    for one in readers:
        one.close()


def test_many_readers_are_one_look_and_pages_still_answer(
    served: Served, looks: list[float]
) -> None:
    readers = [Reader(served.port) for _ in range(MANY)]
    for one in readers:
        one.hear("heads")
    began = len(looks)
    time.sleep(1.5)
    # one look in LOOK_S for all of them: 8 or fewer, where each for itself would be 150
    assert 1 <= len(looks) - began <= 12
    page = HTTPConnection("127.0.0.1", served.port, timeout=LONG_S)
    page.request("GET", "/run")
    assert page.getresponse().status == 200
    page.close()
    assert sum(one.name.startswith("heads") for one in threading.enumerate()) == 1
    for one in readers:
        one.close()
    until(lambda: not any(one.name.startswith("heads") for one in threading.enumerate()))
    ended = len(looks)
    time.sleep(0.6)
    assert len(looks) == ended  # nobody reads, nobody looks


def test_a_reader_that_is_gone_leaves_nothing_and_the_others_hear_on(served: Served) -> None:
    stays, goes = Reader(served.port), Reader(served.port)
    stays.hear("heads")
    goes.hear("heads")
    goes.close()
    ledger = open_ledger(url_of(served.folder))
    said = {"line": "Line 1", "kind": "note", "note": "x", "key": "x", "source": "s",
            "at": "2026-11-25T06:00:00Z"}  # fmt: skip
    ledger.append([read_message(said, Sender("s"))])
    ledger.close()
    assert stays.hear("heads")[1] == {"Line 1": 1}
    stays.close()


def test_trouble_is_told_once_and_heads_again_when_it_is_over(
    served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    def away(_: object) -> dict[str, int]:
        raise CannotKeep("the database does not answer", for_good=False)

    reader = Reader(served.port)
    assert reader.hear("heads")[1] == {}
    with monkeypatch.context() as patched:
        patched.setattr(run_routes, "heads_of", away)
        assert reader.hear("trouble")[1] == "the database does not answer"
    assert reader.hear("heads")[1] == {}
    reader.close()


def test_the_stream_is_not_kept_by_anybody_on_the_way(served: Served) -> None:
    reader = Reader(served.port)
    headers = reader.response.headers
    assert headers["Content-Type"].startswith("text/event-stream")
    assert headers["Cache-Control"] == "no-store"
    assert headers["X-Accel-Buffering"] == "no"
    assert "script-src 'self'" in headers["Content-Security-Policy"]
    reader.close()


def test_readers_are_let_go_when_the_workbench_closes(tmp_path: Path) -> None:
    write_demo(tmp_path / "mill")
    served = Served(tmp_path / "mill")
    readers = [Reader(served.port) for _ in range(3)]
    for one in readers:
        one.hear("heads")
    served.close()
    for one in readers:
        one.hear("end")
        one.close()


def test_a_mill_file_that_cannot_be_used_is_trouble_and_no_end() -> None:
    said: list[object] = [BadInput(Fault("no such key", key="lanes")), {"Line 1": 3}]

    def heads() -> dict[str, int]:
        found = said[0] if len(said) == 1 else said.pop(0)
        if isinstance(found, BadInput):
            raise found
        assert isinstance(found, dict)
        return found

    async def read() -> list[str]:
        watch, number = HeadWatch(heads), 0
        heard: list[str] = []
        with watch.reading():
            while len(heard) < 2:
                number, event = await watch.after(number, LONG_S)
                heard.append(event)
        assert watch.readers == 0
        return heard

    first, second = asyncio.run(read())
    assert first.startswith("event: trouble\ndata: ")
    assert "no such key" in first
    assert second == 'event: heads\ndata: {"Line 1": 3}\n\n'


def test_a_fault_of_our_own_ends_the_stream_and_the_next_reader_begins_anew() -> None:
    faulty = True

    def heads() -> dict[str, int]:
        if faulty:
            raise ZeroDivisionError
        return {}

    async def read() -> None:
        nonlocal faulty
        watch = HeadWatch(heads)
        with pytest.raises(ZeroDivisionError), watch.reading():
            for _ in range(100):
                await watch.after(0, 0.1)
        faulty = False
        with watch.reading():
            assert (await watch.after(0, LONG_S))[1].startswith("event: heads")

    asyncio.run(read())
