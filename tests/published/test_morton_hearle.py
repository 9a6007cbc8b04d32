"""Fibre densities as Morton & Hearle print them at 65 % relative humidity."""

import pytest

from clew.strand.fibres import fibre


@pytest.mark.outside(
    document="Morton & Hearle, Physical Properties of Textile Fibres",
    edition="as read",
    section="Table 5.1, densities of general-purpose fibres",
    mark="READ",
)
@pytest.mark.parametrize(
    ("key", "density_g_cm3"),
    [
        ("cotton", 1.52),
        ("viscose", 1.49),
        ("acetate", 1.32),
        ("triacetate", 1.32),
        ("wool_combed", 1.31),
        ("wool_carded", 1.31),
        ("silk", 1.34),
        ("protein", 1.30),
        ("alginate", 1.75),
        ("polyamide_staple", 1.14),
        ("polyamide_filament", 1.14),
        ("polyester", 1.39),
        ("acrylic", 1.19),
        ("polyethylene", 0.95),
        ("polypropylene", 0.91),
        ("modacrylic", 1.34),
        ("chlorofibre", 1.40),
        ("polylactide", 1.25),
        ("glass_coarse", 2.5),
        ("glass_fine", 2.5),
    ],
)
def test_density(key: str, density_g_cm3: float) -> None:
    entry = fibre(key)
    assert entry.density_kg_m3 == pytest.approx(1000 * density_g_cm3, abs=5.0)
    assert entry.density_mark == "READ"


@pytest.mark.outside(
    document="Morton & Hearle, Physical Properties of Textile Fibres",
    edition="as read",
    section="Table 5.2, aramid that is not para-aramid",
    mark="READ",
)
def test_density_of_aramid() -> None:
    assert fibre("aramid").density_kg_m3 == pytest.approx(1390.0, abs=5.0)


@pytest.mark.outside(
    document="Morton & Hearle, Physical Properties of Textile Fibres",
    edition="as read",
    section="Tables 5.1 and 5.2: no density is marked as read that is not checked",
    mark="READ",
)
def test_every_density_marked_read_is_checked_here() -> None:
    from clew.strand.fibres import FIBRES

    marks = test_density.pytestmark
    checked = {row[0] for mark in marks if mark.name == "parametrize" for row in mark.args[1]}
    assert checked | {"aramid"} == {entry.key for entry in FIBRES if entry.density_mark == "READ"}
