"""Constants of control charts against printed tables, and against misprints in some of them."""

from __future__ import annotations

import pytest

from clew.checks.charts.constants import chart_constants, d3

COMPUTED = {
    2: (1.128379, 0.852502, 0.797885, 1.879971, 2.658681, 0, 3.266532, 0, 3.266532, 2.658681),
    3: (1.692569, 0.888368, 0.886227, 1.023327, 1.954410, 0, 2.568170, 0, 2.574591, 1.772454),
    4: (2.058751, 0.879808, 0.921318, 0.728597, 1.628103, 0, 2.266047, 0, 2.282052, 1.457194),
    5: (2.325929, 0.864082, 0.939986, 0.576819, 1.427299, 0, 2.088998, 0, 2.114499, 1.289807),
    6: (2.534413, 0.848040, 0.951533, 0.483246, 1.287128, 0.030363, 1.969637, 0, 2.003830,
        1.183706),
    7: (2.704357, 0.833205, 0.959369, 0.419284, 1.181916, 0.117685, 1.882315, 0.075708, 1.924292,
        1.109321),
    8: (2.847201, 0.819831, 0.965030, 0.372527, 1.099095, 0.185090, 1.814910, 0.136171, 1.863829,
        1.053667),
    9: (2.970026, 0.807834, 0.969311, 0.336697, 1.031661, 0.239133, 1.760867, 0.184013, 1.815987,
        1.010092),
    10: (3.077505, 0.797051, 0.972659, 0.308264, 0.975350, 0.283706, 1.716294, 0.223023, 1.776977,
         0.974815),
    11: (3.172873, 0.787315, 0.975350, 0.285084, 0.927394, 0.321280, 1.678720, 0.255582, 1.744418,
         0.945515),
    12: (3.258455, 0.778478, 0.977559, 0.265778, 0.885906, 0.353512, 1.646488, 0.283269, 1.716731,
         0.920682),
    15: (3.471827, 0.756211, 0.982316, 0.223109, 0.788541, 0.428200, 1.571800, 0.346559, 1.653441,
         0.864098),
    20: (3.734950, 0.728686, 0.986934, 0.179606, 0.679701, 0.510231, 1.489769, 0.414702, 1.585298,
         0.803224),
    25: (3.930629, 0.708441, 0.989640, 0.152647, 0.606281, 0.564786, 1.435214, 0.459292, 1.540708,
         0.763237),
}  # fmt: skip
NAMES = ("d2", "d3", "c4", "A2", "A3", "B3", "B4", "D3", "D4", "E2")
TABLE = "Factors for control charts, table A.22, scribd 575462347"


@pytest.mark.outside(
    document="Control-chart constants computed for the project's facts, apart from this program",
    edition="2026",
    section="n = 2 to 25, six digits after the point",
    mark="COMPUTED",
)
@pytest.mark.parametrize("n", COMPUTED)
def test_constants_to_six_digits(n: int) -> None:
    found = chart_constants(n)
    assert [getattr(found, name) for name in NAMES] == pytest.approx(COMPUTED[n], abs=6e-7)


@pytest.mark.outside(
    document=TABLE,
    edition="as stored",
    section="n = 2 to 15 and 20, three digits; every entry agrees but D4 of 3",
    mark="READ",
)
@pytest.mark.parametrize(
    ("n", "name", "printed"),
    [
        (2, "A2", 1.880), (3, "A2", 1.023), (4, "A2", 0.729), (5, "A2", 0.577), (10, "A2", 0.308),
        (2, "D4", 3.267), (4, "D4", 2.282), (6, "D4", 2.004), (10, "D4", 1.777), (7, "D3", 0.076),
        (10, "D3", 0.223), (5, "B4", 2.089), (10, "B3", 0.284), (5, "A3", 1.427),
    ],
)  # fmt: skip
def test_a_printed_table(n: int, name: str, printed: float) -> None:
    assert getattr(chart_constants(n), name) == pytest.approx(printed, abs=5.1e-4)


@pytest.mark.outside(
    document=TABLE,
    edition="as stored",
    section="D4 of 3 printed 2.574 (other tables 2.575)",
    mark="READ",
)
def test_a_last_digit_cut_off_rather_than_rounded() -> None:
    assert f"{chart_constants(3).D4:.3f}" == "2.575"
    assert f"{int(chart_constants(3).D4 * 1000) / 1000:.3f}" == "2.574"


@pytest.mark.outside(
    document="ASTM, Montgomery (2.114) and NIST (2.115)",
    edition="as quoted in the facts",
    section="D4 of 5",
    mark="READ",
)
def test_a_last_digit_that_two_tables_print_differently() -> None:
    """2.114499: the one rounds the constant, the other one what was already rounded to 2.1145."""
    assert f"{chart_constants(5).D4:.3f}" == "2.114"
    assert f"{chart_constants(5).D4:.4f}" == "2.1145"


@pytest.mark.outside(
    document="Table of control chart constants, scribd 495921519",
    edition="as stored",
    section="misprints: d3 of 5, 21 and 23, D4 of 17",
    mark="READ",
)
@pytest.mark.parametrize(
    ("n", "name", "printed", "right"),
    [
        (5, "d3", 0.8798, 0.8641),
        (17, "D4", 1.662, 1.622),
        (21, "d3", 0.7272, 0.7242),
        (23, "d3", 0.1759, 0.7159),
    ],
)
def test_misprints_are_not_followed(n: int, name: str, printed: float, right: float) -> None:
    found = getattr(chart_constants(n), name)
    assert found == pytest.approx(right, abs=5.1e-4)
    assert abs(found - printed) > 2e-3


@pytest.mark.outside(
    document="Table of control chart constants, scribd 495921519",
    edition="as stored",
    section="d3 of 5 printed as d3 of 4",
    mark="DERIVED",
)
def test_one_misprint_is_the_row_above() -> None:
    assert d3(4) == pytest.approx(0.8798, abs=5.1e-5)
