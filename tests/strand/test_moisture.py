"""Regain and moisture content stay apart; commercial mass keeps the dry fibre."""

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.strand.moisture import (
    MoistureContent,
    Regain,
    commercial_mass,
    dry_mass_kg,
    lot_dry_mass_kg,
    mass_at_regain_kg,
    regain_from_sample,
)

REGAINS = st.floats(0.0, 3.9).map(Regain)
MASSES = st.floats(0.01, 1e5)

MIXED = """
from clew.strand.moisture import MoistureContent, Regain, mass_at_regain_kg
mass_at_regain_kg(1.0, Regain(0.1), MoistureContent(0.1))
mass_at_regain_kg(1.0, Regain(0.1), 0.1)
Regain(0.1) + MoistureContent(0.1)
Regain(0.1) < MoistureContent(0.1)
Regain(0.1) == MoistureContent(0.1)
def worn(regain: Regain) -> MoistureContent:
    return regain
"""


@given(regain=REGAINS)
def test_regain_and_content_come_back(regain: Regain) -> None:
    assert regain.to_content().to_regain().frac == pytest.approx(regain.frac, rel=1e-12, abs=1e-15)


@given(frac=st.floats(0.0, 0.8))
def test_the_two_are_never_equal_even_at_one_number(frac: float) -> None:
    assert Regain(frac) != MoistureContent(frac)
    assert len({Regain(frac), MoistureContent(frac)}) == 2


@pytest.mark.parametrize(
    "mix",
    [
        lambda a, b: a + b,
        lambda a, b: a - b,
        lambda a, b: a < b,
        lambda a, b: a >= b,
        lambda a, b: a * b,
        lambda a, b: a + 0.1,
        lambda a, b: float(a),
    ],
)
def test_the_two_do_not_mix_at_run_time(mix) -> None:
    with pytest.raises(TypeError):
        mix(Regain(0.1), MoistureContent(0.1))


def test_they_cannot_be_changed() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        Regain(0.1).frac = 0.2  # type: ignore[misc]  # must fail


def test_the_type_checker_refuses_every_mixture(tmp_path) -> None:
    from mypy import api

    found, _, code = api.run(
        ["--strict", "--config-file=", f"--cache-dir={tmp_path}", "--no-error-summary", "-c", MIXED]
    )
    assert code == 1
    lines = sorted({int(line.split(":")[1]) for line in found.splitlines() if ": error:" in line})
    assert lines == [3, 4, 5, 6, 7, 9], found


@pytest.mark.parametrize("frac", [-0.01, 4.01, math.nan, math.inf])
def test_a_regain_that_cannot_be_is_refused(frac: float) -> None:
    with pytest.raises(BadInput, match="regain"):
        Regain(frac)


@pytest.mark.parametrize("frac", [-0.01, 0.81, 1.0, math.nan])
def test_a_content_that_cannot_be_is_refused(frac: float) -> None:
    with pytest.raises(BadInput, match="moisture content"):
        MoistureContent(frac)


@given(mass=MASSES, regain=REGAINS)
def test_dry_mass_by_either_way_is_one(mass: float, regain: Regain) -> None:
    dry = dry_mass_kg(mass, regain)
    assert dry_mass_kg(mass, regain.to_content()) == pytest.approx(dry, rel=1e-9)
    assert dry * (1.0 + regain.frac) == pytest.approx(mass, rel=1e-12)


@given(mass=MASSES, now=REGAINS, then=REGAINS)
def test_changing_the_regain_and_back_keeps_the_mass(mass: float, now, then) -> None:
    there = mass_at_regain_kg(mass, now, then)
    assert mass_at_regain_kg(there, then, now) == pytest.approx(mass, rel=1e-12)


@given(lot=MASSES, sample=st.floats(10.0, 500.0), kept=st.floats(0.3, 1.0))
def test_a_lot_dries_as_its_sample_does(lot: float, sample: float, kept: float) -> None:
    assert lot_dry_mass_kg(lot, sample, sample * kept) == pytest.approx(lot * kept, rel=1e-9)


def test_a_sample_cannot_gain_in_the_oven() -> None:
    with pytest.raises(BadInput, match="heavier than the sample"):
        regain_from_sample(50.0, 50.1)


@given(mass=MASSES, regain=REGAINS)
def test_yarn_at_its_allowance_is_invoiced_as_weighed(mass: float, regain: Regain) -> None:
    found = commercial_mass(mass, regain, regain.frac)
    assert found.commercial_mass_kg == pytest.approx(mass, rel=1e-12)
    assert not found.adjust_as_l16


def test_cleaning_and_further_allowances() -> None:
    found = commercial_mass(
        110.0,
        Regain(0.10),
        0.1825,
        cleaning_loss_frac=0.02,
        extra_a_frac=0.01,
        extra_b_frac=0.005,
    )
    assert found.dry_mass_kg == pytest.approx(100.0)
    assert found.clean_dry_mass_kg == pytest.approx(98.0)
    assert found.commercial_mass_kg == pytest.approx(98.0 * 1.1975)
    assert found.difference_frac == pytest.approx(98.0 * 1.1975 / 110.0 - 1.0)


def test_drier_yarn_is_invoiced_heavier_than_weighed() -> None:
    found = commercial_mass(100.0, Regain(0.08), 0.1825)
    assert found.difference_frac > 0.0
    assert found.adjust_as_l16


@pytest.mark.parametrize(("present", "dry_g"), [(0.02, 98.039), (0.015, 98.522), (0.005, 99.502)])
def test_acrylic_hardly_changes_with_its_water(present: float, dry_g: float) -> None:
    assert dry_mass_kg(100.0, Regain(present)) == pytest.approx(dry_g, abs=5e-4)


@pytest.mark.parametrize(("wanted", "mass_g"), [(0.015, 99.510), (0.005, 98.529)])
def test_100_g_of_acrylic_at_its_legal_regain_carried_elsewhere(wanted, mass_g) -> None:
    assert mass_at_regain_kg(100.0, Regain(0.02), Regain(wanted)) == pytest.approx(mass_g, abs=5e-4)
