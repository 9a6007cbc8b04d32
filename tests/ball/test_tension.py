"""Winding stretch, what comes back of it, and the stress it brings into the ball."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.ball.tension import (
    hoop_modulus_kpa,
    relaxed_count_tex,
    relaxed_length_m,
    tension_for_count,
    winding_strain,
    winding_stress_kpa,
    wound_count_tex,
    wound_length_m,
)
from clew.faults import BadInput

strains = st.floats(0.0, 0.3)
shares = st.floats(0.0, 1.0)
counts = st.floats(10.0, 3000.0)


def test_stretch_of_the_worked_example():
    """1 cN/tex on a modulus of 50 cN/tex stretches 2.0 %; fully elastic it relaxes to 0.98039."""
    strain = winding_strain(1.0, 50.0)
    assert strain == pytest.approx(0.02, abs=1e-15)
    assert relaxed_length_m(1.0, strain, 1.0) == pytest.approx(0.98039, abs=5e-6)


def test_a_strand_that_recovers_nothing_keeps_its_wound_length():
    assert relaxed_length_m(200.0, 0.02, 0.0) == pytest.approx(200.0, rel=1e-15)


@given(st.floats(0.0, 5000.0), strains, shares)
def test_wound_and_relaxed_length_are_inverse(length, strain, recovery):
    there = relaxed_length_m(length, strain, recovery)
    assert wound_length_m(there, strain, recovery) == pytest.approx(length, rel=1e-12)


@given(counts, st.floats(1.0, 5000.0), strains, shares)
def test_mass_stays_whatever_the_stretch(count, length, strain, recovery):
    """Count times length is the same under tension and relaxed."""
    wound = wound_count_tex(count, strain) * length
    relaxed = relaxed_count_tex(count, strain, recovery) * relaxed_length_m(
        length, strain, recovery
    )
    assert relaxed == pytest.approx(wound, rel=1e-12)


@given(strains, shares, shares)
def test_more_recovery_gives_a_shorter_and_thicker_strand(strain, one, other):
    less, more = sorted((one, other))
    assert relaxed_length_m(1.0, strain, more) <= relaxed_length_m(1.0, strain, less)
    assert relaxed_count_tex(500.0, strain, more) >= relaxed_count_tex(500.0, strain, less)


@given(counts, st.floats(0.0, 2.0), st.floats(5.0, 100.0), st.floats(0.0, 0.95))
def test_tension_for_a_count_brings_that_count(count, tension, modulus, recovery):
    wanted = relaxed_count_tex(count, winding_strain(tension, modulus), recovery)
    answer = tension_for_count(count, wanted, modulus, recovery, most_cn_per_tex=3.0)
    assert answer.tension_cn_per_tex == pytest.approx(tension, abs=1e-9)
    assert answer.reason == ""


@pytest.mark.parametrize(
    ("wanted", "recovery", "most", "word"),
    [
        (490.0, 1.0, 5.0, "comes back"),
        (510.0, 0.5, 5.0, "thicker"),
        (490.0, 0.9, 1.0, "limit"),
    ],
)
def test_no_tension_comes_with_its_reason(wanted, recovery, most, word):
    answer = tension_for_count(500.0, wanted, 20.0, recovery, most)
    assert answer.tension_cn_per_tex is None
    assert word in answer.reason


def test_the_count_that_is_there_already_needs_no_tension():
    assert tension_for_count(500.0, 500.0, 20.0, 1.0, 5.0).tension_cn_per_tex == 0.0


def test_winding_stress_of_a_strand_round_the_ball():
    """40 cN on 2 mm2 is 0.4 N / 2e-6 m2 = 200 kPa; at 45 degrees half of it is hoop stress."""
    assert winding_stress_kpa(40.0, 2.0) == pytest.approx(200.0)
    assert winding_stress_kpa(40.0, 2.0, 45.0) == pytest.approx(100.0)


@given(st.floats(0.01, 2.0), st.floats(5.0, 60.0), counts, st.floats(0.0, 80.0))
def test_stress_over_modulus_is_strand_stretch_turned_into_the_hoop(tension, modulus, count, angle):
    """Hoop strain s_w / E_t is the strand's stretch over cos2 of the angle of wind."""
    area = count / 150.0
    hoop = winding_stress_kpa(tension * count, area, angle) / hoop_modulus_kpa(
        modulus, count, area, angle
    )
    slant = math.cos(math.radians(angle)) ** 2
    assert hoop * slant == pytest.approx(winding_strain(tension, modulus), rel=1e-10)


@pytest.mark.parametrize(
    ("call", "key"),
    [
        (lambda: winding_strain(-1.0, 50.0), "tension_cn_per_tex"),
        (lambda: winding_strain(1.0, 0.0), "modulus_cn_per_tex"),
        (lambda: winding_strain(1.0, math.nan), "modulus_cn_per_tex"),
        (lambda: relaxed_length_m(-1.0, 0.02, 1.0), "length_m"),
        (lambda: relaxed_length_m(1.0, 0.02, 1.2), "recovery_frac"),
        (lambda: wound_length_m(1.0, -0.02, 1.0), "strain_frac"),
        (lambda: relaxed_count_tex(0.0, 0.02, 1.0), "unstretched_count_tex"),
        (lambda: wound_count_tex(500.0, math.inf), "strain_frac"),
        (lambda: tension_for_count(500.0, 0.0, 20.0, 0.5, 1.0), "wanted_count_tex"),
        (lambda: winding_stress_kpa(40.0, 0.0), "packed_area_mm2"),
        (lambda: winding_stress_kpa(40.0, 2.0, 90.0), "angle_of_wind_deg"),
        (lambda: hoop_modulus_kpa(10.0, -500.0, 2.0), "count_tex"),
    ],
)
def test_a_value_out_of_range_is_named(call, key):
    with pytest.raises(BadInput) as refused:
        call()
    assert refused.value.faults[0].key == key
    assert refused.value.faults[0].expected
