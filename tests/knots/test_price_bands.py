"""The band of a share where few of the drawn strands have a join, reckoned by hand."""

from __future__ import annotations

import pytest

from clew.knots.cutting import CutPrices, FirstRule
from clew.knots.price import Band, LimitQuestion, price_of_limits
from clew.knots.price_strands import draw_marked
from clew.knots.sources import Sources

RARE = LimitQuestion(
    sources=Sources(0.00001), rule=FirstRule(100.0, 0, 5.0, 0.1), limits=(0,),
    prices=CutPrices(6.0, 3.0, 0.0005, 0.02), ball_mass_g=50.0, breaks_band=(1.0, 1.0),
    strand_m=25_000.0, seed=3,
)  # fmt: skip


def ends(band: Band) -> tuple[float, float, float]:
    return band.low, band.value, band.high


def test_the_band_of_a_share_keeps_between_none_and_all() -> None:
    """Two of 250 balls of one strand are second-quality, none of the other seven strands.

    That one has joins 71.1 m and 88.7 m into a ball and 43.75 m to spare; the only other join is
    29.0 m into a ball of a strand with 56.25 m to spare, which drops them and loses no ball.
    A mean of seven nothings and d has d/8 as value and as standard error; Student's point is 2.365.
    """
    strands = draw_marked(RARE)
    into_ball = [(strand.knots.positions_m % 100.0).tolist() for strand in strands]
    assert into_ball[3] == pytest.approx([71.1, 88.7], abs=0.05)
    assert into_ball[4] == pytest.approx([29.0], abs=0.05)
    assert not any(into_ball[:3] + into_ball[5:])
    found = price_of_limits(RARE).rows[0]
    each = 2.0 / 250.0 / 8.0
    few, most = (0.0, each, 3.365 * each), (1.0 - 3.365 * each, 1.0 - each, 1.0)
    assert ends(found.second_share) == pytest.approx(few, abs=1e-12)
    assert ends(found.yield_frac) == pytest.approx(most, abs=1e-12)
    assert ends(found.first_share) == pytest.approx(most, abs=1e-12)
    assert ends(found.waste_frac) == (0.0, 0.0, 0.0)
