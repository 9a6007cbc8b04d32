"""Inputs exact: the ball that is named is the ball the tie lands in, always."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from clew.line.tracker.answer import where_answer
from clew.line.tracker.events import Event
from clew.line.tracker.terms import TrackDoubt, TrackTerms
from metre_line import Habits, MetreLine, Story, Truth, some_terms

EXACT = TrackDoubt()


def a_line(seed: int, **habits) -> tuple[TrackTerms, MetreLine, random.Random]:
    rng = random.Random(seed)
    terms = some_terms(rng)
    kept = Habits(counter=rng.random() < 0.5, first_turns=rng.uniform(0.0, 30.0), **habits)
    return terms, MetreLine(1, terms, Truth(terms.content_m), kept, rng), rng


def compared(events: list[Event], story: Story, terms: TrackTerms, doubt: TrackDoubt, **more):
    """Give each tie's truth and answer."""
    found = where_answer(events, terms, doubt, **more)
    return [
        (story.landed[one.event.name], one) for one in found.ties if one.event.name in story.landed
    ]


def right(landed, answer, terms: TrackTerms, within_m: float = 1.0) -> bool:
    """The ball by name, alone, and the metre in it; at a ball's very end either of two."""
    place = answer.landing.place
    off_m = abs(terms.laid_m(landed.turn) - place.in_ball_m)
    return (
        answer.landing.best.ball == landed.ball == place.ball
        and answer.landing.pull == (landed.ball,)
        and off_m < within_m
    )


def test_hundreds_of_lines_and_never_a_wrong_ball() -> None:
    """Asked at a random moment, so that most ties are on their way or still to be wound in."""
    ties = belt_stops = dry_stops = feed_breaks = coming = 0
    for seed in range(150):
        terms, line, rng = a_line(seed, mend_m=1e9)
        story = line.run(rng.uniform(600.0, 1500.0))
        now_s = rng.uniform(0.3, 1.0) * line.now_s
        for landed, answer in compared(story.events, story, terms, EXACT, at_s=now_s):
            assert right(landed, answer, terms, 0.001), (seed, answer.event, landed)
            assert answer.to_winder_m.middle <= 0.0 or answer.passed_chance <= 0.5
            ties += 1
            coming += landed.at_s > now_s
        belt_stops += story.belt_stops
        dry_stops += story.dry_stops
        feed_breaks += story.feed_breaks
    assert ties > 540
    assert coming > 90
    assert min(belt_stops, dry_stops, feed_breaks) > 300


def test_strand_lost_at_mends_is_no_part_of_a_ball() -> None:
    wasted = wrongly = checked = 0
    for seed in range(40):
        terms, line, _ = a_line(seed, mend_m=60.0, waste_m=5.0, read_s=0.0)
        story = line.run(900.0)
        for landed, answer in compared(story.events, story, terms, EXACT):
            place = answer.landing.place
            assert place.ball == landed.ball, (seed, landed)
            assert place.turn == pytest.approx(landed.turn, abs=0.001), (seed, landed)
            # a tie at the very end of what is pulled off is taken for either
            wasted += landed.waste and place.waste
            wrongly += landed.waste != place.waste
            checked += 1
    assert checked > 100
    assert wasted >= 5
    assert wrongly <= 0.02 * checked


def test_doffs_nobody_told_are_found_from_the_turns() -> None:
    missed = 0
    for seed in range(60):
        rng = random.Random(1000 + seed)
        terms = some_terms(rng)
        habits = Habits(mend_m=1e9, read_s=0.9 * terms.full_m(1) / terms.wind_m_per_s - 1.0)
        if habits.read_s < 2.0:
            continue
        line = MetreLine(1, terms, Truth(terms.content_m), habits, rng)
        story = line.run(900.0)
        told = [one for one in story.events if one.kind != "doff" or rng.random() < 0.5]
        missed += len(story.events) - len(told)
        # a doff that came after the last turns read cannot be known
        last_s = max(one.at_s for one in told if one.kind == "turns")
        for landed, answer in compared(told, story, terms, EXACT, at_s=last_s):
            assert right(landed, answer, terms), (seed, answer.event, landed)
    assert missed > 300


@pytest.mark.parametrize("how", ["content", "dry"])
def test_one_sight_of_the_strand_makes_an_unknown_content_exact(how: str) -> None:
    checked = 0
    for seed in range(30):
        rng = random.Random(2000 + seed)
        terms = some_terms(rng)
        off_m = rng.uniform(-0.4, 0.4) * terms.buffer_m
        habits = Habits(mend_m=1e9, read_s=0.0, counter=True)
        line = MetreLine(1, terms, Truth(terms.content_m + off_m), habits, rng)
        story = line.run(1200.0)
        events = [one for one in story.events if one.kind not in ("dry", "full", "content")]
        if how == "content":
            events.append(Event(0.0, "content", 1, terms.content_m + off_m))
        else:
            events += [one for one in story.events if one.kind == "dry"]
            late = [one for one in events if one.kind == "dry" and one.at_s > terms.passage_s]
            if not late:
                continue
        for landed, answer in compared(events, story, terms, replace(EXACT, content_sd_m=500.0)):
            # a buffer is dry to the metre that is just coming
            assert (
                right(landed, answer, terms, 1.0)
                or landed.turn > 0.97 * terms.full_turns[1]
                or (landed.turn < 0.03 * terms.full_turns[1])
            ), (seed, answer.event, landed)
            checked += 1
    assert checked > 60


def test_a_tie_is_on_the_belt_until_it_is_at_its_end() -> None:
    on_belt = waiting = 0
    for seed in range(70):
        terms, line, _ = a_line(seed, mend_m=1e9, read_s=0.0)
        story = line.run(700.0)
        # a piece is carried whole: its front may be at the belt's end a step before it is
        belt = {
            name
            for _, names, came_s, _ in line.belt
            for name in names
            if came_s - line.belt_s > line.step_s
        }
        buffer = {name for _, names, *_ in line.buffer for name in names}
        for one in where_answer(story.events, terms, EXACT, at_s=line.now_s).ties:
            if one.event.name in belt:
                assert one.station == "belt"
                on_belt += 1
            elif one.event.name in buffer:
                assert one.station == "buffer"
                waiting += 1
            elif one.event.name in story.landed:
                assert one.station == "winder"
    assert min(on_belt, waiting) > 8


def test_metres_to_the_winder_are_what_the_winder_then_winds() -> None:
    """Wait until the tie is wound in: the counter has gone on by just the metres foretold."""
    for seed in range(10):
        terms, line, _ = a_line(seed, mend_m=1e9, read_s=0.0)
        story = line.run(600.0)
        events = list(story.events)
        before = {
            one.event.name: one.to_winder_m.middle
            for one in where_answer(events, terms, EXACT, at_s=line.now_s).ties
            if one.event.name not in story.landed
        }
        whole_m = terms.full_m(1)
        ball, in_ball = line.ball, line.in_ball_m
        line.run(line.now_s + 900.0)
        assert before.keys() <= story.landed.keys()
        for name, metres in before.items():
            landed = story.landed[name]
            wound = (landed.ball - ball) * whole_m + terms.laid_m(landed.turn) - in_ball
            assert metres == pytest.approx(wound, abs=0.01)
