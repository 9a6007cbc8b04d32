"""Output of a station: mass wound, time taken, drums rounded up."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.strand.production import drums_needed, hours_needed, output_kg_per_h


@given(
    speed=st.floats(0.1, 40.0),
    count=st.floats(5.0, 3000.0),
    drums=st.integers(1, 500),
    eff=st.floats(0.1, 1.0),
    waste=st.floats(0.0, 0.5),
)
def test_an_hour_of_metres_times_the_count(speed, count, drums, eff, waste) -> None:
    km = speed * 3600.0 / 1000.0 * drums * eff
    found = output_kg_per_h(speed, count, drums=drums, efficiency_frac=eff, waste_frac=waste)
    assert found == pytest.approx(km * count / 1000.0 * (1.0 - waste), rel=1e-12)


@given(mass=st.floats(1.0, 1e5), hours=st.floats(0.5, 100.0), each=st.floats(0.1, 50.0))
def test_the_drums_finish_in_time_and_one_fewer_would_not(mass, hours, each) -> None:
    drums = drums_needed(mass, hours, each)
    assert hours_needed(mass, drums * each) <= hours * (1 + 1e-9)
    if drums > 1:
        assert hours_needed(mass, (drums - 1) * each) > hours


def test_a_job_that_just_fits_does_not_cost_one_more_drum() -> None:
    assert drums_needed(0.3, 1.0, 0.1) == 3


@pytest.mark.parametrize("efficiency", [0.0, 1.01, 92.0])
def test_an_efficiency_that_cannot_be_is_refused(efficiency: float) -> None:
    with pytest.raises(BadInput, match="efficiency"):
        output_kg_per_h(10.0, 100.0, efficiency_frac=efficiency)
