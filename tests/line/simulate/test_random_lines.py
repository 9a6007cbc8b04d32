"""Lines of every legal sort: no hang, no metre lost, no second twice; illegal ones are refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import random_layouts
from clew.faults import BadInput
from clew.line.simulate.measures import imbalance_m
from clew.line.simulate.shifts import Handful, handful, shifts

LINES = 3000
RARE = 0.05


def seconds(found: Handful) -> np.ndarray:
    """Seconds of each winder, all causes together."""
    lanes = found.lanes
    causes = ("waiting_s", "doffing_s", "broken_s", "changing_s", "resting_s")
    winding_and_dry = lanes["winder_s"][:, :, :2].sum(axis=2)
    return np.asarray(winding_and_dry + sum(lanes[cause] for cause in causes))


def test_random_lines_end_and_keep_their_books() -> None:
    """Thousands of lines on which full buffers, dry creels, meeting doffs are common.

    The benchmark `line_random` draws a hundred thousand.
    """
    rng = np.random.default_rng(2026)
    seen = dict.fromkeys(("buffer full", "feed starved", "doffs together", "belt stopped"), 0)
    for number in range(LINES):
        layout = random_layouts.random_layout(rng)
        found = handful(layout, number, 0, 1)
        lanes = found.lanes
        assert seconds(found) == pytest.approx(layout.shift_s, rel=1e-9), layout
        assert lanes["feed_s"].sum(axis=2) == pytest.approx(layout.shift_s, rel=1e-9), layout
        came_m = np.maximum(lanes["initial_m"] + lanes["laid_m"], 1.0)
        assert np.abs(imbalance_m(found) / came_m).max() < 1e-9, layout
        for cause in ("waiting_s", "doffing_s", "broken_s", "changing_s", "resting_s", "waste_m"):
            assert lanes[cause].min() > -1e-6, (cause, layout)
        assert lanes["buffer_m"].min() > -1e-6, layout
        assert lanes["level_m"].max() < layout.buffer_m * (1.0 + 1e-9), layout
        hands = found.hands
        busy_s = hands["serving_s"] + hands["walking_s"] + hands["resting_s"]
        assert busy_s.max() < layout.shift_s * (1.0 + 1e-9), layout
        for what, how_often in random_layouts.seen(found).items():
            seen[what] += how_often
    for what, how_often in seen.items():
        assert how_often >= RARE * LINES, what


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("lanes", 0),
        ("hands", 17),
        ("go_m", 0.0),
        ("loose_m", -1.0),
        ("ball_m", float("nan")),
        ("cone_cv", 0.5),
        ("rule", "fastest"),
        ("colour_at_s", (1e9,)),
        ("steam_longest_s", 1e-9),
    ],
)
def test_an_illegal_line_is_refused_with_its_key(key: str, value: object) -> None:
    layout = random_layouts.random_layout(np.random.default_rng(3))
    with pytest.raises(BadInput) as bad:
        next(shifts(replace(layout, **{key: value}), replications=1, seed=1))
    assert key.removesuffix("_longest_s") in " ".join(fault.key for fault in bad.value.faults)


def test_a_line_with_more_under_way_than_can_be_followed_is_refused() -> None:
    """Cones of centimetres put a tie on every centimetre of the belt."""
    layout = replace(
        random_layouts.random_layout(np.random.default_rng(8)),
        shift_s=2000.0,
        feed_m_per_s=10.0,
        wind_m_per_s=12.0,
        passage_s=1500.0,
        cone_m=0.05,
        cone_cv=0.0,
        cones_per_lane=64,
        load_s=0.001,
        service_cv=0.0,
        spacing_m=0.0,
        across_m=0.0,
        feed_breaks_per_km=0.0,
        breaks=0,
        colour_at_s=(),
    )
    with pytest.raises(BadInput, match="under way"):
        next(shifts(layout, replications=1, seed=1))
