"""Wright's formula and synchronous servicing as a textbook on work study gives them."""

import pytest

from clew.line.interference.finite_source import exponential_service
from clew.line.interference.one_hand import one_hand
from clew.line.interference.synchronous import ideal_machines
from clew.line.interference.wright import wright_wait_s


@pytest.mark.outside(
    document="B. Niebel & A. Freivalds, Methods, Standards and Work Design",
    edition="after Wright, Duvall & Freeman 1936",
    section="quill winding: 60 spindles, run 150 min, attention 3 min; I = 1159-1160 %",
    mark="MEMORY",
)
def test_quill_winding():
    wait_min = wright_wait_s(60, run_s=9000.0, service_s=180.0) / 60.0
    assert 100.0 * wait_min / 3.0 == pytest.approx(1159.0, abs=1.0)
    assert wait_min == pytest.approx(34.8, abs=0.05)
    assert 150.0 + 3.0 + wait_min == pytest.approx(187.8, abs=0.05)


@pytest.mark.outside(
    document="B. Niebel & A. Freivalds, Methods, Standards and Work Design",
    edition="after Wright, Duvall & Freeman 1936",
    section="the quill winding by the exact models, recomputed elsewhere",
    mark="COMPUTED",
)
def test_quill_winding_by_the_exact_models():
    constant = one_hand(60, run_s=9000.0, service_s=180.0)
    exponential = exponential_service(60, 1, run_s=9000.0, service_s=180.0)
    assert constant.wait_s / 60.0 == pytest.approx(28.15, abs=0.006)
    assert 153.0 + constant.wait_s / 60.0 == pytest.approx(181.15, abs=0.006)
    assert exponential.wait_s / 60.0 == pytest.approx(30.99, abs=0.006)
    assert 153.0 + exponential.wait_s / 60.0 == pytest.approx(183.99, abs=0.006)


@pytest.mark.outside(
    document="B. Niebel & A. Freivalds, Methods, Standards and Work Design",
    edition="after Wright, Duvall & Freeman 1936",
    section="few machines, in per cent of attention, recomputed elsewhere",
    mark="COMPUTED",
)
@pytest.mark.parametrize(
    ("machines", "ratio", "wright", "constant", "exponential"),
    [(8, 12.0, 70.2, 50.0, 85.7), (6, 10.0, None, 36.8, 64.0)],
)
def test_few_machines(machines, ratio, wright, constant, exponential):
    """Six machines are outside Wright's range, and refused there."""
    if wright is not None:
        assert 100.0 * wright_wait_s(machines, run_s=ratio, service_s=1.0) == pytest.approx(
            wright, abs=0.06
        )
    steady = one_hand(machines, run_s=ratio, service_s=1.0)
    uneven = exponential_service(machines, 1, run_s=ratio, service_s=1.0)
    assert 100.0 * steady.wait_s == pytest.approx(constant, abs=0.06)
    assert 100.0 * uneven.wait_s == pytest.approx(exponential, abs=0.06)


@pytest.mark.outside(
    document="B. Niebel & A. Freivalds, Methods, Standards and Work Design",
    edition="after Wright, Duvall & Freeman 1936",
    section="synchronous servicing: service 1.41, run 4.34, walk .08 min gives 3.86 machines",
    mark="MEMORY",
)
def test_synchronous_servicing():
    found = ideal_machines(fill_s=4.34 * 60, service_s=1.41 * 60, walk_s=0.08 * 60)
    assert found == pytest.approx(3.86, abs=0.005)


@pytest.mark.outside(
    document="bathalaxxx.github.io Industrial-Engineer-Calculators, synchronous servicing",
    edition="web page",
    section="examples (service, run, walk): (2, 15, .5), (1.5, 8, .3), weaving (3, 12, 1)",
    mark="READ",
)
@pytest.mark.parametrize(
    ("service", "run", "walk", "machines", "half_place"),
    [(2.0, 15.0, 0.5, 6.8, 1e-9), (1.5, 8.0, 0.3, 5.3, 0.05), (3.0, 12.0, 1.0, 3.75, 1e-9)],
)
def test_calculator_page(service, run, walk, machines, half_place):
    found = ideal_machines(fill_s=run, service_s=service, walk_s=walk)
    assert found == pytest.approx(machines, abs=half_place)
