"""Lines of exponential stations that block: values of Hunt and of Hillier and Boling."""

import pytest

from clew.line.interference.blocking_line import blocking_line_per_hour
from clew.line.interference.two_stations import two_stations


def equal(stations: int, buffer: int) -> float:
    return blocking_line_per_hour([1.0] * stations, [buffer] * (stations - 1))


@pytest.mark.outside(
    document="G. C. Hunt, Sequential arrays of waiting lines, Operations Research 4 (1956)",
    edition="1956",
    section="no buffers: 2/3, 22/39, .5148",
    mark="MEMORY",
)
@pytest.mark.parametrize(
    ("stations", "rate", "half"), [(2, 2 / 3, 1e-9), (3, 22 / 39, 1e-9), (4, 0.5148, 0.00006)]
)
def test_lines_without_buffers(stations, rate, half):
    assert equal(stations, 0) == pytest.approx(rate, abs=half)


@pytest.mark.outside(
    document="F. S. Hillier & R. W. Boling, finite queues in series",
    edition="1967",
    section="five and six stations; three with 1-4",
    mark="MEMORY",
)
@pytest.mark.parametrize(
    ("stations", "buffer", "rate"),
    [
        (5, 0, 0.4858),
        (6, 0, 0.4667),
        (3, 1, 0.6705),
        (3, 2, 0.7340),
        (3, 3, 0.7767),
        (3, 4, 0.8075),
    ],
)
def test_longer_lines_and_buffers(stations, buffer, rate):
    assert equal(stations, buffer) == pytest.approx(rate, abs=0.00006)


@pytest.mark.outside(
    document="F. S. Hillier & R. W. Boling, finite queues in series",
    edition="recomputed elsewhere",
    section="four stations",
    mark="COMPUTED",
)
@pytest.mark.parametrize(("buffer", "rate"), [(1, 0.631153), (2, 0.700713), (3, 0.747710)])
def test_four_stations_with_buffers(buffer, rate):
    assert equal(4, buffer) == pytest.approx(rate, abs=1e-6)


@pytest.mark.outside(
    document="G. C. Hunt, Sequential arrays of waiting lines, Operations Research 4 (1956)",
    edition="1956; unequal rates recomputed elsewhere",
    section="two stations, (b + 2)/(b + 3); b = 3 with rates 1 and .8",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("second", "buffer", "rate"),
    [(1.0, 1, 0.75), (1.0, 2, 0.8), (1.0, 3, 0.8333), (1.0, 4, 0.8571), (0.8, 3, 0.728944)],
)
def test_two_stations(second, buffer, rate):
    found = two_stations(first_per_hour=1.0, second_per_hour=second, buffer=buffer)
    assert found.per_hour == pytest.approx(rate, abs=0.00006)
