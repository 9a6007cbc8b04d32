"""Tables of the manual that no command of `clew` prints: ``python docs/tables.py NAME``.

Each is worked out anew from the program's own functions, and printed as the page shows it.
"""

from __future__ import annotations

import heapq
import random
import sys
from collections.abc import Callable, Iterator


def wind_bands() -> Iterator[str]:
    """Print what the division of a ball does to it (docs/ball_wind.md)."""
    from clew.ball.wind.build import build
    from clew.ball.wind.setting import Resolution, WindSetting

    swept = WindSetting(30.0, 70.0, 20.3, (0.0, 50.0, 100.0), (20.0, 60.0, 20.0), True, 0.3)
    held = WindSetting(30.0, 70.0, 20.3, (0.0,), (40.0,), False, 0.3)
    for bands in (46, 90, 180, 360, 720, 1440):
        cells = []
        for setting in (swept, held):
            ball = build(setting, 500.0 / 300.0, length_m=500.0, resolution=Resolution(bands))
            cells += [
                f"{ball.turns:.2f}", f"{ball.diameter_mm:.2f}", f"{ball.width_mm:.2f}",
            ]  # fmt: skip
        name = f"**{bands}** (standard)" if bands == 180 else f"{bands}"
        yield f"| {name} | {' | '.join(cells)} |"


def cones_needed() -> Iterator[str]:
    """Print how many cones show a doubled rate (docs/knots_rates.md)."""
    from clew.knots.rate_tests import cones_against_cones, cones_against_rate

    for knots in (0.5, 1.0, 2.0, 4.0, 8.0):
        cells = []
        for shape in (None, 4.0, 1.0):
            known = cones_against_rate(knots, 1.0, shape=shape).cones
            each = cones_against_cones(knots, 1.0, shape=shape).cones
            cells.append(f"{known} / {each}")
        yield f"| {knots:g} | {' | '.join(cells)} |"


def _wait(machines: int, fill: Callable[[random.Random], float], stops: int, seed: int) -> float:
    """Mean wait of a stop for one hand who takes them as they come, 10 s each [s]."""
    chance = random.Random(seed)
    coming = [(fill(chance), machine) for machine in range(machines)]
    heapq.heapify(coming)
    free = waited = 0.0
    for _ in range(stops):
        stopped, machine = heapq.heappop(coming)
        begin = max(stopped, free)
        free = begin + 10.0
        waited += begin - stopped
        heapq.heappush(coming, (free + fill(chance), machine))
    return waited / stops


def in_step() -> Iterator[str]:
    """Print how soon the step of fixed fills is lost (docs/line_interference.md)."""
    from clew.line.interference.one_hand import one_hand

    for machines in (6, 9):
        at_random = one_hand(machines, run_s=90.0, service_s=10.0)
        cells = ["0"]
        for cv in (0.01, 0.02, 0.05, 0.1, 0.2, 0.5):
            shape, scale = 1.0 / cv**2, 90.0 * cv**2
            waits = [
                _wait(machines, lambda c, a=shape, b=scale: c.gammavariate(a, b), 60_000, seed)
                for seed in range(6)
            ]
            cells.append(f"{100.0 * sum(waits) / len(waits) / at_random.wait_s:.0f} %")
        busy = 100.0 * (machines * 10.0) / (90.0 + 10.0 + at_random.wait_s)
        yield f"| {machines} | {busy:.0f} % | {' | '.join(cells)} |"


def spinners() -> Iterator[str]:
    """Print how often six spinners of drawn logs are judged rightly (docs/knots_rates.md)."""
    import numpy as np

    from clew.knots.rate_sources import compare_sources
    from clew.knots.rates import CountedCone

    numbers, usual, logs = (3, 3, 6, 10, 20, 30), 0.4, 250

    def unlike(rng: np.random.Generator, cv: float) -> float:
        return float(rng.gamma(cv**-2, cv**2)) if cv else 1.0

    for between, within in ((0.0, 0.0), (0.3, 0.0), (0.6, 0.0), (0.3, 0.58), (0.0, 0.71)):
        rng = np.random.default_rng(1)
        believed = own = worse = wrongly = above = 0
        for _ in range(logs):
            truth, cones = {}, []
            for place, number in enumerate(numbers):
                truth[str(place)] = rate = usual * unlike(rng, between)
                cones += [
                    CountedCone(
                        f"{place}-{one}", str(place), "", 1500.0, 250.0,
                        int(rng.poisson(6.0 * rate * unlike(rng, within))),
                    )
                    for one in range(number)
                ]  # fmt: skip
            found = compare_sources(cones, lambda cone: cone.supplier)
            if found is None:
                continue
            for one in found.sources:
                rate = truth[one.name]
                believed += one.low_per_km <= rate <= one.high_per_km
                own += one.own.low_per_km <= rate <= one.own.high_per_km
                worse += one.words == "worse"
                wrongly += one.words == "worse" and rate <= usual
                above += one.own.low_per_km > found.pooled_per_km
        shares = [
            f"{100 * n / (logs * len(numbers)):.1f} %" for n in (believed, own, worse, wrongly)
        ]
        yield (
            f"| {f'{between:.0%}'.replace('%', ' %') if between else 0} "
            f"| {f'{within:.0%}'.replace('%', ' %') if within else 0} "
            f"| {' | '.join(shares)} | {100 * above / (logs * len(numbers)):.1f} % |"
        )


def two_spinners() -> Iterator[str]:
    """Print how often two samples of one spinner are told apart (docs/knots_rates.md)."""
    import numpy as np

    from clew.knots.rate_sources import swap_cones
    from clew.knots.rate_spread import dispersion_test, gamma_fit
    from clew.knots.rate_tests import compare_rates
    from clew.knots.rates import CountedCone

    for number, knots, shape, logs in (
        (3, 4.0, 1.63, 600),
        (10, 2.0, 1.235, 400),
        (30, 2.0, 1.235, 250),
    ):
        rng = np.random.default_rng(1)
        alike = decided = 0
        for _ in range(logs):
            drawn = rng.poisson(knots * rng.gamma(shape, 1.0 / shape, 2 * number)).tolist()
            cones = [
                CountedCone(f"{place}", "Beck" if place < number else "Fell", "", 1500.0, 250.0, n)
                for place, n in enumerate(drawn)
            ]
            first, second = sum(drawn[:number]), sum(drawn[number:])
            if first + second == 0:
                continue
            by_counts = compare_rates(first, 6.0 * number, second, 6.0 * number).p_value <= 0.05
            spread, fit = dispersion_test(cones, seed=1), gamma_fit(cones)
            differ = (spread is not None and spread.p_drawn <= 0.05) or (
                fit is not None and fit.shape_high is not None
            )
            swapped = swap_cones(cones[:number], cones[number:]).p_value <= 0.05
            alike += by_counts
            decided += swapped if differ else by_counts
        yield (
            f"| {number} | {knots:g} | {shape:g} | {100 * alike / logs:.0f} % "
            f"| {100 * decided / logs:.1f} % |"
        )


TABLES = {
    "wind-bands": wind_bands,
    "cones-needed": cones_needed,
    "in-step": in_step,
    "spinners": spinners,
    "two-spinners": two_spinners,
}


def main() -> None:
    """Print the tables asked for, or all."""
    for name in sys.argv[1:] or TABLES:
        for row in TABLES[name]():
            print(row, flush=True)


if __name__ == "__main__":
    main()
