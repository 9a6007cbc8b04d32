"""The time before the shift: it is run and not counted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import random_layouts
from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import shift_answer
from clew.line.simulate.measures import imbalance_m
from clew.line.simulate.shifts import handful
from clew.mill.model import Mill

COUNTS = (
    "balls", "second_balls", "laid_m", "taken_m", "belt_stops", "cones", "ties", "feed_breaks",
    "wind_breaks", "joins", "waiting_s", "doffing_s", "broken_s",
)  # fmt: skip


def lines() -> list[Layout]:
    rng = np.random.default_rng(77)
    drawn = [random_layouts.random_layout(rng) for _ in range(150)]
    plain = {"breaks": 0, "colour_at_s": (), "mend_waste_m": 0.0, "warm_up_s": 0.0}
    # Equal services end together, and then a last digit decides whom a hand hears first.
    return [replace(one, service_cv=max(one.service_cv, 0.05), **plain) for one in drawn]


def test_a_shift_after_its_warm_up_is_the_rest_of_a_longer_one() -> None:
    """What a long shift does, less what its beginning does, is what the end of it does."""
    for seed, one in enumerate(lines()):
        warm = replace(one, shift_s=0.6 * one.shift_s, warm_up_s=0.4 * one.shift_s)
        whole = handful(one, seed, 0, 1).lanes[0]
        beginning = handful(replace(one, shift_s=0.4 * one.shift_s), seed, 0, 1).lanes[0]
        rest = handful(warm, seed, 0, 1).lanes[0]
        for name in COUNTS:
            assert rest[name] == pytest.approx(whole[name] - beginning[name], rel=1e-6, abs=1e-5), (
                name,
                one,
            )
        feed_s = whole["feed_s"] - beginning["feed_s"]
        assert rest["feed_s"] == pytest.approx(feed_s, rel=1e-6, abs=1e-5)


def test_books_hold_after_a_warm_up() -> None:
    """Every second and metre of the shift alone, with rests, colours and waste."""
    rng = np.random.default_rng(78)
    for seed in range(300):
        one = replace(random_layouts.random_layout(rng), warm_up_s=float(rng.uniform(1.0, 600.0)))
        found = handful(one, seed, 0, 1)
        lanes = found.lanes
        causes = ("waiting_s", "doffing_s", "broken_s", "changing_s", "resting_s")
        winder_s = lanes["winder_s"][:, :, :2].sum(axis=2) + sum(lanes[cause] for cause in causes)
        assert winder_s == pytest.approx(one.shift_s, rel=1e-9), one
        assert lanes["feed_s"].sum(axis=2) == pytest.approx(one.shift_s, rel=1e-9), one
        came_m = np.maximum(lanes["initial_m"] + lanes["laid_m"], 1.0)
        assert np.abs(imbalance_m(found) / came_m).max() < 1e-9, one
        for cause in (*causes, "waste_m"):
            assert lanes[cause].min() > -1e-6, (cause, one)
        hands = found.hands
        busy_s = hands["serving_s"] + hands["walking_s"] + hands["resting_s"]
        assert busy_s.max() < one.shift_s * (1.0 + 1e-9), one
        assert hands["serving_s"].min() > -1e-9


def test_a_shift_begins_as_a_shift_ends(demo_mill: Mill) -> None:
    """Without the warm-up four hands wind the half-full buffers away, and more than is fed."""
    layout = replace(layout_of(demo_mill, "Line 1", "Querl 100", hands=4), breaks=0)
    told = shift_answer(layout, replications=60, seed=5)
    cold = shift_answer(replace(layout, warm_up_s=0.0), replications=60, seed=5)
    fed = told.measures["laid_m"].mean / layout.ball_m
    assert abs(told.balls.mean - fed) < 0.002 * fed
    assert cold.balls.low > cold.measures["laid_m"].mean / layout.ball_m
