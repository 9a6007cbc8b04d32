"""Folded yarns and reeled leas as two old handbooks work them."""

import pytest

from clew.quantities import convert_count
from clew.strand.notation import read_plied
from clew.strand.plies import component_to_reach, resultant_count


@pytest.mark.outside(
    document="Brooks, Cotton Manufacturing; Davis, Hosiery Manufacture",
    edition="as scanned",
    section="resultant count of folded yarns",
    mark="READ",
)
@pytest.mark.parametrize(
    ("components", "unit", "answer", "half_place"),
    [
        ([20, 40], "Ne", 13 + 1 / 3, 1e-9),
        ([40, 80, 120], "Ne", 21.81, 0.01),
        ([24, 40], "Ne", 15.0, 1e-9),
        ([20, 15, 12], "Ne", 5.0, 1e-9),
        ([48, 24], "Ne", 16.0, 1e-9),
        ([50, 60], "den", 110.0, 1e-9),
        ([20, 20], "NeK", 10.0, 1e-9),
    ],
)
def test_resultant(components, unit, answer, half_place) -> None:
    found = resultant_count([float(count) for count in components], unit)
    assert found == pytest.approx(answer, abs=half_place)


@pytest.mark.outside(
    document="Brooks, Cotton Manufacturing; Davis, Hosiery Manufacture",
    edition="as scanned",
    section="find the third thread",
    mark="READ",
)
def test_third_thread_to_reach_tens() -> None:
    assert component_to_reach(10.0, [48.0, 24.0], "Ne") == pytest.approx(26.67, abs=0.005)


@pytest.mark.outside(
    document="Brooks, Cotton Manufacturing",
    edition="as scanned",
    section="notation of folded yarns",
    mark="READ",
)
@pytest.mark.parametrize(
    ("text", "counts", "unit", "resultant"),
    [
        ("2/20s NeK", None, "NeK", 10.0),
        ("2/20s Ne", None, "Ne", 10.0),
        ("20/2 Nm", None, "Nm", 10.0),
        ("30/2 spun silk", "resultant", "Ne", 30.0),
    ],
)
def test_notation(text, counts, unit, resultant) -> None:
    found = read_plied(text, counts=counts)
    assert convert_count(found.resultant_tex, "tex", unit) == pytest.approx(resultant, rel=1e-12)


@pytest.mark.outside(
    document="Brooks, Cotton Manufacturing",
    edition="as scanned",
    section="count from a lea of 120 yards: 1000 over its grains",
    mark="READ",
)
def test_25_grains_in_a_lea_are_40s() -> None:
    """The handbook's 1000 stands for 7000/7 exactly: 840 yards are seven leas."""
    assert convert_count(25.0, "gr", "Ne") == pytest.approx(40.0, rel=1e-12)


@pytest.mark.outside(
    document="Brooks, Cotton Manufacturing",
    edition="as scanned",
    section="French count, 1000 m in 500 g",
    mark="READ",
)
def test_twenties_english_are_16_93_french() -> None:
    assert convert_count(20.0, "Ne", "Nm") / 2.0 == pytest.approx(16.93, abs=0.005)
