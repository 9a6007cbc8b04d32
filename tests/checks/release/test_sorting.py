"""What would let a failed lot pass: the narrowest sorting, with its cost."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from clew.checks.packages.plan import Plan, Stage
from clew.checks.packages.sample import Sample
from clew.checks.packages.worksheet import Worksheet, work_out
from clew.checks.release.findings import fault_finding
from clew.checks.release.sorting import SortTerms, mends_for
from clew.checks.weighings import Factor
from clew.faults import BadInput

TERMS = SortTerms(weigh_s=10.0, rewind_s=60.0, hand_per_hour=18.0, band_each=0.05)


def plan(**terms: object) -> Plan:
    given = {
        "rule": "uk-2006", "quantity": "mass", "declared": 100.0, "floor": 100.0, "factor": 0.503,
        "average_n": 30, "stages": (Stage(50, 3, 4),), "deficiency": 4.5, "far_deficiency": 9.0,
        "whole_lot": False, "marks": (), "confirmed": True,
    }  # fmt: skip
    return Plan(**(given | terms))  # type: ignore[arg-type]


def worked(masses: NDArray[np.float64], **terms: object) -> Worksheet:
    names = tuple(f"b{place}" for place in range(len(masses)))
    sample = Sample("mass", masses, None, np.array([]), names, "net, as weighed")
    return work_out(plan(**terms), sample, 480)


def winders(count: int) -> Factor:
    return Factor((np.arange(count) % 6).astype(np.int32), tuple("123456"))


def masses(light: float) -> NDArray[np.float64]:
    """Fifty balls round 101 g, those of winder 4 lighter by `light` g."""
    spread = np.linspace(-1.0, 1.0, 50)
    return 101.0 + np.random.default_rng(5).permutation(spread) - light * (np.arange(50) % 6 == 3)


def test_one_light_winder_is_named_with_its_share_and_cost() -> None:
    sheet = worked(masses(light=6.5))
    assert sheet.passed is False
    first = mends_for(sheet, [("winder", winders(50))], TERMS)[0]
    assert first.words.startswith("re-wind the balls of winder 4, about 77 of 480")
    assert first.balls == pytest.approx(480 * 8 / 50)
    assert first.cost == pytest.approx(76.8 * (60.0 / 3600 * 18.0 + 0.05))


def test_no_winder_is_blamed_when_all_are_light() -> None:
    sheet = worked(masses(light=0.0) - 2.5)
    mends = mends_for(sheet, [("winder", winders(50))], TERMS)
    assert sheet.average_pass is False
    assert len(mends) == 1
    assert mends[0].words.startswith("the lot as a whole is ")
    assert mends[0].balls == 480


def test_few_short_balls_are_sorted_out_with_an_exact_bound() -> None:
    values = masses(light=0.0)
    values[[0, 7, 14, 21, 29]] = 94.0
    sheet = worked(values, average_n=30, factor=5.0)
    assert (sheet.average_pass, sheet.individual_pass) == (True, False)
    mend = mends_for(sheet, [], TERMS)[0]
    most = stats.beta.ppf(0.95, 6, 45)
    assert f"about 48, at most {480 * most:.0f}" in mend.words
    assert mend.cost == pytest.approx((480 * 10 + 48 * 60) / 3600 * 18 + 48 * 0.05)


def test_lengths_are_not_sorted_on_a_scale() -> None:
    values = masses(light=0.0)
    values[:5] = 90.0
    names = tuple("x" * 50)
    sample = Sample("length", values, None, np.array([]), names, "at rest")
    sheet = work_out(plan(quantity="length", factor=5.0, far_deficiency=99.0), sample, 480)
    assert sheet.individual_pass is False
    assert "cannot be sorted without unreeling" in mends_for(sheet, [], TERMS)[0].words


def test_without_prices_there_is_no_cost() -> None:
    sheet = worked(masses(light=6.5))
    assert all(mend.cost is None for mend in mends_for(sheet, [], SortTerms()))


def test_times_that_cannot_be_are_refused() -> None:
    with pytest.raises(BadInput, match="seconds above 0"):
        SortTerms(weigh_s=0.0)


def test_faults_are_decided_by_the_plan_and_never_before_all_are_seen() -> None:
    assert fault_finding("knots over the limit", 80, 5, 5, 80, 900, TERMS).passed is True
    some = fault_finding("knots over the limit", 40, 1, 5, 80, 900, TERMS)
    assert some.passed is None
    assert "40 more balls" in some.mends[0].words
    over = fault_finding("wrong band", 40, 6, 5, 80, 900, TERMS, by_cone={"C-1": 5, "C-2": 1})
    assert over.passed is False
    assert over.words[-1] == "They come from few cones: C-1 (5)."
    assert "about 135" in over.mends[0].words


def test_the_bound_on_faults_is_that_of_a_test_that_just_fails() -> None:
    """Clopper and Pearson: at the upper bound, so few at fault are seen in one case of twenty."""
    words = fault_finding("wrong band", 80, 2, 5, 80, 900, TERMS).words[0]
    most = float(words.split("at most ")[1].split(" %")[0]) / 100
    assert stats.binom.cdf(2, 80, most) == pytest.approx(0.05, rel=0.05)
