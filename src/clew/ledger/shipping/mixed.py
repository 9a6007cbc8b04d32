"""Dye lots that share a case: what an order and their shades allow."""

from __future__ import annotations

from collections.abc import Sequence

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.model import Mill
from clew.plan.named import each_and
from clew.plan.orders.asked import OrderAsked
from clew.plan.orders.shades import shade_words


def lots_asked(mill: Mill, said: Sequence[str], order: OrderAsked | None) -> tuple[str, ...]:
    """Name the dye lots of a case as the mill file does, each once.

    Parameters
    ----------
    mill : Mill
        The mill.
    said : sequence of str
        The lots, as they were said.
    order : OrderAsked or None
        The order the case is packed for.

    Raises
    ------
    BadInput
        For none, for one that the mill file does not name, for lots that may not share a case.
    """
    if not said:
        raise BadInput(Fault(say("no dye lot is named"), say("the lot of its balls"), key="lot"))
    lots = tuple(dict.fromkeys(mill.find_dye_lot(one)[1].lot for one in said))
    barred = why_apart(mill, lots, order)
    if barred:
        raise BadInput([Fault(one, say("a case for each lot"), key="lot") for one in barred])
    return lots


def why_apart(mill: Mill, lots: Sequence[str], order: OrderAsked | None) -> tuple[str, ...]:
    """Say what keeps dye lots out of one case; nothing where they may share it.

    Parameters
    ----------
    mill : Mill
        The mill, with its limit ``checks.shade_between_lots`` and each lot's own ``lab``.
    lots : sequence of str
        The lots.
    order : OrderAsked or None
        The order; without one a case holds one lot.

    Source: common practice, no published source; CIEDE2000 as ISO/CIE 11664-6 has it.
    """
    if len(lots) < 2:
        return ()
    both = each_and(lots)
    if order is None:
        return (
            say("{lots} may not share a case: no order says that it takes several lots", lots=both),
        )
    if order.dye_lots != "any":
        return (
            say(
                "{lots} may not share a case: order {number} takes one dye lot in a case",
                lots=both,
                number=order.number,
            ),
        )
    known = {one.lot: (colour.name, one) for colour in mill.colour for one in colour.dye_lot}
    unknown = [one for one in lots if one not in known]
    if unknown:
        return tuple(say("{lot} is no dye lot of the mill file", lot=one) for one in unknown)
    colours = dict.fromkeys(known[one][0] for one in lots)
    if len(colours) > 1:
        return (
            say(
                "{lots} may not share a case: they are {colours}",
                lots=both,
                colours=each_and(list(colours)),
            ),
        )
    return shade_words([known[one][1] for one in lots], mill.checks.shade_between_lots)
