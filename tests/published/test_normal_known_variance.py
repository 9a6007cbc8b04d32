"""A normal mean with a normal prior and known spread, as a published program prints it."""

import math
from statistics import stdev

import pytest

from clew.ball.first.belief import FirstBall, prior_belief, update
from clew.ball.first.next_balls import Z95

TROUT_CM = (31.1, 28.2, 34.2, 35.0, 31.5)
PRIOR_MEAN_CM, PRIOR_SD_CM = 30.0, 4.0


@pytest.mark.outside(
    document="Output of normnp (R package Bolstad) printed by T. Elliott, Bayes 11",
    edition="2009-07-26",
    section="normnp(v, 30, 4)",
    mark="READ",
)
def test_trout_lengths() -> None:
    """Five trout, prior 30 ± 4 cm: posterior mean, standard deviation and 95 % quantiles."""
    belief = prior_belief(
        ["stream"],
        winder_cv=0.0,
        lot_cv=PRIOR_SD_CM / PRIOR_MEAN_CM,
        cone_cv=0.0,
        length_cv=1e-6,
        within_cv=stdev(TROUT_CM) / PRIOR_MEAN_CM,
        scale_sd_g=0.0,
        reel_cv=0.0,
        area_elasticity=0.0,
    )
    fish = [
        FirstBall(
            str(i), "stream", (("year", 1.0),), 1.0, math.exp((cm - 30.0) / 30.0), None, 1.0, 1.0
        )
        for i, cm in enumerate(TROUT_CM)
    ]
    after = update(belief, fish)
    mean = PRIOR_MEAN_CM * (1.0 + after.mean[0])
    sd = PRIOR_MEAN_CM * math.sqrt(after.covariance[0, 0])
    assert mean == pytest.approx(31.8320261, abs=5e-8)
    assert sd == pytest.approx(1.1592201, abs=5e-8)
    assert mean - Z95 * sd == pytest.approx(29.5599965, abs=5e-8)
    assert mean + Z95 * sd == pytest.approx(34.1040557, abs=5e-8)
