"""Dual declarations against the rule's factors and the handbook's trap."""

from __future__ import annotations

import pytest

from clew.checks.band.declared import (
    E_LEAST_G,
    E_MARK_MM,
    E_MOST_G,
    OUNCE_G,
    PANEL_FRAC,
    YARD_M,
    eu_figure_height_mm,
    length_declared,
    mass_declared,
    us_figure_height_mm,
)


@pytest.mark.outside(
    document="16 CFR 500.19",
    edition="as published by Cornell LII",
    section="(a), conversion factors",
    mark="READ",
)
def test_factors_are_the_rule_s_to_its_six_figures() -> None:
    assert float(OUNCE_G) == pytest.approx(28.3495, rel=2e-6)
    assert float(16 * OUNCE_G) == pytest.approx(453.592, rel=2e-6)
    assert float(YARD_M) == 0.9144
    assert float(1 / OUNCE_G) == pytest.approx(0.0352740, rel=2e-6)
    assert 1 / float(YARD_M) == pytest.approx(3.28084 / 3, rel=2e-6)


@pytest.mark.outside(
    document="16 CFR 500.19",
    edition="as published by Cornell LII",
    section="(b), three figures, a last nought after the point may go",
    mark="READ",
)
@pytest.mark.parametrize(
    ("mass_g", "other"),
    [
        (100.0, "3.52 oz"),
        (50.0, "1.76 oz"),
        (200.0, "7.05 oz"),
        (142.0, "5 oz"),
        (25.0, "0.881 oz"),
    ],
)
def test_three_figures_and_no_last_nought(mass_g: float, other: str) -> None:
    assert mass_declared(mass_g).inch_pound == other


@pytest.mark.outside(
    document="NIST fact sheet on metric labelling",
    edition="as quoted in 2002",
    section="rounding: in no case overstate; the largest number is used for enforcement",
    mark="READ",
)
@pytest.mark.parametrize("mass_g", [25.0, 50.0, 85.0, 100.0, 113.0, 150.0, 200.0, 250.0, 454.0])
def test_the_metric_figure_stays_the_one_that_is_tested(mass_g: float) -> None:
    found = mass_declared(mass_g)
    assert found.metric_amount == mass_g
    assert found.inch_pound_amount <= mass_g
    to_nearest = float(f"{mass_g / float(OUNCE_G):.3g}") * float(OUNCE_G)
    if to_nearest > mass_g:  # the trap: rounding to the nearest would overstate
        assert found.inch_pound_amount < to_nearest


@pytest.mark.outside(
    document="NIST Handbook 133, chapter 2",
    edition="2026",
    section="1 lb is 453.592 g; a label of 454 g is held to 454 g",
    mark="READ",
)
def test_454_g_reads_1_lb_and_no_more() -> None:
    assert mass_declared(454.0).inch_pound == "1 lb"
    assert mass_declared(453.0).inch_pound == "15.9 oz"


@pytest.mark.outside(
    document="16 CFR 500.19",
    edition="as published by Cornell LII",
    section="(a), 1 yard = 0.9144 m exactly",
    mark="READ",
)
def test_yards_of_usual_balls() -> None:
    assert length_declared(200.0).inch_pound == "218 yd"
    assert length_declared(182.88).inch_pound == "200 yd"


@pytest.mark.outside(
    document="16 CFR 500.21",
    edition="as published on self-law.org",
    section="(a)(2) 40 percent of a round side; (b)(1) 1/16 inch",
    mark="READ",
)
def test_the_smallest_type_and_the_front_of_a_round_package() -> None:
    assert PANEL_FRAC == 0.4
    assert us_figure_height_mm(5.0 * 2.54**2) == pytest.approx(25.4 / 16)


@pytest.mark.outside(
    document="SI 2006/659 and NSAI, the e-mark",
    edition="as on the web in 2026",
    section="regulation 2: at least 3 mm; 5 g to 10 kg",
    mark="READ",
)
def test_the_e() -> None:
    assert (E_MARK_MM, E_LEAST_G, E_MOST_G) == (3.0, 5.0, 10_000.0)


@pytest.mark.outside(
    document="FPackV section 38(2); FPVO 1993 section 11(1), for Directive 76/211/EEC",
    edition="as published by lxgesetze.de and jusline.at in 2026",
    section="least height of the figures: up to 50 g, 200 g, 1000 g, above",
    mark="READ",
)
@pytest.mark.parametrize(
    ("mass_g", "least_mm"),
    [(5.0, 2), (50.0, 2), (50.1, 3), (200.0, 3), (200.1, 4), (1000.0, 4), (1000.1, 6)],
)
def test_figures_of_the_directive(mass_g: float, least_mm: float) -> None:
    assert eu_figure_height_mm(mass_g) == least_mm
