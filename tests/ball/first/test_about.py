"""What changed in the mill file since a belief was saved is named; what does not matter is not."""

from __future__ import annotations

from typing import Any

import pytest

from clew.ball.first.about import about_of, check_about
from clew.faults import BadInput
from clew.mill.model import Mill


def changed(mill: Mill, section: str, place: int, **values: Any) -> Mill:
    entries = list(getattr(mill, section))
    entries[place] = entries[place].model_copy(update=values)
    return mill.model_copy(update={section: tuple(entries)})


def of(mill: Mill, lot: str = "SL-207") -> Any:
    return about_of(mill, "Querl 100", lot)


@pytest.mark.parametrize(
    ("section", "values", "words"),
    [
        ("ball", {"pack_density_kg_m3": 160.0}, "ball pack_density_kg_m3 was 150, is 160"),
        ("ball", {"wind_ratio": 21.5}, "ball wind_ratio was 20.38, is 21.5"),
        ("yarn", {"shrink_frac": 0.19}, "yarn shrink_frac was 0.2, is 0.19"),
        ("line", {"scale_sd_g": 0.5}, "line scale_sd_g was 0.1, is 0.5"),
        ("line", {"name": "Line 2"}, "line Line 1, not Line 2"),
    ],
)
def test_what_differs_is_said_on_one_line(
    demo_mill: Mill, section: str, values: dict[str, Any], words: str
) -> None:
    now = of(changed(demo_mill, section, 0, **values))
    with pytest.raises(BadInput, match=words) as caught:
        check_about(of(demo_mill), now)
    assert len(caught.value.faults) == 1


def test_prices_and_targets_do_not_end_a_belief(demo_mill: Mill) -> None:
    """They change what to do, not what is known."""
    other = changed(demo_mill, "ball", 0, target_mass_g=103.0, knot_limit=9)
    assert check_about(of(demo_mill), of(other)) is True


def test_another_lot_is_another_lot_and_its_own_measures_are_its_own(demo_mill: Mill) -> None:
    assert check_about(of(demo_mill), of(demo_mill, "BR-088")) is False
    sloe = demo_mill.colour[0]
    lots = (sloe.dye_lot[0].model_copy(update={"count_measured_tex": 405.0}), *sloe.dye_lot[1:])
    measured = changed(demo_mill, "colour", 0, dye_lot=lots)
    with pytest.raises(BadInput, match="dye_lot count_measured_tex was 403, is 405"):
        check_about(of(demo_mill), of(measured))
