"""What a day's report says, row by row, in sentences."""

from __future__ import annotations

from clew.languages import first_upper, joined, say, say_many
from clew.ledger.events.moments import local_of
from clew.ledger.ingest.by_hand import said_again
from clew.ledger.reports.day_figures import CARRIED, DayFigures
from clew.mill.model import Mill
from clew.papers.day_told import DayTold

DONE = {
    "release": say("released"),
    "hold": say("held"),
    "rework": say("sent to rework"),
    "refuse": say("refused"),
    "": say("not decided on"),
}


def headline(found: DayFigures) -> str:
    """Say a day in a sentence."""
    left = sum(one.cased_balls for one in found.runs if one.delivery)
    held = list(dict.fromkeys(one.lot for one in found.runs if one.decision not in ("release", "")))
    banded = say(
        "{balls} balls are banded in {runs}",
        balls=sum(one.banded for one in found.runs),
        runs=say_many("{n} run", "{n} runs", len(found.runs)),
    )
    gone = say("{n} of them have left", n=left) if left else say("none of them has left")
    parts = [banded, gone]
    if held:
        lots = joined(say(" and "), held)
        parts.append(say_many("{lots} waits", "{lots} wait", len(held), lots=lots))
    return joined("; ", parts) + "."


def clock(at_us: int, zone: str) -> str:
    """Write a moment by the mill's clock: ``07:46``."""
    return f"{local_of(at_us, zone):%H:%M}"


def planned_words(found: DayFigures, told: DayTold) -> str:
    """Say what was asked of the day."""
    asked = [
        say(
            "{balls} {ball} of {lot} for order {order}",
            balls=one.planned_balls,
            ball=one.ball,
            lot=one.lot,
            order=one.order,
        )
        for one in found.runs
    ]
    parts = [joined(", ", asked) + "." if asked else say("No run was begun.")]
    parts += told.plan_words[-1:]
    if told.put_off:
        parts.append(say("Left to the next shift: {orders}.", orders=", ".join(told.put_off)))
    return joined(" ", parts)


def made_words(found: DayFigures) -> str:
    """Say where every ball taken off went."""
    runs = found.runs
    return say(
        "{doffed} balls taken off; {banded} banded, {pulled} pulled to second quality, {reeled} "
        "reeled for their length, {rework} part balls wound back.",
        doffed=sum(one.doffed for one in runs),
        banded=sum(one.banded for one in runs),
        pulled=sum(one.second_quality for one in runs),
        reeled=sum(one.reeled for one in runs),
        rework=sum(one.rework for one in runs),
    )


def given_words(mill: Mill, found: DayFigures) -> str:
    """Say what the balls hold above or below their bands, and what that yarn costs."""
    weighed = sum(one.weighed for one in found.runs)
    if not weighed:
        return say("No banded ball was weighed.")
    given_g = sum(one.given_g for one in found.runs)
    fields = {
        "balls": weighed,
        "mass": abs(given_g) / 1000.0,
        "each": abs(given_g) / weighed,
        "sum": abs(sum(one.given_money for one in found.runs)),
        "currency": mill.prices.currency,
    }
    if given_g >= 0.0:
        return say(
            "{balls} banded balls hold {mass:.2f} kg above what their bands declare, {each:.2f} g "
            "a ball: yarn for {sum:.2f} {currency}.",
            **fields,
        )
    return say(
        "{balls} banded balls hold {mass:.2f} kg below what their bands declare, {each:.2f} g "
        "a ball: yarn for {sum:.2f} {currency}.",
        **fields,
    )


def knots_words(found: DayFigures) -> str:
    """Say how many joins were made, and how many were seen."""
    breaks = sum(one.breaks for one in found.runs)
    return say(
        "{ties} cone ties and {breaks} tied again; {seen} joins were seen at the winders.",
        ties=sum(one.ties for one in found.runs),
        breaks=say_many("{n} break", "{n} breaks", breaks),
        seen=sum(one.seen for one in found.runs),
    )


def winders_words(found: DayFigures, zone: str) -> str:
    """Say which winders ran off, and what they were set to."""
    said = [
        say(
            "{clock} {why}, set from {before:g} to {counts:g} counts",
            clock=clock(one.at_us, zone),
            why=one.why,
            before=one.before,
            counts=one.counts,
        )
        for run in found.runs
        for one in run.set
        if one.why != CARRIED
    ]
    if not said:
        return say("No winder ran off.")
    parts = [_sentence(joined("; ", said))]
    if any(one.why == CARRIED for run in found.runs for one in run.set):
        parts.append(say("Runs after that began with these winders set so."))
    return joined(" ", parts)


def caught_words(found: DayFigures, zone: str) -> str:
    """Say what nearly went wrong, and when the line stood."""
    said = [
        say(
            "{clock} cone {cone} of the wrong dye lot {lot} was taken off before it was tied on",
            clock=clock(at_us, zone),
            cone=cone,
            lot=lot,
        )
        for at_us, cone, lot in found.wrong_cones
    ] + [
        say(
            "the line stood from {begun} to {over}: {why}",
            begun=clock(begun, zone),
            over=clock(over, zone),
            why=said_again(why),
        )
        for begun, over, why in found.stops
    ]
    return _sentence(joined("; ", said)) if said else say("Nothing went wrong.")


def lots_words(found: DayFigures, told: DayTold) -> str:
    """Say what was decided on each run's lot, and what would release it."""
    said = []
    for one in found.runs:
        state = DONE.get(one.decision, one.decision)
        said.append(say("{lot} ({ball}) is {state}.", lot=one.lot, ball=one.ball, state=state))
        said += told.mends.get(one.run, ())
    return joined(" ", said) if said else say("No lot was made.")


def sent_words(found: DayFigures) -> str:
    """Say what was packed for whom, and what has left."""
    said = []
    for one in found.runs:
        if not one.cases:
            continue
        packed = say(
            "{cases} with {balls} balls",
            cases=say_many("{n} case", "{n} cases", len(one.cases)),
            balls=one.cased_balls,
        )
        if one.pallets:
            on = say_many("{n} pallet", "{n} pallets", len(one.pallets))
            packed = say("{packed} on {pallets}", packed=packed, pallets=on)
        if one.delivery:
            said.append(
                say(
                    "Order {order}: {packed}, gone to {customer} with {delivery}.",
                    order=one.order,
                    packed=packed,
                    customer=one.customer,
                    delivery=one.delivery,
                )
            )
        else:
            said.append(say("Order {order}: {packed}, in store.", order=one.order, packed=packed))
    return joined(" ", said) if said else say("No case was closed.")


def back_words(found: DayFigures, told: DayTold) -> str:
    """Say which ball came back, and what it was traced to."""
    back, trace = found.returned, told.trace
    if back is None or trace is None:
        return say("No ball came back.")
    cones = joined(", ", (one.cone or say("a cone without a name") for one in trace.cones))
    if back.why:
        came = say(
            "A ball of {lot} came back from {customer} for {why}.",
            lot=back.lot,
            customer=back.customer,
            why=back.why,
        )
    else:
        came = say(
            "A ball of {lot} came back from {customer}.", lot=back.lot, customer=back.customer
        )
    which = say_many(
        "By its band, {code}, it is one ball; its cones: {cones}.",
        "By its band, {code}, it is one of {n} balls; its cones: {cones}.",
        trace.size,
        code=back.code,
        cones=cones or say("none told"),
    )
    return joined(" ", (came, which, say("What to answer is drafted in letter.txt.")))


def ledger_words(told: DayTold) -> str:
    """Say whether the records are as they were kept."""
    if told.sound:
        return say("{rows} records were read again and verified: none was changed.", rows=told.rows)
    return say(
        "{rows} records were read again and verified: they are NOT SOUND: run clew ledger verify.",
        rows=told.rows,
    )


def _sentence(text: str) -> str:
    return first_upper(text) + "."
