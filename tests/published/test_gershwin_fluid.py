"""The two-machine line with a flowing buffer; values recomputed by a fine-grid chain elsewhere."""

import pytest

from clew.line.interference.fluid_line import fluid_line


@pytest.mark.outside(
    document="S. B. Gershwin, Manufacturing Systems Engineering",
    edition="1994; values recomputed elsewhere, not printed there",
    section="ch. 3, two-machine continuous line with operation-dependent stops",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("p1", "p2", "buffer", "rate", "level"),
    [
        (0.01, 0.01, 0.0, 0.833333, 0.0),
        (0.01, 0.01, 5.0, 0.848586, 2.5),
        (0.01, 0.01, 10.0, 0.858726, 5.0),
        (0.01, 0.01, 20.0, 0.871369, 10.0),
        (0.01, 0.01, 100.0, 0.896552, 50.0),
        (0.01, 0.02, 10.0, 0.798915, 6.8253),
        (0.02, 0.01, 10.0, 0.798915, 3.1747),
        (0.01, 0.02, 0.0, 0.769231, 0.0),
    ],
)
def test_rate_and_level(p1, p2, buffer, rate, level):
    found = fluid_line(
        speed_m_per_s=1.0,
        first_run_s=1.0 / p1,
        first_repair_s=10.0,
        second_run_s=1.0 / p2,
        second_repair_s=10.0,
        buffer_m=buffer,
    )
    assert found.speed_m_per_s == pytest.approx(rate, abs=6e-7)
    assert found.level_mean_m == pytest.approx(level, abs=6e-5)
