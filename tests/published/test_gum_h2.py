"""Resistance and reactance measured together: GUM, H.2."""

from __future__ import annotations

import math

import numpy as np
import pytest

from clew.checks.instruments.budget import Array, make_budget
from clew.checks.instruments.joint import joint_readings, results_covariance

VOLT = (5.007, 4.994, 5.005, 4.990, 4.999)
MILLIAMPERE = (19.663, 19.639, 19.640, 19.685, 19.678)
PHASE = (1.0456, 1.0438, 1.0468, 1.0428, 1.0433)
NAMES = (("v", "voltage", "V"), ("i", "current", "A"), ("phi", "phase", "rad"))


def resistance(v: float | Array, i: float | Array, phi: float | Array) -> float | Array:
    return v / i * np.cos(phi)


def reactance(v: float | Array, i: float | Array, phi: float | Array) -> float | Array:
    return v / i * np.sin(phi)


def impedance(v: float | Array, i: float | Array, phi: float | Array) -> float | Array:
    return v / i + 0.0 * phi


ROWS = [(v, i / 1000.0, phi) for v, i, phi in zip(VOLT, MILLIAMPERE, PHASE, strict=True)]
INPUTS, TOGETHER = joint_readings(NAMES, ROWS)

read = pytest.mark.outside(
    document="JCGM 100 (GUM)",
    edition="2008",
    section="H.2, resistance and reactance read together",
    mark="READ",
)


@read
@pytest.mark.parametrize(
    ("model", "value", "u"),
    [(resistance, 127.732, 0.071), (reactance, 219.847, 0.295), (impedance, 254.260, 0.236)],
)
def test_values_and_uncertainties(model, value: float, u: float) -> None:
    """u(X) is .29558 unrounded and printed .295, cut and not rounded."""
    found = make_budget(model, INPUTS, correlations=TOGETHER)
    assert found.value == pytest.approx(value, abs=6e-4)
    assert found.u == pytest.approx(u, abs=7e-4)
    assert found.df is None


@read
@pytest.mark.parametrize(
    ("pair", "r"), [(("v", "i"), -0.36), (("v", "phi"), 0.86), (("i", "phi"), -0.65)]
)
def test_correlations_of_inputs(pair: tuple[str, str], r: float) -> None:
    assert TOGETHER[pair] == pytest.approx(r, abs=0.006)


@pytest.mark.outside(
    document="JCGM 100 (GUM)", edition="2008", section="H.2.3, correlations of results",
    mark="MEMORY",
)  # fmt: skip
def test_correlations_of_results() -> None:
    covariance = results_covariance((resistance, reactance, impedance), INPUTS, TOGETHER)
    sd = np.sqrt(np.diag(covariance))
    r = covariance / np.outer(sd, sd)
    assert (r[0, 1], r[0, 2], r[1, 2]) == pytest.approx((-0.588, -0.485, 0.993), abs=6e-4)


@pytest.mark.outside(
    document="JCGM 100 (GUM)", edition="2008", section="H.2.4, second approach", mark="COMPUTED"
)
def test_working_each_row_out_first_gives_the_same() -> None:
    """R of each row, then their mean: the doubts agree, but for the bend of cos and 1/I."""
    each = np.array([resistance(*row) for row in ROWS])
    found = make_budget(resistance, INPUTS, correlations=TOGETHER)
    assert found.u == pytest.approx(float(each.std(ddof=1)) / math.sqrt(5), rel=5e-3)


@pytest.mark.outside(
    document="A data file that calls mA ampere", edition="as read", section="H.2 data",
    mark="READ",
)  # fmt: skip
def test_milliampere_taken_for_ampere_is_a_thousandfold_out() -> None:
    inputs, together = joint_readings(NAMES, list(zip(VOLT, MILLIAMPERE, PHASE, strict=True)))
    found = make_budget(resistance, inputs, correlations=together)
    assert found.value == pytest.approx(0.127732, abs=1e-6)
    assert found.value != pytest.approx(127.732, rel=0.5)


@pytest.mark.outside(
    document="JCGM 100 (GUM)", edition="2008", section="H.2, correlation left out",
    mark="COMPUTED",
)  # fmt: skip
def test_leaving_correlation_out_is_wrong() -> None:
    found = make_budget(resistance, INPUTS)
    assert found.u > 2.5 * 0.071
