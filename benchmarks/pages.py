"""Every page against the empty page of the same server: its time, its size, and a slider's drag.

A workbench of its own is served on a free port, on a line that has run for half an hour; pages are
asked for over one kept connection. Time is what the server's process works, by its own clock, so
that a busy machine does not count. A page's is the median of its ratios to the empty page (the
frame and a sentence), asked in turn with it, warm. Its first view is the page with every style
sheet, script and icon that it names, without the scripts that draw charts, which come once; as it
travels compressed, and plain. A drag asks for what each live page fetches again as a slider moves:
every input in turn, at places none of which was asked before, as a browser does that draws the
charts itself; 95 of 100 answers take no longer. Two frames are 33 ms: the same run says how many
empty pages that is.

    .venv/bin/python benchmarks/pages.py
"""

from __future__ import annotations

import gzip
import statistics
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from html.parser import HTMLParser
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlencode

from live_update import workbench

EMPTY = "/nowhere"
ROUNDS = 15
PLACES = 6
"""Places of each slider in a drag."""
TWO_FRAMES_S = 0.033
MOST_VIEW_BYTES = 150_000
WARM_S = 20.0
"""How long the workbench warms its slow parts after it opens."""
LOT = "/lots?ball=Querl+100&lot=SL-207&size=720&knots_looked=83&knots_found=1"
CONE = "/trace?what=cone&name=SL-207-203"

MOST = {
    "/orders": 4.0, "/creel": 4.0, "/knots": 8.0, "/knots/answer": 3.0, "/steam": 4.0,
    "/dry": 4.0, "/wind": 12.0, "/shift": 28.0, "/run": 5.0, "/run/hand": 4.0,
    "/run/hand?lane=3": 5.0, "/band": 8.0, "/case": 9.0, "/lots": 20.0, LOT: 20.0, "/trace": 4.0,
    CONE: 18.0, "/wind/card": 4.0, "/who": 3.0,
}  # fmt: skip
"""The most empty pages that a page may take, warm."""
DRAGGED = ("/creel", "/knots", "/steam", "/dry", "/wind", "/shift", "/band")

Row = tuple[str, str, float, float | None]


@dataclass
class Page(HTMLParser):
    """What a page names: its files and the inputs whose sliders ask again."""

    files: list[str] = field(default_factory=list)
    inputs: list[Mapping[str, str]] = field(default_factory=list)
    kept: list[tuple[str, str]] = field(default_factory=list)
    action: str = ""
    inside: bool = False

    def __post_init__(self) -> None:
        super().__init__()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag."""
        said = {name: value or "" for name, value in attrs}
        if tag == "link" and said.get("rel") in ("stylesheet", "icon"):
            self.files.append(said["href"])
        elif tag == "script" and "src" in said:
            self.files.append(said["src"])
        elif tag == "form":
            self.inside = "data-try" in said
            self.action = said["action"] if self.inside else self.action
        elif tag == "input" and self.inside:
            if "data-low" in said:
                self.inputs.append(said)
            elif said.get("type") == "hidden":
                self.kept.append((said["name"], said["value"]))

    def handle_endtag(self, tag: str) -> None:
        """Note the end of a form."""
        self.inside = self.inside and tag != "form"


class Server:
    """A workbench that answers over one kept connection."""

    def __init__(self, port: int) -> None:
        self._connection = HTTPConnection("127.0.0.1", port, timeout=120.0)
        self._clock = clock_of(port)

    def ask(self, path: str, **headers: str) -> tuple[float, bytes]:
        """Ask for a page; gives the time it was worked at [s] and what came."""
        started = time.clock_gettime(self._clock)
        self._connection.request("GET", path, headers={"Accept": "text/html", **headers})
        answer = self._connection.getresponse()
        body = answer.read()
        took_s = time.clock_gettime(self._clock) - started
        if answer.status not in (200, 404, 422):
            raise RuntimeError(f"{path} answered {answer.status}")
        return took_s, body

    def view(self, path: str) -> tuple[int, int]:
        """Size of a page's first view [bytes], plain and as it travels."""
        page = Page()
        page.feed(self.ask(path)[1].decode())
        asked = [path, *dict.fromkeys(page.files)]
        plain = [self.ask(one)[1] for one in asked]
        sent = [self.ask(one, **{"Accept-Encoding": "gzip"})[1] for one in asked]
        for one, small in zip(plain, sent, strict=True):
            assert abs(len(one) - len(_unpacked(small))) < 200  # the page's token and its clock
        return sum(map(len, plain)), sum(map(len, sent))

    def ratio(self, path: str) -> float:
        """How many empty pages a page takes, warm: the median."""
        self.ask(path)
        return statistics.median(self.ask(path)[0] / self.ask(EMPTY)[0] for _ in range(ROUNDS))

    def drag(self, path: str) -> tuple[float, float]:
        """How many empty pages the answer to a slider takes, and how long [s]: 95 of 100."""
        page = Page()
        page.feed(self.ask(path)[1].decode())
        took, ratios = [], []
        for address in _dragged(page):
            one_s = self.ask(address, **{"Clew-Draws": "charts", "Accept-Encoding": "gzip"})[0]
            took.append(one_s)
            ratios.append(one_s / statistics.median(self.ask(EMPTY)[0] for _ in range(3)))
        return _p95(ratios), _p95(took)


def clock_of(port: int) -> int:
    """Name the clock that counts what the process of a workbench works."""
    for folder in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            said = (folder / "cmdline").read_bytes().split(b"\0")
            if said[-3:-1] == [b"--port", str(port).encode()]:
                return (~int(folder.name) << 3) | 2  # as clock_getcpuclockid(3) does
    raise RuntimeError("the workbench's process is not among those of this machine")


def _unpacked(body: bytes) -> bytes:
    return gzip.decompress(body) if body[:2] == b"\x1f\x8b" else body


def _p95(values: list[float]) -> float:
    return sorted(values)[min(int(0.95 * len(values)), len(values) - 1)]


def _dragged(page: Page) -> Iterator[str]:
    """Addresses that are asked as each slider moves over the middle of its way."""
    for one in page.inputs:
        low, high, step = float(one["data-low"]), float(one["data-high"]), one["data-step"]
        digits = len(step.partition(".")[2])
        own = float(one["data-place"])
        for place in range(PLACES):
            value = own + (0.04 * place - 0.09) * (high - low)
            text = f"{min(max(value, low), high):.{digits}f} {one['data-unit']}".strip()
            yield f"{page.action}?" + urlencode(
                [*page.kept, (one["name"], text), ("part", "answer")]
            )


def measured() -> Iterator[Row]:
    """Measure every page.

    Yields
    ------
    tuple of (str, str, float, float or None)
        What, against what, what was found and the most that is allowed; none where any will do.
    """
    with workbench() as port:
        server = Server(port)
        time.sleep(WARM_S)
        for path in (*MOST, EMPTY):
            server.ask(path)
        empty_s = statistics.median(server.ask(EMPTY)[0] for _ in range(3 * ROUNDS))
        yield "two frames, 33 ms", "the empty page", TWO_FRAMES_S / empty_s, None
        for path, most in MOST.items():
            yield f"{_name(path)}, time", "the empty page", server.ratio(path), most
        for path in MOST:
            plain, sent = server.view(path)
            yield f"{_name(path)}, first view", "150 kB", plain / MOST_VIEW_BYTES, None
            yield f"{_name(path)}, as it travels", "150 kB", sent / MOST_VIEW_BYTES, 1.0
        for path in DRAGGED:
            ratio, took_s = server.drag(path)
            yield f"{_name(path)}, a slider's drag, p95", "the empty page", ratio, None
            yield f"{_name(path)}, a slider's drag, p95", "two frames", took_s / TWO_FRAMES_S, 1.0


def _name(path: str) -> str:
    return {LOT: "/lots, a test", CONE: "/trace, a cone"}.get(path, path)


def main() -> int:
    """Print the table; fail where a page is over its bar."""
    failed = False
    print(f"{'page':<34}{'against':<18}{'ratio':>7}{'most':>7}")
    for what, against, found, most in measured():
        over = most is not None and found >= most
        failed |= over
        allowed = "any" if most is None else f"{most:.1f}"
        print(f"{what:<34}{against:<18}{found:>7.2f}{allowed:>7}{' over' if over else ''}",
              flush=True)  # fmt: skip
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
