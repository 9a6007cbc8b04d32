"""ASTM D2118 states moisture content of wool; the regains it stands for are other numbers."""

import pytest

from clew.strand.moisture import MoistureContent


@pytest.mark.outside(
    document="ASTM D2118, Assigning a Standard Commercial Moisture Content for Wool",
    edition="2018",
    section="contents cited: scoured wool 12.0 %, worsted dry-spun yarn 13.04 %",
    mark="READ",
)
@pytest.mark.parametrize(
    ("content", "regain", "half_place"), [(0.12, 0.136, 0.0005), (0.1304, 0.150, 0.0005)]
)
def test_content_of_wool_as_regain(content: float, regain: float, half_place: float) -> None:
    assert MoistureContent(content).to_regain().frac == pytest.approx(regain, abs=half_place)
