"""What packing a ball costs, part by part."""

from __future__ import annotations

from clew.languages import say
from clew.mill.balls import Packing
from clew.mill.model import Mill
from clew.mill.pack_rules import CaseSize
from clew.plan.sequence.timed_run import MoneyPart

_HOUR_S = 3600.0


def cost_parts(
    mill: Mill,
    case: CaseSize | None,
    *,
    balls_per_bag: int,
    bags_per_case: int,
    cases_per_pallet: int | None,
) -> tuple[MoneyPart, ...]:
    """Share what a bag, a case, a pallet, its freight and a hand's time cost among its balls.

    Parameters
    ----------
    mill : Mill
        The mill, with its prices and times.
    case : CaseSize or None
        The case; where none is named, its price is not in the sum.
    balls_per_bag, bags_per_case, cases_per_pallet : int
        How it is packed; every one is full. Where nobody said how many cases go on a pallet, it
        and its freight are not in the sum: shared among the balls of one case they would be absurd.

    Returns
    -------
    tuple of MoneyPart
        ``bag``, ``case``, ``pallet``, ``freight``, ``hands``, of one ball [money].

    Source: DERIVED, shares of the mill's own prices.
    """
    rules = mill.pack
    in_case = balls_per_bag * bags_per_case
    a_ball = 0.0 if cases_per_pallet is None else 1.0 / (in_case * cases_per_pallet)
    busy_s = rules.bag_time_s / balls_per_bag + rules.case_time_s / in_case
    return (
        MoneyPart("bag", say("bag"), rules.bag_price / balls_per_bag),
        MoneyPart("case", say("case"), (case.price if case else 0.0) / in_case),
        MoneyPart("pallet", say("pallet"), rules.pallet.price * a_ball),
        MoneyPart("freight", say("freight of the pallet"), rules.pallet.freight * a_ball),
        MoneyPart(
            "hands", say("hands that fill and close"), busy_s / _HOUR_S * mill.prices.hand_per_hour
        ),
    )


def case_named(mill: Mill, name: str | None) -> CaseSize | None:
    """Find a case of the mill's by its name; None where none is named or there is none such."""
    wanted = (name or "").strip().casefold()
    return next((case for case in mill.pack.case if case.name.casefold() == wanted), None)


def pack_cost(mill: Mill, ball_name: str) -> tuple[MoneyPart, ...]:
    """Cost of packing one ball as it is packed at present, by the mill file.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name : str
        The ball.

    Returns
    -------
    tuple of MoneyPart
        As `cost_parts` has them, of one ball [money].

    Raises
    ------
    BadInput
        When there is no such ball.
    """
    packing = mill.find_ball(ball_name).packing
    return cost_parts(
        mill,
        case_named(mill, packing.case),
        balls_per_bag=packing.balls_per_bag,
        bags_per_case=packing.bags_per_case,
        cases_per_pallet=packing.cases_per_pallet if says_pallet(packing) else None,
    )


def says_pallet(packing: Packing) -> bool:
    """Say whether the mill file states how many cases go on a pallet."""
    return "cases_per_pallet" in packing.model_fields_set
