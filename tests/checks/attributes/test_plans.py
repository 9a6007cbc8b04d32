"""Plans themselves, and those designed from two points."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.attributes.curves import chance_accepted, curve
from clew.checks.attributes.design import Points, design_double, design_single, design_zero
from clew.checks.attributes.plans import double_plan, single_plan
from clew.faults import BadInput


@pytest.mark.parametrize(
    ("numbers", "match"),
    [
        ((10, 0, 1, 10, 1), "no second drawing"),
        ((10, 0, 3, 10, 1), "decides nothing"),
        ((10, 0, 3, 10, 20), "decides nothing"),
        ((0, 0, 2, 10, 1), "balls drawn first"),
        ((10, 0, 2, 2_000_000, 1), "too many balls"),
        ((1000, 0, 900, 1000, 950), "too wide"),
    ],
)
def test_what_is_no_double_plan(numbers: tuple[int, int, int, int, int], match: str) -> None:
    with pytest.raises(BadInput, match=match):
        double_plan(*numbers)


def test_a_plan_that_accepts_every_lot_is_refused() -> None:
    with pytest.raises(BadInput, match="accepts every lot"):
        single_plan(2, 2)


def test_words() -> None:
    assert single_plan(1, 0).words == "Draw 1 ball: accept at no bad ball, reject at 1."
    assert double_plan(30, 1, 3, 30, 4).words == (
        "Draw 30 balls: accept at 1 bad or fewer, reject at 3 or more. In between draw 30 more: "
        "accept at 4 bad or fewer of all 60, else reject."
    )


@given(
    st.floats(0.0, 0.05),
    st.floats(0.03, 0.3),
    st.sampled_from([0.01, 0.05, 0.1]),
    st.sampled_from([0.02, 0.1, 0.2]),
    st.one_of(st.none(), st.integers(20, 900)),
)
def test_a_single_plan_keeps_both_risks_and_no_smaller_one_does(
    good: float, further: float, alpha: float, beta: float, lot: int | None
) -> None:
    points = Points(good, alpha, good + further, beta, lot)
    plan = design_single(points)
    n, accept = plan.first_n, plan.stages[0].accept
    ends = [points.good_exact, points.bad_exact]
    keeps, risks = chance_accepted(plan, ends, lot)
    assert keeps >= 1 - alpha - 1e-9
    assert risks <= beta + 1e-9
    if n > 1:
        for fewer in range(min(accept + 2, n - 1)):
            kept, risked = chance_accepted(single_plan(n - 1, fewer), ends, lot)
            assert kept < 1 - alpha or risked > beta


@pytest.mark.parametrize("lot", [None, 60, 400, 3000])
def test_the_least_plan_by_trying_all(lot: int | None) -> None:
    points = Points(0.01, 0.05, 0.08, 0.10, lot)
    ends = [points.good_exact, points.bad_exact]

    def keeps(n: int, accept: int) -> bool:
        good, bad = chance_accepted(single_plan(n, accept), ends, lot)
        return bool(good >= 0.95 and bad <= 0.10)

    most = lot or 200
    tried = next(
        (n, accept) for n in range(1, most + 1) for accept in range(min(n, 8)) if keeps(n, accept)
    )
    plan = design_single(points)
    assert (plan.first_n, plan.stages[0].accept) == tried


@pytest.mark.parametrize("lot", [None, 400, 3000])
def test_a_double_plan_keeps_both_risks_and_draws_less_from_good_lots(lot: int | None) -> None:
    points = Points(0.01, 0.05, 0.06, 0.10, lot)
    double, single = design_double(points), design_single(points)
    good, bad = chance_accepted(double, [points.good_exact, points.bad_exact], lot)
    assert good >= 0.95
    assert bad <= 0.10
    assert curve(double, [points.good_exact], lot)[0].drawn_mean < single.first_n


def test_the_double_plan_by_trying_all() -> None:
    """Every equal double plan up to 40 balls twice and three bad balls."""
    points = Points(0.01, 0.05, 0.12, 0.10)
    best = None
    for both in range(1, 4):
        for first in range(both):
            for n in range(both, 41):
                plan = double_plan(n, first, both + 1, n, both)
                good, bad = curve(plan, [0.01, 0.12])
                if good.accepted >= 0.95 and bad.accepted <= 0.10:
                    found = (good.drawn_mean, plan.most_n, plan)
                    best = found if best is None or found[:2] < best[:2] else best
    assert best is not None
    assert design_double(points) == best[2]


def test_zero_acceptance_asks_only_the_buyer() -> None:
    plan = design_zero(Points(0.01, 0.05, 0.06, 0.10))
    assert plan.stages[0].accept == 0
    assert 0.94**plan.first_n <= 0.10 < 0.94 ** (plan.first_n - 1)


def test_a_small_lot_is_looked_at_almost_whole() -> None:
    """One bad ball of ten is found with 90 % in nine."""
    assert design_single(Points(0.01, 0.05, 0.06, 0.10, 10)).first_n == 9
    assert design_single(Points(0.0, 0.05, 1.0, 0.10, 1)).first_n == 1


@pytest.mark.parametrize(
    ("points", "match"),
    [
        ((0.06, 0.05, 0.06, 0.10), "no better than a bad one"),
        ((-0.01, 0.05, 0.06, 0.10), "no better than a bad one"),
        ((0.01, 0.0, 0.06, 0.10), "producer's risk"),
        ((0.01, 0.05, 0.06, 0.5), "consumer's risk"),
        ((float("nan"), 0.05, 0.06, 0.1), "no better than a bad one"),
        ((0.01, 0.05, 0.06, 0.1, 0), "balls in the lot"),
    ],
)
def test_points_that_cannot_be_kept(points: tuple[float, ...], match: str) -> None:
    with pytest.raises(BadInput, match=match):
        Points(*points)  # type: ignore[arg-type]


def test_lots_too_alike_are_said_to_be() -> None:
    with pytest.raises(BadInput, match="tells such lots apart"):
        design_single(Points(0.01, 0.05, 0.0101, 0.10))
    with pytest.raises(BadInput, match="too large a plan for two"):
        design_double(Points(0.01, 0.05, 0.013, 0.10))
    with pytest.raises(BadInput, match="keeps the consumer's risk"):
        design_zero(Points(0.0, 0.05, 1e-6, 0.10))
    with pytest.raises(BadInput, match="two equal drawings"):
        design_double(Points(0.01, 0.05, 0.06, 0.10, 10))
