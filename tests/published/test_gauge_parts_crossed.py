"""Ten parts, three appraisers, three trials: a balanced crossed set with printed components."""

import numpy as np
import pytest

from clew.checks.components.components import components
from clew.checks.weighings import Factor

TRIALS = np.array(
    [
        [0.29, 0.41, 0.64, 0.08, 0.25, 0.07, 0.04, -0.11, -0.15],
        [-0.56, -0.68, -0.58, -0.47, -1.22, -0.68, -1.38, -1.13, -0.96],
        [1.34, 1.17, 1.27, 1.19, 0.94, 1.34, 0.88, 1.09, 0.67],
        [0.47, 0.50, 0.64, 0.01, 1.03, 0.20, 0.14, 0.20, 0.11],
        [-0.80, -0.92, -0.84, -0.56, -1.20, -1.28, -1.46, -1.07, -1.45],
        [0.02, -0.11, -0.21, -0.20, 0.22, 0.06, -0.29, -0.67, -0.49],
        [0.59, 0.75, 0.66, 0.47, 0.55, 0.83, 0.02, 0.01, 0.21],
        [-0.31, -0.20, -0.17, -0.63, 0.08, -0.34, -0.46, -0.56, -0.49],
        [2.26, 1.99, 2.01, 1.80, 2.12, 2.19, 1.77, 1.45, 1.87],
        [-1.36, -1.25, -1.31, -1.68, -1.62, -1.50, -1.49, -1.77, -2.16],
    ]
)


@pytest.mark.outside(
    document="AIAG Measurement Systems Analysis example, as two published pages print it",
    edition="4th",
    section="variance components, interaction pooled: .03997, .05146, 1.08645",
    mark="READ",
)
@pytest.mark.parametrize("method", ["reml", "anova"])
def test_printed_components(method: str) -> None:
    part = Factor(np.repeat(np.arange(10, dtype=np.int32), 9), tuple("0123456789"))
    hand = Factor(np.tile(np.repeat(np.arange(3, dtype=np.int32), 3), 10), tuple("ABC"))
    found = components(
        TRIALS.ravel(),
        {"cone": part, "winder": hand},
        ["cone", "winder"],
        method=method,  # type: ignore[arg-type]
    )
    variances = {one.source: one.variance for one in found.parts}
    assert variances["within"] == pytest.approx(0.03997, abs=5e-6)
    assert variances["winder"] == pytest.approx(0.05146, abs=5e-6)
    assert variances["cone"] == pytest.approx(1.08645, abs=5e-6)
    assert found.total_sd**2 == pytest.approx(1.17788, abs=5e-6)
