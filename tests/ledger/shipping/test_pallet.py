"""Closing a pallet: each case once, closed, here, and of what may stand together."""

from __future__ import annotations

import pytest
from tests.ledger.shipping.bench import Bench, decide, order_of, tell, void, wind

from clew.faults import BadInput
from clew.ledger.shipping.masses import Masses
from clew.ledger.shipping.packed import CaseKept
from clew.ledger.shipping.pallet import PalletQuestion, close_pallet
from clew.ledger.store.reading import records_naming
from clew.mill.model import Mill
from clew.plan.packing.ball_block import block_of


def refused(bench: Bench, cases: tuple[str, ...], *says: str, **said: object) -> None:
    asked = PalletQuestion(cases, bench.ledger.clock(), "Ina", "clew ship", "key", **said)  # type: ignore[arg-type]
    with pytest.raises(BadInput) as bad:
        close_pallet(bench.ledger, bench.mill, asked)
    for words in says:
        assert words in str(bad.value)


@pytest.fixture
def two_lots(bench: Bench) -> tuple[str, str]:
    one = bench.case(10)
    wind(bench.ledger, "R-2", "SL-211", 10)
    return one, bench.case(10, "SL-211", anyway="both runs at once")


def test_a_pallet_names_its_cases(bench: Bench) -> None:
    cases = [bench.case(10) for _ in range(3)]
    name = bench.pallet([f"(00){one}" for one in cases])
    (record,) = records_naming(bench.ledger, "package", name)
    assert (record.kind, record.line, record.fields()) == ("pallet closed", "", {"cases": cases})
    assert int(name[8:17]) == 4


def test_a_case_stands_on_one_pallet_once(bench: Bench) -> None:
    one, other = bench.case(10), bench.case(10)
    refused(bench, (), "no case is named")
    refused(bench, (one, one), f"case {one} stands twice")
    refused(bench, (one, "C-9"), "no such case was closed (got C-9)")
    pallet = bench.pallet([one])
    refused(bench, (one, other), f"case {one} is on pallet {pallet}")
    refused(bench, (pallet,), "no such case was closed")
    refused(bench, (other,), f"{pallet} is closed already", package=pallet)
    decide(bench.ledger, "SL-207", "release")
    bench.ship([other])
    refused(bench, (other,), f"case {other} has left the mill")


def test_a_pallet_that_was_corrected_away_gives_its_cases_free(bench: Bench) -> None:
    one = bench.case(10)
    pallet = bench.pallet([one])
    (record,) = records_naming(bench.ledger, "package", pallet)
    void(bench.ledger, "", record.seq)
    assert bench.pallet([one]) != pallet


def test_cases_are_stacked_anew_while_their_pallet_is_here(bench: Bench) -> None:
    one, other = bench.case(10), bench.case(10)
    first = bench.pallet([one, other])
    second = bench.pallet([one], anew="the deck broke")
    (record,) = records_naming(bench.ledger, "package", second)
    assert record.fields()["note"] == "stacked anew: the deck broke"
    decide(bench.ledger, "SL-207", "release")
    assert bench.ship([first]).reasons == (
        f"case {one} is on pallet {second}: ship that, or stack it anew",
    )
    assert bench.ship([second]).reasons == ()
    refused(bench, (one,), f"case {one} has left the mill", anew="again")


def test_lots_stand_together_by_the_order_only(bench: Bench, two_lots: tuple[str, str]) -> None:
    order = order_of(bench.mill, "1041")
    assert order.dye_lots == "one"
    refused(bench, two_lots, "SL-207 and SL-211 on one pallet without an order")
    refused(bench, two_lots, "order 1041 takes one dye lot", order=order)
    refused(bench, two_lots, "is Querl 100 in Sloe, order 1042 is for Querl 200 in Oatmeal",
            order=order_of(bench.mill, "1042"))  # fmt: skip
    from dataclasses import replace

    bench.pallet(two_lots, order=replace(order, dye_lots="case"))


def test_the_pallet_says_its_mass_and_what_is_too_much(bench: Bench) -> None:
    cases = tuple(bench.case(4) for _ in range(2))
    heavy = bench.mill.pack.pallet.model_copy(update={"most_mass_g": 26_000.0})
    pack = bench.mill.pack.model_copy(update={"pallet": heavy})
    mill = bench.mill.model_copy(update={"pack": pack})
    asked = PalletQuestion(cases, bench.ledger.clock(), "Ina", "clew ship", "key")
    closing = close_pallet(bench.ledger, mill, asked)
    assert closing.gross_mass_g is not None and closing.gross_mass_g > 26_000.0
    assert any("the pallet may weigh 26 kg" in one for one in closing.mind)
    assert "SL-207 is not decided on: its cases may not ship yet" in closing.mind


def test_masses_are_those_of_the_packing_plan(demo_mill: Mill) -> None:
    ball = demo_mill.find_ball("Querl 100")
    size = next(one for one in demo_mill.pack.case if one.name == ball.packing.case)
    per_bag = ball.packing.balls_per_bag
    masses = Masses(demo_mill)
    each = block_of(demo_mill, "Querl 100").mass_g
    balls = per_bag + 1
    gross = balls * each + 2 * demo_mill.pack.bag_tare_g + size.tare_mass_g
    assert masses.case_gross_g("Querl 100", balls) == pytest.approx(gross, rel=1e-12)
    case = CaseKept("C", "Line 1", "", "SL-207", "Querl 100", balls, "", 0, 1)
    assert masses.pallet_gross_g([case, case]) == pytest.approx(
        2 * gross + demo_mill.pack.pallet.tare_mass_g, rel=1e-12
    )
    assert masses.net_g([case, case]) == 2 * balls * 100.0
    assert masses.net_g([CaseKept("C", "Line 1", "", "SL-207", "", 3, "", 0, 1)]) is None
    assert masses.case_gross_g("Nothing", 1) is None


def test_a_ball_without_a_case_of_the_mill_has_no_gross_mass(demo_mill: Mill) -> None:
    mill = demo_mill.model_copy(
        update={"pack": demo_mill.pack.model_copy(update={"case": ()})}
    )  # fmt: skip
    assert Masses(mill).case_gross_g("Querl 100", 10) is None


def test_a_case_told_on_a_later_day_cannot_stand_on_it(bench: Bench) -> None:
    tell(bench.ledger, "case closed", bench.ledger.clock() + 120_000_000, "later", lot="SL-207",
         balls=2, package="C-77")  # fmt: skip
    refused(bench, ("C-77",), "case C-77 is closed later")
