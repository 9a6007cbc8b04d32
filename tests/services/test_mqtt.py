"""The ledger listens to a real broker: nothing it acknowledged is lost, nothing is kept twice."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from typing import Any

import aiomqtt
import pytest
from sqlalchemy import func, select
from tests.services.mosquitto import Mosquitto, mosquitto, running_mosquitto

from clew.ledger.events.message import Record
from clew.ledger.ingest.delivered import Delivery, Tally, take_deliveries
from clew.ledger.ingest.mqtt import Listener, read_broker
from clew.ledger.ingest.topics import topic_of
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.reading import chain_records, heads_of
from clew.ledger.store.schema import EVENT, REFUSED
from clew.ledger.store.trouble import CannotKeep
from random_messages import good_message, raw_garbage

__all__ = ["mosquitto"]

pytestmark = pytest.mark.services

WITHIN_S = 120.0
TOPIC = topic_of("Line 1", "scale-2")
CLEW = str(Path(sys.executable).parent / "clew")

DIES = """
import os, signal
import clew.ledger.store.ledger as store
from clew.cli.main import main

real = store.append

def dies(*terms):
    real(*terms)  # the rows are written, the transaction is open, nothing is committed
    os.kill(os.getpid(), signal.SIGKILL)

store.append = dies
main()
"""


def until(true: Callable[[], bool], what: str) -> None:
    deadline = time.monotonic() + WITHIN_S
    while not true():
        assert time.monotonic() < deadline, what
        time.sleep(0.02)


def doff(key: int, **more: Any) -> str:
    second = f"{key // 3600 % 24:02d}:{key // 60 % 60:02d}:{key % 60:02d}"
    said = {"kind": "doff", "lane": 2, "at": f"2026-09-01T{second}Z", "key": str(key), **more}
    return json.dumps(said)


class Ingester:
    """`clew ledger mqtt` as a process of its own."""

    def __init__(self, folder: Path, broker: Mosquitto, *more: str, program: str = "") -> None:
        self.folder = folder
        start = [sys.executable, "-c", program] if program else [CLEW]
        self.log = (folder / "said").open("ab")
        self.process = subprocess.Popen(
            [*start, "ledger", "mqtt", "--mill", str(folder), "--broker", broker.url, *more],
            stdout=self.log, stderr=subprocess.STDOUT, env={**os.environ, "CLEW_LEDGER": ""},
        )  # fmt: skip

    def said(self) -> str:
        return (self.folder / "said").read_text(encoding="utf-8")

    def wait_listening(self, times: int = 1) -> None:
        until(
            lambda: self.said().count("listening to") >= times or self.process.poll() is not None,
            "it never listened",
        )
        assert self.process.poll() is None, self.said()

    def stop(self, how: signal.Signals = signal.SIGTERM) -> int:
        if self.process.poll() is None:
            self.process.send_signal(how)
        code = self.process.wait(30)
        self.log.close()
        return code


@contextlib.contextmanager
def ingesting(folder: Path, broker: Mosquitto, *more: str) -> Iterator[Ingester]:
    one = Ingester(folder, broker, *more)
    try:
        one.wait_listening()
        yield one
    finally:
        one.stop(signal.SIGKILL)


@pytest.fixture
def book(mill_dir: Path) -> Iterator[Ledger]:
    """The mill's ledger, to look into."""
    from clew.ledger.store.opening import open_ledger

    ledger = open_ledger(sqlite_url(mill_dir / "mill.db"))
    yield ledger
    ledger.close()


def records(book: Ledger, line: str = "Line 1") -> list[Record]:
    return list(chain_records(book, line))


def kept(book: Ledger) -> int:
    return sum(heads_of(book).values())


def has(book: Ledger, key: str) -> bool:
    with book.reading() as connection:
        query = select(EVENT.c.seq).where(
            EVENT.c.line == "Line 1", EVENT.c.source.like("scale%"), EVENT.c.key == key
        )
        return connection.execute(query).first() is not None


def refused(book: Ledger) -> int:
    with book.reading() as connection:
        return int(connection.scalar(select(func.count()).select_from(REFUSED)) or 0)


@pytest.mark.parametrize("version", ["5", "3.1.1"])
def test_a_round_trip(mosquitto: Mosquitto, mill_dir: Path, book: Ledger, version: str) -> None:
    """From mosquitto's own client through the broker into the chain, in either version."""
    with ingesting(mill_dir, mosquitto, "--mqtt-version", version) as one:
        mosquitto.publish(TOPIC, [doff(n) for n in range(40)], version=version)
        batch = json.dumps({"events": [json.loads(doff(n)) for n in range(40, 50)]})
        mosquitto.publish(topic_of("Line 1", "row"), [batch], version=version)
        until(lambda: kept(book) == 50, "fifty doffs")
        assert one.stop() == 0
        assert "50 kept, 0 kept already, 0 refused in all" in one.said()
    found = records(book)
    assert [one.key for one in found[:40]] == [str(n) for n in range(40)]
    assert {one.source for one in found[:40]} == {"scale-2"}
    assert found[45].source == "row"


def test_sent_twice_and_out_of_order(mosquitto: Mosquitto, mill_dir: Path, book: Ledger) -> None:
    rng = Random(4)
    order = [n for n in range(60) for _ in (0, 1)]
    rng.shuffle(order)
    with ingesting(mill_dir, mosquitto):
        mosquitto.publish(TOPIC, [doff(n) for n in order])
        mosquitto.publish(TOPIC, [doff(999)])
        until(lambda: has(book, "999"), "the last")
    found = records(book)
    assert sorted(int(one.key) for one in found) == [*range(60), 999]
    assert any("out of order" in one.flags for one in found)


def test_what_came_while_it_was_away_is_kept(
    mosquitto: Mosquitto, mill_dir: Path, book: Ledger
) -> None:
    with ingesting(mill_dir, mosquitto) as one:
        assert one.stop(signal.SIGINT) == 0
    mosquitto.publish(TOPIC, [doff(n) for n in range(30)])
    with ingesting(mill_dir, mosquitto) as two:
        until(lambda: kept(book) == 30, "thirty that waited")
        assert "a session that was there" in two.said()


def test_it_outlives_a_broker_that_restarts(
    mosquitto: Mosquitto, mill_dir: Path, book: Ledger
) -> None:
    with ingesting(mill_dir, mosquitto) as one:
        mosquitto.publish(TOPIC, [doff(1)])
        until(lambda: kept(book) == 1, "the first")
        for turn in (2, 3):
            mosquitto.stop()
            until(lambda: "trying again" in one.said(), "it noticed")
            mosquitto.start()
            one.wait_listening(turn)
            mosquitto.publish(TOPIC, [doff(turn)])
            until(lambda: kept(book) == turn, f"number {turn}")  # noqa: B023
        assert one.process.poll() is None


@pytest.mark.parametrize("version", ["5", pytest.param("3.1.1", marks=pytest.mark.long)])
def test_killed_between_receipt_and_commit_it_comes_again(
    mosquitto: Mosquitto, mill_dir: Path, book: Ledger, version: str
) -> None:
    """SIGKILL with the rows written and the transaction open; the broker delivers again."""
    how = ("--mqtt-version", version)
    with ingesting(mill_dir, mosquitto, *how) as first:
        first.stop()
    mosquitto.publish(TOPIC, [doff(n) for n in range(7)])
    for _ in range(3):
        victim = Ingester(mill_dir, mosquitto, *how, program=DIES)
        assert victim.process.wait(WITHIN_S) == -signal.SIGKILL
        victim.log.close()
        assert kept(book) == 0
    with ingesting(mill_dir, mosquitto, *how):
        until(lambda: kept(book) >= 7, "seven that came again")
        mosquitto.publish(TOPIC, [doff(8)])
        until(lambda: kept(book) >= 8, "one more")
    assert [int(one.key) for one in records(book)] == [*range(7), 8]


@contextlib.contextmanager
def listening(broker: Mosquitto, take: Callable[[list[Delivery]], Tally]) -> Iterator[list[str]]:
    said: list[str] = []
    listener = Listener(
        read_broker(broker.url), "clew-test", take, lambda what, _words: said.append(what)
    )
    thread = threading.Thread(target=listener.run)
    thread.start()
    try:
        until(lambda: "connected" in said, "it never connected")
        yield said
    finally:
        listener.stop()
        thread.join(30)
        assert not thread.is_alive()


def test_what_cannot_be_kept_is_not_acknowledged(mosquitto: Mosquitto, book: Ledger) -> None:
    """A full disk: the broker holds everything, and delivers it once there is room."""
    full = True
    asked = 0

    def take(deliveries: list[Delivery]) -> Tally:
        nonlocal asked
        asked += 1
        if full:
            raise CannotKeep("the disk that holds the ledger is full", for_good=True)
        return take_deliveries(book, deliveries, zone="UTC")

    with listening(mosquitto, take) as said:
        mosquitto.publish(TOPIC, [doff(n) for n in range(25)])
        until(lambda: said.count("cannot keep") >= 2, "it tried again")
        assert kept(book) == 0
        full = False
        until(lambda: kept(book) == 25, "all of them")
        mosquitto.publish(TOPIC, [doff(99)])
        until(lambda: kept(book) == 26, "one more")
    assert asked >= 3
    assert [int(one.key) for one in records(book)] == [*range(25), 99]


def test_what_is_acknowledged_does_not_come_again(mosquitto: Mosquitto, book: Ledger) -> None:
    """The other half: a new connection brings nothing that was kept before."""
    came: list[Delivery] = []

    def take(deliveries: list[Delivery]) -> Tally:
        came.extend(deliveries)
        return take_deliveries(book, deliveries, zone="UTC")

    with listening(mosquitto, take):
        mosquitto.publish(TOPIC, [doff(n) for n in range(20)])
        until(lambda: kept(book) == 20, "twenty")
    with listening(mosquitto, take):
        mosquitto.publish(TOPIC, [doff(99)])
        until(lambda: kept(book) == 21, "one more")
    assert len(came) == 21


async def send(broker: Mosquitto, what: list[tuple[str, bytes]]) -> None:
    """Publish any bytes with a client that is not ours, QoS 1, many under way at once."""
    async with aiomqtt.Client("127.0.0.1", broker.port) as client:
        client.pending_calls_threshold = 1_000
        for first in range(0, len(what), 200):
            some = what[first : first + 200]
            await asyncio.gather(*(client.publish(topic, raw, qos=1) for topic, raw in some))


@pytest.mark.parametrize(
    "payloads",
    [pytest.param(2_000, id="many"), pytest.param(10_000, id="more", marks=pytest.mark.long)],
)
def test_spoilt_payloads(mosquitto: Mosquitto, mill_dir: Path, book: Ledger, payloads: int) -> None:
    """No crash, no half message: each is refused with its reason or kept whole."""
    rng = Random(2027)
    topics = [topic_of("Line 1", "scale"), topic_of("", "office"), "clew/1/Line 1/%00"]
    what = []
    for number in range(payloads):
        said = good_message(rng, number)
        said.pop("line", None)
        topic = rng.choices(topics, (90, 8, 2))[0]
        what.append((topic, raw_garbage(rng, said)))
    with ingesting(mill_dir, mosquitto) as one:
        asyncio.run(send(mosquitto, what))
        mosquitto.publish(topics[0], [doff(77_777)])
        until(lambda: has(book, "77777"), "the last")
        assert one.stop() == 0
        said = one.said().strip().splitlines()[-1]
    assert "stopped" in said
    counts = [int(word) for word in said.replace(",", "").split() if word.isdecimal()]
    assert counts[0] == kept(book)
    assert counts[2] == refused(book)
    assert kept(book) > 0.03 * payloads
    assert refused(book) > 0.7 * payloads
    with book.reading() as connection:
        for reason, body in connection.execute(select(REFUSED.c.reason, REFUSED.c.body)):
            assert reason
            assert len(body) <= 4_096
    for line in heads_of(book):
        found = records(book, line)
        assert [one.seq for one in found] == list(range(1, len(found) + 1))
        assert all(isinstance(one.fields(), dict) for one in found)


def test_refused_for_its_line_or_its_key(
    mosquitto: Mosquitto, mill_dir: Path, book: Ledger
) -> None:
    with ingesting(mill_dir, mosquitto):
        mosquitto.publish(TOPIC, [doff(1), doff(1, lane=3), doff(2, line="Line 7"), doff(3)])
        until(lambda: kept(book) == 2 and refused(book) == 2, "two and two")
    with book.reading() as connection:
        reasons = sorted(connection.scalars(select(REFUSED.c.reason)))
    assert reasons[0].startswith("another message of this source has this key, at 1")
    assert "another line than its topic's" in reasons[1]


def test_a_broker_that_asks_for_a_password(tmp_path: Path, mill_dir: Path, book: Ledger) -> None:
    if shutil.which("mosquitto_passwd") is None:
        pytest.skip("mosquitto_passwd is not installed")
    folder = tmp_path / "closed"
    folder.mkdir()
    users = folder / "users"
    subprocess.run(["mosquitto_passwd", "-b", "-c", str(users), "clew", "wool"], check=True)
    users.chmod(0o600)
    with running_mosquitto(folder, f"password_file {users}\nallow_anonymous false") as broker:
        one = Ingester(mill_dir, broker)
        until(lambda: "the broker refuses" in one.said(), "it was let in")
        one.stop()
        address = broker.url.replace("//", "//clew:wool@")
        two = Ingester(mill_dir, broker, "--broker", address)
        try:
            two.wait_listening()
        finally:
            two.stop()
        assert "wool" not in two.said()


def certificate(folder: Path) -> tuple[Path, Path]:
    """A certificate of this machine that vouches for itself, and its key."""
    if shutil.which("openssl") is None:
        pytest.skip("openssl is not installed")
    made, key = folder / "made.pem", folder / "key.pem"
    subprocess.run(
        [
            "openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "3650",
            "-subj", "/CN=127.0.0.1", "-addext", "subjectAltName=IP:127.0.0.1",
            "-keyout", str(key), "-out", str(made),
        ],
        check=True, capture_output=True,
    )  # fmt: skip
    key.chmod(0o644)
    return made, key


def test_over_tls_to_a_broker_that_is_vouched_for(
    tmp_path: Path, mill_dir: Path, book: Ledger
) -> None:
    """With its certificate it listens; without, it refuses to speak to the broker."""
    folder = tmp_path / "tls"
    folder.mkdir()
    made, key = certificate(folder)
    with running_mosquitto(folder, f"certfile {made}\nkeyfile {key}") as broker:
        address = broker.url.replace("mqtt://", "mqtts://")
        stranger = Ingester(mill_dir, broker, "--broker", address)
        until(lambda: "CERTIFICATE_VERIFY_FAILED" in stranger.said(), "it trusts anybody")
        assert "listening to" not in stranger.said()
        stranger.stop()
        one = Ingester(mill_dir, broker, "--broker", address, "--ca", str(made))
        try:
            one.wait_listening()
            subprocess.run(
                [
                    "mosquitto_pub", "-h", "127.0.0.1", "-p", str(broker.port), "--cafile",
                    str(made), "-q", "1", "-t", TOPIC, "-m", doff(1),
                ],
                check=True, timeout=60,
            )  # fmt: skip
            until(lambda: kept(book) == 1, "one doff")
        finally:
            one.stop()


def test_a_fault_of_the_program_holds_up_nothing(book: Ledger) -> None:
    """One message that the ledger fails on is set aside; those beside it are kept."""
    real = book.append

    def fails(messages: Any, **terms: Any) -> Any:
        if any(one.key == "2" for one in messages):
            raise ZeroDivisionError
        return real(messages, **terms)

    book.append = fails  # type: ignore[method-assign]
    deliveries = [Delivery(TOPIC, doff(n).encode()) for n in range(4)]
    assert take_deliveries(book, deliveries, zone="UTC") == Tally(kept=3, refused=1)
    assert [one.key for one in records(book)] == ["0", "1", "3"]
