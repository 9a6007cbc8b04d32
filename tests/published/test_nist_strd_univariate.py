"""NIST statistical reference data: mean, spread and likeness of neighbours, to the digits.

The data are public domain (US Government). The numerically hard sets are NumAcc3 and NumAcc4: a
spread of 0.1 beside a mean of a million and of ten millions.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from clew.checks.charts.variance import lag_one
from clew.checks.components.components import components

LEW = """
-213 -564 -35 -15 141 115 -420 -360 203 -338 -431 194 -220 -513 154 -125 -559 92 -21 -579 -52 99
-543 -175 162 -457 -346 204 -300 -474 164 -107 -572 -8 83 -541 -224 180 -420 -374 201 -236 -531
83 27 -564 -112 131 -507 -254 199 -311 -495 143 -46 -579 -90 136 -472 -338 202 -287 -477 169
-124 -568 17 48 -568 -135 162 -430 -422 172 -74 -577 -13 92 -534 -243 194 -355 -465 156 -81 -578
-64 139 -449 -384 193 -198 -538 110 -44 -577 -6 66 -552 -164 161 -460 -344 205 -281 -504 134 -28
-576 -118 156 -437 -381 200 -220 -540 83 11 -568 -160 172 -414 -408 188 -125 -572 -32 139 -492
-321 205 -262 -504 142 -83 -574 0 48 -571 -106 137 -501 -266 190 -391 -406 194 -186 -553 83 -13
-577 -49 103 -515 -280 201 300 -506 131 -45 -578 -80 138 -462 -361 201 -211 -554 32 74 -533 -235
187 -372 -442 182 -147 -566 25 68 -535 -244 194 -351 -463 174 -125 -570 15 72 -550 -190 172 -424
-385 198 -218 -536 96
"""
MAVRO_LAST = """
18 17 18 19 18 17 15 14 15 15 17 18 18 19 19 21 20 16 14 13 13 15 15 16 15 14 13 14 15 14 15 16
15 16 19 20 20 21 22 23 24 25 27 26 26 26 27 26 25 24
"""
"""Last two figures of 2.0018 and so on."""
MICHELSON = """
299.85 299.74 299.90 300.07 299.93 299.85 299.95 299.98 299.98 299.88 300.00 299.98 299.93
299.65 299.76 299.81 300.00 300.00 299.96 299.96 299.96 299.94 299.96 299.94 299.88 299.80
299.85 299.88 299.90 299.84 299.83 299.79 299.81 299.88 299.88 299.83 299.80 299.79 299.76
299.80 299.88 299.88 299.88 299.86 299.72 299.72 299.62 299.86 299.97 299.95 299.88 299.91
299.85 299.87 299.84 299.84 299.85 299.84 299.84 299.84 299.89 299.81 299.81 299.82 299.80
299.77 299.76 299.74 299.75 299.76 299.91 299.92 299.89 299.86 299.88 299.72 299.84 299.85
299.85 299.78 299.89 299.84 299.78 299.81 299.76 299.81 299.79 299.81 299.82 299.85 299.87
299.87 299.81 299.74 299.81 299.94 299.95 299.80 299.81 299.87
"""


def read(text: str) -> NDArray[np.float64]:
    return np.array(text.split(), dtype=np.float64)


def alternating(first: float, low: float, high: float) -> NDArray[np.float64]:
    """One value, then two in turn, five hundred times."""
    return np.array([first, *([low, high] * 500)])


SETS = {
    "Lew": (read(LEW), -177.435, 277.332168044316, -0.307304800605679),
    "Mavro": (2 + read(MAVRO_LAST) * 1e-4, 2.001856, 0.000429123454003053, 0.937989183438248),
    "Michelson": (read(MICHELSON), 299.8524, 0.0790105478190518, 0.535199668621283),
    "NumAcc1": (np.array([10000001.0, 10000003.0, 10000002.0]), 10000002.0, 1.0, -0.5),
    "NumAcc2": (alternating(1.2, 1.1, 1.3), 1.2, 0.1, -0.999),
    "NumAcc3": (alternating(1000000.2, 1000000.1, 1000000.3), 1000000.2, 0.1, -0.999),
    "NumAcc4": (alternating(10000000.2, 10000000.1, 10000000.3), 10000000.2, 0.1, -0.999),
}


@pytest.mark.outside(
    document="NIST StRD, univariate summary statistics",
    edition="data as the Institute's own repository holds them",
    section="Lew, Mavro, Michelson (data READ); NumAcc1 to 4; certified values recalled",
    mark="MEMORY",
)
@pytest.mark.parametrize("name", list(SETS))
def test_certified_mean_and_standard_deviation(name: str) -> None:
    values, mean, sd, _ = SETS[name]
    found = components(values, {}, [])
    within = found.part("within")
    assert within is not None
    assert found.mean == pytest.approx(mean, rel=1e-14)
    # 0.1 is no binary fraction: beside ten millions the data themselves hold it to 1e-9
    assert within.sd == pytest.approx(sd, rel=1e-8 if name.startswith("NumAcc") else 1e-12)


@pytest.mark.outside(
    document="NIST StRD, univariate summary statistics",
    edition="data as the Institute's own repository holds them",
    section="Lew, Mavro, Michelson (data READ); NumAcc1 to 4; certified values recalled",
    mark="MEMORY",
)
@pytest.mark.parametrize("name", list(SETS))
def test_certified_lag_one_autocorrelation(name: str) -> None:
    values, _, _, lag = SETS[name]
    assert lag_one(values) == pytest.approx(lag, rel=1e-8 if name.startswith("NumAcc") else 1e-12)
