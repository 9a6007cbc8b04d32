"""Theorems on renewal processes, held by cone ties."""

import math

import numpy as np
import pytest

from clew.knots.law import knot_law
from clew.knots.renewal import (
    Cones,
    cells_of,
    first_tie_after,
    first_tie_anywhere,
    stationary_ties,
    tie_density,
)
from clew.knots.sources import Sources


@pytest.mark.outside(
    document="D. R. Cox, Renewal Theory",
    edition="Methuen 1962",
    section="equilibrium residual life: density (1 - F)/mu, mean mu (1 + cv^2)/2",
    mark="MEMORY",
)
@pytest.mark.parametrize("cv", [0.1, 0.5, 1.0])
def test_residual_cone_has_the_equilibrium_mean(cv):
    """A ball meets long cones more often than short ones."""
    cones = Cones(100.0, cv)
    first = first_tie_anywhere(cells_of(cones, 0.5, 8000), cones)
    mean_m = float(first @ (0.5 * (np.arange(8000) + 0.5)))
    assert mean_m == pytest.approx(100.0 * (1.0 + cv**2) / 2.0, rel=1e-3)


@pytest.mark.outside(
    document="D. R. Cox, Renewal Theory",
    edition="Methuen 1962",
    section="elementary renewal theorem and its second term: m(x) = x/mu + (cv^2 - 1)/2",
    mark="MEMORY",
)
@pytest.mark.parametrize("cv", [0.3, 0.7, 1.0])
def test_ties_after_a_cone_start_near_the_renewal_line(cv):
    """Mean ties in a long strand that begins with a fresh cone."""
    cones, cells = Cones(100.0, cv), 8000
    lattice = cells_of(cones, 0.5, cells)
    first = first_tie_after(cones, lattice, 0)
    ties = float(tie_density(first, lattice.cone, cells).sum())
    assert ties == pytest.approx(4000.0 / 100.0 + (cv**2 - 1.0) / 2.0, abs=1e-3)


@pytest.mark.outside(
    document="D. R. Cox, Renewal Theory",
    edition="Methuen 1962",
    section="exponential intervals: the renewal process is Poisson",
    mark="MEMORY",
)
@pytest.mark.parametrize("length_m", [10.0, 100.0, 700.0])
def test_exponential_cones_give_poisson_ties(length_m):
    """A spread of 100 % is the exponential length."""
    found = stationary_ties(Cones(100.0, 1.0), length_m)
    mean = length_m / 100.0
    poisson = [math.exp(-mean) * mean**n / math.factorial(n) for n in range(25)]
    assert found[:25] == pytest.approx(poisson[: found.size], abs=1e-12)


@pytest.mark.outside(
    document="D. R. Cox, Renewal Theory",
    edition="Methuen 1962",
    section="equilibrium variance: cv^2 x/mu + 1/6 + cv^4/2 - mu3/(3 mu^3)",
    mark="MEMORY",
)
@pytest.mark.parametrize("cv", [0.3, 0.5, 0.8])
def test_variance_of_ties_in_a_long_strand(cv):
    """For gamma lengths the third central moment is 2 cv^4 mu^3."""
    found = stationary_ties(Cones(100.0, cv), 6000.0)
    numbers = np.arange(found.size)
    mean = float(found @ numbers)
    variance = float(found @ (numbers - mean) ** 2)
    expected = 60.0 * cv**2 + 1.0 / 6.0 + cv**4 / 2.0 - 2.0 * cv**4 / 3.0
    assert variance == pytest.approx(expected, abs=1e-6)


@pytest.mark.outside(
    document="Greenwood and Yule, An inquiry into the nature of frequency distributions",
    edition="Journal of the Royal Statistical Society 83, 1920",
    section="gamma-mixed Poisson is negative binomial",
    mark="MEMORY",
)
@pytest.mark.parametrize("shape", [0.5, 1.0, 4.0])
def test_one_rate_a_ball_gives_the_negative_binomial(shape):
    """No cone ends in the ball: its breaks are a gamma-mixed Poisson count."""
    from scipy.stats import nbinom

    found = knot_law(Sources(0.004, shape), 300.0)
    chances = nbinom.pmf(np.arange(found.pmf.size), shape, 1.0 / (1.0 + 1.2 / shape))
    assert found.pmf == pytest.approx(chances, abs=1e-12)
