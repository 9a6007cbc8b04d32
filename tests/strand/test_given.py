"""Numbers that cannot be meant are refused with what was expected."""

import math

import pytest

from clew.faults import BadInput
from clew.strand.given import (
    fraction,
    level_between,
    more_than_zero,
    whole_number,
    zero_or_more,
)


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf, -math.inf])
def test_more_than_zero_refuses(value: float) -> None:
    with pytest.raises(BadInput) as caught:
        more_than_zero(value, "count", "tex")
    (fault,) = caught.value.faults
    assert (fault.key, fault.expected) == ("count", "more than 0")
    assert fault.value == f"{value:g} tex"


@pytest.mark.parametrize("value", [-1e-9, math.nan, math.inf])
def test_zero_or_more_refuses(value: float) -> None:
    with pytest.raises(BadInput, match="0 or more"):
        zero_or_more(value, "twist", "turns/m")


@pytest.mark.parametrize("value", [-0.01, 1.0, 20.0, math.nan])
def test_fraction_refuses_with_its_hint(value: float) -> None:
    with pytest.raises(BadInput, match="below 1; perhaps percent"):
        fraction(value, "shrink", "perhaps percent")


@pytest.mark.parametrize("value", [0.0, 1.0, -0.5, 95.0, math.nan])
def test_a_level_is_between_nothing_and_all(value: float) -> None:
    with pytest.raises(BadInput, match="between 0 and 1"):
        level_between(value)


@pytest.mark.parametrize("value", [0, -2, 1.5, math.nan, math.inf])
def test_whole_number_refuses(value) -> None:
    with pytest.raises(BadInput, match="whole number of 1 or more"):
        whole_number(value, "ends")


def test_good_numbers_pass_unchanged() -> None:
    assert more_than_zero(2.5, "count") == 2.5
    assert zero_or_more(0.0, "twist") == 0.0
    assert fraction(0.0, "shrink") == 0.0
    assert level_between(0.95) == 0.95
    assert whole_number(12, "ends") == 12
