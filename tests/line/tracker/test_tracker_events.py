"""Messages come late, twice and mixed up: the answer is the same."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.line.tracker.answer import WhereAnswer, where_answer
from clew.line.tracker.events import KINDS, Event, event_fault, in_order
from clew.line.tracker.terms import TrackDoubt, TrackTerms
from metre_line import Habits, MetreLine, Truth, some_terms

DOUBT = TrackDoubt(
    content_sd_m=40.0, feed_cv=0.005, feed_walk_m=3.0, shrink_cv=0.004, turn_cv=0.005,
    wind_walk_m=3.0, tie_sd_s=1.0, seen_sd_m=2.0, sensor_sd_m=3.0,
)  # fmt: skip


def some_events(seed: int, lane: int = 1, until_s: float = 500.0):
    rng = random.Random(seed)
    terms = some_terms(rng, lanes=3)
    line = MetreLine(lane, terms, Truth(terms.content_m), Habits(), rng)
    return terms, line.run(until_s).events


@settings(max_examples=25)
@given(st.integers(0, 50), st.randoms(use_true_random=False))
def test_the_order_of_arrival_and_repeats_change_nothing(seed: int, chance: random.Random) -> None:
    terms, events = some_events(seed)
    before = where_answer(events, terms, DOUBT)
    mixed = events + [one for one in events if chance.random() < 0.3]
    chance.shuffle(mixed)
    assert where_answer(mixed, terms, DOUBT) == before


@settings(max_examples=15)
@given(st.integers(0, 50))
def test_messages_without_a_key_are_known_by_what_they_say(seed: int) -> None:
    terms, events = some_events(seed)
    bare = [replace(one, key="") for one in events]
    assert where_answer(bare + bare, terms, DOUBT) == where_answer(bare, terms, DOUBT)


@settings(max_examples=15)
@given(st.integers(0, 50), st.floats(50.0, 400.0))
def test_what_happened_later_is_not_used(seed: int, now_s: float) -> None:
    terms, events = some_events(seed)
    early = [one for one in events if one.at_s <= now_s]
    assert where_answer(events, terms, DOUBT, at_s=now_s) == where_answer(
        early, terms, DOUBT, at_s=now_s
    )


@settings(max_examples=10)
@given(st.integers(0, 50))
def test_another_lane_that_saw_nothing_changes_nothing(seed: int) -> None:
    terms, events = some_events(seed)
    _, others = some_events(seed + 100, lane=2)
    quiet = [one for one in others if one.lane == 2 and one.kind not in ("dry", "full")]
    alone = where_answer(events, terms, DOUBT, at_s=500.0)
    both = where_answer(events + quiet, terms, DOUBT, at_s=500.0)
    assert tuple(one for one in both.ties if one.lane == 1) == alone.ties


@settings(max_examples=25)
@given(st.integers(0, 200))
def test_ties_arrive_in_the_order_in_which_they_were_fed(seed: int) -> None:
    terms, events = some_events(seed)
    middles = [one.landing.middle_m for one in where_answer(events, terms, DOUBT).ties]
    assert all(later > sooner - 1e-6 for sooner, later in pairwise(middles))


def widths(found: WhereAnswer) -> dict[str, float]:
    return {
        one.event.name: one.landing.high_m - one.landing.low_m
        for one in found.ties
        if one.seen_s is None
    }


@settings(max_examples=25)
@given(st.integers(0, 200))
def test_whatever_is_seen_of_the_strand_never_makes_it_less_sure(seed: int) -> None:
    terms, events = some_events(seed)
    blind = [one for one in events if one.kind not in ("dry", "full")]
    content = Event(400.0, "content", 1, terms.content_m)
    before = widths(where_answer(blind, terms, DOUBT))
    for more in ([content], [one for one in events if one.kind in ("dry", "full")]):
        after = widths(where_answer(blind + more, terms, DOUBT))
        assert all(after[name] <= before[name] * 1.0001 for name in before)
    assert all(
        width < before[name] - 1.0
        for name, width in widths(where_answer([*blind, content], terms, DOUBT)).items()
    )


def test_a_tie_seen_makes_the_next_one_surer_and_lies_where_it_was_seen() -> None:
    terms, events = some_events(3, until_s=1200.0)
    blind = [one for one in events if one.kind not in ("dry", "full")]
    found = where_answer(blind, terms, DOUBT)
    past = [one for one in found.ties if one.passed_chance > 0.99]
    first, turns = past[0], terms.turns_of(past[0].landing.place.in_ball_m)
    at_s = next(
        one.at_s
        for one in blind
        if one.kind == "doff" and one.at_s > first.event.at_s + terms.passage_s
    )
    seen = Event(
        at_s, "seen", 1, turns, ball=first.landing.place.ball, name=first.event.name, key="s"
    )
    after = where_answer([*blind, seen], terms, DOUBT)
    answer = next(one for one in after.ties if one.event.name == first.event.name)
    assert answer.seen_s == at_s
    assert answer.landing.best.ball == first.landing.place.ball
    assert answer.landing.place.turn == pytest.approx(turns, abs=0.01)
    before, now = widths(found), widths(after)
    assert all(now[name] < before[name] for name in now)


def test_a_tie_seen_later_by_name_tells_which_one_was_seen_before() -> None:
    """Ties 50 m apart, 60 m unsure: alone the first sight may be of either."""
    terms = TrackTerms(
        lanes=1, feed_m_per_s=5.0, wind_m_per_s=4.0, shrink_frac=0.2, strain_frac=0.0,
        passage_s=100.0, buffer_m=200.0, knot_turns=np.array([0.0, 100.0]),
        knot_laid_m=np.array([0.0, 200.0]), full_turns={1: 100.0}, content_m=600.0,
    )  # fmt: skip
    doubt = TrackDoubt(content_sd_m=60.0, seen_sd_m=1.0, unannounced_frac=0.05)
    told = [
        Event(0.0, "turns", 1, 0.0), Event(10.0, "tie", 1, name="a"),
        Event(20.0, "tie", 1, name="b"), Event(50.0, "doff", 1), Event(100.0, "doff", 1),
        Event(130.0, "seen", 1, 60.0), Event(145.0, "turns", 1, 90.0),
    ]  # fmt: skip
    alone = where_answer(told, terms, doubt)
    assert [one.seen_s for one in alone.ties] == [None, None]
    assert any("may be more than one tie" in note for note in alone.notes)
    named = where_answer([*told, Event(140.0, "seen", 1, 80.0, name="b")], terms, doubt)
    assert [one.seen_s for one in named.ties] == [130.0, 140.0]
    assert named.notes == ()


def test_two_unlike_messages_with_one_key_are_refused() -> None:
    one = Event(1.0, "doff", 1, key="a")
    assert in_order([one, one]) == (one,)
    with pytest.raises(BadInput, match="two unlike messages"):
        in_order([one, replace(one, at_s=2.0)])


@pytest.mark.parametrize(
    ("event", "says"),
    [
        (Event(0.0, "knot", 1), "no such event"),  # type: ignore[arg-type]
        (Event(float("nan"), "doff", 1), "no time"),
        (Event(0.0, "doff", 0), "no lane"),
        (Event(0.0, "turns", 1), 'turns" without counts'),
        (Event(0.0, "feed", 1), 'feed" without metres'),
        (Event(0.0, "feed", 1, -1.0), "no reading"),
        (Event(0.0, "turns", 1, float("inf")), "no reading"),
    ],
)
def test_an_event_that_cannot_be_is_refused(event: Event, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        in_order([event])


def test_an_event_of_every_kind_is_taken() -> None:
    for kind in KINDS:
        assert event_fault(Event(0.0, kind, 1, 1.0)) is None


def test_nothing_is_said_of_nothing() -> None:
    terms, events = some_events(1)
    with pytest.raises(BadInput, match="nothing had happened"):
        where_answer([], terms, DOUBT)
    with pytest.raises(BadInput, match="nothing had happened"):
        where_answer(events, terms, DOUBT, at_s=-1.0)
    with pytest.raises(BadInput, match="no such lane"):
        where_answer([Event(0.0, "doff", 4)], terms, DOUBT)
    with pytest.raises(BadInput, match="out of reach"):
        where_answer(events, terms, DOUBT, sure=0.2)


def test_a_lane_whose_winder_is_silent_is_named() -> None:
    terms, _ = some_events(1)
    found = where_answer([Event(0.0, "tie", 2)], terms, DOUBT)
    assert found.ties == ()
    assert found.notes == ("Lane 2: no turns and no doff of its winder; not followed.",)


def test_a_log_that_contradicts_itself_still_gets_an_answer() -> None:
    """Any events in any order: chances add up, and there is always a ball to pull."""
    ties = 0
    for seed in range(60):
        rng = random.Random(seed)
        terms = some_terms(rng, lanes=2)
        odd = [
            Event(
                float(rng.randint(0, 600)), rng.choice(KINDS), rng.choice((1, 1, 2)),
                rng.choice((None, 0.0, rng.uniform(0.0, 400.0))),
                rng.choice((None, None, rng.randint(1, 9))), rng.choice(("", "a")),
            )
            for _ in range(rng.randint(5, 40))
        ]  # fmt: skip
        events = [one for one in odd if event_fault(one) is None]
        for one in where_answer(events, terms, DOUBT).ties:
            assert sum(ball.chance for ball in one.landing.balls) == pytest.approx(1.0, abs=1e-3)
            assert one.landing.pull
            ties += 1
    assert ties > 100
