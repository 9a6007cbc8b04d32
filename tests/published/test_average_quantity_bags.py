"""200 g bags under the three rules of the average-quantity system."""

import pytest

from clew.checks.packages.rule_sets import plan_of
from clew.checks.target.economic import three_rules
from clew.mill.net_content import read_tables


@pytest.mark.outside(
    document="UK guidance to SI 2006/659, Annex C",
    edition="2006, scenario quoted at nbgecko.blogspot.com",
    section="200 g bags; the figures are ours, not those of the guidance",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("sd", "target", "binds"),
    [(4.0, 200.0, "average"), (5.0, 200.800, "first"), (6.0, 204.314, "second")],
)
def test_lowest_target(sd: float, target: float, binds: str) -> None:
    """max(200, 191 + 1.960 s, 182 + 3.719 s), before any allowance for sampling."""
    plan = plan_of("uk-2006", "mass", 200.0, 4000, read_tables())
    first, second = 200.0 - plan.deficiency, 200.0 - plan.far_deficiency
    assert (first, second) == (191.0, 182.0)
    found = three_rules(200.0, first, second, sd)
    assert found.mean == pytest.approx(target, abs=5e-4)
    assert found.binding == binds


@pytest.mark.outside(
    document="UK guidance to SI 2006/659, Annex C",
    edition="2006, scenario quoted at nbgecko.blogspot.com",
    section="200 g bags; the figures are ours, not those of the guidance",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("sd", "below", "above"), [(4.592, "average", "first"), (5.116, "first", "second")]
)
def test_where_the_binding_rule_changes(sd: float, below: str, above: str) -> None:
    """The first limit starts to bind at s = 4.592 g, the second overtakes it at 5.116 g."""
    assert three_rules(200.0, 191.0, 182.0, sd - 0.001).binding == below
    assert three_rules(200.0, 191.0, 182.0, sd + 0.001).binding == above
