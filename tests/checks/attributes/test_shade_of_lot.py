"""A dye lot against its standard, and lots beside each other."""

from __future__ import annotations

import numpy as np
import pytest

from clew.checks.attributes.shade_of_lot import (
    ShadeLimits,
    ShadeReading,
    compare_lots,
    judge_shades,
)
from clew.checks.attributes.shade_words import shade_words
from clew.faults import BadInput
from clew.strand.shade import ciede2000

SLOE = (24.0, 8.5, -19.0)


def lot(
    name: str, shift: tuple[float, float, float] = (0, 0, 0), *, cones: int = 6, sd: float = 0.1
) -> list[ShadeReading]:
    """Cones spread evenly about a mean, so that the mean itself is known."""
    ways = np.array([[1, 0, 0], [0, 1, 0], [0, 0, 1]])
    found = []
    for cone in range(cones):
        off = sd * (1 if cone % 2 else -1) * ways[cone // 2 % 3]
        lab = np.array(SLOE) + shift + (off if cones > 1 else 0)
        found.append(ShadeReading(name, f"{name}-{cone + 1}", *map(float, lab)))
    return found


def test_a_lot_at_its_standard_passes() -> None:
    found = judge_shades(lot("SL-207"), SLOE)[0]
    assert found.mean == pytest.approx(SLOE)
    assert found.difference.de00 == pytest.approx(0.0, abs=1e-9)
    assert (found.decision, found.sure, found.off) == ("pass", True, ())
    assert found.interval is not None
    assert found.interval[0] == 0.0
    assert 0.0 < found.interval[1] < 0.3


def test_a_lot_beyond_the_limit_fails_and_says_how() -> None:
    limits = ShadeLimits()
    found = judge_shades(lot("SL-215", (-2.5, 1.5, 0.6)), SLOE, limits)[0]
    assert found.difference.de00 == pytest.approx(float(ciede2000(SLOE, (21.5, 10.0, -18.4))))
    assert found.decision == "fail"
    assert found.sure
    assert shade_words(found, [], limits) == (
        "SL-215 is 2.4 from the standard, darker and redder; above 1.0."
    )


def test_a_difference_equal_to_the_limit_passes() -> None:
    apart = judge_shades(lot("X", (1.0, 0, 0)), SLOE)[0].difference.de00
    assert judge_shades(lot("X", (1.0, 0, 0)), SLOE, ShadeLimits(apart))[0].decision == "pass"
    below = float(np.nextafter(apart, 0.0))
    limits = ShadeLimits(below)
    found = judge_shades(lot("X", (1.0, 0, 0)), SLOE, limits)[0]
    assert found.decision == "fail"
    assert f"is {apart:.3f} from" in shade_words(found, [], limits)


def test_a_cone_that_stands_out_is_sorted_out() -> None:
    readings = [*lot("SL-207", cones=12), ShadeReading("SL-207", "odd", 26.0, 8.5, -19.0)]
    limits = ShadeLimits()
    found = judge_shades(readings, SLOE, limits)[0]
    assert (found.decision, found.off) == ("sort", ("odd",))
    assert "Sort out cone odd: up to 1.3 from the rest." in shade_words(found, [], limits)
    assert found.spread == pytest.approx(max(one.from_standard for one in found.cones), abs=0.1)


def test_readings_of_a_cone_are_averaged_first() -> None:
    """Twenty readings of one cone weigh as one cone."""
    many = [ShadeReading("A", "1", 25.0, 8.5, -19.0)] * 20
    found = judge_shades([*many, ShadeReading("A", "2", 23.0, 8.5, -19.0)], SLOE)[0]
    assert found.mean == pytest.approx(SLOE)
    assert [one.readings for one in found.cones] == [20, 1]
    assert found.repeat_sd == 0.0


def test_the_spread_of_repeats_is_that_of_their_variances() -> None:
    twice = [ShadeReading("A", "1", 24.3, 8.5, -19.0), ShadeReading("A", "1", 23.7, 8.5, -19.0)]
    found = judge_shades(twice, SLOE)[0]
    assert found.repeat_sd == pytest.approx((0.18 / 3) ** 0.5)
    assert judge_shades(lot("A"), SLOE)[0].repeat_sd is None


def test_one_cone_decides_but_is_not_sure() -> None:
    found = judge_shades(lot("A", cones=1), SLOE)[0]
    assert (found.interval, found.sure, found.decision) == (None, False, "pass")
    assert "Seen on one cone only" in shade_words(found, [], ShadeLimits())


def test_cones_all_alike_leave_no_doubt() -> None:
    found = judge_shades(lot("A", (0.5, 0, 0), sd=0.0), SLOE)[0]
    assert found.interval == pytest.approx((found.difference.de00,) * 2, abs=1e-9)
    same = judge_shades(lot("A", sd=0.0), SLOE)[0]
    assert same.interval == pytest.approx((0.0, 0.0), abs=1e-9)


@pytest.mark.parametrize("cones", [3, 6, 12])
@pytest.mark.parametrize(
    "shift", [(0.0, 0.0, 0.0), (0.1, 0.1, 0.1), (0.3, 0.2, 0.0), (1.0, 0.5, 0.5), (3.0, 0.0, 2.0)]
)
def test_the_interval_holds_the_true_difference(
    shift: tuple[float, float, float], cones: int
) -> None:
    """Three hundred lots drawn by chance about a mean that is known."""
    rng = np.random.default_rng(6)
    centre = np.array(SLOE) + shift
    truth = float(ciede2000(centre, SLOE))
    held = 0
    for _ in range(300):
        lab = rng.normal(centre, (0.4, 0.3, 0.5), (cones, 3))
        readings = [ShadeReading("A", str(k), *map(float, row)) for k, row in enumerate(lab)]
        interval = judge_shades(readings, SLOE)[0].interval
        assert interval is not None
        held += interval[0] <= truth <= interval[1]
    assert held >= 277, held


def test_lots_that_may_not_lie_in_one_case() -> None:
    limits = ShadeLimits()
    found = judge_shades([*lot("A"), *lot("B", (0.6, 0, 0)), *lot("C", (1.6, 0, 0))], SLOE, limits)
    pairs = compare_lots(found, limits)
    assert [(one.first, one.second, one.may_mix) for one in pairs] == [
        ("A", "B", True),
        ("A", "C", False),
        ("B", "C", True),
    ]
    assert "Do not mix with C: 1.2 apart." in shade_words(found[0], pairs, limits)
    assert "mix" not in shade_words(found[1], pairs, limits)


def test_the_lightness_factor_lets_more_through() -> None:
    far = lot("A", (1.8, 0, 0))
    assert judge_shades(far, SLOE)[0].decision == "fail"
    assert judge_shades(far, SLOE, ShadeLimits(k_lightness=2.0))[0].decision == "pass"


def test_what_cannot_be_judged() -> None:
    with pytest.raises(BadInput, match="no readings"):
        judge_shades([], SLOE)
    with pytest.raises(BadInput, match="limit"):
        ShadeLimits(0.0)
    with pytest.raises(BadInput, match="not a shade"):
        judge_shades([ShadeReading("A", "1", float("nan"), 0, 0)], SLOE)
