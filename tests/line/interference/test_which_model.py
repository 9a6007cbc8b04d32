"""Random stops or fixed fills: the decision, and its reasons."""

import pytest

from clew.faults import BadInput
from clew.line.interference.which_model import which_applies


@pytest.mark.parametrize(
    ("words", "law", "exact"),
    [
        ({"stops": "doffs"}, "synchronous", True),
        ({"stops": "doffs", "fill_cv": 0.01}, "synchronous", True),
        ({"stops": "doffs", "fill_cv": 0.05}, "synchronous", False),
        ({"stops": "doffs", "hands": 2}, "synchronous", False),
        ({"stops": "breaks", "service_cv": 0.0}, "constant", True),
        ({"stops": "breaks", "service_cv": 0.1}, "constant", True),
        ({"stops": "breaks", "service_cv": 0.5}, "gamma", True),
        ({"stops": "breaks"}, "exponential", True),
        ({"stops": "breaks", "walk_s": 5.0, "service_cv": 0.0}, "patrol", True),
        ({"stops": "breaks", "walk_s": 5.0}, "patrol", False),
        ({"stops": "breaks", "hands": 3}, "exponential", True),
        ({"stops": "breaks", "hands": 3, "service_cv": 0.3}, "exponential", False),
        ({"stops": "breaks", "hands": 3, "walk_s": 4.0}, "exponential", False),
        ({"stops": "both"}, "exponential", False),
    ],
)
def test_the_model_for_a_row(words, law, exact):
    found = which_applies(**words)
    assert (found.law, found.exact) == (law, exact)
    assert all(reason.endswith(".") for reason in found.reasons)


def test_reasons_say_what_decides():
    assert "fall into step" in which_applies("doffs").reasons[0]
    assert "meet by chance" in which_applies("breaks").reasons[0]
    assert "no closed form holds for both" in which_applies("both").reasons[0]
    more = " ".join(which_applies("breaks", hands=2, service_cv=2.0, walk_s=3.0).reasons)
    assert "wait more" in more
    assert "walk is left out" in more


def test_bad_words_and_numbers_are_named_at_once():
    with pytest.raises(BadInput) as bad:
        which_applies("lunch", hands=0, service_cv=-1.0, walk_s=-1.0, fill_cv=9.0)
    keys = {"hands", "walk_s", "stops", "service_cv", "fill_cv"}
    assert {fault.key for fault in bad.value.faults} == keys


def test_step_is_lost_as_quickly_as_the_reasons_say(served_in_order, by_seeds):
    """Shares of the wait of random stops, by the spread of the fill, one hand 81 % busy."""
    from clew.line.interference.one_hand import one_hand

    at_random = one_hand(9, run_s=90.0, service_s=10.0).wait_s

    def share(cv: float) -> float:
        shape, scale = 1.0 / cv**2, 90.0 * cv**2
        wait, _ = by_seeds(
            lambda seed: served_in_order(
                9,
                1,
                lambda chance: chance.gammavariate(shape, scale),
                lambda chance: 10.0,
                stops=4_000,
                seed=seed,
            )[1],
            4,
        )
        return wait / at_random

    assert share(0.01) == pytest.approx(0.04, abs=0.01)
    assert share(0.02) == pytest.approx(0.11, abs=0.01)
    assert share(0.05) == pytest.approx(0.32, abs=0.02)
    assert share(0.10) == pytest.approx(0.53, abs=0.02)
    assert share(1.0) == pytest.approx(1.0, abs=0.06)
