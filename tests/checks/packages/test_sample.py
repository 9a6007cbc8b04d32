"""Taking a sample from weighings: tare, names, the condition in words."""

from __future__ import annotations

import math

import numpy as np
import pytest

from clew.checks.condition import Condition
from clew.checks.packages.sample import length_sample, mass_sample
from clew.checks.weighings import Factor, Weighings
from clew.faults import BadInput


def balls(**columns: list[float]) -> Weighings:
    rows = len(next(iter(columns.values())))
    numbers = {name: np.array(values) for name, values in columns.items()}
    return Weighings(rows, numbers, {}, np.arange(2, rows + 2))


def test_the_mean_tare_is_taken_off_every_ball() -> None:
    weighings = balls(gross_g=[51.2, 51.4, 51.0], tare_g=[1.0, 1.2, math.nan])
    found = mass_sample(weighings)
    assert found.contents == pytest.approx([50.1, 50.3, 49.9])
    assert "mean of 2 tares" in found.condition
    assert found.cautions == ("the 2 tares differ: weigh 3 more and take the mean of five",)


def test_each_its_own_tare_where_all_have_one() -> None:
    weighings = balls(gross_g=[51.2, 51.4], tare_g=[1.0, 1.2])
    assert mass_sample(weighings, mean_tare=False).contents == pytest.approx([50.2, 50.2])
    assert mass_sample(weighings).contents == pytest.approx([50.1, 50.3])


def test_a_tare_entered_is_told() -> None:
    found = mass_sample(balls(gross_g=[51.2]), Condition(tare_g=1.2))
    assert found.contents == pytest.approx([50.0])
    assert "entered" in found.cautions[0]
    assert "tare entered" in found.condition


@pytest.mark.parametrize(
    ("weighings", "tare", "words"),
    [
        (balls(gross_g=[51.0]), None, "without a tare"),
        (balls(mass_g=[51.0]), 1.0, "beside net"),
        (balls(mass_g=[51.0, math.nan], gross_g=[math.nan, 52.0]), 1.0, "one kind"),
        (balls(length_m=[51.0]), None, "no column of mass"),
    ],
)
def test_refused(weighings: Weighings, tare: float | None, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        mass_sample(weighings, Condition(tare_g=tare))


def test_carried_to_a_stated_regain_only_when_asked() -> None:
    weighings = balls(mass_g=[50.0], regain_frac=[0.10])
    assert mass_sample(weighings).contents == pytest.approx([50.0])
    found = mass_sample(weighings, Condition("agreed", regain_to_frac=0.15))
    assert found.contents == pytest.approx([50.0 * 1.15 / 1.10])
    assert "15 %" in found.condition


def test_names_are_the_balls_or_their_lines() -> None:
    weighings = balls(length_m=[200.0, math.nan, 199.0])
    named = Weighings(
        3,
        weighings.numbers,
        {"ball": Factor(np.array([0, 1, -1], dtype=np.int32), ("a", "b"))},
        weighings.lines,
    )
    found = length_sample(named)
    assert found.names == ("a", "line 4")
    assert found.left_empty == 1
    assert "the tension of the reel is not in the file" in found.cautions


def test_each_ball_keeps_its_row_of_the_file() -> None:
    """A ball left out for want of a regain must not lend its winder to the next one."""
    weighings = balls(mass_g=[50.0, 50.1, math.nan, 50.3], regain_frac=[0.1, math.nan, 0.1, 0.1])
    condition = Condition("agreed", regain_to_frac=0.12)
    assert mass_sample(weighings, condition).rows.tolist() == [0, 3]
    assert mass_sample(weighings).rows.tolist() == [0, 1, 3]
    gross = balls(gross_g=[52.0, math.nan, 52.2], tare_g=[2.0, 2.0, 2.0])
    assert mass_sample(gross).rows.tolist() == [0, 2]
    assert length_sample(balls(length_m=[math.nan, 200.0])).rows.tolist() == [1]
