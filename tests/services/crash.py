"""Killing what keeps the ledger, at moments drawn from a seed, and comparing afterwards.

A `Way` is one path by which messages come in. The killer keeps it loaded, kills the process that
writes, starts it anew, sends again what was not acknowledged and some of what was, and at the end
asks the ledger, with bare drivers, for every key that was ever acknowledged.
"""

from __future__ import annotations

import os
import random
import signal
import time
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol

from tests.services import own_check
from tests.services.postgres import Cluster

Said = dict[str, Any]
LINES = ("north", "south")
WINDOW = 300
"""Messages on their way at once: the load."""
MOST_IN_BATCH = 12
STUCK_S = 90.0
FIRST_AT = 1_767_225_600
"""2026-01-01T00:00:00Z, seconds since 1970."""


class Way(Protocol):
    """One path into the ledger, with a process at its end that can be killed."""

    resends: bool
    """Whether a sender that has no acknowledgement sends again; else the path itself must."""

    def start(self) -> None:
        """Start the process; need not wait until it is ready."""

    def kill(self) -> None:
        """SIGKILL it, and wait until it is gone."""

    def send(self, batch: list[Said]) -> None:
        """Hand messages over; must not wait for the answer."""

    def acknowledged(self) -> list[str]:
        """Keys acknowledged since the last time."""

    def close(self) -> None:
        """End everything."""


@dataclass(slots=True)
class Figures:
    """What a series of kills came to."""

    way: str
    database: str
    seed: int
    kills: int = 0
    server_kills: int = 0
    in_start: int = 0
    sent: int = 0
    again: int = 0
    acknowledged: int = 0
    rows: int = 0
    lost: list[str] = field(default_factory=list)
    doubled: list[str] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)
    chain: list[str] = field(default_factory=list)
    took_s: float = 0.0

    @property
    def sound(self) -> bool:
        """Whether nothing is lost, doubled, made up or out of chain."""
        return not (self.lost or self.doubled or self.unknown or self.chain)

    def row(self) -> str:
        """One row of the table."""
        chain = "intact" if not self.chain else "BROKEN"
        return (
            f"{self.way:<7}{self.database:<12}{self.kills:>6}{self.server_kills:>8}"
            f"{self.sent:>9}{self.again:>8}{self.acknowledged:>14}{len(self.lost):>6}"
            f"{len(self.doubled):>9}  {chain:<7}{self.took_s:>6.0f} s"
        )


HEAD = (
    f"{'path':<7}{'database':<12}{'kills':>6}{'server':>8}{'sent':>9}{'again':>8}"
    f"{'acknowledged':>14}{'lost':>6}{'doubled':>9}  {'chain':<7}{'took':>8}"
)


def message(number: int, draw: random.Random) -> Said:
    """One weighing, with a key of its own."""
    line = LINES[number % 2]
    at_s = FIRST_AT + number // 50
    at = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(at_s))
    return {
        "line": line, "kind": "weighing", "at": at, "key": f"k{number:07}",
        "lane": 1 + number % 8, "lot": "D1", "mass_g": round(draw.gauss(200.0, 2.0), 2),
        "note": "é☃" + "x" * draw.randrange(0, 40),
    }  # fmt: skip


class Killer:
    """Loads a way, kills it, and keeps count.

    Parameters
    ----------
    way : Way
        The path.
    url : str
        Its ledger, for reading.
    figures : Figures
        Where the count is kept.
    cluster : Cluster, optional
        PostgreSQL server that is killed too, in some rounds.
    """

    def __init__(self, way: Way, url: str, figures: Figures, cluster: Cluster | None = None):
        self.way, self.url, self.figures, self.cluster = way, url, figures, cluster
        self.draw = random.Random(figures.seed)
        self.sent: dict[str, Said] = {}
        self.waiting: dict[str, Said] = {}
        self.acknowledged: set[str] = set()
        self.number = 0
        self._seen_rows, self._seen_until = 0, 0.0
        self.finish_s = STUCK_S

    def run(self, kills: int, load_s: float = 0.25, most_s: float = 1e9) -> Figures:
        """Kill so many times, or for so long, then let it finish, and compare."""
        began = time.monotonic()
        try:
            for round_ in range(kills):
                if time.monotonic() - began > most_s:
                    break
                self._round(round_, load_s)
            self.way.start()
            self._again()
            self._finish()
        finally:
            self.way.close()
        figures = self.figures
        figures.took_s = time.monotonic() - began
        figures.acknowledged = len(self.acknowledged)
        figures.rows = own_check.count(self.url)
        figures.lost = own_check.lost(self.url, self.sent, self.acknowledged)
        figures.doubled = own_check.doubled(self.url)
        figures.unknown = own_check.unknown(self.url, self.sent)
        figures.chain = own_check.chain_faults(self.url)
        return figures

    def _round(self, round_: int, load_s: float) -> None:
        self.way.start()
        self._again()
        if round_ % 8 == 7:  # before it has kept anything: while it starts, and recovers
            self._load(self.draw.uniform(0.0, 1.0))
            self.figures.in_start += 1
        else:
            self._until_it_keeps()
            self._load(self.draw.uniform(0.0, load_s))
            if self.cluster is not None and round_ % 4 == 1:
                self._kill_server(self.cluster, round_ // 4)
                if round_ % 8 == 1:
                    self._until_it_keeps()
        self.way.kill()
        self.figures.kills += 1
        self._hear()

    def _kill_server(self, cluster: Cluster, turn: int) -> None:
        """Kill one process of the server, or all of it, or stop it without a word."""
        self.figures.server_kills += 1
        server = cluster.server
        assert server is not None
        if turn % 3 == 0:
            found = cluster.say(
                "SELECT pid FROM pg_stat_activity WHERE backend_type = 'client backend' "
                "AND pid <> pg_backend_pid()"
            )
            for (pid,) in found:
                with suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGKILL)
            time.sleep(0.05)
            cluster.wait_until_up()  # the postmaster recovers by itself
            return
        if turn % 3 == 1:
            cluster.stop(signal.SIGQUIT)
        else:
            family = [server.pid, *_children(server.pid)]
            for pid in family:
                with suppress(ProcessLookupError):
                    os.kill(pid, signal.SIGKILL)
            server.wait()
        self._load(0.05)  # while there is no server
        cluster.start()

    def _until_it_keeps(self) -> None:
        """Go on until a row has come in since now."""
        before = self._rows()
        deadline = time.monotonic() + STUCK_S
        while self._rows() <= before:
            if time.monotonic() > deadline:
                raise TimeoutError(f"{self.figures.way}: nothing is kept any more")
            self._load(0.01)

    def _rows(self) -> int:
        try:
            return own_check.count(self.url)
        except Exception:  # the server may just be down
            return 0

    def _seen(self) -> int:
        """Rows there lately: a broker that takes everything at once must not be flooded."""
        now = time.monotonic()
        if now >= self._seen_until:
            self._seen_rows = max(self._seen_rows, self._rows())
            self._seen_until = time.monotonic() + 0.02
        return self._seen_rows

    def _load(self, for_s: float) -> None:
        """Keep the way loaded for some time."""
        deadline = time.monotonic() + for_s
        while True:
            self._hear()
            while len(self.waiting) < WINDOW and self.number - self._seen() < 2 * WINDOW:
                self._send_new()
            if time.monotonic() >= deadline:
                return
            time.sleep(0.002)

    def _send_new(self) -> None:
        batch = []
        for _ in range(self.draw.randint(1, MOST_IN_BATCH)):
            one = message(self.number, self.draw)
            self.number += 1
            self.sent[one["key"]] = self.waiting[one["key"]] = one
            batch.append(one)
        self.figures.sent += len(batch)
        self.way.send(batch)

    def _hear(self) -> None:
        for key in self.way.acknowledged():
            self.acknowledged.add(key)
            self.waiting.pop(key, None)

    def _again(self) -> None:
        """Send what has no acknowledgement, and some of what has."""
        known = sorted(self.acknowledged)[-200:]
        again = self.draw.sample(known, min(5, len(known)))
        if self.way.resends:
            again += list(self.waiting)
        self.draw.shuffle(again)
        for first in range(0, len(again), MOST_IN_BATCH):
            self.way.send([self.sent[key] for key in again[first : first + MOST_IN_BATCH]])
        self.figures.again += len(again)

    def _finish(self) -> None:
        deadline = time.monotonic() + self.finish_s
        while self.waiting or self._rows() < len(self.sent):
            self._hear()
            if time.monotonic() > deadline:
                return  # what is missing shows in the comparison
            time.sleep(0.01)


def _children(pid: int) -> list[int]:
    """Processes whose parent is this one."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdecimal():
            with suppress(OSError, ValueError):
                if int((entry / "stat").read_text().rpartition(")")[2].split()[1]) == pid:
                    found.append(int(entry.name))
    return found
