"""A page with a wrong efficiency: kept, so that nobody 'mends' the formula to fit it."""

import pytest

from clew.line.interference.finite_source import exponential_service


@pytest.mark.outside(
    document="csr.engine.ac.nz/encuentra/15843315, finite queue example",
    edition="web page",
    section="4 machines, 1 hand, X = .1429: F printed .936, which belongs to X = .135",
    mark="READ",
)
def test_printed_efficiency_belongs_to_another_factor():
    def share(factor: float) -> float:
        row = exponential_service(4, 1, run_s=1.0 - factor, service_s=factor)
        return 1.0 - row.waiting_mean / 4

    assert share(0.1429) == pytest.approx(0.9283, abs=0.0001)
    assert abs(share(0.1429) - 0.936) > 0.007
    assert share(0.135) == pytest.approx(0.936, abs=0.001)
