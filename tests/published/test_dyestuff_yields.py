"""Yields of dyestuff from six batches: variance components as programs and books print them."""

import numpy as np
import pytest

from clew.checks.components.components import components
from clew.checks.weighings import Factor

YIELDS = (
    (1545, 1440, 1440, 1520, 1580),
    (1540, 1555, 1490, 1560, 1495),
    (1595, 1550, 1605, 1510, 1560),
    (1445, 1440, 1595, 1465, 1545),
    (1595, 1630, 1515, 1635, 1625),
    (1520, 1455, 1450, 1480, 1445),
)
VALUE = np.array(YIELDS, dtype=float).ravel()
BATCH = Factor(np.repeat(np.arange(6, dtype=np.int32), 5), tuple("ABCDEF"))


@pytest.mark.outside(
    document="lme4 vignette (Dyestuff data READ; printed results from memory, recomputed)",
    edition="1.1",
    section="Dyestuff: batch and residual variance, general mean",
    mark="MEMORY",
)
@pytest.mark.parametrize("method", ["reml", "anova"])
def test_batch_and_residual_variance(method: str) -> None:
    found = components(VALUE, {"lot": BATCH}, ["lot"], method=method)  # type: ignore[arg-type]
    batch, within = found.part("lot"), found.part("within")
    assert batch is not None and within is not None
    assert batch.variance == pytest.approx(1764.05, abs=5e-3)
    assert within.variance == pytest.approx(2451.25, abs=5e-3)
    assert found.mean == pytest.approx(1527.5, abs=1e-9)


@pytest.mark.outside(
    document="Dyestuff, analysis of variance",
    edition="Davies; Box and Tiao",
    section="mean squares 11271.5 and 2451.25: (MSB - MSW) / 5, standard error sqrt(MSB / 30)",
    mark="COMPUTED",
)
def test_against_the_mean_squares() -> None:
    found = components(VALUE, {"lot": BATCH}, ["lot"])
    batch = found.part("lot")
    assert batch is not None
    assert batch.variance == pytest.approx((11271.5 - 2451.25) / 5, rel=1e-9)
    assert found.mean_se == pytest.approx(np.sqrt(11271.5 / 30), rel=1e-9)
    assert found.log_likelihood is not None
    free, between, within = 29, 11271.5, 2451.25
    deviance = (
        free * np.log(2 * np.pi) + 5 * np.log(between) + 24 * np.log(within) + free + np.log(30.0)
    )
    assert -2 * found.log_likelihood == pytest.approx(deviance, rel=1e-12)


@pytest.mark.outside(
    document="MixedModels.jl manual",
    edition="4.31.0",
    section="Conditional modes of the random effects, fm1 (dyestuff), maximum likelihood",
    mark="READ",
)
def test_printed_batch_effects_lie_within_the_errors_told() -> None:
    """The manual's are at maximum likelihood, where less is left to the batches: ours lie wider."""
    printed = np.array([-16.6282, 0.369516, 26.9747, -21.8014, 53.5798, -42.4943])
    told = components(VALUE, {"lot": BATCH}, ["lot"]).effects_of("lot")
    assert told is not None
    ratio = told.effect / printed
    assert ratio == pytest.approx(np.full(6, ratio[0]), rel=1e-5)
    assert 1.0 < ratio[0] < 1.1
