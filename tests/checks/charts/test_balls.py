"""Balls as a chart takes them: in order of time, in groups, what is missing left out and said."""

from __future__ import annotations

import numpy as np
import pytest

from clew.checks.charts.balls import balls_of, grouped, one_by_one
from clew.checks.condition import Condition
from clew.checks.weighings import Factor, Weighings
from clew.faults import BadInput


def table(**numbers: list[float]) -> Weighings:
    """Six balls of two winders, written out of their order in time."""
    factors = {
        "winder": Factor(np.array([0, 1, 0, 1, 0, 1], np.int32), ("1", "2")),
        "group": Factor(np.array([0, 0, 0, 1, 1, -1], np.int32), ("a", "b")),
    }
    columns = {name: np.array(values) for name, values in numbers.items()}
    return Weighings(6, columns, factors)


TIMES = [60.0, 0.0, 120.0, 180.0, 240.0, 300.0]
MASSES = [101.0, 102.0, 103.0, 104.0, 105.0, 106.0]


def test_balls_stand_in_the_order_of_their_time() -> None:
    found = balls_of(
        table(mass_g=MASSES, time_s=TIMES), "mass", "winder", use_groups=False, clocks=True
    )
    assert found.values.tolist() == [102.0, 101.0, 103.0, 104.0, 105.0, 106.0]
    mine = grouped(found, 3, maker=0)
    assert mine.values.tolist() == [101.0, 103.0, 105.0]
    assert mine.clocks == ("00:01",)


def test_a_ball_without_a_value_or_a_group_is_left_out_and_said() -> None:
    masses = [*MASSES[:4], float("nan"), MASSES[5]]
    found = balls_of(table(mass_g=masses), "mass", "all", use_groups=True)
    assert found.cautions == ("1 ball has no mass: left out.", "1 ball in no group: left out.")
    mine = grouped(found, 5)
    assert mine.names == ("a", "b")
    assert mine.places.tolist() == [0, 0, 0, 1]
    assert one_by_one(found).groups is None


def test_gross_mass_takes_the_tare_it_is_told() -> None:
    gross = table(gross_g=[one + 2.0 for one in MASSES])
    with pytest.raises(BadInput, match="without a tare"):
        balls_of(gross, "mass", "all", use_groups=False)
    found = balls_of(gross, "mass", "all", use_groups=False, stated=Condition(tare_g=2.0))
    assert found.values.tolist() == MASSES
    assert "tare of 2 g" in found.condition


@pytest.mark.parametrize(
    ("value", "by", "words"),
    [
        ("length", "all", "a column is missing"),
        ("mass", "lane", "a column is missing"),
    ],
)
def test_what_is_not_there_is_said(value: str, by: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        balls_of(table(mass_g=MASSES), value, by, use_groups=False)


def test_no_ball_with_a_value_is_said() -> None:
    with pytest.raises(BadInput, match="no ball with a mass"):
        balls_of(table(mass_g=[float("nan")] * 6), "mass", "all", use_groups=False)
