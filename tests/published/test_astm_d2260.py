"""Count factors as ASTM D2260 prints them, to the printed digits."""

import pytest

from clew.quantities import convert_count


@pytest.mark.outside(
    document="ASTM D2260, Standard Tables of Conversion Factors for Yarn Numbering Systems",
    edition="2003 (2013)",
    section="Table 1",
    mark="READ",
)
@pytest.mark.parametrize(
    ("unit", "to_unit", "factor", "half_place"),
    [
        # one of the left unit is so many of the right unit, half of the last printed place
        ("Ne", "Nm", 1.6934, 5e-5),
        ("Nm", "Ne", 0.590541, 5e-7),
        ("Nm", "NeK", 0.885812, 5e-7),
        ("Nm", "run", 0.310034, 5e-7),
        ("Nm", "lea", 1.65352, 5e-6),
        ("Nm", "yd/lb", 496.055, 5e-4),
        ("gr", "den", 5.31487, 5e-6),
        ("gr", "tex", 0.590541, 5e-7),
        ("Ne", "NeK", 1.5, 1e-12),
        ("Ne", "run", 0.525, 1e-12),
        ("NeK", "run", 0.35, 1e-12),
        ("Ne", "lea", 2.8, 1e-12),
        ("NeK", "lea", 1.86667, 5e-6),
        ("lea", "run", 0.1875, 1e-12),
        ("tex", "den", 9.0, 1e-12),
        ("dtex", "den", 0.9, 1e-12),
    ],
)
def test_factor(unit: str, to_unit: str, factor: float, half_place: float) -> None:
    assert convert_count(1.0, unit, to_unit) == pytest.approx(factor, abs=half_place)


@pytest.mark.outside(
    document="ASTM D2260, Standard Tables of Conversion Factors for Yarn Numbering Systems",
    edition="2003 (2013)",
    section="Table 1, constants for tex",
    mark="READ",
)
@pytest.mark.parametrize(
    ("unit", "product", "half_place"),
    [("Ne", 590.5, 0.05), ("Ne", 590.54, 0.005), ("lea", 1653.5, 0.05), ("Nm", 1000.0, 1e-9)],
)
def test_tex_times_an_indirect_count(unit: str, product: float, half_place: float) -> None:
    assert convert_count(1.0, unit, "tex") == pytest.approx(product, abs=half_place)


@pytest.mark.outside(
    document="ASTM D2260, Standard Tables of Conversion Factors for Yarn Numbering Systems",
    edition="2003 (2013)",
    section="worked conversions",
    mark="READ",
)
@pytest.mark.parametrize(
    ("value", "unit", "to_unit", "answer", "half_place"),
    [(10.0, "Ne", "NeK", 15.0, 1e-9), (30.0, "tex", "Ne", 19.7, 0.05)],
)
def test_worked_conversion(value, unit, to_unit, answer, half_place) -> None:
    assert convert_count(value, unit, to_unit) == pytest.approx(answer, abs=half_place)


@pytest.mark.outside(
    document="ASTM D2260, Standard Tables of Conversion Factors for Yarn Numbering Systems",
    edition="2001 and 2003 (2013)",
    section="Table 1, run to linen lea: misprint",
    mark="READ",
)
def test_the_misprint_of_lea_from_run_is_not_ours() -> None:
    """Two prints give lea = 0.1875 x run, which is the factor from lea to run; right is 16/3."""
    assert convert_count(1.0, "run", "lea") == pytest.approx(16.0 / 3.0, rel=1e-12)
    assert abs(convert_count(1.0, "run", "lea") - 0.1875) > 5.0
