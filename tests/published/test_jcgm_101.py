"""Propagation of distributions: JCGM 101, 9.2 to 9.4."""

from __future__ import annotations

import numpy as np
import pytest

from clew.checks.instruments.budget import Array, Input, make_budget
from clew.checks.instruments.distributions import Law, normal, rectangular
from clew.checks.instruments.propagate import (
    numerical_tolerance,
    propagate,
    propagate_until_stable,
    validate,
)


def added(a: float | Array, b: float | Array, c: float | Array, d: float | Array) -> float | Array:
    return a + b + c + d


def four(laws: list[Law]) -> tuple[Input, ...]:
    return tuple(Input(key, key, "1", law) for key, law in zip("abcd", laws, strict=True))


ROOT3 = 3.0**0.5
NORMALS = four([normal(0.0, 1.0)] * 4)
RECTANGLES = four([rectangular(0.0, ROOT3)] * 4)
ONE_WIDE = four([*[rectangular(0.0, ROOT3)] * 3, rectangular(0.0, 10.0 * ROOT3)])


@pytest.mark.outside(
    document="JCGM 101", edition="2008", section="9.2.2, four normal inputs", mark="READ"
)
def test_four_normal_inputs() -> None:
    budget = make_budget(added, NORMALS)
    assert (budget.u, budget.expanded) == pytest.approx((2.0, 3.92), abs=5e-3)
    drawn = propagate_until_stable(added, NORMALS, digits=2, finer=5, seed=11)
    assert drawn.stable
    assert drawn.u == pytest.approx(2.0, abs=0.01)
    assert drawn.symmetric == pytest.approx((-3.92, 3.92), abs=0.02)
    assert validate(budget, drawn).valid


@pytest.mark.outside(
    document="JCGM 101", edition="2008", section="9.2.3, four rectangular inputs", mark="READ"
)
def test_four_rectangular_inputs() -> None:
    """Printed ±3.88 against ±3.92: valid to one digit (.05 would be .5), not to two."""
    budget = make_budget(added, RECTANGLES)
    drawn = propagate_until_stable(added, RECTANGLES, digits=2, finer=5, seed=12)
    assert drawn.symmetric == pytest.approx((-3.88, 3.88), abs=0.02)
    assert validate(budget, drawn, digits=1).valid
    finer = propagate_until_stable(added, RECTANGLES, digits=3, finer=1, seed=13)
    assert not validate(budget, finer, digits=3).valid


@pytest.mark.outside(
    document="JCGM 101", edition="2008", section="9.2.4, one wide rectangular input",
    mark="MEMORY",
)  # fmt: skip
def test_one_wide_rectangle() -> None:
    budget = make_budget(added, ONE_WIDE)
    assert budget.u == pytest.approx(10.1, abs=0.06)
    assert budget.expanded == pytest.approx(19.9, abs=0.06)
    drawn = propagate(added, ONE_WIDE, draws=1_000_000, seed=14)
    assert drawn.u == pytest.approx(10.1, abs=0.06)
    assert drawn.symmetric == pytest.approx((-17.0, 17.0), abs=0.06)
    held = validate(budget, drawn, digits=2)
    assert not held.valid
    assert held.tolerance == 0.5


def mass_difference(
    reference: float | Array,
    added: float | Array,
    air: float | Array,
    weight: float | Array,
    standard: float | Array,
) -> float | Array:
    """Conventional mass of the weight, less its nominal 100 g, in mg: equation 35."""
    return (reference + added) * (1.0 + (air - 1.2) * (1.0 / weight - 1.0 / standard)) - 100_000.0


MASS = (
    Input("reference", "reference weight", "mg", normal(100_000.0, 0.050)),
    Input("added", "added weight", "mg", normal(1.234, 0.020)),
    Input("air", "air", "kg/m3", rectangular(1.2, 0.1)),
    Input("weight", "density of the weight", "kg/m3", rectangular(8000.0, 1000.0)),
    Input("standard", "density of the reference", "kg/m3", rectangular(8000.0, 50.0)),
)


@pytest.mark.outside(
    document="JCGM 101", edition="2008", section="9.3, mass calibration (inputs READ)",
    mark="MEMORY",
)  # fmt: skip
def test_mass_calibration() -> None:
    budget = make_budget(mass_difference, MASS, second_order=True)
    assert budget.value == pytest.approx(1.234, abs=5e-4)
    assert budget.u == pytest.approx(0.0539, abs=5e-5)
    assert budget.second_order_u == pytest.approx(0.0750, abs=5e-5)
    drawn = propagate(mass_difference, MASS, draws=1_000_000, seed=15)
    assert drawn.value == pytest.approx(1.234, abs=5e-4)
    assert drawn.u == pytest.approx(0.0754, abs=5e-4)
    assert drawn.shortest == pytest.approx((1.0834, 1.3825), abs=3e-3)
    assert not validate(budget, drawn).valid


def loss(real: float | Array, imaginary: float | Array) -> float | Array:
    return real**2 + imaginary**2


def reflection(real: float) -> tuple[Input, ...]:
    return (
        Input("real", "real part", "1", normal(real, 0.005)),
        Input("imaginary", "imaginary part", "1", normal(0.0, 0.005)),
    )


read_9_4 = pytest.mark.outside(
    document="JCGM 101", edition="2008", section="9.4, comparison loss", mark="READ"
)


@read_9_4
def test_comparison_loss_at_zero() -> None:
    """In units of 1e-6. The budget finds no doubt at all; the law has a hard end at 0."""
    budget = make_budget(loss, reflection(0.0))
    assert budget.u == pytest.approx(0.0, abs=1e-12)
    drawn = propagate(loss, reflection(0.0), draws=1_000_000, seed=16)
    assert 1e6 * drawn.value == pytest.approx(50.0, abs=0.5)
    assert 1e6 * drawn.u == pytest.approx(50.0, abs=0.5)
    assert 1e6 * np.array(drawn.shortest) == pytest.approx([0.0, 150.0], abs=1.5)


@read_9_4
@pytest.mark.parametrize(
    ("real", "budget_ends", "drawn_ends"),
    [(0.010, (-96.0, 296.0), (0.0, 367.0)), (0.050, (1520.0, 3480.0), (1590.0, 3543.0))],
)
def test_comparison_loss_away_from_zero(
    real: float, budget_ends: tuple[float, float], drawn_ends: tuple[float, float]
) -> None:
    budget = make_budget(loss, reflection(real))
    ends = (budget.value - budget.expanded, budget.value + budget.expanded)
    assert 1e6 * np.array(ends) == pytest.approx(budget_ends, abs=0.6)
    drawn = propagate(loss, reflection(real), draws=1_000_000, seed=17)
    assert 1e6 * np.array(drawn.shortest) == pytest.approx(drawn_ends, abs=0.012 * drawn_ends[1])
    assert not validate(budget, drawn).valid


@read_9_4
def test_comparison_loss_mean_and_spread() -> None:
    drawn = propagate(loss, reflection(0.010), draws=1_000_000, seed=18)
    assert (1e6 * drawn.value, 1e6 * drawn.u) == pytest.approx((150.0, 112.0), abs=0.6)


@pytest.mark.outside(
    document="JCGM 101", edition="2008", section="7.9.2, numerical tolerance", mark="MEMORY"
)
@pytest.mark.parametrize(
    ("u", "digits", "tolerance"),
    [
        (0.00035, 2, 0.000005),
        (2.0, 1, 0.5),
        (2.0, 2, 0.05),
        (10.1, 2, 0.5),
        (0.0754, 2, 0.0005),
        (0.0998, 2, 0.005),
    ],
)
def test_numerical_tolerance(u: float, digits: int, tolerance: float) -> None:
    """The last one rounds to 0.10, and its last digit is that of 0.10."""
    assert numerical_tolerance(u, digits) == pytest.approx(tolerance, rel=1e-12)
