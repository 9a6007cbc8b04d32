"""From an event sent to the change reaching a reader of the live page, at 200 events a second.

A workbench of its own is served on a free port, on a line that has run for half an hour. Events
fall due at an even pace and are posted over HTTP, ten in a request unless told otherwise. A reader
follows the stream of server-sent events that the page Run listens to: an event has reached it when
the stream tells of a head of the line's chain at or beyond the event's place. In the same run the
page stands open in a browser: an event has reached it when the page itself, drawn anew, says that
the record stands at that place or beyond. The delay counts from the moment the event was due: the
wait for its request to fill, for a free connection and for the disk are in it. Pages that load
their means at the first look have been looked at before. Left out, with a word: the stream where
the workbench has none, the browser where there is no chromium.

    .venv/bin/python benchmarks/live_update.py --per-s 200 --seconds 10
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
from datetime import UTC, datetime, timedelta
from http.client import HTTPConnection, HTTPException
from pathlib import Path

from clew.cli.play.shift_script import shift_script
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.store.opening import open_ledger, url_of
from clew.mill import write_demo

PATH, PER_S, SECONDS = "/run/stream", 200.0, 10.0
AT_ONCE = 10
"""Events in one request: a gateway of machines sends what a twentieth of a second brought."""
SENDERS = 4
"""Connections that post: one alone waits for its own answers."""
MOST_P95_S = 1.0
LINE = "Line 1"
RAN_MIN = 30.0
"""How long the line has run before [min]: its ties are followed all the while."""
CHROMIUM = Path("/usr/bin/chromium")
_OPENS_S, _LAST_S = 60.0, 10.0
_SEEN = """
window.told = [];
document.addEventListener("clew:live", () => {
  const said = document.getElementById("live").textContent.match(/Line 1 \\S (\\d+) \\S /);
  if (said) window.told.push([Date.now() / 1000, Number(said[1])]);
});
"""
"""Notes when the page was drawn anew, and the place at which it says that the record stands."""


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


class Drawn:
    """The page Run in a browser, with what it said and when it was drawn."""

    def __init__(self, port: int) -> None:
        from playwright.sync_api import sync_playwright

        self._all = sync_playwright().start()
        chromium = self._all.chromium.launch(
            executable_path=str(CHROMIUM), args=["--no-sandbox", "--disable-gpu"]
        )
        self._page = chromium.new_page(viewport={"width": 1024, "height": 768})
        self._page.add_init_script(_SEEN)
        self._page.goto(f"http://127.0.0.1:{port}/run")

    def told(self) -> list[tuple[float, int]]:
        """Give them, in seconds of `time.perf_counter`."""
        since_s = time.perf_counter() - time.time()
        return [(at_s + since_s, int(seq)) for at_s, seq in self._page.evaluate("window.told")]

    def close(self) -> None:
        self._page.context.browser.close()
        self._all.stop()


def fill(folder: Path) -> None:
    """Put half an hour of a line into a mill's ledger."""
    start = datetime.now(UTC) - timedelta(minutes=RAN_MIN)
    told = shift_script(start=start, minutes=RAN_MIN).messages
    ledger = open_ledger(url_of(folder))
    for first in range(0, len(told), 500):
        ledger.append([read_message(one, Sender("demo")) for one in told[first : first + 500]])
    ledger.close()


@contextmanager
def workbench() -> Iterator[int]:
    """Serve a demo mill in a process of its own."""
    with tempfile.TemporaryDirectory() as folder, socket.socket() as probe:
        write_demo(Path(folder))
        fill(Path(folder))
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
            for path in ("/run", "/shift", "/lots", "/band"):
                _answers(port, path)
            yield port
        finally:
            child.terminate()
            child.wait(20)


def _answers(port: int, path: str = "/who") -> bool:
    connection = HTTPConnection("127.0.0.1", port, timeout=60.0)
    try:
        connection.request("GET", path)
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


def reached(told: list[tuple[float, int]], sent: list[tuple[float, int]]) -> list[float]:
    """Give the delay of every event [s], the shortest first; endless for one that never came."""
    found = []
    for due_s, seq in sent:
        at_s = next((at_s for at_s, head in told if head >= seq), float("inf"))
        found.append(at_s - due_s)
    return sorted(found)


def send(port: int, per_s: float, seconds: float, at_once: int) -> list[tuple[float, int]]:
    """Post events at an even pace; gives when each was due [s] and its place in the chain."""
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
    return sent


def delays(
    port: int, path: str, per_s: float, seconds: float, at_once: int, *, browser: bool
) -> dict[str, list[float]]:
    """Measure the delay of every event [s] at the stream and in the page; {} without a stream."""
    heads = Heads(port, path)
    if not heads.there:
        return {}
    threading.Thread(target=heads.read, daemon=True).start()
    drawn = Drawn(port) if browser else None
    sent = send(port, per_s, seconds, at_once)
    last = max(seq for _, seq in sent)
    upto_s = time.perf_counter() + _LAST_S
    while (not heads.told or heads.told[-1][1] < last) and time.perf_counter() < upto_s:
        time.sleep(0.02)
    heads.stopped = True
    found = {"the stream": reached(heads.told, sent)}
    if drawn is not None:
        told = drawn.told()
        while (not told or told[-1][1] < last) and time.perf_counter() < upto_s:
            time.sleep(0.1)
            told = drawn.told()
        found["the page in a browser"] = reached(told, sent)
        drawn.close()
    return found


def main(arguments: list[str] | None = None) -> int:
    """Measure, say it, and fail where it is too slow."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--path", default=PATH)
    parser.add_argument("--per-s", type=float, default=PER_S)
    parser.add_argument("--at-once", type=int, default=AT_ONCE)
    parser.add_argument("--seconds", type=float, default=SECONDS)
    parser.add_argument("--no-browser", action="store_true")
    chosen = parser.parse_args(arguments)
    browser = CHROMIUM.exists() and not chosen.no_browser
    with workbench() as port:
        found = delays(
            port, chosen.path, chosen.per_s, chosen.seconds, chosen.at_once, browser=browser
        )
    if not found:
        print(f"live update: no stream at {chosen.path}; left out")
    if not browser:
        print("live update: no browser was asked")
    slow = False
    for what, listed in found.items():
        middle, p95, worst = listed[len(listed) // 2], listed[int(0.95 * len(listed))], listed[-1]
        slow |= p95 >= MOST_P95_S
        print(
            f"live update: {len(listed)} events at {chosen.per_s:.0f} a second, {chosen.at_once} "
            f"in a request, reached {what} within {middle:.2f} s (half of them), {p95:.2f} s "
            f"(95 of 100), {worst:.2f} s (all); at most {MOST_P95_S:.0f} s for 95 of 100"
        )
    return 1 if slow else 0


if __name__ == "__main__":
    sys.exit(main())
