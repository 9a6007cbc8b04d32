"""Real retail balls: the class suggested from count against the class that sellers state.

The boundaries were fixed from published ranges before the data were opened; the figures below are
what came out and are asserted as they are.
"""

import csv
from pathlib import Path

import pytest

from clew.strand.class_report import ClassReport, report_classes
from clew.strand.weight_class import class_of_word, suggest_class

DATA = Path(__file__).parent / "data" / "open_putups.csv"
MANUAL = Path(__file__).parents[2] / "docs" / "strand.md"
YARD_M = 0.9144


def report() -> ClassReport:
    with DATA.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    stated = [class_of_word(row["weight_class"]) for row in rows]
    suggested = [
        suggest_class(1000.0 * float(row["grams"]) / (float(row["yards"]) * YARD_M)).category
        for row in rows
    ]
    return report_classes(stated, suggested)


@pytest.mark.outside(
    document="TidyTuesday, yarn",
    edition="2022-10-11",
    section="fifty put-ups: exact share and share within one class",
    mark="READ",
)
def test_shares_of_fifty_balls() -> None:
    found = report()
    assert found.balls == 50
    assert found.exact_frac == pytest.approx(0.68), found.text()
    assert found.within_one_frac == pytest.approx(0.98), found.text()
    assert found.within_one_frac >= 0.80, found.text()


@pytest.mark.outside(
    document="TidyTuesday, yarn",
    edition="2022-10-11",
    section="fifty put-ups: recall of each class",
    mark="READ",
)
def test_recall_of_each_class() -> None:
    found = report()
    expected = (1.0, 7 / 16, 1.0, 3 / 5, 1.0, 1 / 4, 0.0, None)
    for category, recall in enumerate(expected):
        assert found.recall_frac[category] == (None if recall is None else pytest.approx(recall)), (
            found.text()
        )


@pytest.mark.outside(
    document="TidyTuesday, yarn",
    edition="2022-10-11",
    section="fifty put-ups: always answering class 4, medium",
    mark="READ",
)
def test_the_baseline_does_worse() -> None:
    found = report()
    assert found.baseline_exact_frac == pytest.approx(0.42), found.text()
    assert found.baseline_within_one_frac == pytest.approx(0.60), found.text()
    assert found.exact_frac > found.baseline_exact_frac
    assert found.within_one_frac > found.baseline_within_one_frac


@pytest.mark.outside(
    document="TidyTuesday, yarn",
    edition="2022-10-11",
    section="fifty put-ups: the table printed in the manual",
    mark="COMPUTED",
)
def test_the_manual_prints_the_table_that_the_data_give() -> None:
    assert report().text() in MANUAL.read_text(encoding="utf-8")
