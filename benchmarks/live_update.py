"""From an event sent to the change reaching a reader of the live page, at 200 events a second.

A workbench of its own is served on a free port. Events fall due at an even pace and are posted over
HTTP, ten in a request unless told otherwise; a reader follows the stream of server-sent events that
the page Run listens to. An event has reached it when the stream tells of a head of the line's chain
at or beyond the event's place. The delay counts from the moment the event was due: the wait for its
request to fill, for a free connection and for the disk are in it. Left out, with a word, where the
workbench has no such stream.

    .venv/bin/python benchmarks/live_update.py --path /run/stream --per-s 200 --seconds 10
"""

from __future__ import annotations

import argparse
import json
import queue
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from http.client import HTTPConnection, HTTPException
from pathlib import Path

from clew.mill import write_demo

PATH, PER_S, SECONDS = "/run/stream", 200.0, 10.0
AT_ONCE = 10
"""Events in one request: a gateway of machines sends what a twentieth of a second brought."""
SENDERS = 4
"""Connections that post: one alone waits for its own answers."""
MOST_P95_S = 1.0
LINE = "Line 1"
_OPENS_S, _LAST_S = 60.0, 10.0


class Heads:
    """The heads that a stream tells of, with the moment at which each reached the reader."""

    def __init__(self, port: int, path: str) -> None:
        self.connection = HTTPConnection("127.0.0.1", port, timeout=15.0)
        self.connection.request("GET", path, headers={"Accept": "text/event-stream"})
        self.response = self.connection.getresponse()
        self.there = self.response.status == 200
        self.told: list[tuple[float, int]] = []
        self.stopped = False

    def read(self) -> None:
        """Follow the stream until it is stopped."""
        try:
            while not self.stopped:
                line = self.response.readline()
                if not line:
                    return
                if line.startswith(b"data:"):
                    found = json.loads(line[5:])
                    if isinstance(found, dict) and LINE in found:
                        self.told.append((time.perf_counter(), int(found[LINE])))
        except (OSError, HTTPException, ValueError):
            return


@contextmanager
def workbench() -> Iterator[int]:
    """Serve a demo mill in a process of its own."""
    with tempfile.TemporaryDirectory() as folder, socket.socket() as probe:
        write_demo(Path(folder))
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
        probe.close()
        child = subprocess.Popen(
            [sys.executable, "-m", "clew.cli", "serve", "--mill", folder, "--port", str(port)],
            stdout=subprocess.DEVNULL,
        )
        try:
            upto_s = time.monotonic() + _OPENS_S
            while not _answers(port):
                if child.poll() is not None or time.monotonic() > upto_s:
                    raise RuntimeError("the workbench did not open")
                time.sleep(0.1)
            yield port
        finally:
            child.terminate()
            child.wait(20)


def _answers(port: int) -> bool:
    connection = HTTPConnection("127.0.0.1", port, timeout=10.0)
    try:
        connection.request("GET", "/openapi.json")
        return connection.getresponse().status == 200
    except (OSError, HTTPException):
        return False
    finally:
        connection.close()


Due = list[tuple[float, int]]
"""Events that are sent together: when each was due [s], and its number."""


def post(port: int, due: queue.Queue[Due | None], sent: list[tuple[float, int]]) -> None:
    """Post events that are due, and note for each when it was due and its place in the chain."""
    connection = HTTPConnection("127.0.0.1", port, timeout=30.0)
    headers = {"Content-Type": "application/json"}
    while (batch := due.get()) is not None:
        messages = [
            {
                "line": LINE, "kind": "turns", "source": f"winder-{number % 6 + 1}",
                "key": f"live-{number}", "at": datetime.now(UTC).isoformat(),
                "lane": number % 6 + 1, "counts": number % 786,
            }
            for _, number in batch
        ]  # fmt: skip
        connection.request("POST", "/api/events", json.dumps(messages).encode(), headers)
        answer = json.loads(connection.getresponse().read())
        for (due_s, _), taken in zip(batch, answer["events"], strict=True):
            sent.append((due_s, int(taken["seq"])))
    connection.close()


def delays(port: int, path: str, per_s: float, seconds: float, at_once: int) -> list[float] | None:
    """Measure the delay of every event [s]; None where there is no such stream."""
    heads = Heads(port, path)
    if not heads.there:
        return None
    reader = threading.Thread(target=heads.read, daemon=True)
    reader.start()
    due: queue.Queue[Due | None] = queue.Queue()
    sent: list[tuple[float, int]] = []
    senders = [threading.Thread(target=post, args=(port, due, sent)) for _ in range(SENDERS)]
    for sender in senders:
        sender.start()
    batch: Due = []
    begun_s = time.perf_counter()
    for number in range(round(per_s * seconds)):
        due_s = begun_s + number / per_s
        time.sleep(max(due_s - time.perf_counter(), 0.0))
        batch.append((due_s, number))
        if len(batch) == at_once:
            due.put(batch)
            batch = []
    if batch:
        due.put(batch)
    for _ in senders:
        due.put(None)
    for sender in senders:
        sender.join()
    last = max(seq for _, seq in sent)
    upto_s = time.perf_counter() + _LAST_S
    while (not heads.told or heads.told[-1][1] < last) and time.perf_counter() < upto_s:
        time.sleep(0.02)
    heads.stopped = True
    found = []
    for due_s, seq in sent:
        reached = next((at_s for at_s, head in heads.told if head >= seq), float("inf"))
        found.append(reached - due_s)
    return found


def main(arguments: list[str] | None = None) -> int:
    """Measure, say it, and fail where it is too slow."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--path", default=PATH)
    parser.add_argument("--per-s", type=float, default=PER_S)
    parser.add_argument("--at-once", type=int, default=AT_ONCE)
    parser.add_argument("--seconds", type=float, default=SECONDS)
    chosen = parser.parse_args(arguments)
    with workbench() as port:
        found = delays(port, chosen.path, chosen.per_s, chosen.seconds, chosen.at_once)
    if found is None:
        print(f"live update: no stream at {chosen.path}; left out")
        return 0
    found.sort()
    middle, p95, worst = found[len(found) // 2], found[int(0.95 * len(found))], found[-1]
    print(
        f"live update: {len(found)} events at {chosen.per_s:.0f} a second, {chosen.at_once} in a "
        "request, reached the page within "
        f"{middle:.2f} s (half of them), {p95:.2f} s (95 of 100), {worst:.2f} s (all); "
        f"at most {MOST_P95_S:.0f} s for 95 of 100"
    )
    return 0 if p95 < MOST_P95_S else 1


if __name__ == "__main__":
    sys.exit(main())
