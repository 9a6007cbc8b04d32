"""The compiled loop and a second model, written for simpy from the same text, event for event."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

import random_layouts
import simpy_line
from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import shift_answer
from clew.line.simulate.packing import KIND_ORDER
from clew.line.simulate.shifts import handful
from clew.mill.model import Mill

WINDER = ("winding", "waiting", "doffing", "starved", "broken", "changing", "resting")


def without_ties(layout: Layout) -> Layout:
    """A line on which two things happen at one moment only by an accident of rounding.

    Equal lanes that change colour at one moment run dry at one moment, and equal services end so:
    which of them a hand hears first is then a matter of the last digit. So is a rest that is due
    when a colour is.
    """
    if layout.colour_at_s:
        earlier = tuple(0.987 * at_s for at_s in layout.colour_at_s)
        layout = replace(layout, lanes=1, colour_at_s=earlier)
    return replace(layout, service_cv=max(layout.service_cv, 0.05), warm_up_s=0.0)


def of_loop(layout: Layout, seed: int, replication: int) -> tuple[list[Any], list[Any]]:
    found = handful(layout, seed, replication, 1)
    lanes = [
        {
            "balls": one["balls"],
            "second": one["second_balls"],
            "fed_m": one["laid_m"],
            "wound_m": one["taken_m"] - one["waste_m"],
            "waste_m": one["waste_m"],
            "belt_m": one["belt_m"],
            "buffer_m": one["buffer_m"],
            "stops": one["belt_stops"],
            "cones": one["cones"],
            "ties": one["ties"],
            "feed breaks": one["feed_breaks"],
            "winder breaks": one["wind_breaks"],
            "joins": one["joins"],
            **{f"balls {k}": one["ball_joins"][k] for k in range(3)},
            "winding": one["winder_s"][0],
            "waiting": one["waiting_s"],
            "doffing": one["doffing_s"],
            "starved": one["winder_s"][1],
            "broken": one["broken_s"],
            "changing": one["changing_s"],
            "resting": one["resting_s"],
            **dict(
                zip(
                    ("f full", "f starved", "f broken", "f changing"),
                    one["feed_s"][1:],
                    strict=True,
                )
            ),
        }
        for one in found.lanes[0]
    ]
    hands = [
        {key: one[key] for key in ("serving_s", "walking_s", "resting_s")}
        | {"walked_m": one["walking_s"] * layout.walk_m_per_s}
        for one in found.hands[0]
    ]
    served = dict(zip(KIND_ORDER, found.hands[0]["served"].sum(axis=0), strict=True))
    return lanes, [*hands, served]


def of_simpy(layout: Layout, seed: int, replication: int) -> tuple[list[Any], list[Any]]:
    found = simpy_line.simulate(layout, seed, replication)
    lanes = [
        {
            "balls": one.balls,
            "second": one.second_quality_balls,
            "fed_m": one.fed_m,
            "wound_m": one.wound_m,
            "waste_m": one.waste_m,
            "belt_m": one.on_belt_m,
            "buffer_m": one.buffer_m,
            "stops": one.belt_stops,
            "cones": one.cones,
            "ties": one.ties,
            "feed breaks": one.feed_breaks,
            "winder breaks": one.winder_breaks,
            "joins": one.joins_landed,
            **{f"balls {k}": one.balls_by_joins[k] for k in range(3)},
            **{cause: one.winder_s[cause] for cause in WINDER},
            **{f"f {cause}": seconds for cause, seconds in one.feed_stop_s.items()},
        }
        for one in found.lanes
    ]
    hands = [
        {key: getattr(one, key) for key in ("serving_s", "walking_s", "resting_s", "walked_m")}
        for one in found.hands
    ]
    served = {kind: sum(one.answered[kind] for one in found.lanes) for kind in KIND_ORDER}
    return lanes, [*hands, served]


@pytest.mark.parametrize("batch", range(8))
def test_every_book_of_a_random_line_is_the_same_in_both_models(batch: int) -> None:
    """No book of 40 lines is apart by more than a millionth."""
    rng = np.random.default_rng(100 + batch)
    for number in range(40):
        layout = without_ties(random_layouts.random_layout(rng))
        ours, theirs = of_loop(layout, number, batch), of_simpy(layout, number, batch)
        for mine, other in zip([*ours[0], *ours[1]], [*theirs[0], *theirs[1]], strict=True):
            assert mine == pytest.approx(other, rel=1e-6, abs=1e-5), f"{batch} {number} {layout}"


def test_the_demo_line_is_the_same_in_both_models(demo_mill: Mill) -> None:
    layout = replace(layout_of(demo_mill, "Line 1", "Querl 100", shift_s=7200.0), warm_up_s=0.0)
    for mine, other in zip(of_loop(layout, 7, 0)[0], of_simpy(layout, 7, 0)[0], strict=True):
        assert mine == pytest.approx(other, rel=1e-6, abs=1e-5)


def test_with_chance_of_its_own_the_second_model_gives_the_same_means(demo_mill: Mill) -> None:
    """Another generator, Python's own laws: the means differ by chance alone."""
    layout = layout_of(demo_mill, "Line 1", "Querl 100", shift_s=3600.0, colour_changes=1)
    layout = replace(layout, warm_up_s=0.0)
    answer = shift_answer(layout, replications=400, seed=11)
    shifts = list(simpy_line.shifts(layout, 5, 40, source="python"))
    of_each = {
        "balls": [sum(one.balls for one in shift.lanes) for shift in shifts],
        "laid_m": [sum(one.fed_m for one in shift.lanes) for shift in shifts],
        "waste_m": [sum(one.waste_m for one in shift.lanes) for shift in shifts],
        "ties": [sum(one.ties for one in shift.lanes) for shift in shifts],
        "winder_winding_s": [
            sum(one.winder_s["winding"] for one in shift.lanes) for shift in shifts
        ],
        "winder_waiting_for_doff_s": [
            sum(one.winder_s["waiting"] for one in shift.lanes) for shift in shifts
        ],
        "hand_walking_s": [sum(one.walking_s for one in shift.hands) for shift in shifts],
        "hand_serving_s": [sum(one.serving_s for one in shift.hands) for shift in shifts],
    }
    for name, values in of_each.items():
        ours = answer.measures[name]
        error = np.hypot(
            np.std(values, ddof=1) / len(values) ** 0.5, ours.sd / answer.replications**0.5
        )
        assert abs(np.mean(values) - ours.mean) < 4.0 * error, name
