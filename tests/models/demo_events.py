"""The demo mill's line_events.csv: an invented half hour of its line, lane by lane.

    .venv/bin/python tests/models/demo_events.py > src/clew/mill/demo/line_events.csv

writes it; a test holds the shipped file to this.
"""

from __future__ import annotations

import math
import random
from dataclasses import replace
from importlib import resources

from clew.ball.counter import Counter
from clew.cli.line.events_file import show_clock
from clew.line.layout_from_mill import layout_of
from clew.line.tracker.events import Event
from clew.line.tracker.from_mill import track_terms
from clew.mill import mill_from_text
from metre_line import Habits, Landed, MetreLine, Truth

SEED = 7
FROM_S = 5 * 3600.0 + 30 * 60.0
LASTS_S = 32 * 60.0
COLOUR_AT_S = 26 * 60.0


def demo_lines() -> tuple[list[Event], dict[str, Landed], dict[int, Counter]]:
    """What is told of six lanes, where their ties came to lie, and their counters."""
    text = (resources.files("clew.mill") / "demo" / "mill.toml").read_text(encoding="utf-8")
    mill = mill_from_text(text)
    names = ("Line 1", "Querl 100", "SL-207")
    terms, _, counters = track_terms(mill, *names)
    layout = layout_of(mill, *names)
    told: list[Event] = []
    landed: dict[str, Landed] = {}
    shrink = random.Random(SEED).gauss(0.0, 0.004)
    for lane in range(1, terms.lanes + 1):
        rng = random.Random(100 * SEED + lane)
        truth = Truth(
            content_m=terms.content_m + rng.gauss(0.0, 120.0), feed_slip=rng.gauss(0.0, 0.003),
            feed_walk_m=2.0, shrink_error=shrink, turn_error=rng.gauss(0.0, 0.005),
            strand_walk_m=1.0, ball_cv=0.003,
        )  # fmt: skip
        habits = Habits(
            doff_s=9.0, cone_m=terms.cone_m, cone_cv=0.025, feed_break_m=20_000.0, mend_m=60_000.0,
            loose_m=layout.loose_m, go_m=layout.go_m, read_s=30.0, colour_at_s=(COLOUR_AT_S,),
            first_turns=rng.uniform(0.0, 250.0), first_ball=40 + lane,
        )  # fmt: skip
        line = MetreLine(lane, terms, truth, habits, rng)
        line.next_cone_m = rng.uniform(0.1, 1.0) * terms.cone_m
        story = line.run(LASTS_S)
        told += as_told(story.events, story.landed, habits.first_ball, rng)
        line.run(LASTS_S + 900.0)
        landed |= story.landed
    told.sort(key=lambda one: one.at_s)
    return told, landed, counters


def as_told(
    events: list[Event], landed: dict[str, Landed], first_ball: int, rng: random.Random
) -> list[Event]:
    """What hands and counters report of one lane: not every doff, only some ties seen."""
    told = []
    first = True
    for one in events:
        if one.kind == "turns" and first:
            told.append(replace(one, ball=first_ball))
            first = False
        elif one.kind == "doff" and rng.random() < 0.03:
            continue
        elif one.kind == "colour":
            told.append(replace(one, name="Bracken"))
        else:
            told.append(one)
        if one.name in landed and not landed[one.name].waste and rng.random() < 0.6:
            at = landed[one.name]
            told.append(Event(at.at_s + rng.uniform(0.0, 0.5), "seen", one.lane, at.turn, at.ball))
    return told


def rows() -> list[str]:
    told, _, counters = demo_lines()
    found = ["at,lane,event,counts,metres,ball,name"]
    for one in told:
        counts = metres = ""
        if one.value is not None and one.kind in ("turns", "doff", "seen", "dry", "full"):
            per_count = counters[one.lane].flyer_turns_per_count
            counts = str(math.floor(one.value / per_count + 1e-6))
        elif one.value is not None:
            metres = f"{one.value:.1f}"
        name = one.name if one.kind == "colour" else ""
        ball = "" if one.ball is None else str(one.ball)
        lane = str(one.lane) if one.lane else ""
        found.append(
            f"{show_clock(FROM_S + one.at_s)},{lane},{one.kind},{counts},{metres},{ball},{name}"
        )
    return found


if __name__ == "__main__":
    print("\n".join(rows()))
