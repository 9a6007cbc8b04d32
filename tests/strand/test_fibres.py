"""The table of fibres: one key each, densities that a fibre can have, marks that fit."""

import pytest

from clew.faults import BadInput
from clew.strand.fibres import FIBRES, fibre, fibre_density_kg_m3


def test_every_key_stands_once_and_finds_its_fibre() -> None:
    keys = [entry.key for entry in FIBRES]
    assert len(set(keys)) == len(keys)
    assert all(fibre(key).key == key for key in keys)


@pytest.mark.parametrize("entry", FIBRES, ids=[entry.key for entry in FIBRES])
def test_density_and_mark_go_together(entry) -> None:
    if entry.density_kg_m3 is None:
        assert entry.density_mark == "none"
        with pytest.raises(BadInput, match="no density is known"):
            fibre_density_kg_m3(entry.key)
    else:
        assert entry.density_mark in ("READ", "MEMORY")
        assert 900.0 <= fibre_density_kg_m3(entry.key) <= 2600.0


def test_an_unknown_key_is_refused() -> None:
    with pytest.raises(BadInput, match="no such fibre"):
        fibre("unobtainium")


@pytest.mark.parametrize(
    ("key", "g_cm3"),
    [
        *[("wool_combed", 1.31), ("wool_carded", 1.31), ("silk", 1.34), ("cotton", 1.52)],
        *[("acetate", 1.32), ("alginate", 1.75), ("polyester", 1.39), ("polyethylene", 0.95)],
        *[("polypropylene", 0.91), ("polyamide_filament", 1.14)],
    ],
)
def test_densities_at_65_percent_are_those_of_the_book(key: str, g_cm3: float) -> None:
    """Morton & Hearle, Physical Properties of Textile Fibres, Tables 5.1 and 5.2."""
    assert fibre_density_kg_m3(key) == pytest.approx(1000.0 * g_cm3, abs=1e-9)
