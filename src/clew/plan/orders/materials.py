"""The orders against the cones in stock: who gets which dye lot, what is missing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.plan.orders.answer import LotMaterials, Materials, OrderMaterials
from clew.plan.orders.ask_dyehouse import ask_for
from clew.plan.orders.enough import chance_lot_suffices
from clew.plan.orders.free import no_line, unmet_order
from clew.plan.orders.pool import Pool, able_lines, lines_of, met_order, pool_of
from clew.plan.orders.shades import shade_words
from clew.plan.orders.strand_use import DOUBTS
from clew.plan.runs import PlannedRun

if TYPE_CHECKING:
    from clew.mill.model import Mill
    from clew.plan.orders.asked import OrderAsked

LEAST_SURE, MOST_SURE = 0.5, 0.9999
"""How surely cones may be asked to suffice, as in the mill file."""


def materials_for(
    mill: Mill,
    orders: Sequence[OrderAsked],
    *,
    sure_frac: float | None = None,
    seed: int = 1,
) -> Materials:
    """Allot the dye lots in stock to orders, and say what is missing.

    Parameters
    ----------
    mill : Mill
        The mill with its stock.
    orders : sequence of OrderAsked
        The orders.
    sure_frac : float, optional
        How surely the cones of an order must suffice, in place of the mill's own [1].
    seed : int
        Seed of the simulated shifts and of the search.

    Returns
    -------
    Materials
        Runs, orders, lots, and what to ask the dyehouse for.

    Raises
    ------
    BadInput
        When a name is not in the mill, an order number stands twice, or the chance cannot be used.

    Notes
    -----
    Source: DERIVED. Cones for balls are `clew.plan.orders.enough`, the allotment is
    `clew.plan.orders.allot`. Orders take their turn by the day they are due, then by priority,
    then as they stand. Of the lines that an order may run on, those that cannot make its ball are
    left out; where none can, it is not met, and the others are planned. A run takes whole cones;
    of an order in several lots each lot suffices so surely that all of them do.
    """
    sure = mill.plan.sure_frac if sure_frac is None else sure_frac
    _check(mill, orders, sure)
    wanted: dict[tuple[str, str], list[tuple[int, OrderAsked]]] = {}
    found: dict[int, OrderMaterials] = {}
    for place, order in enumerate(orders):
        yarn_name = mill.find_yarn(mill.find_ball(order.ball_name).yarn).name
        if not able_lines(mill, order):
            found[place] = no_line(mill, order, yarn_name)
            continue
        wanted.setdefault((order.colour_name, yarn_name), []).append((place, order))
    pools = [
        pool_of(mill, colour_name, yarn_name, of_these, sure_frac=sure, seed=seed)
        for (colour_name, yarn_name), of_these in wanted.items()
    ]
    for pool in pools:
        for place, shares in enumerate(pool.allotment.shares):
            answer = met_order(pool, place) if shares else unmet_order(pool, place)
            found[pool.places[place]] = answer
    answers = tuple(found[place] for place in range(len(orders)))
    doubt, share = _dominant(answers)
    asks = tuple(ask for pool in pools if (ask := ask_for(mill, pool)) is not None)
    return Materials(
        runs=tuple(run for answer in answers for run in _runs(mill, answer)),
        orders=answers,
        lots=tuple(lot for pool in pools for lot in _lots(pool)),
        asks=tuple(sorted(asks, key=lambda ask: (ask.by, ask.order_numbers))),
        shade_notes=tuple(
            words
            for pool in pools
            if any(order.dye_lots == "any" for order in pool.orders)
            for words in shade_words(pool.lots, mill.checks.shade_between_lots)
        ),
        dominant_doubt=doubt,
        dominant_doubt_frac=share,
        sure_frac=sure,
        seed=seed,
        proven=all(pool.allotment.proven for pool in pools),
    )


def _check(mill: Mill, orders: Sequence[OrderAsked], sure: float) -> None:
    faults: list[Fault] = []
    if not LEAST_SURE <= sure <= MOST_SURE:
        faults.append(
            Fault(
                say("no such chance"),
                say("{least:.0%} to {most:.2%}", least=LEAST_SURE, most=MOST_SURE),
                key="sure",
                value=f"{100.0 * sure:g} %",
            )
        )
    seen: set[str] = set()
    numbers = {order.number.casefold() for order in orders}
    colours = [colour.name for colour in mill.colour]
    for order in orders:
        section = f'order "{order.number}"'
        if order.number.casefold() in seen:
            faults.append(
                Fault(
                    say("an order that stands twice"),
                    say("each order number once"),
                    section=section,
                )
            )
        seen.add(order.number.casefold())
        stem, stroke, place = order.number.rpartition("/")
        if stroke and place.isdigit() and stem.casefold() in numbers:
            faults.append(
                Fault(
                    say("an order that is called like a run of order {number}", number=stem),
                    say("a number that does not end with a stroke and a number"),
                    section=section,
                )
            )
        if order.colour_name not in colours:
            faults.append(
                Fault(
                    say("no such colour in the mill"),
                    say("one of {names}", names=joined(", ", colours)),
                    section=section,
                    key="colour",
                    value=repr(order.colour_name),
                )
            )
        try:
            mill.find_yarn(mill.find_ball(order.ball_name).yarn)
            lines_of(mill, order)
        except BadInput as bad:
            faults += [Fault(one.what, one.expected, section=section, value=one.value)
                       for one in bad.faults]  # fmt: skip
        if order.balls < 1:
            faults.append(
                Fault(say("no number of balls"), say("1 or more"), section=section, key="balls",
                      value=str(order.balls))
            )  # fmt: skip
    if faults:
        raise BadInput(faults)


def _runs(mill: Mill, answer: OrderMaterials) -> Iterator[PlannedRun]:
    order = answer.asked
    for place, lot in enumerate(answer.lots):
        yield PlannedRun(
            name=order.number if len(answer.lots) == 1 else f"{order.number}/{place + 1}",
            order_number=order.number,
            customer=order.customer,
            ball_name=order.ball_name,
            yarn_name=answer.yarn_name,
            colour_name=order.colour_name,
            lot_name=lot.lot_name,
            balls=lot.balls,
            wound_balls=lot.wound_balls,
            cones=lot.cones,
            due=order.due,
            priority=order.priority,
            lines=able_lines(mill, order),
            ready=order.ready,
        )


def _lots(pool: Pool) -> Iterator[LotMaterials]:
    for lot, (dye_lot, left) in enumerate(zip(pool.lots, pool.left, strict=True)):
        taken = [
            (place, share)
            for place, shares in enumerate(pool.allotment.shares)
            for share in shares
            if share.lot == lot
        ]
        yield LotMaterials(
            lot_name=dye_lot.lot,
            colour_name=pool.colour_name,
            yarn_name=pool.yarn_name,
            stock_cones=dye_lot.cones,
            wanted_cones=dye_lot.cones - left,
            left_cones=left,
            p_suffices=chance_lot_suffices(
                dye_lot.cones, [(pool.uses[place][lot], share.balls) for place, share in taken]
            ),
            order_numbers=tuple(pool.orders[place].number for place, _ in taken),
        )


def _dominant(answers: Sequence[OrderMaterials]) -> tuple[str, float]:
    """What most of the doubt comes from, over all runs by their cones."""
    totals = dict.fromkeys(DOUBTS, 0.0)
    cones = 0
    for answer in answers:
        for lot in answer.lots:
            cones += lot.cones
            for name, share in lot.doubts.items():
                totals[name] += lot.cones * share
    if not cones:
        return "", 0.0
    most = max(totals, key=lambda name: totals[name])
    return DOUBTS[most], totals[most] / cones
