"""Batches of dyestuff: batch effects of a random-effects model as a published program prints them.

Six batches, five samples each (Davies and Goldsmith, 1972; also Box and Tiao, 1973). A batch is to
a sample what a cone is to a ball, so the belief must find the same batch effects, the same spread
of them, and the same standard error of the general mean.
"""

import math

import pytest

from clew.ball.first.belief import Belief, FirstBall, prior_belief, update

YIELDS = {
    "A": (1545, 1440, 1440, 1520, 1580),
    "B": (1540, 1555, 1490, 1560, 1495),
    "C": (1595, 1550, 1605, 1510, 1560),
    "D": (1445, 1440, 1595, 1465, 1545),
    "E": (1595, 1630, 1515, 1635, 1625),
    "F": (1520, 1455, 1450, 1480, 1445),
}
MEAN = 1527.5
BATCH_VARIANCE = 1388.3332
RESIDUAL_VARIANCE = 2451.2501


def posterior(lot_cv: float) -> Belief:
    """Yields as logarithms of mass about the mean, on the scale of the mean."""
    belief = prior_belief(
        ["one"],
        winder_cv=0.0,
        lot_cv=lot_cv,
        cone_cv=math.sqrt(BATCH_VARIANCE) / MEAN,
        length_cv=1e-6,
        within_cv=math.sqrt(RESIDUAL_VARIANCE) / MEAN,
        scale_sd_g=0.0,
        reel_cv=0.0,
        area_elasticity=0.0,
    )
    balls = [
        FirstBall(
            f"{batch}{i}", "one", ((batch, 1.0),), 1.0, math.exp((y - MEAN) / MEAN), None, 1, 1
        )
        for batch, ys in YIELDS.items()
        for i, y in enumerate(ys)
    ]
    return update(belief, balls)


@pytest.mark.outside(
    document="MixedModels.jl manual",
    edition="4.31.0",
    section="Model constructors, Conditional modes of the random effects, fm1 (dyestuff)",
    mark="READ",
)
@pytest.mark.parametrize(
    ("batch", "printed", "digits"),
    [
        ("A", -16.6282, 4),
        ("B", 0.369516, 6),
        ("C", 26.9747, 4),
        ("D", -21.8014, 4),
        ("E", 53.5798, 4),
        ("F", -42.4943, 4),
    ],
)
def test_batch_effects(batch: str, printed: float, digits: int) -> None:
    belief = posterior(lot_cv=0.5)
    effect = MEAN * belief.mean[belief.cone_at(batch)]
    assert effect == pytest.approx(printed, abs=10.0**-digits)


@pytest.mark.outside(
    document="MixedModels.jl manual",
    edition="4.31.0",
    section="Model constructors, condVar(fm1) (dyestuff)",
    mark="READ",
)
def test_variance_of_a_batch_effect_when_the_mean_is_known() -> None:
    belief = posterior(lot_cv=0.0)
    place = belief.cone_at("A")
    assert MEAN**2 * belief.covariance[place, place] == pytest.approx(362.3104675, rel=1e-6)


@pytest.mark.outside(
    document="MixedModels.jl manual",
    edition="4.31.0",
    section="Model constructors, standard error of the intercept of fm1 (dyestuff)",
    mark="READ",
)
def test_standard_error_of_the_general_mean() -> None:
    """The program has no prior on the mean; ours is so wide (765) that it takes off 0.03 %."""
    belief = posterior(lot_cv=0.5)
    precision = 1.0 / belief.covariance[0, 0] - 1.0 / 0.5**2
    assert MEAN / math.sqrt(precision) == pytest.approx(17.6946, abs=5e-5)
