"""Champ and Woodall's table of X-bar charts with run rules."""

import pytest

from clew.checks.charts.run_length_rules import rules_run_length
from clew.checks.charts.run_length_shewhart import shewhart_run_length

SHIFTS = [0.2 * step for step in range(16)]
TABLE = {
    (): "370.40 308.43 200.08 119.67 71.55 43.89 27.82 18.25 12.38 8.69 6.30 4.72 3.65 2.90 2.38 "
    "2.00",
    ("2-of-3",): "225.44 177.56 104.46 57.92 33.12 20.01 12.81 8.69 6.21 4.66 3.65 2.96 2.48 2.13 "
    "1.87 1.68",
    ("4-of-5",): "166.05 120.70 63.88 33.99 19.78 12.66 8.84 6.62 5.24 4.33 3.68 3.18 2.78 2.43 "
    "2.14 1.89",
    ("8-one-side",): "152.73 110.52 59.76 33.64 21.07 14.58 10.90 8.60 7.03 5.85 4.89 4.08 3.38 "
    "2.81 2.35 1.99",
}


@pytest.mark.outside(
    document="C. W. Champ & W. H. Woodall, Technometrics 29 (1987) 393-399",
    edition="as quoted by the help page of an R package",
    section="table 1, C1, C12, C13, C14 over shifts of 0 to 3 sd",
    mark="READ",
)
@pytest.mark.parametrize("rules", TABLE, ids=lambda rules: "+".join(rules) or "none")
def test_printed_run_lengths(rules):
    printed = [float(cell) for cell in TABLE[rules].split()]
    found = [rules_run_length(("beyond-3", *rules), shift) for shift in SHIFTS]
    assert found == pytest.approx(printed, abs=0.00501)


@pytest.mark.outside(
    document="C. W. Champ & W. H. Woodall, Technometrics 29 (1987) 393-399",
    edition="as quoted by the help page of an R package",
    section="table 1, C1: three sd limits alone, closed form",
    mark="READ",
)
def test_printed_run_lengths_without_rules():
    printed = [float(cell) for cell in TABLE[()].split()]
    found = [shewhart_run_length(3.0, shift).arl for shift in SHIFTS]
    assert found == pytest.approx(printed, abs=0.00501)


@pytest.mark.outside(
    document="C. W. Champ & W. H. Woodall, Technometrics 29 (1987) 393-399",
    edition="from memory",
    section="all four rules together, no shift: 91.75",
    mark="MEMORY",
)
def test_all_four_rules_together():
    rules = ("beyond-3", "2-of-3", "4-of-5", "8-one-side")
    assert rules_run_length(rules) == pytest.approx(91.75, abs=0.00501)
