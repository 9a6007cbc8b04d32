"""Constants from measured balls: what they tell, what stays open, what is refused."""

import dataclasses

import numpy as np
import pytest

from clew.ball.size.constants import NAMES, ShapeConstants, ShapeValues, Span
from clew.ball.size.fit import MeasuredBall, fit_shape
from clew.ball.size.pressing import Press
from clew.ball.size.shape import WoundSize, ball_shape, sizes_at
from clew.faults import BadInput

TRUE = ShapeValues(
    hoop_modulus_kpa=2e4,
    radial_c0_kpa=20.0,
    radial_c1=3.0,
    relaxation_frac=0.3,
    swelling_frac=0.03,
    width_share=0.8,
    pressing_set_frac=0.6,
)
WOUND = [
    (WoundSize(92.0, 70.0, 30.0, 60.0), Press(60.0)),
    (WoundSize(90.0, 72.0, 30.0, 40.0), Press(60.0)),
    (WoundSize(94.0, 68.0, 30.0, 80.0), Press(62.0)),
]


def measured(noise_mm=0.0, *, seed=0, bore=True, balls=3):
    """Balls of the true constants, read with an error."""
    random = np.random.default_rng(seed)
    found = []
    for wound, press in (WOUND * balls)[:balls]:
        sizes = sizes_at(wound, TRUE, press)[[3, 4, 5, 7]] + noise_mm * random.normal(size=4)
        found.append(
            MeasuredBall(
                wound,
                float(sizes[0]),
                float(sizes[1]),
                float(sizes[2]) if bore else None,
                press,
                float(sizes[3]),
            )
        )
    return found


def test_exact_readings_bring_the_constants_back():
    fit = fit_shape(measured(), reading_mm=0.02)
    assert fit.best.swelling_frac == pytest.approx(0.03, abs=5e-4)
    assert fit.best.width_share == pytest.approx(0.8, abs=0.02)
    assert fit.best.pressing_set_frac == pytest.approx(0.6, abs=2e-3)
    assert fit.best.hoop_modulus_kpa / fit.best.radial_c0_kpa == pytest.approx(1000.0, rel=0.25)
    assert fit.scatter_mm < 0.02


def test_what_the_balls_cannot_tell_stays_open():
    """Diameter, width and thickness settle swelling and set, and say nothing of the relaxation."""
    fit = fit_shape(measured(bore=False))
    assert fit.told_frac["pressing_set_frac"] > 0.9
    assert fit.told_frac["relaxation_frac"] < 0.05
    stated = ShapeConstants().relaxation_frac
    open_still = fit.interval_95["relaxation_frac"]
    assert open_still.low == pytest.approx(stated.low, abs=0.03)
    assert open_still.high == pytest.approx(stated.high, abs=0.03)


def test_measured_balls_give_a_central_size_inside_its_interval():
    fit = fit_shape(measured(0.5), reading_mm=0.5)
    shape = ball_shape(92.0, 70.0, 30.0, 60.0, fit, press=Press(60.0))
    stated = ball_shape(92.0, 70.0, 30.0, 60.0, ShapeConstants(), press=Press(60.0))
    assert shape.measured
    assert "measured" in shape.caution
    for part in ("relaxed", "pressed"):
        for field in dataclasses.fields(getattr(shape, part)):
            size = getattr(getattr(shape, part), field.name)
            before = getattr(getattr(stated, part), field.name)
            assert size.low < size.central < size.high
            assert size.high - size.low < before.high - before.low


def test_intervals_hold_the_truth_about_as_often_as_they_say():
    """Of 16 fits to noisy balls the 95 % interval of the relaxed diameter holds it in most."""
    truth = sizes_at(WOUND[0][0], TRUE, None)[3]
    held = 0
    for seed in range(16):
        fit = fit_shape(measured(0.5, seed=seed), reading_mm=0.5)
        size = ball_shape(92.0, 70.0, 30.0, 60.0, fit).relaxed.diameter_mm
        held += size.low <= truth <= size.high
    assert held >= 13


def test_more_balls_narrow_the_interval():
    widths = []
    for balls in (3, 12):
        fit = fit_shape(measured(0.3, balls=balls), reading_mm=0.5)
        size = ball_shape(92.0, 70.0, 30.0, 60.0, fit).relaxed.diameter_mm
        widths.append(size.high - size.low)
    assert widths[1] < 0.75 * widths[0]


def test_balls_that_disagree_widen_the_interval():
    """Readings said to be good to 0.1 mm but scattering by 1 mm are taken at their scatter."""
    calm = fit_shape(measured(0.1), reading_mm=0.1)
    wild = fit_shape(measured(1.5), reading_mm=0.1)
    spread = [
        fit.interval_95["pressing_set_frac"].high - fit.interval_95["pressing_set_frac"].low
        for fit in (calm, wild)
    ]
    assert spread[1] > 3.0 * spread[0]


def test_a_constant_stated_without_width_stays_put():
    stated = dataclasses.replace(ShapeConstants(), radial_c1=Span(3.0, 3.0))
    fit = fit_shape(measured(), stated)
    assert fit.best.radial_c1 == pytest.approx(3.0, rel=1e-12)
    assert fit.told_frac["radial_c1"] == 0.0
    assert fit.scaled_covariance[2, 2] == 0.0


def changed(**sizes):
    good = measured()
    return [dataclasses.replace(good[0], **sizes), *good[1:]]


@pytest.mark.parametrize(
    ("balls", "key"),
    [
        (measured()[:2], "balls"),
        (changed(relaxed_diameter_mm=-3.0), "relaxed_diameter_mm"),
        (changed(relaxed_width_mm=float("nan")), "relaxed_width_mm"),
        (changed(relaxed_diameter_mm=200.0), "relaxed_diameter_mm"),
        (changed(relaxed_bore_mm=120.0), "relaxed_bore_mm"),
        (changed(pressed_thickness_mm=99.0), "pressed_thickness_mm"),
        (changed(pressed_thickness_mm=40.0), "pressed_thickness_mm"),
        (changed(press=None), "pressed_thickness_mm"),
    ],
)
def test_impossible_measurements_are_refused(balls, key):
    with pytest.raises(BadInput) as refused:
        fit_shape(balls)
    assert refused.value.faults[0].key == key


def test_every_fault_is_told_at_once():
    bad = changed(relaxed_diameter_mm=-3.0, relaxed_bore_mm=-1.0, pressed_thickness_mm=None)[:2]
    with pytest.raises(BadInput) as refused:
        fit_shape(bad, reading_mm=0.0)
    assert [fault.key for fault in refused.value.faults] == [
        "balls",
        "reading_mm",
        "relaxed_diameter_mm",
        "relaxed_bore_mm",
    ]


def test_nothing_left_to_fit_is_refused():
    fixed = ShapeConstants(**{name: Span(v, v) for name, v in dataclasses.asdict(TRUE).items()})
    with pytest.raises(BadInput, match="nothing is left to fit"):
        fit_shape(measured(), fixed)
    assert set(NAMES) == set(dataclasses.asdict(TRUE))
