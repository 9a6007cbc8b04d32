"""One process that feeds one target for a while: guided by coverage with atheris, without it not.

Run by `python -m tests.fuzz`, in a process of its own: what hangs in a C library, or eats all the
memory, ends that process and nothing else. A faulty input is kept, made small, and the run goes on.
"""

from __future__ import annotations

import argparse
import contextlib
import dataclasses
import hashlib
import json
import re
import resource
import signal
import sys
import time
import traceback
from collections.abc import Iterator, Sequence
from pathlib import Path
from random import Random
from types import FrameType
from typing import Any

MOST_BYTES_OF_DATA = 3 << 30
"""Memory that the process may ask for; beyond it Python raises MemoryError, which is a fault."""
MOST_MESSAGES = 40
"""Different faults of one target after which nothing more is kept."""
_COMPILED = re.compile(r"^\s*(?:import numba|from numba|from .*\bcompiled)|@.*njit", re.MULTILINE)


class TooSlow(BaseException):
    """An input took more processor time than its target allows."""


def _expired(number: int, frame: FrameType | None) -> None:
    raise TooSlow


@contextlib.contextmanager
def timed(limit_s: float) -> Iterator[None]:
    """Raise `TooSlow` when the processor was busy for longer: others' load does not count."""
    before = signal.signal(signal.SIGPROF, _expired)
    signal.setitimer(signal.ITIMER_PROF, limit_s)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)


def fault_of(target: Any, data: bytes) -> tuple[str, str]:
    """Feed one input; give where it went wrong and how, or two empty texts."""
    try:
        with timed(target.limit_s):
            target.run(data)
    except (Exception, TooSlow) as error:
        frames = traceback.extract_tb(error.__traceback__)
        ours = [one for one in frames if "/clew/" in one.filename] or list(frames)
        last = ours[-1] if ours else None
        kind = type(error).__name__
        said = "".join(re.findall(r"an? [a-z ]+", str(error))[:2]) if _of_line(last) else ""
        place = f"{Path(last.filename).name}:{last.lineno} {last.name}" if last else "nowhere"
        if kind == "TooSlow":
            place = "anywhere"
        return f"{kind} {said[:60]} at {place}", "".join(traceback.format_exception(error)[-9:])
    return "", ""


def _of_line(frame: traceback.FrameSummary | None) -> bool:
    return frame is not None and frame.name == "check_line"


def smaller(target: Any, data: bytes, where: str, seconds: float = 10.0) -> bytes:
    """Leave out of a faulty input whatever the fault does not need."""
    until = time.monotonic() + seconds
    size = max(len(data) // 2, 1)
    while size and time.monotonic() < until:
        at = 0
        while at < len(data) and time.monotonic() < until:
            tried = data[:at] + data[at + size :]
            if fault_of(target, tried)[0] == where:
                data = tried
            else:
                at += size
        size //= 2
    return data


class Run:
    """What one process has done with one target."""

    def __init__(self, target: Any, out: Path, until: float) -> None:
        self.target, self.out, self.until = target, out, until
        self.executions = 0
        self.faults: dict[str, str] = {}
        self.slowest_s = 0.0
        self._told = 0.0

    def one(self, data: bytes) -> None:
        """Feed one input, and keep it when it is faulty in a new way."""
        self.executions += 1
        began = time.process_time()
        where, how = fault_of(self.target, data)
        self.slowest_s = max(self.slowest_s, time.process_time() - began)
        if where and where not in self.faults and len(self.faults) < MOST_MESSAGES:
            if not where.startswith(("TooSlow", "MemoryError")):
                data = smaller(self.target, data, where)
            digest = hashlib.sha256(data).hexdigest()[:10]
            name = f"{self.target.name.replace('/', '-')}-{digest}"
            self.faults[where] = name
            (self.out / name).write_bytes(data)
            (self.out / f"{name}.txt").write_text(
                f"{where}\n{how}\n{data[:500]!r}\n", "utf-8", "backslashreplace"
            )
        if time.monotonic() - self._told > 1.0:
            self.tell()

    def tell(self) -> None:
        """Write down how far it has come."""
        self._told = time.monotonic()
        said = {
            "executions": self.executions, "faults": self.faults, "slowest_s": self.slowest_s,
        }  # fmt: skip
        beside = self.out / "said.part"
        beside.write_text(json.dumps(said), "utf-8")
        beside.replace(self.out / "said.json")


def _without_guidance(run: Run, sound: Sequence[bytes], seed: int) -> None:
    from tests.fuzz.mutate import mutate

    chance, target = Random(seed), run.target
    words = target.grammar()
    pool = list(sound)
    while time.monotonic() < run.until:
        data = mutate(chance, chance.choice(pool), sound, words, target.most_bytes)
        run.one(data)
        if chance.random() < 0.01:  # so that changes pile up, though nobody says which are new
            pool[len(sound) :] = [*pool[len(sound) :][-200:], data]


def _compiled_modules() -> list[str]:
    """Name the modules whose functions a compiler reads: those cannot be instrumented."""
    import importlib.util

    spec = importlib.util.find_spec("clew")
    assert spec is not None and spec.submodule_search_locations is not None
    root = Path(spec.submodule_search_locations[0])
    found = []
    for path in root.rglob("*.py"):
        if _COMPILED.search(path.read_text("utf-8")):
            found.append(".".join(path.relative_to(root.parent).with_suffix("").parts))
    return found


def _guided(run: Run, sound: Sequence[bytes], seed: int, pool: Path) -> None:
    import atheris
    from tests.fuzz.mutate import mutate

    target = run.target
    words = target.grammar()
    pool.mkdir(parents=True, exist_ok=True)
    for data in sound:
        (pool / hashlib.sha256(data).hexdigest()[:16]).write_bytes(data)

    def changed(data: bytes, most: int, number: int) -> bytes:
        chance = Random(number)
        if chance.random() < 0.25:
            return bytes(atheris.Mutate(data, most))
        return mutate(chance, data, sound, words, min(most, target.most_bytes))

    seconds = max(int(run.until - time.monotonic()), 1)
    atheris.Setup(
        [
            "fuzz", f"-max_total_time={seconds}", f"-seed={seed}", "-timeout=300",
            "-rss_limit_mb=0", f"-max_len={target.most_bytes}", "-len_control=0",
            "-print_final_stats=1", "-detect_leaks=0", str(pool),
        ],
        run.one, custom_mutator=changed,
    )  # fmt: skip
    atheris.Fuzz()


def main() -> None:
    """Feed one target."""
    parser = argparse.ArgumentParser()
    parser.add_argument("target")
    parser.add_argument("--seconds", type=float, required=True)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--out", type=Path, required=True)
    asked = parser.parse_args()
    asked.out.mkdir(parents=True, exist_ok=True)
    try:
        import atheris
    except ImportError:
        atheris = None
    if atheris is not None:
        hook = atheris.instrument_imports(["clew"], _compiled_modules(), False)
        hook.__enter__()  # for the whole process: rooms import others where they use them
    from tests.fuzz.targets import every_target

    target = every_target()[asked.target]
    sound = [data[: target.most_bytes] for data in (*target.sound(), *target.more())]
    resource.setrlimit(resource.RLIMIT_DATA, (MOST_BYTES_OF_DATA, MOST_BYTES_OF_DATA))
    began = time.monotonic()
    run = Run(target, asked.out, began + asked.seconds)
    run.target = dataclasses.replace(target, limit_s=target.limit_s * 20.0)
    for data in sound:  # what compiles or opens on first use is no slowness of an input
        if time.monotonic() - began < asked.seconds / 2.0:
            run.one(data)
    run.target = target
    run.tell()
    if atheris is None:
        _without_guidance(run, sound, asked.seed)
    else:
        _guided(run, sound, asked.seed, asked.out / "pool")
    run.tell()
    sys.exit(0)


if __name__ == "__main__":
    main()
