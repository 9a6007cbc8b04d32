"""Calibration of a 10 kg weight on a mass comparator: EA-4/02, S2."""

from __future__ import annotations

import math

import pytest

from clew.checks.instruments.budget import Array, Input, make_budget
from clew.checks.instruments.distributions import normal, rectangular


def weight(
    reference: float | Array,
    drift: float | Array,
    comparison: float | Array,
    eccentricity: float | Array,
    air: float | Array,
) -> float | Array:
    return reference + (drift + comparison + eccentricity + air) / 1000.0


def inputs(comparison_mg: float) -> tuple[Input, ...]:
    return (
        Input("reference", "reference, U 45 mg at k 2", "g", normal(10_000.005, 0.0225)),
        Input("drift", "drift of the reference", "mg", rectangular(0.0, 15.0)),
        Input("comparison", "observed difference", "mg", normal(20.0, comparison_mg)),
        Input("eccentricity", "eccentric load, magnetism", "mg", rectangular(0.0, 10.0)),
        Input("air", "buoyancy of air", "mg", rectangular(0.0, 10.0)),
    )


@pytest.mark.outside(
    document="EA-4/02", edition="as recalled", section="S2, calibration of a weight", mark="MEMORY"
)
def test_printed_budget() -> None:
    found = make_budget(weight, inputs(25.0 / math.sqrt(3.0)))
    assert found.value == pytest.approx(10_000.025, abs=5e-7)
    assert 1000 * found.u == pytest.approx(29.3, abs=0.05)
    assert round(1000 * 2 * found.u) == 59
    parts = {row.key: 1000 * abs(row.contribution) for row in found.rows}
    assert parts == pytest.approx(
        {"reference": 22.5, "drift": 8.66, "comparison": 14.4, "eccentricity": 5.77, "air": 5.77},
        abs=0.05,
    )
    assert found.rows[0].key == "reference"


@pytest.mark.outside(
    document="metrodata.de, example S2 as stored",
    edition="as read",
    section="u .0291 g with a comparison of 14.2 mg",
    mark="READ",
)
def test_a_stored_page_prints_less_than_its_own_readings_give() -> None:
    """Its 14.2 mg gives 29.1; 25 mg over the root of 3 is 14.43 and gives 29.3."""
    theirs = make_budget(weight, inputs(14.2))
    assert 1000 * theirs.u == pytest.approx(29.1, abs=0.06)
    assert 25.0 / math.sqrt(3.0) != pytest.approx(14.2, abs=0.1)
    assert 1000 * make_budget(weight, inputs(25.0 / math.sqrt(3.0))).u != pytest.approx(
        29.1, abs=0.05
    )
