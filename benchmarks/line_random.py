"""A hundred thousand lines of every legal sort: none hangs, none loses a metre or a second.

What the lines met is printed, since a line on which nothing happens proves nothing.
"""

from __future__ import annotations

import sys
from concurrent.futures import ThreadPoolExecutor

import numpy as np

import models  # noqa: F401 -- makes the tests' models importable
import random_layouts
from clew.line.simulate.measures import imbalance_m
from clew.line.simulate.shifts import Handful, cores_here, handful

LINES = 100_000
AT_ONCE = 500
RARE = 0.05
CLOSE = 1e-9
CAUSES = ("waiting_s", "doffing_s", "broken_s", "changing_s", "resting_s")


def misses(found: Handful, shift_s: float) -> tuple[float, float]:
    """Share of its strand, and of its seconds, that any lane's books miss."""
    lanes = found.lanes
    winder_s = lanes["winder_s"][:, :, :2].sum(axis=2) + sum(lanes[cause] for cause in CAUSES)
    feed_s = lanes["feed_s"].sum(axis=2)
    came_m = np.maximum(lanes["initial_m"] + lanes["laid_m"], 1.0)
    seconds = max(np.abs(winder_s / shift_s - 1.0).max(), np.abs(feed_s / shift_s - 1.0).max())
    return float(np.abs(imbalance_m(found) / came_m).max()), float(seconds)


def main() -> int:
    """Run every line; print counts and the worst books."""

    def some(first: int) -> tuple[dict[str, int], float, float]:
        rng = np.random.default_rng(first)
        counts: dict[str, int] = {}
        strand, seconds = 0.0, 0.0
        for number in range(first, first + AT_ONCE):
            layout = random_layouts.random_layout(rng)
            found = handful(layout, number, 0, 1)
            missed = misses(found, layout.shift_s)
            strand, seconds = max(strand, missed[0]), max(seconds, missed[1])
            for what, once in random_layouts.seen(found).items():
                counts[what] = counts.get(what, 0) + once
        return counts, strand, seconds

    total: dict[str, int] = {}
    worst = [0.0, 0.0]
    with ThreadPoolExecutor(cores_here()) as pool:
        for counts, *missed in pool.map(some, range(0, LINES, AT_ONCE)):
            worst = [max(pair) for pair in zip(worst, missed, strict=True)]
            total = {what: total.get(what, 0) + once for what, once in counts.items()}
    print(f"{LINES} random legal lines ran to their end.")
    print(f"Worst lane: {worst[0]:.1e} of its strand and {worst[1]:.1e} of its seconds missed.")
    for what, often in total.items():
        print(f"  {what:<16}{often:>7} lines, {100.0 * often / LINES:.1f} %")
    good = max(worst) < CLOSE and min(total.values()) >= RARE * LINES
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
