"""The cautions: the mill's own rules first, every danger named, nothing called harmless."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.mill.model import Mill, Safety
from clew.papers import DEFERRAL, cautions
from clew.papers import floor_numbers as floor


def _words(mill: Mill, safety: Safety | None = None, units: str = "metric") -> dict[str, str]:
    found = cautions(mill.safety if safety is None else safety, mill.line[0], units)  # type: ignore[arg-type]  # plain str in a test
    return {caution.title: caution.text for caution in found}


def test_the_mills_own_rules_come_first_and_in_their_order(demo_mill: Mill) -> None:
    first = cautions(demo_mill.safety, demo_mill.line[0])[: len(demo_mill.safety.local_rules)]
    assert tuple(caution.text for caution in first) == demo_mill.safety.local_rules


@pytest.mark.parametrize("units", ["metric", "yard"])
@pytest.mark.parametrize("noise", [None, 70.0, 84.0, 92.0])
def test_no_caution_calls_anything_safe(demo_mill: Mill, units: str, noise: float | None) -> None:
    safety = demo_mill.safety.model_copy(update={"noise_dba": noise})
    for caution in cautions(safety, demo_mill.line[0], units):  # type: ignore[arg-type]  # plain str in a test
        assert not re.search(
            "safe|harmless|no danger|no risk", f"{caution.title} {caution.text}", re.IGNORECASE
        )
    assert not re.search("safe", DEFERRAL, re.IGNORECASE)


def test_every_danger_of_the_line_is_named(demo_mill: Mill) -> None:
    words = _words(demo_mill)
    assert "cannot be seen at the nozzle" in words["Steam burns"]
    assert "vented before you thread or clear" in words["Steam burns"]
    order = [
        words["Wrap or jam"].index(step)
        for step in ("Stop", "Lock", "Tag", "Vent steam and air", "dead", "reach in")
    ]
    assert order == sorted(order)
    assert "starts by itself" in words["Power cut"]
    assert "second-quality" in words["Belt stopped"]
    assert "two people" in words["Cones and cases"]
    assert "lint" in words["Hot dryer"]
    assert "authorised persons only" in words["Boiler"]
    assert {"Moving parts", "Floor and pipes", "Noise"} <= words.keys()


def test_numbers_are_the_mills_own_in_either_system(demo_mill: Mill) -> None:
    metric, yard = _words(demo_mill), _words(demo_mill, units="yard")
    assert (
        "(100 °C in the steamer; 40 kPa on the supply gauge, hotter there)" in metric["Steam burns"]
    )
    assert "212 °F" in yard["Steam burns"]
    assert "150 s" in metric["Belt stopped"] and "1.4 m " in metric["Belt stopped"]
    assert "4.6 ft" in yard["Belt stopped"]
    assert "12 kg at most" in metric["Cones and cases"]
    assert "26.4 lb at most" in yard["Cones and cases"]
    assert demo_mill.safety.first_aid in metric["Steam burns"]
    assert "All 6 lock-outs" in metric["Wrap or jam"]


def test_what_the_mill_does_not_say_is_not_made_up(demo_mill: Mill) -> None:
    words = _words(demo_mill, Safety())
    assert "Noise" not in words
    assert "gauge" not in words["Steam burns"]
    assert "lock-outs" not in words["Wrap or jam"]
    assert not re.search(r"\d", words["Cones and cases"])


@pytest.mark.parametrize(
    ("noise", "said"),
    [(79.9, "tell the lead"), (80.0, "there for you"), (84.9, "there for you"), (85.0, "Wear ear")],
)
def test_noise_asks_for_more_as_it_grows(demo_mill: Mill, noise: float, said: str) -> None:
    text = _words(demo_mill, demo_mill.safety.model_copy(update={"noise_dba": noise}))["Noise"]
    assert said in text
    assert f"{noise:g} dB(A)" in text


def test_every_caution_says_what_it_rests_on(demo_mill: Mill) -> None:
    for caution in cautions(demo_mill.safety, demo_mill.line[0]):
        assert re.search(
            "READ|MEMORY|DERIVED|common practice, no published source|the mill file", caution.source
        )


def test_the_closing_line_puts_local_rules_first() -> None:
    assert DEFERRAL.startswith("Local rules come first")
    assert "licensed people" in DEFERRAL


@given(st.floats(1.0, 90_000.0), st.sampled_from(["metric", "yard"]))
def test_a_heaviest_lift_is_never_rounded_up(mass_g: float, units: str) -> None:
    figure, unit = floor.lift(mass_g, units).split()  # type: ignore[arg-type]  # plain str in a test
    in_g = float(figure) * {"kg": 1000.0, "lb": 453.59237}[unit]
    assert in_g <= mass_g + 1.0
    assert in_g >= mass_g - 454.0
