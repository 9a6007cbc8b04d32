"""Shipping: released lots, the order's ball, colour, customer and dye lots, and nothing twice."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.ledger.shipping.bench import Bench, decide, order_of, tell, void, wind

from clew.faults import BadInput
from clew.ledger.audit.anchors import read_anchor
from clew.ledger.shipping.case import cases_on
from clew.ledger.shipping.consignment import consignment_kept
from clew.ledger.store.reading import chain_records, records_naming
from clew.ledger.trace.records import KeptInLedger


@pytest.fixture
def released(bench: Bench) -> Bench:
    decide(bench.ledger, "SL-207", "release")
    return bench


def test_what_ships_is_told_once_a_package(released: Bench) -> None:
    cases = [released.case(10) for _ in range(3)]
    pallet = released.pallet(cases[:2])
    shipping = released.ship([pallet, cases[2]])
    found = shipping.consignment
    assert found is not None and (found.delivery, found.customer) == ("D-0001", "Customer 12")
    assert found.balls == 30 and len(found.cases) == 3
    assert found.count_words == (
        "30 balls now, 30 of 1200 with what left before: 1170 still to come."
    )
    ((lot, certificate),) = found.certificates
    assert lot == "SL-207" and len(certificate) == 64
    told = [one for one in chain_records(released.ledger, "") if one.kind == "shipped"]
    assert [one.package for one in told] == [pallet, cases[2]]
    assert told[0].fields() == {"customer": "Customer 12", "delivery": "D-0001", "order": "1041"}


def test_asked_again_it_is_the_same_delivery_and_nothing_is_kept(released: Bench) -> None:
    one, other = released.case(10), released.case(10)
    first = released.ship([one, other])
    before = len(list(chain_records(released.ledger, "")))
    again = released.ship([other, one])
    assert again.already and again.messages == () and len(
        list(chain_records(released.ledger, ""))
    ) == before  # fmt: skip
    assert again.consignment == first.consignment
    part = released.ship([one])
    assert part.reasons == (f"case {one} left with D-0001 to Customer 12",)
    third = released.case(10)
    assert released.ship([third]).consignment.delivery == "D-0002"  # type: ignore[union-attr]
    assert consignment_kept(released.ledger, released.mill, "D-0001") == first.consignment
    assert consignment_kept(released.ledger, released.mill, "D-0002").before_balls == 20
    with pytest.raises(BadInput, match="no such delivery was shipped"):
        consignment_kept(released.ledger, released.mill, "D-0009")


@pytest.mark.parametrize(
    ("decision", "says"),
    [("hold", "SL-207 is on hold by Ina: too few balls"), ("rework", "SL-207 is sent to rework"),
     ("refuse", "SL-207 is refused by Ina")],
)  # fmt: skip
def test_only_a_release_ships(bench: Bench, decision: str, says: str) -> None:
    case = bench.case(10)
    assert bench.ship([case]).reasons == ("SL-207 is not released: nobody decided on it",)
    decide(bench.ledger, "SL-207", "release")
    decide(bench.ledger, "SL-207", decision, why="too few balls")
    (reason,) = bench.ship([case]).reasons
    assert reason.startswith(says)
    assert not list(records_naming(bench.ledger, "package", "D-0001"))
    tell(bench.ledger, "lot decision", bench.ledger.clock(), "later", lot="SL-207",
         decision="release")  # fmt: skip
    assert bench.ship([case]).reasons == ()


def test_a_release_that_was_taken_back_counts_for_nothing(released: Bench) -> None:
    case = released.case(10)
    void(released.ledger, "", 1)
    assert released.ship([case]).reasons == ("SL-207 is not released: nobody decided on it",)


def test_a_decision_on_one_run_is_on_its_balls(bench: Bench) -> None:
    decide(bench.ledger, "SL-207", "release", run="R-9")
    case = bench.case(10)
    assert bench.ship([case]).reasons == ("SL-207 is not released: nobody decided on it",)
    decide(bench.ledger, "SL-207", "release", run="L1-251125-1", why="this run")
    assert bench.ship([case]).reasons == ()


def test_a_decision_on_its_own_run_counts(bench: Bench) -> None:
    decide(bench.ledger, "SL-207", "release", run="L1-251125-1")
    assert bench.ship([bench.case(10)]).reasons == ()


def test_the_orders_rule_of_lots_holds_over_all_that_left_for_it(released: Bench) -> None:
    first = released.case(10)
    wind(released.ledger, "R-2", "SL-211", 10)
    decide(released.ledger, "SL-211", "release")
    second = released.case(10, "SL-211", anyway="both runs at once")
    both = released.ship([first, second]).reasons
    assert both == ("order 1041 takes one dye lot, and this makes it SL-207 and SL-211",)
    released.ship([first])
    assert released.ship([second]).reasons == (
        "order 1041 takes one dye lot, and this makes it SL-207 and SL-211, SL-207 left for it "
        "before",
    )
    back = released.ledger.clock()
    tell(released.ledger, "returned", back, "back", package=first, customer="Customer 12")
    shipping = released.ship([second])
    assert shipping.reasons == () and shipping.consignment is not None
    assert shipping.consignment.before_balls == 0
    other = replace(order_of(released.mill, "1041"), number="9", dye_lots="case")
    assert released.ship([first], other).reasons == ()


def test_only_what_was_asked_for_ships(released: Bench) -> None:
    case, stays = released.case(10), released.case(10)
    pallet = released.pallet([stays])
    assert released.ship([case], "1042").reasons == (
        f"case {case} is Querl 100 in Sloe, order 1042 is for Querl 200 in Oatmeal",
    )
    (reason,) = released.ship([stays]).reasons
    assert reason == f"case {stays} is on pallet {pallet}: ship that, or stack it anew"
    assert released.ship([pallet, stays]).reasons[0] == f"case {stays} is on pallet {pallet}"


def test_bad_input_is_said_all_at_once(released: Bench) -> None:
    case = released.case(10)
    with pytest.raises(BadInput) as bad:
        released.ship([case, case, "C-99"], customer="Customer 7")
    for words in ("order 1041 is of Customer 12", "stands twice", "no such pallet or case was"):
        assert words in str(bad.value)
    with pytest.raises(BadInput, match="nothing to ship"):
        released.ship([])
    tell(released.ledger, "pallet closed", released.ledger.clock(), "odd", package="P-9",
         cases=[case, "C-404"])  # fmt: skip
    with pytest.raises(BadInput, match="case C-404 on pallet P-9 was never closed"):
        released.ship(["P-9"])


def test_a_case_that_came_back_from_a_pallet_leaves_again(released: Bench) -> None:
    one, other = released.case(10), released.case(10)
    pallet = released.pallet([one, other])
    released.ship([pallet])
    (reason,) = released.ship([one]).reasons
    assert reason.startswith(f"case {one} is on pallet {pallet}")
    back = released.ledger.clock()
    tell(released.ledger, "returned", back, "back", package=one, customer="Customer 12")
    again = released.ship([one]).consignment
    assert again is not None and (again.delivery, again.before_balls) == ("D-0002", 10)
    back = released.ledger.clock()
    tell(released.ledger, "returned", back, "back2", package=other, customer="Customer 12")
    assert released.pallet([other]) != pallet


def test_over_and_complete_are_said(released: Bench) -> None:
    asked = replace(order_of(released.mill, "1041"), balls=10)
    first = released.ship([released.case(10)], asked).consignment
    assert first is not None and first.count_words.endswith("the order is complete.")
    second = released.ship([released.case(5)], asked).consignment
    assert second is not None and second.count_words == (
        "5 balls now, 15 of 10 with what left before: 5 over."
    )


def test_the_anchors_are_of_the_rows_it_rests_on(released: Bench) -> None:
    case = released.case(10)
    pallet = released.pallet([case])
    found = released.ship([pallet]).consignment
    assert found is not None
    anchors = {one.line: one for one in map(read_anchor, found.anchors)}
    for line, name in (("Line 1", case), ("", pallet)):
        record = next(iter(records_naming(released.ledger, "package", name)))
        assert anchors[line].seq == record.seq
        assert record.hash.hex().startswith(anchors[line].digits.lower())


def test_a_delivery_is_not_printed_without_a_case_that_was_corrected_away(released: Bench) -> None:
    cases = [released.case(10), released.case(10)]
    pallet, alone = released.pallet(cases), released.case(5)
    for packages, gone in (([pallet], cases[1]), ([alone], alone)):
        left = released.ship(packages).consignment
        assert left is not None
        closed = chain_records(released.ledger, "Line 1")
        (seq,) = [one.seq for one in closed if one.package == gone and one.kind == "case closed"]
        void(released.ledger, "Line 1", seq)
        with pytest.raises(BadInput, match=f"{left.delivery} is not printed without {gone}"):
            consignment_kept(released.ledger, released.mill, left.delivery)
        released.case(left.cases[-1].balls, package=gone)
        again = consignment_kept(released.ledger, released.mill, left.delivery)
        assert again.balls == left.balls
    closed = chain_records(released.ledger, "Line 1")
    seq = next(one.seq for one in closed if one.package == cases[0])
    void(released.ledger, "Line 1", seq)
    with released.ledger.reading() as connection:
        kept = KeptInLedger(connection, released.mill.mill.time_zone)
        with pytest.raises(BadInput, match=f"pallet {pallet} names {cases[0]}"):
            cases_on(kept, pallet)
