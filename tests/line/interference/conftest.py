"""Plain event simulations of machines and hands, the slow and obvious way."""

from __future__ import annotations

import heapq
import random
from collections.abc import Callable

import pytest

Draw = Callable[[random.Random], float]


def _served_in_order(
    machines: int, hands: int, run: Draw, service: Draw, *, stops: int, seed: int
) -> tuple[float, float]:
    """Machines running and mean wait of a stop, from so many stops served in order of stopping."""
    chance = random.Random(seed)
    coming = [(run(chance), machine) for machine in range(machines)]
    heapq.heapify(coming)
    free = [0.0] * hands
    heapq.heapify(free)
    waited = ran = 0.0
    restart = 0.0
    for _ in range(stops):
        stopped, machine = heapq.heappop(coming)
        begin = max(stopped, heapq.heappop(free))
        restart = begin + service(chance)
        heapq.heappush(free, restart)
        runs = run(chance)
        ran += runs
        waited += begin - stopped
        heapq.heappush(coming, (restart + runs, machine))
    return ran / restart, waited / stops


def _patrolled(
    machines: int, run: Draw, service_s: float, step_s: float, *, rounds: int, seed: int
) -> float:
    """Machines running under one hand who walks round them without rest."""
    chance = random.Random(seed)
    stops = [run(chance) for _ in range(machines)]
    now = served = 0.0
    for _ in range(rounds):
        for machine in range(machines):
            now += step_s
            if stops[machine] <= now:
                now += service_s
                served += 1.0
                stops[machine] = now + run(chance)
    return served / now


def _by_seeds(one: Callable[[int], float], seeds: int = 12) -> tuple[float, float]:
    """Mean and standard error over independent runs."""
    found = [one(seed) for seed in range(seeds)]
    mean = sum(found) / seeds
    variance = sum((value - mean) ** 2 for value in found) / (seeds - 1)
    return mean, (variance / seeds) ** 0.5


@pytest.fixture(scope="session")
def served_in_order():
    """Simulate hands who serve stops in order."""
    return _served_in_order


@pytest.fixture(scope="session")
def patrolled():
    """Simulate a hand who walks a round."""
    return _patrolled


@pytest.fixture(scope="session")
def by_seeds():
    """Average independent runs."""
    return _by_seeds
