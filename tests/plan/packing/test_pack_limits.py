"""What keeps a packing from being: mass, height, edge, size, and what is said to free it."""

from __future__ import annotations

import re
from typing import Any

import pytest

from clew.faults import BadInput
from clew.mill.model import Mill
from clew.mill.pack_rules import CaseSize
from clew.plan.packing.answer import pack_answer
from clew.plan.packing.ball_block import block_of
from clew.plan.packing.conflict import conflicts_of
from clew.plan.packing.words import pack_words


def with_case(mill: Mill, name: str, **terms: Any) -> CaseSize:
    case = next(one for one in mill.pack.case if one.name == name)
    return case.model_copy(update=terms)


def with_habit(mill: Mill, cases: int) -> Mill:
    """The mill with so many cases on a pallet of Querl 100."""
    balls = tuple(
        one.model_copy(
            update={"packing": one.packing.model_copy(update={"cases_per_pallet": cases})}
        )
        if one.name == "Querl 100"
        else one
        for one in mill.ball
    )
    return mill.model_copy(update={"ball": balls})


def with_pallet(mill: Mill, **terms: Any) -> Mill:
    pallet = mill.pack.pallet.model_copy(update=terms)
    return mill.model_copy(update={"pack": mill.pack.model_copy(update={"pallet": pallet})})


def test_a_pallet_with_fewer_cases_is_as_high_as_they_stand(demo_mill: Mill) -> None:
    """Three cases are one layer of five: no pallet of five layers leaves the gate."""
    found = pack_answer(with_habit(demo_mill, 3), "Querl 100").present.option
    assert found is not None and found.load.layers == 5
    assert found.pallet_height_mm == 144.0 + 398.0
    assert found.pallet.volume_m3 == pytest.approx(1.2 * 1.0 * 0.542)
    full = pack_answer(with_habit(demo_mill, 25), "Querl 100").present.option
    assert full is not None and full.pallet_height_mm == full.load.height_mm


@pytest.mark.parametrize(
    ("terms", "free"),
    [
        ({"most_mass_g": 26_000.0}, "a pallet that may weigh "),
        ({"length_mm": 300.0, "width_mm": 300.0}, "a pallet of at least 598 × 398 mm"),
        ({"most_height_mm": 400.0}, "a pallet that may stand 542 mm high, for 1 layer"),
        (
            {"most_height_mm": 400.0, "most_mass_g": 26_000.0},
            "a pallet that may stand 542 mm high, for 1 layer and weigh ",
        ),
    ],
)
def test_a_pallet_that_takes_no_case_says_what_would_free_it(
    demo_mill: Mill, terms: dict[str, float], free: str
) -> None:
    mill = with_pallet(demo_mill, **terms)
    block, case = block_of(mill, "Querl 100"), with_case(mill, "Medium")
    (conflict,) = conflicts_of(mill, block, 10, case)
    assert "it holds 0" in conflict.words
    assert any(one.startswith(free) for one in conflict.frees), conflict.frees


@pytest.mark.parametrize("cases", [1, 7, 24, 25, 26, 60])
@pytest.mark.parametrize("most_kg", [27.0, 120.0, 500.0])
@pytest.mark.parametrize("high_mm", [300.0, 900.0, 2200.0])
def test_the_pallet_that_is_named_would_do(
    demo_mill: Mill, cases: int, most_kg: float, high_mm: float
) -> None:
    mill = with_pallet(demo_mill, most_mass_g=1000.0 * most_kg, most_height_mm=high_mm)
    block, case = block_of(mill, "Querl 100"), with_case(mill, "Medium")
    found = conflicts_of(mill, block, 10, case, bags=8, cases=cases)
    assert found or cases * 3.0 <= most_kg
    for conflict in found:
        named = next(one for one in conflict.frees if one.startswith("a pallet that may"))
        high = re.search(r"stand (\d+) mm", named)
        heavy = re.search(r"weigh (\d+) kg", named)
        larger = with_pallet(
            mill,
            **({"most_height_mm": float(high[1])} if high else {}),
            **({"most_mass_g": 1000.0 * float(heavy[1])} if heavy else {}),
        )
        assert conflicts_of(larger, block, 10, case, bags=8, cases=cases) == ()


def test_the_same_conflict_is_said_once(demo_mill: Mill) -> None:
    found = pack_answer(with_pallet(demo_mill, length_mm=300.0, width_mm=300.0), "Dunnow 50")
    assert found.best is None and len(set(found.conflicts)) == len(found.conflicts) == 3


def test_another_case_frees_one_that_may_weigh_too_little(demo_mill: Mill) -> None:
    """Two bags of ten balls of 100 g weigh 2.6 kg with a case of 0.6 kg that may weigh 2 kg."""
    weak = with_case(demo_mill, "Medium", most_mass_g=2_000.0)
    (conflict,) = conflicts_of(demo_mill, block_of(demo_mill, "Querl 100"), 10, weak, bags=2)
    assert conflict.key == "case_mass"
    assert conflict.frees == ("1 bag in the case", "the case Large")


def test_a_case_made_to_size_is_held_to_the_heaviest_lift(demo_mill: Mill) -> None:
    safety = demo_mill.safety.model_copy(update={"heaviest_lift_g": 5_000.0})
    light = demo_mill.model_copy(update={"safety": safety})
    found = pack_answer(light, "Querl 100", free=True)
    assert found.free is not None
    (conflict,) = found.free.conflicts
    assert conflict.key == "case_mass"
    assert any("made to size with 8 bags" in line and "5 kg" in line for line in pack_words(found))
    kept = pack_answer(demo_mill, "Querl 100", free=True).free
    assert kept is not None and kept.conflicts == ()


def test_a_slip_of_the_unit_is_named_and_not_filled(demo_mill: Mill) -> None:
    """590 m for 590 mm: filling such a case would not end."""
    cases = tuple(
        one.model_copy(update={"inner_length_mm": 590_000.0}) if one.name == "Medium" else one
        for one in demo_mill.pack.case
    )
    pack = demo_mill.pack.model_copy(update={"case": cases})
    wrong = with_pallet(demo_mill.model_copy(update={"pack": pack}), width_mm=1_000_000.0)
    with pytest.raises(BadInput) as bad:
        pack_answer(wrong, "Querl 100")
    assert [(fault.section, fault.key) for fault in bad.value.faults] == [
        ('pack case "Medium"', "inner_length"), ("pack pallet", "width"),
    ]  # fmt: skip
