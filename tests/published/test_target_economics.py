"""Economic targets: closed forms held to figures that two methods gave alike."""

import numpy as np
import pytest
from scipy import stats

from clew.checks.target.economic import giveaway_against_short, hunter_kartha

COMPUTED = "closed form and independent numerical search agreed to 8 digits"


@pytest.mark.outside(
    document="Hunter and Kartha, J. Quality Technology 9 (1977)",
    edition="1977",
    section=f"the model from memory; figures: {COMPUTED}",
    mark="COMPUTED",
)
def test_hunter_and_kartha() -> None:
    """A 1, P 0.6, g 0.1, sigma 0.5, L 10: mean 10.7814581, z -1.5629162, income 0.8969721."""
    found = hunter_kartha(1.0, 0.6, 0.1, 0.5, 10.0)
    assert found.mean == pytest.approx(10.7814581, abs=5.1e-8)
    assert (10.0 - found.mean) / 0.5 == pytest.approx(-1.5629162, abs=5.1e-8)
    assert found.value == pytest.approx(0.8969721, abs=5.1e-8)


@pytest.mark.outside(
    document="Linear giveaway against a cost of each short pack",
    edition="closed form",
    section=f"mu = L + sigma sqrt(-2 ln(c sigma sqrt(2 pi)/K)); {COMPUTED}",
    mark="COMPUTED",
)
def test_linear_giveaway() -> None:
    """c 0.02, K 1, sigma 2, L 50: mean 54.2894636, 1.5987 % short; and by brute force."""
    found = giveaway_against_short(0.02, 1.0, 2.0, 50.0)
    assert found.mean == pytest.approx(54.2894636, abs=5.1e-8)
    assert 100 * found.short_frac == pytest.approx(1.5987, abs=5e-5)
    means = np.linspace(50.0, 60.0, 100_001)
    cost = 0.02 * (means - 50.0) + stats.norm.cdf((50.0 - means) / 2.0)
    assert means[cost.argmin()] == pytest.approx(found.mean, abs=1e-3)
    assert cost.min() == pytest.approx(found.value, abs=1e-9)
