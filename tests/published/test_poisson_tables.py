"""Exact chart limits read off the cumulative Poisson table of the textbooks."""

import pytest

from clew.knots.rate_chart import usual_joins


@pytest.mark.outside(
    document="Cumulative Poisson table, four places, as in textbooks of statistics",
    edition="any",
    section="P(X <= c): m 1: .9810 .9963 at 3, 4; m 2: .9473 .9834 at 4, 5; m 5: .0067 .0404 .1247 "
    "at 0, 1, 2 and .9319 .9682 at 8, 9; m 10: .0293 .0671 at 4, 5 and .9165 .9513 at 14, 15",
    mark="MEMORY",
)
@pytest.mark.parametrize(
    ("mean", "risk", "least", "most"),
    [
        (1.0, 0.01, 0, 4),
        (2.0, 0.05, 0, 5),
        (5.0, 0.05, 2, 9),
        (5.0, 0.07, 2, 8),
        (5.0, 0.01, 1, 11),
        (10.0, 0.05, 5, 15),
    ],
)
def test_limits_stand_where_the_table_crosses_the_risk(
    mean: float, risk: float, least: int, most: int
) -> None:
    """For m = 5 and 1 %: .9863 at 10 and .9945 at 11."""
    assert usual_joins(mean, risk=risk) == (least, most)
