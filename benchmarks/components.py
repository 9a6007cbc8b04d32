"""What varies, by REML: against statsmodels on the same balls, and how time and memory grow.

statsmodels' MixedLM takes the crossed sources as variance components of one group of all balls and
works on matrices of balls by balls; it is timed at the largest size that it completes in reasonable
time. Beyond that, the growth of ours to ten million balls is printed.
"""

from __future__ import annotations

import argparse
import statistics
import time
import tracemalloc
import warnings
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from clew.checks.components.components import components
from clew.checks.weighings import Factor

WANTED = ("lot", "cone", "winder")
COMPARED_ROWS = 5000
BALLS_PER_CONE = 15
ROUNDS = 5
LEAST_TIMES = 10.0
MOST_GROWTH = 2.0
SIZES = (20_000, 200_000, 2_000_000, 10_000_000)

Row = tuple[str, str, float, float | None]
Balls = tuple[NDArray[np.float64], dict[str, Factor]]


def balls(rows: int, seed: int = 1) -> Balls:
    """Six winders, lots of 650 cones or two, cones fed mostly to one winder."""
    rng = np.random.default_rng(seed)
    cones = max(12, rows // BALLS_PER_CONE)
    lots = max(2, cones // 650)
    cone = np.arange(rows) * cones // rows
    winder = (cone + (rng.random(rows) < 0.2)) % 6
    lot = cone * lots // cones
    y = 100 + rng.normal(0, 1.0, rows)
    y += rng.normal(0, 0.5, lots)[lot]
    y += rng.normal(0, 0.8, cones)[cone] + rng.normal(0, 0.6, 6)[winder]
    factors = {"lot": lot, "cone": cone, "winder": winder}
    return y, {
        name: Factor(codes.astype(np.int32), tuple(map(str, range(int(codes.max()) + 1))))
        for name, codes in factors.items()
    }


def ours_seconds(y: NDArray[np.float64], factors: Mapping[str, Factor]) -> float:
    started = time.perf_counter()
    components(y, factors, WANTED)
    return time.perf_counter() - started


def plain_seconds(y: NDArray[np.float64], factors: Mapping[str, Factor]) -> float:
    import pandas as pd
    from statsmodels.regression.mixed_linear_model import MixedLM

    started = time.perf_counter()
    frame = pd.DataFrame({"y": y, "all": 1} | {name: one.codes for name, one in factors.items()})
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        model = MixedLM.from_formula(
            "y ~ 1", frame, groups="all", vc_formula={name: f"0 + C({name})" for name in factors}
        )
        model.fit(reml=True)
    return time.perf_counter() - started


def measured() -> list[Row]:
    """Time of ours over that of statsmodels, intervals and effects with ours only."""
    y, factors = balls(COMPARED_ROWS)
    ours_seconds(y, factors)
    plain = plain_seconds(y, factors)
    ours = statistics.median(ours_seconds(y, factors) for _ in range(ROUNDS))
    y, factors = balls(20_000)
    shift = statistics.median(ours_seconds(y, factors) for _ in range(ROUNDS))
    return [
        (
            f"components of {COMPARED_ROWS} balls, intervals",
            "statsmodels MixedLM, no intervals",
            ours / plain,
            1.0 / LEAST_TIMES,
        ),
        ("components of a shift of 20 000 balls", "1 s", shift, 1.0),
    ]


def grown(rows: int) -> tuple[float, float]:
    """Seconds and peak bytes a ball, the columns themselves not counted."""
    y, factors = balls(rows)
    seconds = ours_seconds(y, factors)
    tracemalloc.start()
    components(y, factors, WANTED)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return seconds / rows, peak / rows


def growth(most: int = SIZES[-1]) -> list[Row]:
    """Time and memory a ball as files grow, over those of a shift of 20 000."""
    first = grown(SIZES[0])
    found: list[Row] = []
    for rows in (size for size in SIZES[1:] if size <= most):
        seconds, peak = grown(rows)
        against = f"a ball of {SIZES[0]}"
        found += [
            (f"components, time a ball of {rows}", against, seconds / first[0], MOST_GROWTH),
            (f"components, memory a ball of {rows}", against, peak / first[1], MOST_GROWTH),
        ]
    return found


def main() -> int:
    """Compare, then print the growth."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--most", type=int, default=SIZES[-1], help="most balls to grow to")
    most = arguments.parse_args().most
    failed = False
    for what, against, found, allowed in (*measured(), *growth(most)):
        failed |= allowed is not None and found >= allowed
        print(f"{what:<42}{against:<44}{found:>9.4f}{allowed:>7}")
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())
