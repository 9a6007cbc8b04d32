"""A winder's counter shows its own counts; the room thinks in turns of the flyer."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.ball.counter import Counter
from clew.faults import BadInput

counters = st.builds(
    Counter,
    counter_on=st.sampled_from(["flyer", "ball"]),
    turns_per_count=st.floats(0.01, 100.0),
    wind_ratio=st.floats(1.0, 40.0),
)


def test_a_counter_on_the_flyer_shows_turns() -> None:
    counter = Counter("flyer")
    assert counter.turns_of_counts(950) == 950.0
    assert counter.counts_for_turns(950).counts == 950


def test_a_counter_on_the_flyer_does_not_care_about_the_wind_ratio() -> None:
    assert Counter("flyer", 2.0, wind_ratio=20.3).turns_of_counts(10) == 20.0


def test_a_counter_on_the_ball_shows_a_count_for_many_turns() -> None:
    """950 turns at 20.3 turns a revolution are 46.8 revolutions: 47, which give 954.1 turns."""
    setting = Counter("ball", 1.0, wind_ratio=20.3).counts_for_turns(950)
    assert setting.counts == 47
    assert setting.turns == pytest.approx(954.1)


def test_two_counts_a_revolution() -> None:
    setting = Counter("flyer", 0.5).counts_for_turns(101)
    assert (setting.counts, setting.turns) == (202, 101.0)


def test_a_started_count_is_a_whole_count() -> None:
    setting = Counter("flyer", 10.0).counts_for_turns(101)
    assert (setting.counts, setting.turns) == (11, 110.0)


def test_rounding_of_the_computer_adds_no_count() -> None:
    """0.1 × 3 is a hair above 0.3 in the computer; three counts are still three."""
    counter = Counter("flyer", 0.1)
    assert counter.counts_for_turns(0.1 * 3).counts == 3
    assert counter.counts_for_turns(0.7).counts == 7


@given(counters, st.integers(0, 100_000))
def test_counts_to_turns_and_back(counter: Counter, counts: int) -> None:
    assert counter.counts_for_turns(counter.turns_of_counts(counts)).counts == counts


@given(counters, st.floats(0.0, 1e5))
def test_the_fewest_counts_that_are_enough(counter: Counter, turns: float) -> None:
    setting = counter.counts_for_turns(turns)
    hair = 1e-8 * max(1.0, turns, counter.flyer_turns_per_count)
    assert setting.turns >= turns - hair
    if setting.counts:
        assert counter.turns_of_counts(setting.counts - 1) < turns


def test_every_fault_of_a_counter_is_named() -> None:
    with pytest.raises(BadInput) as refused:
        Counter("belt", 0.0, math.nan)  # type: ignore[arg-type]  # a user's mistake
    assert [fault.key for fault in refused.value.faults] == [
        "counter_on",
        "turns_per_count",
        "wind_ratio",
    ]


@pytest.mark.parametrize("amount", [-1.0, math.nan, math.inf])
def test_impossible_amounts_are_refused(amount: float) -> None:
    with pytest.raises(BadInput):
        Counter("flyer").turns_of_counts(amount)
    with pytest.raises(BadInput):
        Counter("flyer").counts_for_turns(amount)
