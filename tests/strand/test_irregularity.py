"""The floors of unevenness: fibre number at a point, fibre length over length."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from clew.faults import BadInput
from clew.strand.irregularity import (
    cv_from_mean_deviation_frac,
    fibres_in_section,
    limit_cv_at_length_frac,
    limit_irregularity_frac,
    limit_irregularity_from_diameter_frac,
    variance_length_ratio,
)

LENGTHS = st.floats(1e-3, 500.0)


@pytest.mark.parametrize("length", [0.02, 0.1, 0.25, 3.0])
def test_the_law_is_the_integral_of_the_overlap_of_fibres(length: float) -> None:
    """Naive check: B(L)/B(0) = 2/L^2 int (L - x) (1 - x/l) dx over the overlap of two fibres."""
    fibre = 0.1
    area, _ = quad(lambda x: (length - x) * (1.0 - x / fibre), 0.0, min(length, fibre))
    assert variance_length_ratio(length, fibre) == pytest.approx(2.0 * area / length**2, rel=1e-9)


def test_the_law_agrees_with_a_strand_of_fibres_laid_at_random() -> None:
    """Fibres of 0.1 m dropped on 4 km: pieces of 0.25 m against points."""
    draw = np.random.default_rng(11)
    step, fibre = 0.005, 20
    starts = draw.poisson(3.0, 800_000)
    section = np.convolve(starts, np.ones(fibre), mode="valid")
    pieces = section[: len(section) // 50 * 50].reshape(-1, 50).mean(1)
    ratio = pieces.var() / section.var()
    assert ratio == pytest.approx(variance_length_ratio(50 * step, fibre * step), rel=0.05)


@given(fibre=st.floats(0.02, 0.2))
def test_both_branches_meet_at_the_fibre_length(fibre: float) -> None:
    above = variance_length_ratio(fibre * (1 + 1e-9), fibre)
    assert variance_length_ratio(fibre, fibre) == pytest.approx(2 / 3)
    assert above == pytest.approx(2 / 3, rel=1e-8)
    assert variance_length_ratio(0.0, fibre) == 1.0


@given(short=LENGTHS, longer=st.floats(1.001, 100.0))
def test_longer_pieces_differ_less(short: float, longer: float) -> None:
    assert variance_length_ratio(short * longer, 0.1) < variance_length_ratio(short, 0.1)


@given(fibres=st.floats(1.0, 1e4))
def test_the_limit_falls_with_the_root_of_the_fibre_number(fibres: float) -> None:
    assert limit_irregularity_frac(4 * fibres) == pytest.approx(limit_irregularity_frac(fibres) / 2)
    assert limit_irregularity_from_diameter_frac(fibres, 0.0) == limit_irregularity_frac(fibres)


def test_fibres_in_a_section() -> None:
    assert fibres_in_section(30.0, 5.0) == 60.0


def test_mean_deviation_of_a_normal_sample() -> None:
    sample = np.random.default_rng(2).normal(1.0, 0.05, 400_000)
    deviation = float(np.abs(sample - 1.0).mean())
    assert cv_from_mean_deviation_frac(deviation) == pytest.approx(0.05, rel=0.005)


@pytest.mark.parametrize(
    ("call", "why"),
    [
        (lambda: limit_irregularity_frac(60.0, "asbestos"), "no such kind"),
        (lambda: limit_irregularity_frac(0.0), "fibres"),
        (lambda: variance_length_ratio(-1.0, 0.1), "length"),
        (lambda: limit_cv_at_length_frac(math.nan, 1.0, 0.1), "spread at a point"),
        (lambda: fibres_in_section(30.0, 0.0), "fibre"),
    ],
)
def test_what_cannot_be_meant_is_refused(call, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        call()
