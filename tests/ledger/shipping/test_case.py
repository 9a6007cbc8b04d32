"""Closing a case: its serial, its balls, and everything that is refused."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace

import pytest
from tests.ledger.shipping.bench import Bench, decide, order_of, tell, wind

from clew.faults import BadInput
from clew.ledger.shipping.case import CaseQuestion, close_case
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import records_naming
from clew.mill.gs1_keys import sscc_of
from clew.mill.model import Mill

RUN = "L1-251125-1"


def question(bench: Bench, balls: int = 10, *lots: str, **said: object) -> CaseQuestion:
    asked = CaseQuestion(
        lots or ("SL-207",), balls, bench.ledger.clock(), "Ina", "clew ship", "key"
    )
    return replace(asked, **said)  # type: ignore[arg-type]


def refused(bench: Bench, asked: CaseQuestion, *says: str) -> None:
    with pytest.raises(BadInput) as bad:
        close_case(bench.ledger, bench.mill, asked)
    for words in says:
        assert words in str(bad.value)


def test_a_case_is_told_with_all_that_traces_ask_for(bench: Bench) -> None:
    name = bench.case(20, first="2025-11-25T05:40", last="2025-11-25T06:10")
    assert sscc_of(name) == name and name[1:8] == "9521234" and name[8:17] == "000000001"
    (record,) = records_naming(bench.ledger, "package", name)
    assert (record.kind, record.line, record.run, record.lot) == (
        "case closed", "Line 1", RUN, "SL-207",
    )  # fmt: skip
    assert record.fields() == {
        "balls": 20, "ball_name": "Querl 100", "from": "2025-11-25T05:40:00Z",
        "upto": "2025-11-25T06:10:00Z",
    }  # fmt: skip
    assert (record.author, record.source) == ("Ina", "clew ship")


def test_serials_go_on_after_a_restart_and_are_never_given_twice(
    bench: Bench, ledger_url: str
) -> None:
    first = bench.case(10)
    tell(bench.ledger, "correction", bench.ledger.clock(), "void", of_seq=_seq(bench, first),
         void=True, why="label torn")  # fmt: skip
    with closing(open_ledger(ledger_url)) as ledger:
        again = Bench(ledger, bench.mill)
        second, pallet = again.case(10), again.pallet([again.case(10)])
    assert [int(one[8:17]) for one in (first, second, pallet)] == [1, 2, 4]


def _seq(bench: Bench, name: str) -> int:
    return next(iter(records_naming(bench.ledger, "package", name))).seq


def test_a_serial_another_hand_has_used_or_a_correction_named_is_passed_over(bench: Bench) -> None:
    from clew.checks.band.gs1 import sscc_for

    by_hand = sscc_for("9521234", 41)
    tell(bench.ledger, "case closed", bench.ledger.clock(), "tablet", lot="SL-207", balls=2,
         package=by_hand)  # fmt: skip
    assert bench.case(2)[8:17] == "000000042"
    named = sscc_for("9521234", 77)
    tell(bench.ledger, "correction", bench.ledger.clock(), "named", of_seq=_seq(bench, by_hand),
         change=f'{{"package": "{named}"}}', why="label misread")  # fmt: skip
    assert bench.case(2)[8:17] == "000000078"


def test_the_extension_digit_takes_over_and_then_no_serial_is_left(bench: Bench) -> None:
    from clew.checks.band.gs1 import sscc_for

    info = bench.mill.mill.model_copy(update={"gs1_prefix": "952123456789"})
    bench.mill = bench.mill.model_copy(update={"mill": info})

    def used(serial: int, extension: int) -> None:
        name = sscc_for("952123456789", serial, extension)
        tell(bench.ledger, "case closed", bench.ledger.clock(), name, lot="SL-207", balls=1,
             package=name)  # fmt: skip

    used(9999, 0)
    assert bench.case(1) == sscc_for("952123456789", 0, 1)
    used(9999, 9)
    refused(bench, question(bench, 1), "no serial is left under the company prefix 952123456789")


def test_a_mill_without_a_prefix_counts_plainly(bench: Bench, plain_mill: Mill) -> None:
    bench.mill = plain_mill
    assert [bench.case(4) for _ in range(3)] == ["C-0001", "C-0002", "C-0003"]
    tell(bench.ledger, "case closed", bench.ledger.clock(), "t", lot="SL-207", balls=1,
         package="C-0041")  # fmt: skip
    assert bench.case(4) == "C-0042"
    assert bench.pallet(["C-0042"]) == "P-0001"


def test_no_more_balls_than_were_made_and_not_pulled(bench: Bench) -> None:
    bench.case(40)
    refused(bench, question(bench, 9), "50 balls of SL-207 were taken off on Line 1, 2 pulled, 40 "
            "are in cases", "at most 8, or --anyway and why")  # fmt: skip
    name = bench.case(9, anyway="one was found behind the bench")
    (record,) = records_naming(bench.ledger, "package", name)
    assert record.fields()["note"] == "closed anyway: one was found behind the bench"


def test_bands_count_where_doffs_were_lost(ledger: Ledger, numbered_mill: Mill) -> None:
    wind(ledger, "R-1", "SL-207", 3)
    begun = ledger.clock() - 3_599_000_000
    for number in range(8):
        tell(ledger, "banded", begun + number, f"band {number}", lane=1)
    bench = Bench(ledger, numbered_mill)
    refused(bench, question(bench, 9), "8 balls of SL-207 were banded")
    bench.case(8)


def test_a_trial_is_not_for_sale_and_another_run_is_another_lot(
    ledger: Ledger, numbered_mill: Mill
) -> None:
    bench = Bench(ledger, numbered_mill)
    wind(ledger, "R-1", "SL-207", 12, trial=True)
    refused(bench, question(bench, 1, run="R-1"), "R-1 is a trial: its balls are not for sale")
    refused(bench, question(bench, 1, ball_name="Querl 100"), "0 balls of SL-207 were taken off")
    refused(bench, question(bench, 1, run="R-7"), "no run R-7 of SL-207 was started on Line 1")


def test_runs_are_counted_apart(bench: Bench) -> None:
    tell(bench.ledger, "run start", bench.ledger.clock() - 60_000_000, "two", run="R-2",
         lot="SL-211", ball_name="Querl 100")  # fmt: skip
    tell(bench.ledger, "doff", bench.ledger.clock(), "d2", lane=1, ball=1)
    bench.case(1, "SL-211")
    refused(bench, question(bench, 1, "SL-211"), "1 balls of SL-211 were taken off")
    bench.case(48, run=RUN)


def test_what_is_wrong_is_said_all_at_once(bench: Bench) -> None:
    refused(bench, question(bench, 0, author=" ", first="2025-11-25T05:40"), "nobody is named",
            "no balls", "one moment without the other")  # fmt: skip
    refused(bench, question(bench, 5, "ZZ-1"), "no such dye lot")
    refused(bench, question(bench, 5, "BR-091", ball_name="Querl 100"), "BR-091 is Dunnow")
    refused(bench, question(bench, 5, "SL-211"), "what SL-211 was wound into is not told")
    refused(bench, question(bench, 5, ball_name="Querl 200"), f"{RUN} makes Querl 100")
    refused(bench, question(bench, 5, order=order_of(bench.mill, "1042")),
            "order 1042 is for Querl 200 in Oatmeal")  # fmt: skip
    refused(bench, question(bench, 5, first="2025-11-25T06:00", last="2025-11-25T05:00"),
            "the first ball after the last")  # fmt: skip
    refused(bench, question(bench, 5, first="soon", last="2025-11-25T05:00"), "from: no moment")
    name = bench.case(5)
    refused(bench, question(bench, 5, package=f"(00) {name}"), f"case {name} is closed already")


def test_lots_may_not_share_a_case(bench: Bench) -> None:
    refused(bench, question(bench, 10, "SL-207", "SL-211"),
            "SL-207 and SL-211 may not share a case: no order says")  # fmt: skip
    refused(bench, question(bench, 10, "SL-207", "SL-211", order=order_of(bench.mill, "1041")),
            "order 1041 takes one dye lot in a case")  # fmt: skip


def test_tokens_are_of_balls_that_were_told_and_not_pulled(bench: Bench) -> None:
    at_us = bench.ledger.clock() - 1_000_000
    for token, lot in (("K1", "SL-207"), ("K2", "SL-207"), ("K3", "SL-211")):
        tell(bench.ledger, "banded", at_us, f"b {token}", lane=1, token=token, lot=lot)
    tell(bench.ledger, "pulled", at_us + 1, "p K2", lane=1, token="K2")
    refused(bench, question(bench, 3, tokens=("K1", "K2", "K9")), "no ball of that token was told",
            "the ball of that token was pulled")  # fmt: skip
    refused(bench, question(bench, 1, tokens=("K3",)), "the ball of that token is of SL-211")
    refused(bench, question(bench, 2, tokens=("K1",)), "1 tokens for 2 balls")
    bench.case(1, tokens=("K1",))


def test_a_lot_on_hold_is_minded_but_its_case_is_closed(bench: Bench) -> None:
    def minded(balls: int) -> tuple[str, ...]:
        return close_case(bench.ledger, bench.mill, question(bench, balls, anyway="t")).mind

    packing = bench.mill.find_ball("Querl 100").packing
    full = packing.balls_per_bag * packing.bags_per_case
    assert minded(full) == ("SL-207 is not decided on: its cases may not ship yet",)
    decide(bench.ledger, "SL-207", "hold")
    assert minded(full) == ("SL-207 is on hold: its cases may not ship yet",)
    decide(bench.ledger, "SL-207", "release")
    assert minded(full) == ()
    assert minded(3) == (
        f"3 balls, {full} make a full case: a part case, without a GTIN",
    )  # fmt: skip


def test_a_full_case_bears_its_gtin(bench: Bench) -> None:
    packing = bench.mill.find_ball("Querl 100").packing
    full = packing.balls_per_bag * packing.bags_per_case
    closing = close_case(bench.ledger, bench.mill, question(bench, full, anyway="t"))
    assert closing.message.body["gtin"] == "19521234001017"
