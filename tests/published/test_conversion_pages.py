"""Count constants as teaching pages print them, and the errors some of them print."""

import pytest

from clew.quantities import LENGTH, MASS, convert_count, read_quantity
from clew.strand.plies import resultant_count


@pytest.mark.outside(
    document="Teaching pages on yarn count conversion",
    edition="as read",
    section="constants for worsted, linen lea, jute and yards in a pound",
    mark="READ",
)
@pytest.mark.parametrize(
    ("value", "unit", "to_unit", "answer", "half_place"),
    [
        (1.0, "Ne", "tex", 591.0, 0.5),
        (1.0, "jute", "tex", 34.45, 0.005),
        (1.0, "m/kg", "yd/lb", 0.496, 0.0005),
        (1.0, "yd/lb", "m/kg", 2.016, 0.0005),
        (1.0, "Ne", "den", 5315.0, 0.5),
    ],
)
def test_constant(value, unit, to_unit, answer, half_place) -> None:
    assert convert_count(value, unit, to_unit) == pytest.approx(answer, abs=half_place)


@pytest.mark.outside(
    document="Teaching page, yarn count formulas",
    edition="as read",
    section="three factors with a lost decimal: errors",
    mark="READ",
)
@pytest.mark.parametrize(
    ("unit", "to_unit", "printed", "right"),
    [("Ne", "Nm", 17.0, 1.693), ("Ne", "den", 0.5315, 5315.0), ("Nm", "NeK", 1.5, 0.8858)],
)
def test_lost_decimals_are_not_ours(unit, to_unit, printed, right) -> None:
    found = convert_count(1.0, unit, to_unit)
    assert found == pytest.approx(right, rel=5e-4)
    assert abs(found / printed - 1.0) > 0.3


@pytest.mark.outside(
    document="Teaching page, units used in textile calculations (article 159)",
    edition="as read",
    section="inch in yards, ounce in pounds: errors",
    mark="READ",
)
@pytest.mark.parametrize(
    ("text", "kind", "whole", "printed", "right"),
    [("1 in", LENGTH, "1 yd", 0.278, 0.0278), ("1 oz", MASS, "1 lb", 0.06237, 0.0625)],
)
def test_wrong_inch_and_ounce_are_not_ours(text, kind, whole, printed, right) -> None:
    found = read_quantity(text, kind) / read_quantity(whole, kind)
    assert found == pytest.approx(right, abs=5e-5)
    assert abs(found - printed) > 1e-4


@pytest.mark.outside(
    document="Examination answer page, three-fold yarn of 20s, 15s and 12s",
    edition="as read",
    section="answer 10s: error",
    mark="READ",
)
def test_a_doubled_resultant_is_not_ours() -> None:
    """The page multiplies the resultant by two; 20s, 15s and 12s fold to 5s."""
    assert resultant_count([20.0, 15.0, 12.0], "Ne") == pytest.approx(5.0)


@pytest.mark.outside(
    document="Trade page on yarn count",
    edition="as read",
    section="Ne = (L/G) x 840: error",
    mark="READ",
)
def test_an_inverted_hank_is_not_ours() -> None:
    """840 yards in a pound are Ne 1: the hank divides, it does not multiply."""
    pound_tex = 1000.0 * read_quantity("1 lb", MASS) / read_quantity("840 yd", LENGTH)
    assert convert_count(pound_tex, "tex", "Ne") == pytest.approx(1.0, rel=1e-12)
