"""Shrink as the standards define it, and what high bulk is said to do to the count."""

import pytest

from clew.strand.bulk import shrink_for_count, steamed


@pytest.mark.outside(
    document="ASTM D2259, Shrinkage of Yarns",
    edition="2021",
    section="S = 100 (L0 - L1)/L0, both lengths under one low load; symbols recalled",
    mark="MEMORY",
)
@pytest.mark.parametrize(
    ("before_mm", "after_mm"), [(1000.0, 800.0), (500.0, 412.5), (914.4, 914.4)]
)
def test_a_skein_measured_before_and_after(before_mm: float, after_mm: float) -> None:
    """The same fibre on the shorter skein: count rises as L0/L1."""
    shrink_percent = 100.0 * (before_mm - after_mm) / before_mm
    found = steamed(400.0, shrink_percent / 100.0)
    assert found.count_tex == pytest.approx(400.0 * before_mm / after_mm, rel=1e-12)
    assert found.take_up_ratio == pytest.approx(after_mm / before_mm, rel=1e-12)


@pytest.mark.outside(
    document="ISO 18066, Determination of shrinkage in boiling water (filament yarns)",
    edition="2015",
    section="3.1: decrease in length as a percentage of the original length",
    mark="READ",
)
def test_shrink_is_a_part_of_the_original_length() -> None:
    """1000 mm that become 750 mm shrink by 25 %, not by the 33 % of the length that is left."""
    assert shrink_for_count(1.0, 1000.0 / 750.0) == pytest.approx(0.25, abs=1e-12)


@pytest.mark.outside(
    document="Hofer, Textil- und Modelexikon, as cited by Wikipedia (de), Hochbauschgarn",
    edition="7th",
    section="pages 383-384: the count rises by 20 % at least",
    mark="READ",
)
def test_a_fifth_more_count_takes_a_sixth_of_shrink() -> None:
    assert 100 * shrink_for_count(400.0, 480.0) == pytest.approx(16.67, abs=0.005)
