"""How many more first balls: the floor of one cone, the second cone, and money."""

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.ball.first.belief import Belief, FirstBall, prior_belief, update
from clew.ball.first.more_balls import Source, WorthWeighing, cone_floor, worth_weighing
from clew.ball.first.next_balls import Z95, PowerLength, Wind, next_balls
from clew.faults import BadInput

CONSTANTS: dict[str, float] = {
    "winder_cv": 0.012,
    "lot_cv": 0.02,
    "cone_cv": 0.018,
    "length_cv": 0.005,
    "within_cv": 0.007,
    "scale_sd_g": 0.1,
    "reel_cv": 0.003,
    "area_elasticity": 0.28,
}
WIND = Wind(PowerLength(950.0, 402.0, 1.3), mass_g_per_m=200.0 / 402.0)


def prior(*winders: str, **changed: float) -> Belief:
    return prior_belief(winders or ("1", "2"), **{**CONSTANTS, **changed})


def balls(cones: str, winder: str = "1", *, with_length: bool = True) -> list[FirstBall]:
    return [
        FirstBall(
            f"{winder}-{i}",
            winder,
            ((cone, 1.0),),
            950.0,
            202.0,
            404.0 if with_length else None,
            200.0,
            402.0,
        )
        for i, cone in enumerate(cones)
    ]


def ask(belief: Belief, **changed: Any) -> WorthWeighing:
    asked: dict[str, Any] = {
        "present_cone": "A",
        "expected_mass_g": 200.0,
        "lot_balls": 3000,
        "price_per_kg": 12.0,
        "weighing_cost": 1.5,
    }
    return worth_weighing(belief, "1", **{**asked, **changed})


def test_the_floor_from_the_prior_is_the_closed_form() -> None:
    """(1 + e)² V(lot) V(cone) / (V(lot) + V(cone)): winder and this cone's count become known."""
    floor = cone_floor(prior(), "1", "A", expected_mass_g=200.0)
    lot, cone = CONSTANTS["lot_cv"] ** 2, CONSTANTS["cone_cv"] ** 2
    wanted = Z95 * 1.28 * math.sqrt(lot * cone / (lot + cone))
    assert floor.half_width_floor_frac == pytest.approx(wanted, rel=1e-9)


def test_the_floor_of_masses_alone_is_the_closed_form() -> None:
    """Only ω + (1 + e)(τ + γ) becomes known; what is left of ω + (1 + e) τ is by conditioning."""
    floor = cone_floor(prior(), "1", "A", expected_mass_g=200.0, with_length=False)
    wanted_var = CONSTANTS["winder_cv"] ** 2 + 1.28**2 * CONSTANTS["lot_cv"] ** 2
    cone_var = 1.28**2 * CONSTANTS["cone_cv"] ** 2
    wanted = Z95 * math.sqrt(wanted_var * cone_var / (wanted_var + cone_var))
    assert floor.half_width_floor_frac == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("with_length", [True, False])
def test_many_balls_of_a_cone_come_down_to_its_floor_and_no_further(with_length: bool) -> None:
    belief = update(prior(), balls("AAB"))
    floor = cone_floor(belief, "1", "A", expected_mass_g=200.0, with_length=with_length)
    many = [
        replace(b, ball_id=f"more {i}")
        for i, b in enumerate(balls("A" * 400, with_length=with_length))
    ]
    after = next_balls(update(belief, many), "1", WIND, 950.0).mass_mean_sd * Z95
    assert floor.half_width_floor_frac < after < 1.005 * floor.half_width_floor_frac


def test_without_cone_differences_there_is_no_floor() -> None:
    floor = cone_floor(prior(cone_cv=0.0), "1", "A", expected_mass_g=200.0)
    assert floor.half_width_floor_frac == pytest.approx(0.0, abs=1e-8)
    assert "peculiar" not in floor.words


def test_after_some_balls_of_a_cone_only_a_second_cone_helps() -> None:
    """One ball of a second cone then beats any number of the first, and the words say so."""
    belief = update(prior(), balls("A" * 8))
    floor = cone_floor(belief, "1", "A", expected_mass_g=200.0)
    assert floor.second_cone_pays
    assert floor.half_width_new_cone_frac < floor.half_width_floor_frac
    assert "weigh one from a second cone" in floor.words
    assert "peculiar to that cone" in floor.words


def test_before_any_ball_the_cone_on_the_winder_is_as_good_as_any() -> None:
    floor = cone_floor(prior(), "1", "A", expected_mass_g=200.0)
    assert not floor.second_cone_pays
    first = ask(prior()).steps
    present = next(s for s in first if (s.source, s.more) == ("present", 1))
    new = next(s for s in first if (s.source, s.more) == ("new", 1))
    assert present.half_width_frac == pytest.approx(new.half_width_frac, rel=1e-12)


def test_when_length_binds_masses_alone_say_little() -> None:
    asked: dict[str, Any] = {"expected_mass_g": 200.0, "binding": "length"}
    only = cone_floor(prior(), "1", "A", with_length=False, **asked)
    both = cone_floor(prior(), "1", "A", with_length=True, **asked)
    assert both.half_width_floor_frac < 0.5 * only.half_width_floor_frac
    assert "does not show a length" in only.words


def test_promised_narrowing_is_what_weighing_then_brings() -> None:
    """Whatever the further balls weigh, the interval comes out as foretold."""
    belief = update(prior(), balls("AA"))
    promised = {(step.source, step.more): step.half_width_frac for step in ask(belief).steps}
    plans: tuple[tuple[Source, str], ...] = (("present", "AAAA"), ("new", "CDEF"))
    for source, cones in plans:
        for more in (1, 4):
            taken = [
                FirstBall(str(i), "1", ((c, 1.0),), 950.0, 190.0 + 7 * i, 401.0, 200.0, 402.0)
                for i, c in enumerate(cones[:more])
            ]
            got = next_balls(update(belief, taken), "1", WIND, 950.0).mass_mean_sd * Z95
            assert got == pytest.approx(promised[source, more], rel=1e-10)


def test_giveaway_is_z_standard_deviations_averaged_over_the_winders() -> None:
    belief = update(prior(), balls("AA"))
    now = ask(belief, confidence=0.975).now
    sds = [next_balls(belief, winder, WIND, 950.0).mass_mean_sd for winder in "12"]
    assert now.giveaway_g == pytest.approx(Z95 * 200.0 * sum(sds) / 2.0, rel=1e-9)
    assert now.net_saving == 0.0


def test_saving_is_yarn_times_price_less_cost() -> None:
    answer = ask(prior(), new_cone_cost=4.0)
    for step in answer.steps:
        yarn_kg = (answer.now.giveaway_g - step.giveaway_g) * 3000 / 1000.0
        cost = step.more * (1.5 + (4.0 if step.source == "new" else 0.0))
        assert step.net_saving == pytest.approx(12.0 * yarn_kg - cost)


def test_the_advice_is_the_best_of_the_steps_and_says_why() -> None:
    answer = ask(update(prior(), balls("AAA")), new_cone_cost=2.0)
    best = max(answer.steps, key=lambda step: step.net_saving)
    assert (answer.more, answer.source) == (best.more, best.source)
    assert answer.source == "new"
    assert answer.net_saving == best.net_saving > 0.0
    assert f"weigh {answer.more} more, each from a different cone" in answer.words
    assert "saves more yarn than it costs" in answer.words


@pytest.mark.parametrize(
    "changed", [{"lot_balls": 5}, {"price_per_kg": 0.0}, {"weighing_cost": 1e4}]
)
def test_no_more_balls_where_they_do_not_pay(changed: dict[str, Any]) -> None:
    answer = ask(update(prior(), balls("ABC")), **changed)
    assert (answer.more, answer.net_saving) == (0, 0.0)
    assert "weigh no more" in answer.words


def test_dear_second_cones_leave_the_present_one() -> None:
    answer = ask(prior(), new_cone_cost=500.0)
    present = [step for step in answer.steps if step.source == "present"]
    assert answer.source == "present"
    assert answer.net_saving == max(step.net_saving for step in present)
    assert answer.net_saving == present[answer.more - 1].net_saving
    assert "from the cone on it now" in answer.words


def test_balls_that_cost_nothing_are_all_taken() -> None:
    answer = ask(prior(), weighing_cost=0.0, most_more=4)
    assert answer.more == 4
    assert "the most considered" in answer.words


def test_a_cone_called_new_is_not_mistaken_for_a_new_one() -> None:
    belief = update(prior(), balls("AA"))
    named = update(
        belief, [FirstBall("n", "1", (("new 1", 1.0),), 950.0, 201.0, 403.0, 200.0, 402.0)]
    )
    other = update(belief, [FirstBall("n", "1", (("Q", 1.0),), 950.0, 201.0, 403.0, 200.0, 402.0)])
    for left, right in zip(ask(named).steps, ask(other).steps, strict=True):
        assert left.half_width_frac == pytest.approx(right.half_width_frac, rel=1e-12)


@given(st.text("AB", max_size=5), st.booleans())
def test_more_balls_never_widen_and_the_present_cone_stays_above_its_floor(
    cones: str, with_length: bool
) -> None:
    answer = ask(update(prior(), balls(cones)), with_length=with_length)
    for source in ("present", "new"):
        widths = [step.half_width_frac for step in answer.steps if step.source == source]
        assert [step.more for step in answer.steps if step.source == source] == [*range(1, 11)]
        assert answer.now.half_width_frac > widths[0]
        assert all(left > right for left, right in pairwise(widths))
    present = [step.half_width_frac for step in answer.steps if step.source == "present"]
    assert present[-1] > answer.floor.half_width_floor_frac


@pytest.mark.parametrize(
    "changed",
    [
        {"expected_mass_g": 0.0},
        {"lot_balls": -1},
        {"price_per_kg": math.nan},
        {"weighing_cost": -1.0},
        {"new_cone_cost": math.inf},
        {"most_more": 0},
        {"confidence": 1.0},
    ],
)
def test_numbers_that_cannot_be_used_are_refused(changed: dict[str, Any]) -> None:
    with pytest.raises(BadInput):
        ask(prior(), **changed)
