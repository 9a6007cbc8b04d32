"""Limit irregularity, and how unevenness falls with length."""

import pytest

from clew.strand.irregularity import (
    cv_from_mean_deviation_frac,
    limit_cv_at_length_frac,
    limit_irregularity_frac,
    limit_irregularity_from_diameter_frac,
)


@pytest.mark.outside(
    document="Das, Evaluation of Textile Materials, IIT Delhi",
    edition="lecture 32",
    section="limit irregularity 100, 106 and 112 over the root of the fibre number",
    mark="READ",
)
@pytest.mark.parametrize(
    ("kind", "factor"), [("man-made", 100.0), ("cotton", 106.0), ("wool", 112.0)]
)
def test_limit_by_kind_of_fibre(kind, factor: float) -> None:
    assert 100 * limit_irregularity_frac(64.0, kind) == pytest.approx(factor / 8.0, rel=1e-12)


@pytest.mark.outside(
    document="Das, Evaluation of Textile Materials, IIT Delhi",
    edition="lecture 32",
    section="100/sqrt(N) sqrt(1 + 0.0004 CV_d^2): 25 % of diameter gives 112",
    mark="READ",
)
def test_limit_from_fibre_diameter() -> None:
    assert 100 * limit_irregularity_from_diameter_frac(1.0, 0.25) == pytest.approx(112.0, abs=0.5)


@pytest.mark.outside(
    document="Textbook statement on unevenness testing",
    edition="as read",
    section="CV = 1.25 U for normal mass variation",
    mark="READ",
)
def test_mean_deviation() -> None:
    assert cv_from_mean_deviation_frac(0.10) == pytest.approx(0.125, abs=0.0005)


@pytest.mark.outside(
    document="Variance-length law of a random strand, table reckoned apart from this program",
    edition="60 wool fibres of 0.1 m in the section",
    section="8 mm to 200 m",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("length_m", "cv_percent", "half_place"),
    [
        (0.0, 14.459, 5e-4),
        (0.008, 14.265, 5e-4),
        (0.1, 11.806, 5e-4),
        (1.0, 4.496, 5e-4),
        (10.0, 1.4435, 5e-5),
        (100.0, 0.4572, 5e-5),
        (200.0, 0.3233, 5e-5),
    ],
)
def test_limit_over_length(length_m: float, cv_percent: float, half_place: float) -> None:
    point = limit_irregularity_frac(60.0, "wool")
    found = 100 * limit_cv_at_length_frac(point, length_m, 0.1)
    assert found == pytest.approx(cv_percent, abs=half_place)


@pytest.mark.outside(
    document="Technology of Short-staple Spinning",
    edition="as read",
    section="one yarn shows 14 % at 8 mm and 2 % at 100 m",
    mark="READ",
)
def test_the_law_is_a_floor_under_a_real_yarn() -> None:
    """Started at the yarn's own 14 %, the law of short staple (0.03 m) falls well below its 2 %."""
    floor = limit_cv_at_length_frac(0.14, 100.0, 0.03)
    assert floor < 0.02 / 3.0
