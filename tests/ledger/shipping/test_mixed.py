"""Cases with several dye lots: where they are let be, and that every lot counts as in them."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from tests.ledger.shipping.bench import Bench, decide, order_of, tell, void, wind

from clew.faults import BadInput
from clew.ledger.shipping.consignment import consignment_kept
from clew.ledger.shipping.made import lot_made
from clew.ledger.shipping.packed import case_kept, cases_of_lot, decisions_for
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import records_naming
from clew.ledger.trace.records import KeptInLedger
from clew.mill.lots import Cielab
from clew.mill.model import Mill
from clew.plan.orders.asked import OrderAsked

LOTS = ("SL-207", "SL-211")


def shaded(mill: Mill, **lightness: float) -> Mill:
    """Give Sloe's dye lots shades of their own; none where none is said."""
    colours = tuple(
        colour.model_copy(
            update={
                "dye_lot": tuple(
                    lot.model_copy(
                        update={"lab": Cielab(lightness=lightness[key], a=8.5, b=-19.0)}
                        if (key := lot.lot.replace("-", "_")) in lightness
                        else {"lab": None}
                    )
                    for lot in colour.dye_lot
                )
            }
        )
        for colour in mill.colour
    )
    return mill.model_copy(update={"colour": colours})


@pytest.fixture
def mixing(ledger: Ledger, numbered_mill: Mill) -> Bench:
    """A bench with 30 balls of SL-207 and 20 of SL-211 wound, whose shades agree."""
    hour = ledger.clock
    wind(ledger, "R-1", "SL-207", 30)
    ledger.clock = lambda: hour() + 600_000_000
    wind(ledger, "R-2", "SL-211", 20)
    return Bench(ledger, shaded(numbered_mill, SL_207=24.0, SL_211=24.4))


def any_lot(bench: Bench) -> OrderAsked:
    return replace(order_of(bench.mill, "1041"), dye_lots="any")


def mixed(bench: Bench, balls: int, **said: object) -> str:
    terms: dict[str, object] = {"lots": LOTS, "order": any_lot(bench), **said}
    return bench.case(balls, **terms)  # type: ignore[arg-type]


def refused(bench: Bench, words: str, **said: object) -> None:
    with pytest.raises(BadInput) as bad:
        mixed(bench, 10, **said)
    assert words in str(bad.value)


def test_a_case_names_all_its_lots_and_its_order(mixing: Bench) -> None:
    name = mixed(mixing, 12)
    (record,) = records_naming(mixing.ledger, "package", name)
    assert (record.lot, record.run) == ("SL-207", "")
    assert (record.fields()["lots"], record.fields()["order"]) == (list(LOTS), "1041")
    with mixing.ledger.reading() as connection:
        kept = KeptInLedger(connection, "")
        case = case_kept(kept, name)
        assert case is not None and (case.all_lots, case.order) == (LOTS, "1041")
        assert [cases_of_lot(kept, lot) for lot in (*LOTS, "SL-2")] == [(case,), (case,), ()]


def test_a_case_that_is_not_mixed_names_its_order_and_no_lots(mixing: Bench) -> None:
    name = mixed(mixing, 12, lots=("SL-207", "SL-207"))
    (record,) = records_naming(mixing.ledger, "package", name)
    assert record.run == "R-1" and record.fields()["order"] == "1041"
    assert "lots" not in record.fields()


def test_only_an_order_that_takes_any_lots_of_like_shade_lets_them_be_mixed(mixing: Bench) -> None:
    refused(mixing, "may not share a case: no order says", order=None)
    for rule in ("one", "case"):
        order = replace(any_lot(mixing), dye_lots=rule)
        refused(mixing, "order 1041 takes one dye lot in a case", order=order)
    refused(mixing, "may not share a case: they are Sloe and ", lots=("SL-207", "BR-088"))
    refused(mixing, "a run is of one dye lot, the case of several", run="R-1")
    mixing.mill = shaded(mixing.mill, SL_207=24.0, SL_211=28.0)
    refused(mixing, "SL-207 and SL-211 share no case: ")
    mixing.mill = shaded(mixing.mill, SL_207=24.0)
    refused(mixing, "the shade of SL-211 is not measured")


def left(bench: Bench, lot: str) -> int:
    with bench.ledger.reading() as connection:
        kept = KeptInLedger(connection, "")
        return lot_made(kept, bench.mill.line[0], lot, bench.ledger.clock()).left


def test_what_a_mixed_case_took_is_counted_once_and_never_too_strictly(mixing: Bench) -> None:
    assert (left(mixing, "SL-207"), left(mixing, "SL-211")) == (30, 20)
    mixed(mixing, 25)
    # 25 balls are left of 50: all of one lot may be among them, as far as it was wound
    assert (left(mixing, "SL-207"), left(mixing, "SL-211")) == (25, 20)
    with pytest.raises(BadInput, match="at most 25"):
        mixed(mixing, 26)
    mixing.case(20, "SL-211")
    assert (left(mixing, "SL-207"), left(mixing, "SL-211")) == (5, 0)
    mixed(mixing, 5)
    assert (left(mixing, "SL-207"), left(mixing, "SL-211")) == (0, 0)


def test_every_lot_of_it_must_be_released(mixing: Bench) -> None:
    order, name = any_lot(mixing), mixed(mixing, 12)
    pallet = mixing.pallet([name], order=order)
    decide(mixing.ledger, "SL-207", "release")
    assert mixing.ship([pallet], order).reasons == ("SL-211 is not released: nobody decided on it",)
    decide(mixing.ledger, "SL-211", "hold")
    with mixing.ledger.reading() as connection:
        kept = KeptInLedger(connection, "")
        case = case_kept(kept, name)
        assert case is not None
        said = {lot: one and one.body["decision"] for lot, one in decisions_for(kept, case)}
        assert said == {"SL-207": "release", "SL-211": "hold"}
    assert mixing.ship([pallet], order).reasons == ("SL-211 is on hold by Ina",)
    decide(mixing.ledger, "SL-211", "release")
    shipping = mixing.ship([pallet], order)
    assert shipping.reasons == ()
    found = consignment_kept(mixing.ledger, mixing.mill, "D-0001")
    assert [lot for lot, _ in found.certificates] == list(LOTS)


def test_a_release_of_one_run_is_none_for_a_case_of_several_lots(mixing: Bench) -> None:
    order, name = any_lot(mixing), mixed(mixing, 12)
    decide(mixing.ledger, "SL-207", "release")
    decide(mixing.ledger, "SL-211", "release", run="R-2")
    assert mixing.ship([name], order).reasons == ("SL-211 is not released: nobody decided on it",)


def test_a_mixed_case_told_at_a_tablet_is_judged_when_it_is_stacked_and_shipped(
    mixing: Bench,
) -> None:
    tell(mixing.ledger, "case closed", mixing.ledger.clock(), "t", package="T-1", lot="SL-207",
         lots=["SL-211"], balls=5, ball_name="Querl 100")  # fmt: skip
    for lot in LOTS:
        decide(mixing.ledger, lot, "release")
    strict = replace(any_lot(mixing), dye_lots="case")
    for order in (strict, None):
        with pytest.raises(BadInput, match="SL-207 and SL-211"):
            mixing.pallet(["T-1"], order=order)
    (reason,) = mixing.ship(["T-1"], strict).reasons
    assert reason.endswith("order 1041 takes one dye lot in a case")
    assert mixing.ship(["T-1"], any_lot(mixing)).reasons == ()


def test_what_left_by_mistake_is_told_back_in_the_mills_own_chain(mixing: Bench) -> None:
    order, name = any_lot(mixing), mixed(mixing, 12)
    for lot in LOTS:
        decide(mixing.ledger, lot, "release")
    pallet = mixing.pallet([name], order=order)
    assert mixing.ship([pallet], order).reasons == ()
    (shipped,) = [
        one for one in records_naming(mixing.ledger, "package", pallet) if one.kind == "shipped"
    ]
    void(mixing.ledger, "", shipped.seq)
    again = mixing.ship([pallet], order)
    assert again.reasons == () and not again.already
    closed = next(iter(records_naming(mixing.ledger, "package", pallet)))
    tell(mixing.ledger, "correction", mixing.ledger.clock(), "other", line="(mill)",
         of_seq=closed.seq, change=json.dumps({"cases": ["C-9"]}), why="misread")  # fmt: skip
    with mixing.ledger.reading() as connection:
        found = KeptInLedger(connection, "").of_kind("", "pallet closed", holding='"C-9"')
    assert [one.package for one in found] == [pallet]
