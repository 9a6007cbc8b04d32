"""The law of knots per ball: the time of one put-up, against what starting Python takes anyway."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

from clew.knots.law import knot_law
from clew.knots.sources import sources_after_steam

ROUNDS = 9
MOST_SECONDS = 0.05
SOURCES = sources_after_steam(
    breaks_per_km=0.6,
    dispersion=3.0,
    cone_length_m=6000.0,
    cone_cv=0.1,
    line_breaks_per_km=0.05,
    colour_ties_per_km=0.02,
    shrink_frac=0.25,
)
PLACES = (
    ("a ball anywhere on the strand", 200.0, None),
    ("the tenth ball of a cone", 200.0, 10),
)

Row = tuple[str, str, float, float | None]


def law_seconds(ball_length_m: float, ball_number: int | None) -> float:
    started = time.perf_counter()
    knot_law(SOURCES, ball_length_m, ball_number=ball_number)
    return time.perf_counter() - started


def import_seconds() -> float:
    started = time.perf_counter()
    subprocess.run([sys.executable, "-c", "import numpy"], check=True)
    return time.perf_counter() - started


def measured() -> list[Row]:
    """One put-up's law against importing numpy and against what a page may wait."""
    rows: list[Row] = []
    import_seconds()
    for what, length_m, number in PLACES:
        law_seconds(length_m, number)
        pairs = [(law_seconds(length_m, number), import_seconds()) for _ in range(ROUNDS)]
        found = statistics.median(law / imported for law, imported in pairs)
        rows.append((f"law of {what}", "python -c 'import numpy'", found, 0.5))
        seconds = statistics.median(law for law, _ in pairs)
        rows.append((f"law of {what}", "50 ms", seconds / MOST_SECONDS, 1.0))
    return rows
