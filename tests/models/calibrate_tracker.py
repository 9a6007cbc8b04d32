"""Many lanes with slip, shrink spread and messages lost, and how often the tracker was right.

    .venv/bin/python tests/models/calibrate_tracker.py 6000

prints the table of the manual page; a second number is the first lane's seed.
"""

from __future__ import annotations

import math
import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace

from clew.line.tracker.events import TIES, Event, in_order
from clew.line.tracker.follow import follow
from clew.line.tracker.landing import landing_of
from clew.line.tracker.terms import TrackDoubt, TrackTerms
from clew.line.tracker.winding import winding_of
from metre_line import Habits, MetreLine, Story, Truth, some_terms

LEVELS = (0.5, 0.8, 0.9, 0.95)


@dataclass
class Asked:
    """One tie of one lane, asked about while it was on its way."""

    stated_best: float
    best_right: bool
    within: dict[float, bool]
    pulled: dict[float, bool]
    stated_pulled: dict[float, float]
    balls_pulled: dict[float, int]
    corrected: bool


def a_doubt(rng: random.Random) -> TrackDoubt:
    return TrackDoubt(
        content_sd_m=rng.uniform(5.0, 60.0),
        feed_cv=rng.uniform(0.0, 0.015),
        feed_walk_m=rng.uniform(0.0, 8.0),
        shrink_cv=rng.uniform(0.0, 0.01),
        turn_cv=rng.uniform(0.0, 0.01),
        wind_walk_m=rng.uniform(0.0, 8.0),
        tie_sd_s=rng.uniform(0.0, 3.0),
        seen_sd_m=rng.uniform(1.0, 4.0),
        sensor_sd_m=rng.uniform(2.0, 5.0),
        unannounced_frac=0.1,
    )


def a_truth(terms: TrackTerms, doubt: TrackDoubt, rng: random.Random) -> Truth:
    """A lane as it may really be, if the doubt is as stated."""
    ball_raw_m = terms.full_m(1) * terms.raw_per_laid
    half = doubt.wind_walk_m / math.sqrt(2.0)
    return Truth(
        content_m=max(rng.gauss(terms.content_m, doubt.content_sd_m), 1.0),
        feed_slip=rng.gauss(0.0, doubt.feed_cv),
        feed_walk_m=doubt.feed_walk_m,
        shrink_error=rng.gauss(0.0, doubt.shrink_cv),
        turn_error=rng.gauss(0.0, doubt.turn_cv),
        strand_walk_m=half,
        passage_off_s=rng.gauss(0.0, 0.7 * doubt.sensor_sd_m) / terms.feed_m_per_s,
        full_off_m=rng.gauss(0.0, 0.7 * doubt.sensor_sd_m),
        ball_cv=half * math.sqrt(ball_raw_m / 1000.0) / ball_raw_m,
    )


def spoiled(story: Story, terms: TrackTerms, doubt: TrackDoubt, rng: random.Random) -> list[Event]:
    """What arrives: some messages never do, some twice, times are a little off."""
    arrived: list[Event] = []
    for one in story.events:
        if one.kind == "doff" and rng.random() < 0.2:
            continue
        if one.kind in TIES:
            landed = story.landed.get(one.name)
            told = rng.random() >= doubt.unannounced_frac
            if told:
                late = 0.0 if one.value is not None else rng.gauss(0.0, doubt.tie_sd_s)
                arrived.append(replace(one, at_s=one.at_s + late))
            if landed is not None and not landed.waste and rng.random() < 0.5:
                arrived.append(seen(one, landed, told, terms, doubt, rng))
            continue
        arrived.append(one)
        if rng.random() < 0.05:
            arrived.append(one)
    rng.shuffle(arrived)
    return arrived


def seen(tie, landed, told, terms: TrackTerms, doubt: TrackDoubt, rng: random.Random) -> Event:
    off_m = rng.gauss(0.0, doubt.seen_sd_m) / terms.raw_per_laid
    name = tie.name if told and rng.random() < 0.5 else ""
    laid = terms.laid_m(landed.turn) + off_m
    if rng.random() < 0.5 and 0.0 < laid < terms.full_m(1):
        turns = terms.turns_of(laid)
        return Event(landed.at_s, "seen", tie.lane, turns, name=name)
    return Event(landed.at_s + off_m / terms.wind_m_per_s, "seen", tie.lane, name=name)


def asked(seeds: range) -> Iterator[Asked]:
    """Ask each lane about its latest tie at one moment."""
    for seed in seeds:
        rng = random.Random(seed)
        terms = some_terms(rng)
        doubt = a_doubt(rng)
        habits = Habits(
            counter=rng.random() < 0.5, first_turns=rng.uniform(0.0, 30.0),
            sensors=rng.random() < 0.5, doff_s=rng.uniform(3.0, 15.0), waste_m=1.0,
        )  # fmt: skip
        habits.read_s = 0.8 * terms.full_m(1) / terms.wind_m_per_s
        line = MetreLine(1, terms, a_truth(terms, doubt, rng), habits, rng)
        now_s = rng.uniform(300.0, 1800.0)
        story = line.run(now_s)
        arrived = spoiled(story, terms, doubt, rng)
        told = [one for one in arrived if one.kind in TIES and one.at_s <= now_s]
        if not told:
            continue
        tie = max(told, key=lambda one: one.at_s)
        while tie.name not in story.landed and line.now_s < now_s + 3600.0:
            line.run(line.now_s + 60.0)
        if tie.name not in story.landed:
            continue
        yield judged(story, arrived, tie, terms, doubt, now_s)


def judged(
    story: Story,
    arrived: list[Event],
    tie: Event,
    terms: TrackTerms,
    doubt: TrackDoubt,
    now_s: float,
) -> Asked:
    landed = story.landed[tie.name]
    whole = winding_of(in_order(story.events), 1, terms)
    assert whole is not None
    true_m = whole.wound_at_turns(landed.at_s, landed.turn, landed.ball, terms)
    assert true_m is not None
    found = follow(in_order(arrived, now_s), terms, doubt, now_s)
    lane = found.lanes[1]
    followed = next(one for one in lane.ties if one.event.name == tie.name)
    by_level = {
        level: landing_of(followed, lane, found.joint, terms, sure=level) for level in LEVELS
    }
    best = by_level[0.95].best
    return Asked(
        stated_best=best.chance,
        best_right=best.ball == landed.ball,
        within={level: one.low_m <= true_m <= one.high_m for level, one in by_level.items()},
        pulled={level: landed.ball in one.pull for level, one in by_level.items()},
        stated_pulled={level: one.pull_chance for level, one in by_level.items()},
        balls_pulled={level: len(one.pull) for level, one in by_level.items()},
        corrected=any(one.kind == "seen" for one in arrived if one.at_s <= now_s),
    )


def mean(values) -> float:
    listed = list(values)
    return sum(listed) / len(listed)


def table(found: list[Asked]) -> str:
    lines = [f"{len(found)} ties, one of each lane"]
    stated, right = mean(a.stated_best for a in found), mean(a.best_right for a in found)
    lines.append(f"the ball named first: stated {stated:.1%}, right {right:.1%}")
    for low, high in ((0.0, 0.5), (0.5, 0.8), (0.8, 0.95), (0.95, 0.999), (0.999, 1.01)):
        some = [a for a in found if low <= a.stated_best < high]
        if some:
            right = mean(a.best_right for a in some)
            lines.append(
                f"  stated {low:.3g} to {min(high, 1.0):.3g}: {len(some)} ties, mean "
                f"{mean(a.stated_best for a in some):.1%}, right {right:.1%}"
            )
    for level in LEVELS:
        lines.append(
            f"{level:.0%}: interval holds it {mean(a.within[level] for a in found):.1%}; balls to "
            f"pull hold it {mean(a.pulled[level] for a in found):.1%}, stated "
            f"{mean(a.stated_pulled[level] for a in found):.1%}, "
            f"{mean(a.balls_pulled[level] for a in found):.2f} balls"
        )
    return "\n".join(lines)


if __name__ == "__main__":
    number, first = (int(one) for one in (*sys.argv[1:], "0")[:2])
    print(table(list(asked(range(first, first + number)))))
