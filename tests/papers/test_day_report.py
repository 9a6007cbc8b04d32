"""The report of a day: what it says of a day that went well, of one that did not, and of none."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from clew.ledger.reports.day_figures import CARRIED, DayFigures, Returned, RunFigures, Set
from clew.mill.model import Mill
from clew.papers.day_report import day_report_content
from clew.papers.day_told import DayTold
from clew.papers.day_words import headline
from clew.papers.printing import pdf_of

AT_US = 1_795_413_600_000_000
"""2026-11-23 06:00 UTC [us]."""
RUN = RunFigures(
    run="L1-261123-1", order="1106", customer="Customer 30", ball="Querl 100", lot="SL-207",
    from_us=AT_US, upto_us=AT_US + 3_600_000_000, planned_balls=160, doffed=175, banded=160,
    second_quality=4, rework=6, reeled=5, weighed=160, declared_g=100.0, mean_g=101.5,
    given_g=240.0, given_money=4.2, ties=9, breaks=1, seen=7, cones=30,
    set=(Set(AT_US + 3_000_000_000, 4, 786.0, 773.0, "winder 4 runs 2.4 g heavy"),),
    decision="release", cases=("C-1", "C-2"), cased_balls=160, pallets=("P-1",), delivery="D-1",
)  # fmt: skip
TOLD = DayTold(("All is planned.",), (), {}, None, (), 500, True, "Line 1 · 500 · ABCD")


def said(mill: Mill, found: DayFigures, told: DayTold = TOLD) -> dict[str, str]:
    return {row.head: row.text for row in day_report_content(mill, found, told).rows}


def day(*runs: RunFigures) -> DayFigures:
    return DayFigures("Line 1", runs, (), (), None)


def test_words_come_from_the_figures(demo_mill: Mill) -> None:
    rows = said(demo_mill, day(RUN, replace(RUN, run="L1-261123-2", given_g=80.0, given_money=1.4)))
    assert "0.32 kg above" in rows["Given away"]
    assert "1.00 g a ball: yarn for 5.60 GBP" in rows["Given away"]
    assert rows["Knots"].startswith("18 cone ties and 2 breaks")
    assert "06:50 winder 4 runs 2.4 g heavy, set from 786 to 773 counts" in rows["Winders"].replace(
        "Winder", "winder"
    )
    assert rows["Caught"] == "Nothing went wrong."
    assert rows["Came back"] == "No ball came back."


def test_balls_under_their_declaration_are_said_to_be_below(demo_mill: Mill) -> None:
    rows = said(demo_mill, day(replace(RUN, given_g=-80.0, given_money=-1.4)))
    assert "0.08 kg below" in rows["Given away"]


def test_a_setting_that_was_carried_over_is_no_finding(demo_mill: Mill) -> None:
    carried = Set(AT_US, 4, 786.0, 773.0, CARRIED)
    assert said(demo_mill, day(replace(RUN, set=(carried,))))["Winders"] == "No winder ran off."
    both = said(demo_mill, day(RUN, replace(RUN, run="2", set=(carried,))))["Winders"]
    assert both.endswith("Runs after that began with these winders set so.")


def test_a_lot_that_waits_stands_in_the_headline_and_says_what_it_wants(demo_mill: Mill) -> None:
    held = replace(RUN, run="2", lot="BR-088", decision="hold", pallets=(), delivery="")
    found = day(RUN, held)
    assert headline(found) == (
        "320 balls are banded in 2 runs; 160 of them have left; BR-088 waits."
    )
    rows = said(demo_mill, found, replace(TOLD, mends={"2": ("Read the shade.",)}))
    assert "BR-088 (Querl 100) is held. Read the shade." in rows["Lots"]
    assert "Order 1106: 2 cases with 160 balls, in store." in rows["Sent"]


def test_a_ledger_that_is_not_sound_is_said_aloud(demo_mill: Mill) -> None:
    assert "NOT SOUND" in said(demo_mill, day(RUN), replace(TOLD, sound=False))["Ledger"]


def test_a_day_without_a_run_has_its_report_all_the_same(demo_mill: Mill) -> None:
    rows = said(demo_mill, day(), replace(TOLD, put_off=("1106",)))
    assert rows["Planned"].startswith("No run was begun.")
    assert rows["Planned"].endswith("Left to the next shift: 1106.")
    assert rows["Given away"] == "No banded ball was weighed."


def test_it_prints_the_same_bytes_on_one_page(demo_mill: Mill) -> None:
    runs = [replace(RUN, run=f"L1-261123-{number}") for number in range(1, 7)]
    found = replace(
        day(*runs), wrong_cones=((AT_US, "SL-211-300", "SL-211"),),
        stops=((AT_US, AT_US + 240_000_000, "steam"),),
        returned=Returned("SL-207 L1 W1 261123-0616", "SL-207", "Customer 30", "a knot"),
    )  # fmt: skip
    papers = tuple((f"Paper {number}", f"papers/{number}.pdf") for number in range(18))
    content = day_report_content(demo_mill, found, replace(TOLD, papers=papers))
    made = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
    raw = pdf_of(content, made=made)
    assert raw == pdf_of(content, made=made)
    assert b"/Count 1" in raw
    assert b"/Count 2" not in raw
