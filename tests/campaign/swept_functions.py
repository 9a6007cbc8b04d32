"""Functions the tests sweep, importable by other processes too.

Some leave a file for each call behind, so that a test can count the calls across processes; no
function that is swept in earnest does such a thing.
"""

from __future__ import annotations

import math
import os
import time
from dataclasses import dataclass
from pathlib import Path

from clew.faults import BadInput, Fault


@dataclass(frozen=True, slots=True)
class Setting:
    feed_m_per_s: float
    hands: int
    folder: str = ""
    nap_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Share:
    cause: str
    share_frac: float


@dataclass(frozen=True, slots=True)
class Summary:
    balls_mean: float
    interval: tuple[float, float]
    shares: tuple[Share, ...]
    stops: int
    wait_s: float | None


def summary(setting: Setting) -> Summary:
    """Work out floats that do not end, so that a lost digit shows."""
    if setting.folder:
        stamp = f"{setting.feed_m_per_s!r} {setting.hands} {os.getpid()} {time.monotonic_ns()}"
        (Path(setting.folder) / stamp).touch()
    if setting.nap_s:
        time.sleep(setting.nap_s)
    root = math.sqrt(setting.feed_m_per_s + setting.hands)
    return Summary(
        balls_mean=root / 3.0,
        interval=(root / 7.0, math.inf),
        shares=(Share("winding", 1.0 / (1.0 + root)), Share("starved", root / (1.0 + root))),
        stops=setting.hands * 7,
        wait_s=None if setting.hands == 2 else math.exp(-root),
    )


def plain_sum(point: dict[str, float]) -> dict[str, float]:
    return {"sum": sum(point.values()), "third": sum(point.values()) / 3.0}


def scaled(number: float, *, factor: float = 1.0) -> dict[str, float]:
    return {"scaled": number * factor}


def refuses_threes(number: int) -> dict[str, int]:
    # The first to fail in order is the slowest to fail, so that it is not the first to be seen.
    if number % 3 == 0:
        time.sleep(0.05 / number)
        raise BadInput(Fault("is a three", "another number", key="number", value=str(number)))
    return {"number": number}


def breaks_down(number: int) -> dict[str, int]:
    raise ZeroDivisionError(f"no way with {number}")


def ends_its_process(number: int) -> dict[str, int]:
    os._exit(number)
