"""Differences of shade: laws of the formula, and the words for them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.strand.shade import ciede2000, shade_difference

LAB = st.tuples(
    st.floats(0, 100, allow_subnormal=False),
    st.floats(-120, 120, allow_subnormal=False),
    st.floats(-120, 120, allow_subnormal=False),
)
SLOE = (24.0, 8.5, -19.0)


@given(LAB, LAB)
def test_it_does_not_matter_which_is_the_standard(
    one: tuple[float, ...], two: tuple[float, ...]
) -> None:
    here, there = float(ciede2000(one, two)), float(ciede2000(two, one))
    assert here == pytest.approx(there, rel=1e-9, abs=1e-9)


@given(LAB)
def test_a_shade_is_no_way_from_itself(one: tuple[float, ...]) -> None:
    assert float(ciede2000(one, one)) == 0.0


@given(LAB, LAB)
def test_different_shades_are_some_way_apart(
    one: tuple[float, ...], two: tuple[float, ...]
) -> None:
    if max(abs(x - y) for x, y in zip(one, two, strict=True)) > 0.01:
        assert float(ciede2000(one, two)) > 0.0


@given(LAB, LAB)
def test_greys_differ_by_lightness_alone(one: tuple[float, ...], two: tuple[float, ...]) -> None:
    """Weighed about the middle of the scale."""
    first, second = (one[0], 0.0, 0.0), (two[0], 0.0, 0.0)
    off = (0.5 * (one[0] + two[0]) - 50.0) ** 2
    weighed = abs(one[0] - two[0]) / (1.0 + 0.015 * off / (20.0 + off) ** 0.5)
    assert float(ciede2000(first, second)) == pytest.approx(weighed, rel=1e-9, abs=1e-12)


def test_arrays_are_taken_row_by_row() -> None:
    rows = np.array([SLOE, (25.0, 8.5, -19.0), (24.0, 9.5, -19.0)])
    together = ciede2000(rows, SLOE)
    assert together.shape == (3,)
    assert together.tolist() == [float(ciede2000(row, SLOE)) for row in rows]


def test_a_lightness_factor_of_two_halves_a_difference_in_lightness() -> None:
    plain = float(ciede2000(SLOE, (26.0, 8.5, -19.0)))
    textile = float(ciede2000(SLOE, (26.0, 8.5, -19.0), k_lightness=2.0))
    assert textile == pytest.approx(plain / 2.0, rel=1e-12)


@pytest.mark.parametrize(
    ("shade", "standard", "words"),
    [
        ((23.0, 8.5, -19.0), SLOE, ("darker",)),
        ((25.0, 8.5, -19.0), SLOE, ("lighter",)),
        ((23.2, 9.2, -18.7), SLOE, ("darker", "redder")),
        ((24.0, 9.2, -20.6), SLOE, ("brighter",)),
        ((24.0, 7.8, -17.4), SLOE, ("duller",)),
        ((78.5, 7.0, 74.2), (78.5, 9.0, 74.0), ("greener",)),
        ((41.0, 18.0, 33.6), (41.0, 19.0, 33.0), ("greener",)),
        ((60.0, 1.0, -0.8), (60.0, 0.0, 0.0), ("redder", "bluer")),
        ((24.02, 8.5, -19.0), SLOE, ()),
    ],
)
def test_words(
    shade: tuple[float, ...], standard: tuple[float, ...], words: tuple[str, ...]
) -> None:
    assert shade_difference(shade, standard).words == words


@given(LAB, LAB)
def test_the_three_parts_make_up_the_plain_difference(
    one: tuple[float, ...], two: tuple[float, ...]
) -> None:
    found = shade_difference(one, two)
    plain = sum((x - y) ** 2 for x, y in zip(one, two, strict=True))
    parts = found.lightness**2 + found.chroma**2 + found.hue**2
    assert parts == pytest.approx(plain, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("bad", [(1.0, 2.0), (float("nan"), 0.0, 0.0), 5.0])
def test_what_is_no_shade_is_refused(bad: object) -> None:
    with pytest.raises(BadInput, match="not a shade"):
        ciede2000(bad, SLOE)  # type: ignore[arg-type]


def test_a_factor_of_nothing_is_refused() -> None:
    with pytest.raises(BadInput, match="kC"):
        ciede2000(SLOE, SLOE, k_chroma=0.0)


def test_several_shades_have_no_one_name() -> None:
    with pytest.raises(BadInput, match="not one shade"):
        shade_difference([SLOE, SLOE], SLOE)
