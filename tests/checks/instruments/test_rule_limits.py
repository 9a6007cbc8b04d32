"""What the rules allow the scale, at and about each limit."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.instruments.rule_limits import average_system, class_tolerance_g, us_handbook
from clew.faults import BadInput


def test_an_error_of_a_fifth_is_allowed_and_more_is_not() -> None:
    assert average_system(4.5, error_g=0.9, expanded_g=0.9).allowed
    refused = average_system(4.5, error_g=1.2)
    assert not refused.allowed
    assert refused.requirements[0].words == (
        "error 1.2 g, at most 0.9 g (a fifth of the tolerable 4.5 g)"
    )


def test_what_is_not_known_is_not_held_against_the_scale_but_said() -> None:
    found = average_system(4.5, error_g=0.5)
    assert found.allowed and not found.complete
    assert found.requirements[1].met is None
    assert average_system(4.5, error_g=0.5, expanded_g=0.3).complete


@given(st.floats(0.1, 50.0), st.floats(0.0, 10.0), st.floats(0.0, 1.0))
def test_a_smaller_error_never_turns_yes_into_no(
    deficiency: float, error: float, less: float
) -> None:
    if average_system(deficiency, error_g=error).allowed:
        assert average_system(deficiency, error_g=error * less).allowed


@given(st.floats(1.0, 5000.0), st.floats(0.01, 5.0))
def test_class_two_is_never_looser_than_class_three(load: float, division: float) -> None:
    two, three = (class_tolerance_g(load, division, which) for which in ("II", "III"))
    assert 0.5 * division <= two <= three <= 2.5 * division


def test_equality_is_within_in_spite_of_binary_fractions() -> None:
    assert us_handbook(0.6, 0.1, load_g=50.0).requirements[0].met
    assert not us_handbook(0.6, 0.1001, load_g=50.0).requirements[0].met


def test_an_error_below_zero_counts_by_its_size() -> None:
    assert not us_handbook(7.2, 0.1, load_g=100.0, error_g=-0.2).allowed


@pytest.mark.parametrize(
    "make",
    [
        lambda: average_system(0.0),
        lambda: average_system(math.inf),
        lambda: average_system(4.5, error_g=-0.1),
        lambda: average_system(4.5, expanded_g=math.nan),
        lambda: us_handbook(7.2, 0.0, load_g=100.0),
        lambda: us_handbook(7.2, 0.1, load_g=-100.0),
        lambda: us_handbook(7.2, 0.1, load_g=100.0, capacity_g=50.0),
    ],
)
def test_impossible_figures_are_refused(make) -> None:
    with pytest.raises(BadInput):
        make()


def test_a_division_too_coarse_for_the_error_is_refused_by_the_average_rules_too() -> None:
    assert average_system(4.5, division_g=1.8).allowed
    refused = average_system(4.5, division_g=100.0)
    assert not refused.allowed
    assert "half a division 50 g" in refused.requirements[2].words
    with pytest.raises(BadInput):
        average_system(4.5, division_g=0.0)
