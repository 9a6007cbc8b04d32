"""Stated constants and the scale on which they are uncertain."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.ball.size.constants import (
    NAMES,
    ShapeConstants,
    Span,
    from_scale,
    to_scale,
    values_from_scale,
)
from clew.faults import BadInput


@given(st.sampled_from(NAMES), st.floats(0.01, 0.99))
def test_the_working_scale_is_left_as_it_was_entered(name, value):
    assert from_scale(name, to_scale(name, value)) == pytest.approx(value, rel=1e-12)


@given(st.lists(st.floats(-3.0, 3.0), min_size=7, max_size=7))
def test_any_place_on_the_scale_is_a_possible_ball(places):
    """Moduli come out above 0 and shares between 0 and 1, wherever the fit may look."""
    values = values_from_scale(np.array(places))
    assert values.hoop_modulus_kpa > 0.0
    assert values.radial_c0_kpa > 0.0
    assert 0.0 < values.relaxation_frac < 1.0
    assert 0.0 < values.pressing_set_frac < 1.0


def test_every_impossible_range_is_named_at_once():
    with pytest.raises(BadInput) as refused:
        ShapeConstants(
            hoop_modulus_kpa=Span(-1.0, 1.0),
            radial_c0_kpa=Span(9.0, 1.0),
            relaxation_frac=Span(0.2, 1.2),
            swelling_frac=Span(0.0, float("nan")),
        )
    assert {fault.key for fault in refused.value.faults} == {
        "hoop_modulus_kpa",
        "radial_c0_kpa",
        "relaxation_frac",
        "swelling_frac",
    }
