"""Agreed allowances: both tables, their marks, and blends on dry or conditioned shares."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.strand.allowances import (
    TABLE_NAMES,
    Allowance,
    allowance,
    allowance_table,
    blend_allowance,
    conditioned_from_dry,
    dry_from_conditioned,
)
from clew.strand.fibres import FIBRES

EU = "eu-1007-2011"
EU_KEYS = sorted(allowance_table(EU))


@st.composite
def blends(draw):
    keys = draw(st.lists(st.sampled_from(EU_KEYS), min_size=1, max_size=5, unique=True))
    parts = [draw(st.floats(0.01, 1.0)) for _ in keys]
    return [(key, part / sum(parts)) for key, part in zip(keys, parts, strict=True)]


def test_the_law_covers_every_fibre_we_know() -> None:
    assert set(EU_KEYS) == {entry.key for entry in FIBRES}


@pytest.mark.parametrize("name", TABLE_NAMES)
def test_every_entry_of_every_table_carries_its_mark_and_source(name: str) -> None:
    known = {entry.key for entry in FIBRES}
    for key, entry in allowance_table(name).items():
        assert key in known
        assert 0.0 <= entry.frac <= 0.30
        assert entry.mark in ("READ", "READ-via", "MEMORY")
        assert entry.source


def test_the_tables_cannot_be_written_to() -> None:
    with pytest.raises(TypeError):
        allowance_table(EU)["silk"] = Allowance(0.5, "MEMORY", "nobody")  # type: ignore[index]  # must fail


@given(blend=blends())
def test_a_blend_lies_between_its_fibres(blend) -> None:
    fracs = [allowance(key, EU).frac for key, _ in blend]
    found = blend_allowance(blend, EU).frac
    assert min(fracs) - 1e-12 <= found <= max(fracs) + 1e-12


@given(blend=blends())
def test_dry_and_conditioned_shares_come_back(blend) -> None:
    back = dict(conditioned_from_dry(dry_from_conditioned(blend, EU), EU))
    for key, share in blend:
        assert back[key] == pytest.approx(share, rel=1e-9)


@given(blend=blends())
def test_the_conditioned_convention_is_a_balance_of_masses(blend) -> None:
    """100 kg conditioned, fibre by fibre: its water over its dry mass is the blend's allowance."""
    dry = [(share / (1.0 + allowance(key, EU).frac)) for key, share in blend]
    water_over_dry = (1.0 - sum(dry)) / sum(dry)
    found = blend_allowance(blend, EU, shares_on="conditioned").frac
    assert found == pytest.approx(water_over_dry, abs=1e-12)


def test_wool_and_polyamide_in_both_conventions() -> None:
    blend = [("wool_combed", 0.75), ("polyamide_staple", 0.25)]
    assert blend_allowance(blend, EU).frac == pytest.approx(0.1525, abs=1e-12)
    conditioned = blend_allowance(blend, EU, shares_on="conditioned")
    assert conditioned.frac == pytest.approx(0.1500, abs=5e-5)
    assert sum(share for _, share in conditioned.dry_shares) == pytest.approx(1.0)


def test_a_mill_may_bring_its_own_table() -> None:
    own = {
        "silk": Allowance(0.10, "READ", "contract"),
        "cotton": Allowance(0.08, "READ", "contract"),
    }
    found = blend_allowance([("silk", 0.5), ("cotton", 0.5)], own)
    assert found.frac == pytest.approx(0.09)
    assert found.table == "of the mill's own"


def test_allowances_recalled_from_memory_are_named() -> None:
    found = blend_allowance([("polyester", 0.67), ("cotton", 0.33)], "astm-d1909")
    assert found.from_memory == ("polyester",)
    assert blend_allowance([("polyester", 0.67), ("cotton", 0.33)], EU).from_memory == ()


@pytest.mark.parametrize(
    ("blend", "table", "why"),
    [
        ([("kapok", 1.0)], "astm-d1909", "has no allowance"),
        ([("unobtainium", 1.0)], EU, "no such fibre"),
        ([("silk", 1.0)], "somewhere", "no such table"),
        ([("silk", 0.5)], EU, "sum to 100"),
        ([], EU, "one fibre or more"),
        ([("silk", 1.5), ("cotton", -0.5)], EU, "more than 0"),
    ],
)
def test_what_has_no_allowance_is_refused(blend, table: str, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        blend_allowance(blend, table)


def test_shares_must_say_what_they_are_shares_of() -> None:
    with pytest.raises(BadInput, match="dry or on conditioned"):
        blend_allowance([("silk", 1.0)], EU, shares_on="wet")  # type: ignore[arg-type]  # must fail
