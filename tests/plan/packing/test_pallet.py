"""Cases on a pallet, and how they are lifted there."""

from __future__ import annotations

import pytest

from clew.mill.lines import Line
from clew.mill.model import Mill
from clew.mill.pack_rules import Lift, Pallet
from clew.plan.packing.lifting import judge_lift, multipliers, rate_multiplier, room_warnings
from clew.plan.packing.pallet import load_pallet


def pallet(**terms: float) -> Pallet:
    return Pallet.model_construct(
        **{
            "length_mm": 1200.0,
            "width_mm": 800.0,
            "deck_mm": 144.0,
            "most_height_mm": 1800.0,
            "most_mass_g": 500_000.0,
            "tare_mass_g": 25_000.0,
            "price": 0.0,
            "freight": 0.0,
            **terms,
        }
    )


def test_height_keeps_a_layer_off() -> None:
    load = load_pallet(pallet(), (598.0, 398.0, 398.0), 9_000.0)
    assert (load.layer.number, load.layers, load.number) == (4, 4, 16)
    assert (load.limited_by, load.height_mm, load.mass_g) == ("height", 1736.0, 169_000.0)
    assert load.room_frac == pytest.approx(16 * 0.598 * 0.398 * 0.398 / (1.2 * 0.8 * 1.656))
    assert not load.crossed


def test_mass_keeps_cases_off_and_the_top_layer_is_not_full() -> None:
    load = load_pallet(pallet(most_mass_g=100_000.0), (598.0, 398.0, 398.0), 8_000.0)
    assert (load.number, load.layers, load.limited_by) == (9, 3, "mass")


def test_nothing_stands_over_the_edge() -> None:
    assert load_pallet(pallet(), (604.0, 404.0, 300.0), 1.0).layer.number == 2
    load = load_pallet(pallet(), (1201.0, 300.0, 300.0), 1.0)
    assert (load.number, load.limited_by, load.layers) == (0, "no room", 0)
    assert load_pallet(pallet(), (300.0, 300.0, 1657.0), 1.0).number == 0


def test_a_pinwheel_crosses_its_joints() -> None:
    load = load_pallet(pallet(width_mm=1000.0), (598.0, 398.0, 398.0), 9_000.0)
    assert (load.layer.number, load.crossed) == (5, True)


LIFT = Lift.model_construct(
    reach_mm=350.0,
    from_height_mm=900.0,
    to_height_mm=1500.0,
    twist_deg=30.0,
    lifts_per_min=4.0,
    spell_s=8 * 3600.0,
    grip="good",
    careful_at_end=False,
)


def test_a_lift_in_a_mill_s_own_units() -> None:
    found = judge_lift(LIFT, 10_000.0)
    assert found.recommended_kg == pytest.approx(5.71, abs=5e-3)
    assert found.index == pytest.approx(1.75, abs=5e-3)
    assert "raised risk for some" in found.words and not found.judged_at_end


def test_careful_at_the_end_takes_the_lower_limit() -> None:
    careful = judge_lift(LIFT.model_copy(update={"careful_at_end": True}), 10_000.0)
    assert careful.judged_at_end
    assert careful.recommended_kg == pytest.approx(23.0 * careful.at_end.product)
    assert careful.at_end.height == pytest.approx(1.0 - 0.003 * 75.0)
    down = LIFT.model_copy(
        update={"careful_at_end": True, "from_height_mm": 1500.0, "to_height_mm": 900.0}
    )
    assert not judge_lift(down, 10_000.0).judged_at_end


def test_words_never_promise() -> None:
    for load in (100.0, 5_000.0, 10_000.0, 40_000.0):
        assert "safe" not in judge_lift(LIFT, load).words.casefold()
    assert "nearly all" in judge_lift(LIFT, 40_000.0).words
    beyond = judge_lift(LIFT.model_copy(update={"reach_mm": 700.0}), 1_000.0)
    assert beyond.index is None and "anyone" in beyond.words


def test_a_large_case_is_said_to_have_a_poor_grip() -> None:
    large = judge_lift(LIFT, 10_000.0, case_mm=(598.0, 398.0, 398.0))
    poor = judge_lift(LIFT.model_copy(update={"grip": "poor"}), 10_000.0)
    assert large.index == judge_lift(LIFT, 10_000.0).index
    assert poor.index is not None and f"{poor.index:.2f}" in large.cautions[0]
    assert judge_lift(LIFT, 10_000.0, case_mm=(400.0, 300.0, 300.0)).cautions == ()
    already = LIFT.model_copy(update={"grip": "poor"})
    assert judge_lift(already, 10_000.0, case_mm=(598.0, 398.0, 398.0)).cautions == ()


def test_a_warm_or_damp_room_is_said(demo_mill: Mill) -> None:
    line: Line = demo_mill.line[0]
    assert room_warnings((line,)) == ()
    warm = line.model_copy(update={"room_temperature_c": 30.0})
    damp = line.model_copy(update={"room_humidity_frac": 0.6})
    assert [line.name in said for said in room_warnings((warm, line, damp))] == [True, True]
    assert "30 °C" in room_warnings((warm,))[0]


def test_the_rate_is_straight_between_rows_and_nothing_above() -> None:
    assert rate_multiplier(2.5, 8.0, 75.0) == pytest.approx(0.60)
    assert rate_multiplier(0.01, 8.0, 75.0) == 0.85
    assert rate_multiplier(15.01, 0.5, 75.0) == 0.0
    assert rate_multiplier(1.0, 8.01, 75.0) == 0.0
    rates = [rate_multiplier(0.1 * step, 2.0, 80.0) for step in range(160)]
    assert rates == sorted(rates, reverse=True)


def test_farther_higher_and_more_twisted_is_never_easier() -> None:
    terms = {"reach_cm": 30.0, "from_cm": 75.0, "to_cm": 100.0, "twist_deg": 0.0}
    plain = multipliers(**terms, per_min=1.0, hours=1.0, grip="good").product
    for key, value in (("reach_cm", 40.0), ("from_cm", 60.0), ("twist_deg", 45.0)):
        assert multipliers(**{**terms, key: value}, per_min=1.0, hours=1.0, grip="good").product < (
            plain
        )


def test_a_pallet_stacked_beyond_the_lift_is_said() -> None:
    """From 90 cm: to 110 cm the travel counts nothing; to 173.6 cm it leaves 0.82 + 4.5/83.6."""
    lift = LIFT.model_copy(update={"from_height_mm": 900.0, "to_height_mm": 1100.0})
    plain = judge_lift(lift, 8_000.0)
    said = judge_lift(lift, 8_000.0, ends_mm=(144.0, 1736.0))
    assert said.index == plain.index and plain.index is not None
    (caution,) = said.cautions
    assert "from 144 to 1736 mm" in caution and "1100 mm" in caution
    assert f"up to {plain.index / (0.82 + 4.5 / 83.6):.2f}." in caution
    assert judge_lift(lift, 8_000.0, ends_mm=(700.0, 1100.0)).cautions == ()
    (high,) = judge_lift(lift, 8_000.0, ends_mm=(900.0, 1800.0)).cautions
    assert "no lift that ends above 1750 mm" in high
    large = judge_lift(lift, 8_000.0, case_mm=(598.0, 398.0, 398.0), ends_mm=(144.0, 1736.0))
    poor = plain.index / 0.9 / (0.82 + 4.5 / 83.6)
    assert any(f"up to {poor:.2f}, with a poor grip" in one for one in large.cautions)


def test_a_lift_outside_the_method_is_not_judged_again() -> None:
    beyond = LIFT.model_copy(update={"reach_mm": 700.0})
    found = judge_lift(beyond, 1_000.0, case_mm=(598.0, 398.0, 398.0), ends_mm=(144.0, 1736.0))
    assert found.cautions == ()


def test_cautions_tell_inches_and_fahrenheit_to_who_reads_yards(demo_mill: Mill) -> None:
    lift = LIFT.model_copy(update={"from_height_mm": 900.0, "to_height_mm": 1100.0})
    warm = demo_mill.line[0].model_copy(update={"room_temperature_c": 30.0})
    found = judge_lift(
        lift, 8_000.0, (warm,), case_mm=(598.0, 398.0, 398.0), ends_mm=(144.0, 1800.0)
    )
    assert found.cautions_in("metric") == found.cautions
    yards = found.cautions_in("yard")
    assert len(yards) == len(found.cautions) == 3
    assert not any(" mm" in one or "°C" in one for one in yards)
    room, grip, stack = yards
    assert "86 °F and" in room and "66 to 79 °F" in room
    assert "longer than 15.7 in or higher than 11.8 in" in grip
    assert "end at 43.3 in" in stack and "from 5.7 to 70.9 in" in stack
    assert "above 68.9 in" in stack
