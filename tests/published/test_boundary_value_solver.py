"""The equations of the wound ball handed to a general boundary-value solver."""

import numpy as np
import pytest
from scipy.integrate import solve_bvp
from scipy.interpolate import CubicSpline

from clew.ball.size.release import wind_on_mandrel, withdraw
from clew.ball.size.stress import Pack, RadialModulus, wound_stress
from clew.ball.size.stress_closed_forms import bore_pressure_removed


def solved(slopes, ends, grid):
    """Solve for pressure and slope on a grid of radii, to 1e-9."""
    found = solve_bvp(slopes, ends, grid, np.zeros((2, grid.size)), tol=1e-9, max_nodes=20000)
    assert found.success
    return found.sol


@pytest.mark.outside(
    document="SciPy, scipy.integrate.solve_bvp",
    edition="1.15 or later",
    section="r2 P'' + 3 r P' - (E_t/E_r - 1) P = 0 with P given at the bore and 0 outside",
    mark="COMPUTED",
)
@pytest.mark.parametrize("root", [1.0, 5.0, 12.0])
def test_pressure_taken_off_the_bore(root):
    grid = np.linspace(25.0, 50.0, 60)

    def slopes(r, y):
        return np.vstack([y[1], ((root**2 - 1.0) * y[0] - 3.0 * r * y[1]) / r**2])

    def ends(inner, outer):
        return np.array([inner[0] + 1.0, outer[0]])

    found = solved(slopes, ends, grid)(grid)
    pressure, hoop = bore_pressure_removed(grid, 25.0, 50.0, 1.0, root)
    assert pressure == pytest.approx(found[0], abs=1e-6)
    assert hoop == pytest.approx(-(found[0] + grid * found[1]), abs=1e-5)


@pytest.mark.outside(
    document="SciPy, scipy.integrate.solve_bvp",
    edition="1.15 or later",
    section="last lap on a wound ball whose radial modulus follows its pressure",
    mark="COMPUTED",
)
def test_the_last_lap_of_a_stiffening_ball():
    """What one thin outer lap adds is the solution with the modulus at the wound pressure."""
    pack = Pack(2e4, RadialModulus(300.0, 3.0), 0.1)
    inner, outer, thick, stress = 15.0, 45.0, 0.02, 60.0
    before = wound_stress(inner, outer - thick, stress, pack, laps=1600)
    after = wound_stress(inner, outer + thick, stress, pack, laps=1600)
    midway = wound_stress(inner, outer, stress, pack, laps=1600)
    wound = CubicSpline(midway.radii_mm, midway.pressure_kpa)

    def slopes(r, y):
        ratio = 2e4 / (300.0 + 3.0 * wound(r))
        return np.vstack([y[1], ((ratio - 1.0) * y[0] - 3.0 * r * y[1]) / r**2])

    def ends(core, surface):
        return np.array([inner * core[1] - (0.1 - 1.0) * core[0], surface[0] - stress / outer])

    grid = np.linspace(inner, outer, 200)
    per_mm = solved(slopes, ends, grid)
    at = np.array([15.0, 25.0, 35.0, 42.0, 44.0])
    added = (after.at(at)[0] - before.at(at)[0]) / (2.0 * thick)
    scale = stress / outer
    assert added == pytest.approx(per_mm(at)[0], abs=2e-3 * scale)


@pytest.mark.outside(
    document="SciPy, scipy.integrate.solve_bvp",
    edition="1.15 or later",
    section="u'' + u'/r - g2 u/r2 = 0 under a pressure of -P(a) in the bore",
    mark="COMPUTED",
)
def test_bore_after_release_by_displacement():
    """Finite-element release with two-way hoops against the displacement form, to 1e-3."""
    hoop, radial, stress = 2500.0, 100.0, 10.0
    pack = Pack(hoop, RadialModulus(radial))
    wound = wound_stress(25.0, 50.0, stress, pack, laps=800)
    grid = np.linspace(25.0, 50.0, 100)

    def slopes(r, y):
        return np.vstack([y[1], (hoop / radial) * y[0] / r**2 - y[1] / r])

    def ends(bore, surface):
        return np.array([radial * bore[1] - wound.pressure_kpa[0], surface[1]])

    moved = solved(slopes, ends, grid)(25.0)[0]
    ball = wind_on_mandrel(50.0, 100.0, stress, pack, slack_modulus_kpa=hoop, laps=400)
    assert withdraw(ball).bore_diameter_mm - 50.0 == pytest.approx(2.0 * moved, rel=1e-3)
