"""Gauge studies: a naive recomputation, shifts and scales, designs, coverage, what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.instruments.gauge_ranges import d2_star, study_by_ranges
from clew.checks.instruments.gauge_readings import GaugeReadings, lay_out
from clew.checks.instruments.gauge_squares import squares_of
from clew.checks.instruments.gauge_study import study_gauge
from clew.faults import BadInput


def crossed(values: np.ndarray) -> GaugeReadings:
    p, o, _ = values.shape
    return GaugeReadings(
        "crossed", tuple(map(str, range(p))), tuple(map(str, range(o))), np.asarray(values, float)
    )


def nested(values: np.ndarray) -> GaugeReadings:
    o, b, _ = values.shape
    return GaugeReadings("nested", tuple(map(str, range(o * b))), tuple(map(str, range(o))), values)


def drawn(seed: int, p: int, o: int, r: int, sds: tuple[float, float, float, float]) -> np.ndarray:
    part, hand, both, error = sds
    random = np.random.default_rng(seed)
    return (
        random.normal(0, part, (p, 1, 1))
        + random.normal(0, hand, (1, o, 1))
        + random.normal(0, both, (p, o, 1))
        + random.normal(0, error, (p, o, r))
    )


def naive_squares(values: np.ndarray) -> tuple[float, float, float, float]:
    """Sums of squares by loops over every reading."""
    p, o, r = values.shape
    mean = sum(values[i, j, k] for i in range(p) for j in range(o) for k in range(r)) / (p * o * r)
    part = [sum(values[i, j, k] for j in range(o) for k in range(r)) / (o * r) for i in range(p)]
    hand = [sum(values[i, j, k] for i in range(p) for k in range(r)) / (p * r) for j in range(o)]
    ss = [0.0, 0.0, 0.0, 0.0]
    for i in range(p):
        for j in range(o):
            cell = sum(values[i, j, k] for k in range(r)) / r
            for k in range(r):
                ss[0] += (part[i] - mean) ** 2
                ss[1] += (hand[j] - mean) ** 2
                ss[2] += (cell - part[i] - hand[j] + mean) ** 2
                ss[3] += (values[i, j, k] - cell) ** 2
    return ss[0], ss[1], ss[2], ss[3]


@pytest.mark.parametrize("shape", [(2, 2, 2), (5, 3, 2), (10, 2, 4)])
def test_sums_of_squares_are_those_of_a_loop(shape: tuple[int, int, int]) -> None:
    values = drawn(1, *shape, (1.0, 0.5, 0.3, 0.2))
    found = squares_of(crossed(values), pool_above=1.0)
    assert [row.ss for row in found.rows] == pytest.approx(naive_squares(values), rel=1e-9)
    assert sum(row.ss for row in found.rows) == pytest.approx(((values - values.mean()) ** 2).sum())


@given(st.integers(0, 10_000), st.floats(-1e4, 1e4), st.floats(1e-3, 1e3))
def test_a_shift_changes_nothing_and_a_scale_only_the_unit(
    seed: int, shift: float, factor: float
) -> None:
    values = drawn(seed, 4, 3, 2, (1.0, 0.4, 0.2, 0.3))
    one = study_gauge(crossed(values), draws=1000, seed=1)
    other = study_gauge(crossed(factor * (values + shift)), draws=1000, seed=1)
    for key in ("EV", "AV", "GRR", "PV", "TV"):
        first, second = one.find(key), other.find(key)
        assert second.sd == pytest.approx(factor * first.sd, rel=1e-5, abs=1e-5 * factor)
        assert second.contribution_frac == pytest.approx(first.contribution_frac, abs=1e-5)
    assert other.pooled == one.pooled


@given(st.integers(0, 10_000))
def test_contributions_add_up_and_nothing_is_below_zero(seed: int) -> None:
    found = study_gauge(crossed(drawn(seed, 3, 2, 2, (0.1, 0.0, 0.0, 1.0))), draws=1000, seed=1)
    shares = {one.key: one.contribution_frac for one in found.components}
    assert shares["GRR"] + shares["PV"] == pytest.approx(1.0)
    assert shares["EV"] + shares["AV"] == pytest.approx(shares["GRR"])
    assert all(value >= 0.0 for value in found.variances.values())
    for key in found.set_to_zero:
        assert found.variances[key] == 0.0
        assert any(key in note for note in found.notes)


def test_a_negative_estimate_is_set_to_zero_and_said() -> None:
    """Hands with one mean: their mean square is 0, less than chance alone would make it."""
    values = drawn(3, 5, 3, 3, (1.0, 0.0, 0.0, 0.2))
    values -= values.mean(axis=(0, 2), keepdims=True)
    found = study_gauge(crossed(values), seed=1)
    assert found.set_to_zero == ("hand",)
    assert found.find("AV").sd == 0.0
    assert "hand" in found.notes[0]


def test_an_interaction_that_is_there_is_kept() -> None:
    found = study_gauge(crossed(drawn(4, 8, 3, 3, (1.0, 0.3, 0.8, 0.1))), seed=1)
    assert not found.pooled
    assert found.interaction_p is not None and found.interaction_p < 1e-6
    assert found.variances["interaction"] > 0.2
    together = found.variances["hand"] + found.variances["interaction"]
    assert found.find("AV").sd == pytest.approx(math.sqrt(together))


def test_intervals_hold_the_truth_about_as_often_as_they_say() -> None:
    """300 drawn studies of which the truth is known; 95 % with a binomial's scatter of 1.3 %."""
    truth = {"EV": 0.3, "GRR": math.hypot(0.3, 0.4), "PV": 1.0}
    held = dict.fromkeys(truth, 0)
    for seed in range(300):
        values = drawn(seed, 10, 5, 2, (1.0, 0.4, 0.0, 0.3))
        found = study_gauge(crossed(values), pool_above=0.0, draws=2000, seed=seed)
        for key, sd in truth.items():
            held[key] += found.find(key).low <= sd <= found.find(key).high
    for key, times in held.items():
        assert 0.91 <= times / 300 <= 0.99, key


def test_the_interval_of_repeatability_is_that_of_chi_squared() -> None:
    from scipy.stats import chi2

    found = study_gauge(
        crossed(drawn(5, 6, 3, 3, (1.0, 0.5, 0.5, 0.2))), pool_above=1.0, draws=400_000, seed=2
    )
    error = found.anova[3]
    low, high = (math.sqrt(error.ss / chi2.ppf(share, error.df)) for share in (0.975, 0.025))
    assert (found.find("EV").low, found.find("EV").high) == pytest.approx((low, high), rel=3e-3)


def test_the_share_carries_its_interval() -> None:
    values = drawn(12, 6, 4, 3, (1.0, 0.2, 0.0, 0.2))
    for terms in ({}, {"tolerance": 5.0}):
        found = study_gauge(crossed(values), seed=1, **terms)
        assert found.grr_share is not None and found.grr_share_interval is not None
        low, high = found.grr_share_interval
        assert low < found.grr_share < high
        assert terms or high < 1.0


def test_one_hand_has_no_reproducibility() -> None:
    found = study_gauge(crossed(drawn(6, 6, 1, 3, (1.0, 0.0, 0.0, 0.2))), seed=1)
    assert [one.key for one in found.components] == ["EV", "GRR", "PV", "TV"]
    assert "not studied" in found.notes[0]


def test_one_hand_s_parts_by_hand_calculation() -> None:
    """10, 12 and 20, 22: within 2; means 11 and 21, mean square 2 x 50; part (100 - 2)/2."""
    values = np.array([[10.0, 12.0], [20.0, 22.0]]).reshape(2, 1, 2)
    found = study_gauge(crossed(values), draws=1000, seed=1)
    assert found.variances["reading"] == pytest.approx(2.0)
    assert found.variances["part"] == pytest.approx(49.0)
    assert found.find("PV").sd == pytest.approx(7.0)
    assert found.find("GRR").contribution_frac == pytest.approx(2.0 / 51.0)


def test_one_trial_counts_the_interaction_as_reading() -> None:
    values = drawn(7, 6, 3, 1, (1.0, 0.3, 0.0, 0.2))
    found = study_gauge(crossed(values), seed=1)
    assert found.pooled and found.interaction_p is None
    _, _, both, _ = naive_squares(values)
    assert found.find("EV").sd == pytest.approx(math.sqrt(both / 10))


def test_a_reel_each_hand_reels_balls_of_his_own_once() -> None:
    """Hand variance (MSh - MSb)/b by the textbook; no spread of parts to hold it against."""
    random = np.random.default_rng(8)
    values = 200 + random.normal(0, 0.5, (3, 1, 1)) + random.normal(0, 0.6, (3, 10, 1))
    found = study_gauge(nested(values), tolerance=8.0, seed=1)
    balls = values[:, :, 0]
    within = balls.var(axis=1, ddof=1).mean()
    between = 10 * balls.mean(axis=1).var(ddof=1)
    assert found.find("EV").sd == pytest.approx(math.sqrt(within))
    assert found.variances["hand"] == pytest.approx(max((between - within) / 10, 0.0))
    assert [one.key for one in found.components] == ["EV", "AV", "GRR"]
    assert found.ndc is None
    assert study_gauge(nested(values), seed=1).verdict == "open"
    assert study_gauge(nested(values), tolerance=1.0, seed=1).verdict == "open"
    assert study_gauge(nested(values), tolerance=100.0, seed=1).verdict == "good"


def test_nested_with_repeats_parts_the_ball_from_the_reading() -> None:
    random = np.random.default_rng(9)
    values = (
        random.normal(0, 0.2, (3, 1, 1))
        + random.normal(0, 1.0, (3, 8, 1))
        + random.normal(0, 0.1, (3, 8, 2))
    )
    found = study_gauge(nested(values), seed=1)
    error = values.var(axis=2, ddof=1).mean()
    assert found.find("EV").sd == pytest.approx(math.sqrt(error))
    assert found.find("PV").sd == pytest.approx(1.0, rel=0.4)


def test_readings_alike_on_every_ball_hide_the_instrument() -> None:
    values = np.repeat([100.1, 100.7, 99.3, 101.9], 6).reshape(4, 3, 2)
    found = study_gauge(crossed(values), seed=1)
    assert found.find("GRR").sd == 0.0
    assert found.ndc is None
    assert "division hides" in found.notes[-1]


@pytest.mark.parametrize(
    ("share", "verdict"), [(0.0999, "good"), (0.2999, "fair"), (0.3001, "poor")]
)
def test_verdict_by_the_share_of_the_tolerance(share: float, verdict: str) -> None:
    values = drawn(10, 5, 3, 2, (1.0, 0.2, 0.0, 0.2))
    sd = study_gauge(crossed(values), seed=1).find("GRR").sd
    assert study_gauge(crossed(values), tolerance=6 * sd / share, seed=1).verdict == verdict


@pytest.mark.parametrize(
    ("values", "terms"),
    [
        (np.full((3, 2, 2), 5.0), {}),
        (np.full((3, 2, 2), 0.1), {}),
        (np.arange(3.0).reshape(3, 1, 1), {}),
        (np.arange(12.0).reshape(3, 2, 2), {"tolerance": 0.0}),
        (np.arange(12.0).reshape(3, 2, 2), {"tolerance": math.nan}),
        (np.arange(12.0).reshape(3, 2, 2), {"pool_above": 2.0}),
        (np.arange(12.0).reshape(3, 2, 2), {"confidence": 95.0}),
        (np.arange(12.0).reshape(3, 2, 2), {"draws": 10}),
    ],
)
def test_what_is_no_study_is_refused(values: np.ndarray, terms: dict) -> None:
    with pytest.raises(BadInput):
        study_gauge(crossed(values), seed=1, **terms)


def laid_out(rows: list[tuple[str, str, str, float]]) -> GaugeReadings:
    parts, hands, trials, values = zip(*rows, strict=True)
    return lay_out(parts, hands, values, trials)


FULL = [
    (p, h, t, (7 * ord(p) + 3 * ord(h) + 5 * ord(t)) % 11 / 10)
    for p in "123"
    for h in "AB"
    for t in "12"
]


def test_rows_in_any_order_are_one_study() -> None:
    ordered = laid_out([(p, h, t, ord(p) + ord(h) + ord(t)) for p, h, t, _ in FULL])
    assert ordered.values.shape == (3, 2, 2)
    assert ordered.values[2, 1, 0] == ord("3") + ord("B") + ord("1")


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (FULL[:-1], "hand B read part 3 once, others twice"),
        (FULL[:-2], "hand B did not read part 3"),
        ([*FULL, FULL[0]], "given twice"),
        ([(*FULL[0][:3], math.nan), *FULL[1:]], "no number"),
        (FULL[:4], "too few parts"),
        ([("1", "A", "1", 1.0), ("2", "B", "1", 2.0)], "one ball a hand"),
        ([("1", "A", "1", 1.0), ("2", "A", "1", 2.0), ("3", "B", "1", 2.0)], "not balanced"),
    ],
)
def test_unbalanced_studies_are_refused_by_name(rows, said: str) -> None:
    with pytest.raises(BadInput, match=said) as refused:
        laid_out(rows)
    assert len(str(refused.value).splitlines()) == 1


def test_parts_that_no_two_hands_share_are_nested() -> None:
    rows = [(f"{h}{b}", h, "1", float(b)) for h in "AB" for b in range(3)]
    found = laid_out(rows)
    assert (found.design, found.values.shape) == ("nested", (2, 3, 1))


def test_ranges_agree_with_the_analysis_of_variance_on_average() -> None:
    evs, avs = [], []
    for seed in range(200):
        readings = crossed(drawn(seed, 10, 3, 3, (1.0, 0.5, 0.0, 0.3)))
        by_ranges = study_by_ranges(readings)
        evs.append(by_ranges.ev)
        avs.append(by_ranges.av**2)
    assert np.mean(evs) == pytest.approx(0.3, rel=0.02)
    assert np.mean(avs) == pytest.approx(0.25, rel=0.2)


def test_d2_star_makes_the_square_unbiased() -> None:
    ranges = np.ptp(np.random.default_rng(11).normal(size=(200_000, 3, 4)), axis=2).mean(axis=1)
    assert (ranges**2).mean() == pytest.approx(d2_star(3, 4) ** 2, rel=4e-3)


@pytest.mark.parametrize("shape", [(5, 1, 3), (5, 3, 1)])
def test_ranges_need_hands_and_trials(shape: tuple[int, int, int]) -> None:
    with pytest.raises(BadInput):
        study_by_ranges(crossed(drawn(1, *shape, (1.0, 0.5, 0.0, 0.3))))
