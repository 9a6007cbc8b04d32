"""A played shift, every part a process of its own: what was sent and not lost is kept once."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, select
from tests.services.mosquitto import MISSING, Mosquitto, binary, running_mosquitto

from clew.cli.play.shift_script import shift_script
from clew.cli.play.unruly import Unruly, unruly
from clew.faults import BadInput
from clew.ledger.store.chain import FIRST_HASH, row_hash
from clew.ledger.store.ledger import sqlite_url
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import chain_records, head_of, lines_of
from clew.ledger.store.schema import EVENT
from clew.mill import write_demo

WITHIN_S = 180.0
SEED, MINUTES, SHARE = 11, 10.0, 0.04
Started = Callable[..., "subprocess.Popen[str]"]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def until(true: Callable[[], bool], what: str) -> None:
    deadline = time.monotonic() + WITHIN_S
    while not true():
        assert time.monotonic() < deadline, f"not within {WITHIN_S:.0f} s: {what}"
        time.sleep(0.05)


def answers(port: int, path: str = "/openapi.json") -> bool:
    connection = HTTPConnection("127.0.0.1", port, timeout=10.0)
    try:
        connection.request("GET", path)
        return connection.getresponse().status == 200
    except OSError:
        return False
    finally:
        connection.close()


@contextmanager
def children() -> Iterator[Started]:
    running: list[subprocess.Popen[str]] = []
    environment = {name: value for name, value in os.environ.items() if name != "CLEW_LEDGER"}

    def start(*module: object) -> subprocess.Popen[str]:
        child = subprocess.Popen(
            [sys.executable, "-m", *(str(one) for one in module)], text=True, env=environment,
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        )  # fmt: skip
        running.append(child)
        return child

    try:
        yield start
    finally:
        for child in reversed(running):
            if child.poll() is None:
                child.send_signal(signal.SIGINT)
            try:
                child.communicate(timeout=20)
            except subprocess.TimeoutExpired:
                child.kill()
                child.communicate()


def expected() -> Unruly:
    script = shift_script(seed=SEED, minutes=MINUTES)
    return unruly(script.messages, script.at_s, seed=SEED, share=SHARE)


def names(messages: Any) -> Counter[tuple[str, str]]:
    """Source and number of each: the start of a play stands before the number in its key."""
    return Counter((one["source"], one["key"].rpartition("-")[2]) for one in messages)


def kept(folder: Path) -> tuple[Counter[tuple[str, str]], set[str]]:
    """What the ledger holds, every chain checked link by link; and the first parts of sources."""
    ledger = open_ledger(sqlite_url(folder / "mill.db"), make=False)
    found: Counter[tuple[str, str]] = Counter()
    ways = set()
    try:
        for line in lines_of(ledger):
            before, place = FIRST_HASH, 0
            for record in chain_records(ledger, line):
                place += 1
                assert record.seq == place
                row = (
                    record.line, record.seq, record.at_us, record.received_us, record.kind,
                    record.source, record.key, record.author, record.lane, record.ball, record.run,
                    record.cone, record.lot, record.package, record.token, record.body,
                    record.flags,
                )  # fmt: skip
                before = row_hash(before, row)
                assert record.hash == before
                assert "ahead of our clock" not in record.flags
                way, _, source = record.source.rpartition("/")
                ways.add(way)
                found[source, record.key.rpartition("-")[2]] += 1
            assert head_of(ledger, line) == (place, before)
    finally:
        ledger.close()
    return found, ways


def so_far(folder: Path, source: str = "%") -> int:
    """How many records there are by now, of sources like one."""
    try:
        ledger = open_ledger(sqlite_url(folder / "mill.db"), make=False)
    except BadInput:  # its tables are just being made
        return 0
    try:
        with ledger.reading() as connection:
            query = select(func.count()).select_from(EVENT).where(EVENT.c.source.like(source))
            return connection.execute(query).scalar_one()
    finally:
        ledger.close()


def player(start: Started, port: int, folder: Path, *more: object) -> dict[str, Any]:
    child = start(
        "clew.cli.play", "--to", f"http://127.0.0.1:{port}", "--mill", folder, "--speed", 1e5,
        "--minutes", MINUTES, "--seed", SEED, "--unruly", f"{SHARE:.0%}", "--json", *more,
    )  # fmt: skip
    said, _ = child.communicate(timeout=WITHIN_S)
    assert child.returncode == 0, said
    found = json.loads(said)
    assert isinstance(found, dict)
    return found


@pytest.mark.long  # the next one goes by http too
def test_over_http_alone_all_that_was_sent_is_kept_once(tmp_path: Path) -> None:
    write_demo(tmp_path)
    port = free_port()
    with children() as start:
        start("clew.cli", "serve", "--mill", tmp_path, "--port", port)
        until(lambda: answers(port), "the workbench")
        said = player(start, port, tmp_path)
    wanted = expected()
    counts = wanted.counts()
    assert min(counts.values()) > 3
    assert said == {
        "sent": len(wanted.sendings), "of": len(wanted.sendings), "late": counts["late"],
        "doubled": counts["again"], "out_of_order": counts["swapped"], "lost": counts["lost"],
        "not_acknowledged": 0, "refused": [],
    }  # fmt: skip
    found, ways = kept(tmp_path)
    assert set(found.values()) == {1}
    assert set(found) == set(names(one.message for one in wanted.sendings))
    assert not set(found) & set(names(wanted.lost))
    assert ways == {"http"}


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Mosquitto]:
    """A broker that tells everything it does."""
    if binary() is None:
        pytest.skip(MISSING)
    folder = tmp_path / "broker"
    folder.mkdir()
    with running_mosquitto(folder, "log_type all") as found:
        yield found


@pytest.mark.services
def test_all_three_ways_together_after_a_broker_was_started_again(
    tmp_path: Path, broker: Mosquitto
) -> None:
    write_demo(tmp_path)
    port = free_port()
    wanted = expected()
    with children() as start:
        start("clew.cli", "serve", "--mill", tmp_path, "--port", port)
        until(lambda: answers(port), "the workbench")
        start("clew.cli", "ledger", "mqtt", "--mill", tmp_path, "--broker", broker.url)
        start("clew.cli", "ledger", "watch", "--mill", tmp_path)
        until((tmp_path / "incoming").is_dir, "the watched folder")
        until(lambda: "Sending SUBACK" in log(broker), "the ledger at the broker")
        broker.stop()
        broker.start()
        until(lambda: log(broker).count("Sending SUBACK") > 1, "the ledger at the broker again")
        said = player(
            start, port, tmp_path, "--mqtt", broker.url, "--folder", tmp_path / "incoming"
        )
        assert said["not_acknowledged"] == 0
        sent = set(names(one.message for one in wanted.sendings))
        until(lambda: so_far(tmp_path) >= len(sent), "all of it in the ledger")
    found, ways = kept(tmp_path)
    assert set(found.values()) == {1}
    assert set(found) == sent
    assert ways == {"http", "file", ""}  # over a broker the source stands by itself


def log(broker: Mosquitto) -> str:
    return (broker.folder / "log").read_text(errors="replace")


def test_demo_live_opens_all_plays_and_ends_all_on_ctrl_c(tmp_path: Path) -> None:
    port, folder = free_port(), tmp_path / "mill"
    with children() as start:
        demo = start(
            "clew.cli", "demo", "--live", "--mill", folder, "--port", port, "--speed", 2000,
            "--seed", SEED,
        )  # fmt: skip
        until(lambda: answers(port), "the workbench")
        until((folder / "mill.db").exists, "the ledger")
        until(
            lambda: (
                demo.poll() is not None
                or min(so_far(folder, "http/%"), so_far(folder, "file/%")) > 50
            ),
            "messages over both ways",
        )
        demo.send_signal(signal.SIGINT)
        said, _ = demo.communicate(timeout=60)
    assert demo.returncode == 0, said
    assert f"http://127.0.0.1:{port}/run" in said
    assert "Ending." in said
    assert "Traceback" not in said
    assert not answers(port)


def test_a_port_that_is_taken_is_said_and_nothing_stays_behind(tmp_path: Path) -> None:
    with socket.socket() as taken, children() as start:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        demo = start("clew.cli", "demo", "--live", "--mill", tmp_path / "mill", "--port", port)
        said, _ = demo.communicate(timeout=WITHIN_S)
    assert demo.returncode == 2
    assert "cannot listen there" in said
    assert "the workbench did not open" in said
    assert "Traceback" not in said


@pytest.mark.parametrize(
    ("option", "value", "words"),
    [
        ("--unruly", "40%", "expected 0 to 25 %"),
        ("--unruly", "some", "expected 0 to 25 %"),
        ("--speed", "0.5", "x>=1.0"),
        ("--to", "ftp://here", "no address"),
        ("--mqtt", "http://here", "no broker"),
        ("--mill", "/no/such/mill", "mill.toml"),
    ],
)
def test_a_mistake_is_one_clear_line(option: str, value: str, words: str) -> None:
    to = [] if option == "--to" else ["--to", "http://127.0.0.1:9"]
    with children() as start:
        child = start("clew.cli.play", *to, option, value)
        said, _ = child.communicate(timeout=WITHIN_S)
    assert child.returncode == 2
    assert words in said
    assert "Traceback" not in said
