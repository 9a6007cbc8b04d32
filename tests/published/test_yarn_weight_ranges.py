"""The weight classes against the published ranges their boundaries were drawn from."""

import math

import pytest

from clew.strand.weight_class import BOUNDARIES, suggest_class


@pytest.mark.outside(
    document="Wikipedia, table of yarn weights",
    edition="as read",
    section="metres in 100 g",
    mark="READ",
)
@pytest.mark.parametrize(
    ("category", "low_m", "high_m"),
    [
        (0, 600.0, 800.0),
        (1, 400.0, 480.0),
        (2, 300.0, 400.0),
        (3, 240.0, 300.0),
        (4, 120.0, 240.0),
        (5, 100.0, 130.0),
    ],
)
def test_the_middle_of_a_published_range_is_in_its_class(category, low_m, high_m) -> None:
    assert suggest_class(1e5 / math.sqrt(low_m * high_m)).category == category


@pytest.mark.outside(
    document="Wikipedia, table of yarn weights",
    edition="as read",
    section="metres in 100 g, super bulky below 100",
    mark="READ",
)
def test_below_100_m_is_super_bulky() -> None:
    assert suggest_class(1e5 / 99.9).category == 6
    assert suggest_class(1e5 / 100.1).category == 5


@pytest.mark.outside(
    document="Craft page, wraps per inch of the weight classes (a weak source)",
    edition="as read",
    section="5: 6-9, 6: 5-6, 7: 1-4 wraps",
    mark="READ",
)
def test_the_last_boundary_follows_from_wraps_per_inch() -> None:
    """Diameter as the root of count: 100 m at 6 wraps, so so many metres between 5 and 4 wraps."""
    last = BOUNDARIES[-1].length_m
    assert 100.0 * (4.0 / 6.0) ** 2 < last < 100.0 * (5.0 / 6.0) ** 2
    assert last == pytest.approx(100.0 * 20.0 / 36.0, rel=1e-12)
