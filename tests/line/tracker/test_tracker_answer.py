"""Changes of colour, the words, the plain values, and the demo line held to its truth."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from importlib import resources

import pytest

from clew.line.tracker.answer import where_answer
from clew.line.tracker.events import Event
from clew.line.tracker.from_mill import track_terms
from clew.line.tracker.landing import BallChance
from clew.line.tracker.sighting import weakened_sd
from clew.line.tracker.terms import TrackDoubt
from clew.line.tracker.where_plain import plain_where
from clew.line.tracker.where_words import (
    balls_named,
    balls_words,
    chance,
    change_words,
    minutes,
    recent,
    tie_words,
)
from clew.mill.model import Mill
from demo_events import demo_lines, rows
from metre_line import Habits, MetreLine, Truth, some_terms


def clock(at_s: float) -> str:
    return f"{at_s:.0f} s"


def a_change(seed: int, lanes: int = 3):
    """Change the colour of all lanes of a line, and stop when it is through."""
    rng = random.Random(seed)
    terms = some_terms(rng, lanes=lanes)
    told, landed = [], {}
    for lane in range(1, lanes + 1):
        habits = Habits(mend_m=1e9, read_s=3.0, colour_at_s=(200.0,), cone_m=1e6)
        line = MetreLine(lane, terms, Truth(terms.content_m), habits, random.Random(seed + lane))
        story = line.run(300.0)
        told += story.events
        line.run(1500.0)
        landed |= line.story.landed
    return terms, told, landed


def test_the_mixed_balls_of_all_lanes_are_named() -> None:
    checked = 0
    for seed in range(0, 120, 10):
        terms, told, landed = a_change(seed)
        told = [one for one in told if one.at_s <= 300.0]
        names = {one.name for one in told if one.kind == "colour"}
        if len(names) < 3:
            continue
        told = [replace(one, name="Slate") if one.kind == "colour" else one for one in told]
        found = where_answer(told, terms, TrackDoubt(), at_s=300.0)
        (change,) = found.changes
        assert (change.colour, change.balls, change.without, change.sure) == ("Slate", 3, (), 1.0)
        for one, name in zip(change.lanes, sorted(names), strict=True):
            truth = landed[name]
            assert one.landing.pull == (truth.ball,)
            assert one.old_m == pytest.approx(terms.laid_m(truth.turn), abs=0.01)
            assert one.old_m + one.new_m == pytest.approx(terms.full_m(one.lane))
            checked += 1
        assert change.held_m == pytest.approx(3.0 * terms.full_m(1))
        words = change_words(change)
        assert words.startswith("Change to Slate: 3 mixed balls, one a lane; pull them (sure), ")
        assert words.endswith(" m after steam.")
    assert checked >= 20


def test_a_lane_whose_colour_tie_was_not_told_is_named() -> None:
    terms, told, _ = a_change(20)
    some = [one for one in told if one.at_s <= 300.0 and (one.kind != "colour" or one.lane != 2)]
    change = where_answer(some, terms, TrackDoubt(), at_s=300.0).changes[0]
    assert 2 in change.without
    assert "No colour tie was told of lane" in change_words(change)


def test_all_lanes_together_are_as_sure_as_was_asked() -> None:
    terms, told, _ = a_change(20)
    told = [replace(one, name="Slate") if one.kind == "colour" else one for one in told]
    told = [one for one in told if one.kind not in ("dry", "full")]
    doubt = TrackDoubt(content_sd_m=0.4 * terms.full_m(1) * terms.raw_per_laid)
    for sure in (0.8, 0.95, 0.99):
        found = where_answer(told, terms, doubt, at_s=300.0, sure=sure)
        assert found.changes[0].sure >= sure
        assert found.changes[0].balls > 3


def test_a_sight_that_may_be_of_another_tie_is_worth_less() -> None:
    """Moments of the mixture: S 900, R 100, p 0.9 at the mean: 0.9*90 + 0.1*900 = 171."""
    assert weakened_sd(10.0, 0.0, 30.0, 1.0) == 10.0
    sd = weakened_sd(10.0, 0.0, 30.0, 0.9)
    assert sd is not None
    assert 1.0 / (1.0 / 900.0 + 1.0 / sd**2) == pytest.approx(171.0)
    further = weakened_sd(10.0, 40.0, 30.0, 0.9)
    assert further is not None
    assert further > sd
    assert weakened_sd(10.0, 200.0, 30.0, 0.85) is None


def test_the_shipped_file_is_the_invented_one() -> None:
    shipped = resources.files("clew.mill").joinpath("demo", "line_events.csv")
    assert shipped.read_text(encoding="utf-8").splitlines() == rows()


def test_on_the_demo_line_the_balls_to_pull_hold_the_ties(demo_mill: Mill) -> None:
    terms, doubt, _ = track_terms(demo_mill, "Line 1", "Querl 100", "SL-207")
    told, landed, _ = demo_lines()
    found = where_answer(told, terms, doubt)
    names = {(lane, place): name for lane, place, name in _named(landed)}
    held = []
    for lane in range(1, 7):
        ties = [one for one in found.ties if one.lane == lane]
        for place, one in enumerate(ties, start=1):
            held.append(landed[names[lane, place]].ball in one.landing.pull)
    assert len(held) == 20
    assert sum(held) >= 18


def _named(landed):
    for name in landed:
        lane, place = name.split(".")
        yield int(lane), int(place), name


def test_words_say_where_which_ball_and_when() -> None:
    terms, told, _ = a_change(20)
    found = where_answer(told, terms, TrackDoubt(), at_s=250.0)
    tie = found.ties[0]
    text = tie_words(tie, clock)
    ball = tie.landing.best.ball
    assert text.startswith(f"Pull ball {ball} of winder {tie.winder}, off in ")
    assert ": colour tie of " in text
    assert " m before the winder (" in text
    assert " m, after steam), there in about " in text
    assert " is on the belt, " in text
    assert " is in the dryer, " in tie_words(replace(tie, station="dryer"), clock)
    assert f"it will land in ball {ball}, at turn" in text
    late = where_answer(told, terms, TrackDoubt(), at_s=300.0)
    stood = replace(late.ties[0], in_s=None, off_s=None)
    assert "the winder stands" in tie_words(stood, clock)
    seen = tie_words(replace(tie, seen_s=9.0, off_s=-1.0), clock)
    assert "was seen there at 9 s; it lies in ball" in seen
    assert "off already" in seen
    past = tie_words(replace(tie, passed_chance=0.8), clock)
    assert "is probably past the winder" in past
    assert "is past the winder" in tie_words(replace(tie, passed_chance=1.0), clock)


@pytest.mark.parametrize(
    ("share", "says"), [(1.0, "sure"), (0.997, "99.9 %"), (0.94, "94 %"), (0.0001, "1 %")]
)
def test_a_chance_is_never_rounded_to_certainty(share: float, says: str) -> None:
    assert chance(share) == says


def test_balls_are_named_shortly() -> None:
    assert balls_named((41,)) == "41"
    assert balls_named((41, 42)) == "41 and 42"
    assert balls_named((41, 42, 43)) == "41 to 43"
    assert balls_named((41, 43, 44)) == "41, 43 and 44"
    assert balls_named((41, 42, 43, 44, 46)) == "41 to 44 and 46"
    assert balls_named((40, 42, 43, 44)) == "40 and 42 to 44"
    many = tuple(
        BallChance(n, p, 0.0, 1.0, 1.0) for n, p in ((1, 0.3), (2, 0.4), (3, 0.2), (4, 0.1))
    )
    assert balls_words(many) == "ball 2 (40 %), 1 (30 %), 3 (20 %) or another (10 %)"
    assert balls_words(many[:2]) == "ball 2 (40 %) or 1 (30 %)"
    assert balls_words((BallChance(7, 0.9999, 0.0, 1.0, 1.0),)) == "ball 7"
    assert (minutes(-5.0), minutes(40.0), minutes(150.0)) == ("0 s", "40 s", "2.5 min")


def test_only_ties_that_still_matter_are_told() -> None:
    terms, told, _ = a_change(20)
    more = [Event(0.0, "tie", 1, name="old"), *told]
    found = where_answer(more, terms, TrackDoubt(), at_s=300.0)
    late = replace(found, lanes=tuple(replace(one, ball=one.ball + 99) for one in found.lanes))
    assert recent(late) == ()
    assert len(recent(found)) >= 3


def test_everything_is_plain() -> None:
    terms, told, _ = a_change(20)
    plain = plain_where(where_answer(told, terms, TrackDoubt(content_sd_m=5.0), at_s=300.0))
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    tie = plain["ties"][0]
    assert tie["to_winder_m_interval"][0] < tie["to_winder_m"] < tie["to_winder_m_interval"][1]
    assert sum(tie["balls"].values()) == pytest.approx(1.0, abs=1e-4)
    assert plain["colour_changes"][0]["lanes"][0]["pull"]


def test_a_mill_gives_what_the_tracker_must_know(demo_mill: Mill) -> None:
    terms, doubt, counters = track_terms(demo_mill, "", "Querl 100")
    assert terms.passage_s == pytest.approx(10.0 / 1.1 * 60.0)
    assert sum(takes for _, takes in terms.stations) == pytest.approx(terms.passage_s)
    assert terms.content_m == pytest.approx(terms.passage_s * 5.0 + 0.5 * 900.0 / 0.8)
    assert terms.raw_per_laid == pytest.approx(1.25, rel=0.02)
    assert terms.cone_m == pytest.approx(4000.0)
    assert counters[6].flyer_turns_per_count == pytest.approx(2.038)
    assert terms.full_turns[5] == 10.0 * -(-terms.full_turns[1] // 10)
    assert doubt.shrink_cv == pytest.approx(0.005 / 0.8)
    assert doubt.turn_cv == 0.008
