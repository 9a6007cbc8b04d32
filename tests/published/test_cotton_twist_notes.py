"""Twist contraction of spun cotton as teaching notes give it, twice."""

import pytest

from clew.quantities import convert_count
from clew.strand.plies import resultant_count, spun_cotton_take_up


@pytest.mark.outside(
    document="Teaching notes on twist per inch and twist per metre",
    edition="as read",
    section="contraction % = 2.67 TM - 4.93 (a weak source)",
    mark="READ",
)
@pytest.mark.parametrize(("multiplier", "percent"), [(3.0, 3.08), (4.0, 5.75), (5.0, 8.42)])
def test_contraction(multiplier: float, percent: float) -> None:
    assert 100 * spun_cotton_take_up(multiplier) == pytest.approx(percent, abs=0.005)


@pytest.mark.outside(
    document="Teaching notes on twist per inch and twist per metre",
    edition="as read",
    section="untwisted Ne = 100 Ne/(105 - 2.67 TM) (a weak source)",
    mark="READ",
)
@pytest.mark.parametrize("multiplier", [3.0, 3.5, 4.0, 4.5])
def test_untwisted_count(multiplier: float) -> None:
    """The note rounds 104.93 to 105, so its second form agrees to 0.1 %."""
    take_up = spun_cotton_take_up(multiplier)
    twisted = resultant_count([30.0], "Ne", take_up_frac=take_up)
    assert 100 * twisted / (105 - 2.67 * multiplier) == pytest.approx(30.0, rel=1e-3)
    assert convert_count(twisted, "Ne", "tex") > convert_count(30.0, "Ne", "tex")
