"""What a mill file must hold beyond its own form: fibres, allowances, densities, tensions."""

from __future__ import annotations

import pytest

from clew.ball.mill_checks import MILL_CHECKS
from clew.faults import BadInput, Fault
from clew.mill import mill_from_text


def faults(text: str) -> tuple[Fault, ...]:
    with pytest.raises(BadInput) as caught:
        mill_from_text(text, "mill.toml", MILL_CHECKS)
    return caught.value.faults


def test_the_demo_mill_passes(demo_text: str) -> None:
    assert mill_from_text(demo_text, "mill.toml", MILL_CHECKS).ball


def test_an_unknown_fibre_is_named_with_those_near_it(demo_text: str) -> None:
    text = demo_text.replace('fibre = "acrylic"', 'fibre = "acrilic"')
    (fault,) = faults(text)
    assert (fault.section, fault.key) == ('fibre_blend "wool and acrylic" fibres 2', "fibre")
    assert fault.line == 1 + text.splitlines().index(
        next(row for row in text.splitlines() if "acrilic" in row)
    )
    assert "acrylic" in fault.expected


def test_a_fibre_without_an_allowance_in_its_table_is_named(demo_text: str) -> None:
    text = demo_text.replace('fibre = "cotton", share', 'fibre = "kapok", share').replace(
        'allowance_table = "eu-1007-2011"', 'allowance_table = "astm-d1909"'
    )
    found = faults(text)
    assert any("kapok" in fault.value for fault in found)
    assert all("without an allowance in astm-d1909" in fault.what for fault in found)


def test_a_ball_cannot_be_denser_than_its_fibre(demo_text: str) -> None:
    (fault,) = faults(
        demo_text.replace('pack_density = "170 kg/m3"', 'pack_density = "1400 kg/m3"')
    )
    assert fault.what == "a ball denser than its fibre"
    assert fault.expected == "less than 1310 kg/m3"
    assert fault.section == 'ball "Dunnow 50"'


def test_a_tension_out_of_reach_is_a_slip_of_the_pen(demo_text: str) -> None:
    (fault,) = faults(demo_text.replace('tension = "22 cN"', 'tension = "22 N"'))
    assert "stretch the yarn by more than a quarter" in fault.what


def test_they_come_with_all_other_faults_at_once(demo_text: str) -> None:
    text = demo_text.replace('fibre = "acrylic"', 'fibre = "acrilic"').replace(
        'declared_mass = "50 g"', 'declared_mass = "50"'
    )
    assert {fault.key for fault in faults(text)} == {"fibre", "declared_mass"}
