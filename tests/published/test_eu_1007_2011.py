"""Annex IX of the EU textile names regulation, entry by entry, and its labelling formula."""

import pytest

from clew.strand.allowances import (
    allowance_table,
    blend_allowance,
    conditioned_from_dry,
)
from clew.strand.blend import read_blend


@pytest.mark.outside(
    document="Regulation (EU) No 1007/2011",
    edition="2011, German print",
    section="Annex IX, agreed allowances up to metal",
    mark="READ",
)
@pytest.mark.parametrize(
    ("key", "percent"),
    [
        ("wool_combed", 18.25),
        ("wool_carded", 17.0),
        ("horsehair_combed", 16.0),
        ("horsehair_carded", 15.0),
        ("silk", 11.0),
        ("cotton", 8.5),
        ("cotton_mercerised", 10.5),
        ("kapok", 10.9),
        ("flax", 12.0),
        ("hemp", 12.0),
        ("jute", 17.0),
        ("abaca", 14.0),
        ("alfa", 14.0),
        ("coir", 13.0),
        ("broom", 14.0),
        ("ramie", 8.5),
        ("sisal", 14.0),
        ("sunn", 12.0),
        ("henequen", 14.0),
        ("maguey", 14.0),
        ("acetate", 9.0),
        ("alginate", 20.0),
        ("cupro", 13.0),
        ("modal", 13.0),
        ("protein", 17.0),
        ("triacetate", 7.0),
        ("viscose", 13.0),
        ("acrylic", 2.0),
        ("chlorofibre", 2.0),
        ("fluorofibre", 0.0),
        ("modacrylic", 2.0),
        ("polyamide_staple", 6.25),
        ("polyamide_filament", 5.75),
        ("aramid", 8.0),
        ("polyimide", 3.5),
        ("lyocell", 13.0),
        ("polylactide", 1.5),
        ("polyester", 1.5),
        ("polyethylene", 1.5),
        ("polypropylene", 2.0),
        ("polycarbamide", 2.0),
        ("polyurethane_staple", 3.5),
        ("polyurethane_filament", 3.0),
        ("vinylal", 5.0),
        ("trivinyl", 3.0),
        ("elastodiene", 1.0),
        ("elastane", 1.5),
        ("glass_coarse", 2.0),
        ("glass_fine", 3.0),
        ("elastomultiester", 1.5),
        ("elastolefin", 1.5),
        ("melamine", 7.0),
        ("metal", 2.0),
    ],
)
def test_allowance_as_read(key: str, percent: float) -> None:
    entry = allowance_table("eu-1007-2011")[key]
    assert 100 * entry.frac == pytest.approx(percent, abs=1e-9)
    assert entry.mark == "READ"


@pytest.mark.outside(
    document="Regulation (EU) No 1007/2011",
    edition="2011, amended 2012 and 2018",
    section="Annex IX, entries after metal",
    mark="MEMORY",
)
@pytest.mark.parametrize(
    ("key", "percent"),
    [
        ("metallised", 2.0),
        ("asbestos", 2.0),
        ("paper", 13.75),
        ("polypropylene_polyamide", 1.0),
        ("polyacrylate", 30.0),
    ],
)
def test_allowance_from_memory(key: str, percent: float) -> None:
    entry = allowance_table("eu-1007-2011")[key]
    assert 100 * entry.frac == pytest.approx(percent, abs=1e-9)
    assert entry.mark == "MEMORY"


@pytest.mark.outside(
    document="Regulation (EU) No 1007/2011",
    edition="2011, German print",
    section="Annex IX: no entry is marked as read that is not checked",
    mark="READ",
)
def test_the_rows_above_are_the_whole_annex() -> None:
    read = {key for key, entry in allowance_table("eu-1007-2011").items() if entry.mark == "READ"}
    marks = test_allowance_as_read.pytestmark
    checked = {row[0] for mark in marks if mark.name == "parametrize" for row in mark.args[1]}
    assert read == checked


@pytest.mark.outside(
    document="Regulation (EU) No 1007/2011",
    edition="2011",
    section="Annex IX, note 1: wool that cannot be told combed from carded",
    mark="MEMORY",
)
def test_plain_wool_takes_the_carded_allowance() -> None:
    assert blend_allowance(read_blend("100 wool"), "eu-1007-2011").frac == pytest.approx(0.17)


@pytest.mark.outside(
    document="Regulation (EU) No 1007/2011",
    edition="2011",
    section="Annex VIII, example of a ternary mixture: allowances and loss READ, the rest recalled",
    mark="MEMORY",
)
def test_label_shares_of_a_ternary_mixture() -> None:
    dry = [("wool_carded", 0.1030), ("polyamide_staple", 0.5000), ("cotton", 0.3970)]
    label = dict(conditioned_from_dry(dry, "eu-1007-2011", loss_frac={"cotton": 0.04}))
    assert 100 * label["wool_carded"] == pytest.approx(10.97, abs=0.005)
    assert 100 * label["polyamide_staple"] == pytest.approx(48.37, abs=0.005)
    assert 100 * label["cotton"] == pytest.approx(40.66, abs=0.005)
