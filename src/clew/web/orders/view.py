"""The plan, the cones and the money of Orders, arranged as tables and sentences."""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta
from typing import Any
from urllib.parse import urlencode

from clew.languages import figure, first_upper, joined, say, say_many, weekday, weekday_moment
from clew.mill.model import Mill
from clew.plan.named import and_words
from clew.plan.orders.words import (
    ask_words,
    chance_words,
    doubt_words,
    head_words,
    unmet_words,
)
from clew.plan.sequence.calendar import WorkTime
from clew.plan.sequence.gantt import gantt_of
from clew.plan.sequence.wish import wish_words
from clew.plan.sequence.words import change_words, late_words, saved_words, wait_words
from clew.web.drawn.figures import Figures
from clew.web.orders.drawing import NARROW, WIDE, plan_drawing
from clew.web.orders.page import OrdersPage, Planned

Table = dict[str, Any]


def plan_shown(page: OrdersPage, mill: Mill, figures: Figures) -> dict[str, Any]:
    """Arrange everything around the plan.

    Parameters
    ----------
    page : OrdersPage
        What was asked, with its answer.
    mill : Mill
        The mill.
    figures : Figures
        How numbers are printed.

    Returns
    -------
    dict
        What the template arranges; without a plan, nothing but its absence.
    """
    planned = page.planned
    if planned is None:
        return {"plan": None, "wish": None}
    plan, materials = planned.plan, planned.materials
    picture = gantt_of(plan, mill)
    return {
        "plan": plan,
        "verdict": verdict_words(planned),
        "next": next_words(planned),
        "saved": saved_words(plan, figures.units) if plan.timed else "",
        "late": [late_words(one, plan.currency) for one in plan.late],
        "cannot": [
            say(
                "{run}: {why}. What would free it: {frees}.", run=one.run_name, why=one.why,
                frees=one.frees,
            )
            for one in plan.cannot
        ],
        "drawings": [plan_drawing(picture, form) for form in (WIDE, NARROW)] if plan.timed else [],
        "runs": runs_table(planned),
        "bound": bound_words(planned),
        "cones": {
            "head": head_words(materials),
            "unmet": [unmet_words(one, "") for one in materials.orders if not one.met],
            "orders": cones_table(planned),
            "lots": lots_table(planned),
            "asks": [ask_words(one, figures.units) for one in materials.asks],
            "notes": [one for one in (*materials.shade_notes, doubt_words(materials)) if one],
        },
        "money": money_table(planned),
        "money_words": money_words(planned),
        "wish": page.wish,
        "wish_said": "" if page.wish is None else wish_words(
            page.wish, plan.currency, figures.units
        ),
        "wish_drawings": [] if page.wish is None else [
            plan_drawing(gantt_of(plan, mill, page.wish.timed), form, "wish")
            for form in (WIDE, NARROW)
        ],
        "shifts": shifts_of(planned),
        "goes": runs_onward(planned, mill),
    }  # fmt: skip


def verdict_words(planned: Planned) -> str:
    """Say first whether everything will be done in time, and with what there is."""
    plan, materials = planned.plan, planned.materials
    short = [one.asked.number for one in materials.orders if not one.met]
    late = [one.run_name for one in plan.late]
    parts = []
    if late:
        parts.append(say("{runs} will be late", runs=_named(late)))
    if short:
        parts.append(say("{orders} cannot be met from stock", orders=_named(short)))
    if plan.cannot:
        runs = _named([one.run_name for one in plan.cannot])
        parts.append(say("no line can make {runs}", runs=runs))
    if not parts:
        return say_many(
            "The order will be done in time.",
            "All {n} orders will be done in time.",
            len(materials.orders),
        )
    return say("{clauses}.", clauses=first_upper(joined("; ", parts)))


def _named(names: list[str], most: int = 4) -> str:
    shown = names[:most]
    more = len(names) - len(shown)
    if more:
        return say("{names} and {more} more", names=joined(", ", shown), more=more)
    return and_words(shown)


def next_words(planned: Planned) -> list[str]:
    """Say what comes on first and what after it, line by line."""
    said = []
    for name, runs in planned.plan.by_line().items():
        if not runs:
            said.append(say("{line}: nothing to make.", line=name))
            continue
        first = runs[0].run
        now = say(
            "{ball} in {colour} from {lot} ({run})",
            ball=first.ball_name, colour=first.colour_name, lot=first.lot_name, run=first.name,
        )  # fmt: skip
        if len(runs) > 1:
            then = runs[1]
            said.append(
                say(
                    "{line}: {now}, then {colour} ({run}) at {when}, its change from {change}.",
                    line=name, now=now, colour=then.run.colour_name, run=then.run.name,
                    when=weekday_moment(then.start), change=weekday_moment(then.change_from),
                )
            )  # fmt: skip
        else:
            said.append(say("{line}: {now}.", line=name, now=now))
        waits = [wait_words(one, one.run.name) for one in runs if one.wait_s > 0.0]
        if waits:
            said.append(say("{line} {waits}.", line=name, waits=joined(", ", waits)))
    return said


def bound_words(planned: Planned) -> str:
    """Say how good the plan is at least."""
    answer, plan = planned.plan.answer, planned.plan
    if not plan.timed:
        return ""
    if answer.proven:
        return say("It is the cheapest order of runs there is: proven.")
    # rounded up: the saying holds as it stands
    saved = math.ceil(1000.0 * answer.gap_frac) / 10.0
    return say(
        "No order of these runs costs less than {bound}; this one costs {cost:.2f}, so at most "
        "{saved:.1f} % could still be saved.",
        bound=figure(f"{answer.bound / 1000.0:.2f} {plan.currency}"),
        cost=answer.best.cost / 1000.0,
        saved=saved,
    )


def runs_table(planned: Planned) -> Table:
    """Every run with its line, its change before it and its time."""
    head = (say("Run"), say("Line"), say("Ball"), say("Colour"), say("Dye lot"), say("Balls"),
            say("Before it"), say("Begins"), say("Ends, 95 of 100"), say("Due"))  # fmt: skip
    rows = []
    for one in planned.plan.timed:
        run = one.run
        rows.append((
            run.name, one.line_name, run.ball_name, run.colour_name, run.lot_name,
            str(run.balls), change_words(one) if one.change.kind != "none" else say("nothing"),
            weekday_moment(one.start),
            say(
                "{early} to {latest}",
                early=weekday_moment(one.end_early), latest=weekday_moment(one.end_late),
            ),
            say("{day} late", day=weekday(run.due)) if one.late_cost > 0 else weekday(run.due),
        ))  # fmt: skip
    return {"head": head, "rows": rows}


def cones_table(planned: Planned) -> Table:
    """The orders against the cones in stock."""
    head = (say("Order"), say("Customer"), say("Ball"), say("Colour"), say("Balls"), say("Due"),
            say("Cones to fetch"), say("Chance they suffice"))  # fmt: skip
    rows = [
        (
            one.asked.number, one.asked.customer, one.asked.ball_name, one.asked.colour_name,
            str(one.asked.balls), weekday(one.asked.due),
            joined(
                ", ",
                [say("{cones} of {lot}", cones=lot.cones, lot=lot.lot_name) for lot in one.lots],
            ) or say("not met"),
            chance_words(one),
        )
        for one in planned.materials.orders
    ]  # fmt: skip
    return {"head": head, "rows": rows}


def lots_table(planned: Planned) -> Table:
    """What the orders take of each dye lot."""
    head = (say("Dye lot"), say("Colour"), say("Yarn"), say("In stock"), say("Wanted"),
            say("Left"), say("For"))  # fmt: skip
    rows = [
        (one.lot_name, one.colour_name, one.yarn_name, str(one.stock_cones),
         str(one.wanted_cones), str(one.left_cones),
         joined(", ", one.order_numbers) or say("nothing"))
        for one in planned.materials.lots
    ]  # fmt: skip
    return {"head": head, "rows": rows}


def money_words(planned: Planned) -> str:
    """Say what the plan costs, and how much of it changing and lateness are."""
    plan, totals = planned.plan, planned.plan.totals
    if not plan.timed:
        return ""
    said = say_many(
        "All balls of the plan cost {money}; in it, the change alone {changes:.2f}.",
        "All balls of the plan cost {money}; in it, the {n} changes alone {changes:.2f}.",
        totals.changes,
        money=figure(f"{planned.quote.money:.2f} {plan.currency}"),
        changes=totals.change_cost,
    )
    beside = [
        words
        for words, cost in (
            (say("lateness {cost:.2f}", cost=totals.late_cost), totals.late_cost),
            (say("lines that wait for yarn {cost:.2f}", cost=totals.wait_cost), totals.wait_cost),
        )
        if cost >= 0.005
    ]
    if not beside:
        return said
    return joined(" ", (said, say("Beside it: {costs}.", costs=joined(", ", beside))))


def money_table(planned: Planned) -> Table:
    """What a ball of each run costs by the time it leaves."""
    head = (say("Run"), say("Ball"), say("Balls"), say("A ball costs"), say("Between"),
            say("With a usual change"), say("The run"), say("Its change alone"))  # fmt: skip
    rows = [
        (
            one.run.run.name, one.run.run.ball_name, str(one.run.run.balls),
            figure(f"{one.cost.total:.3f}"),
            say("{low:.2f} to {high:.2f}", low=one.cost.low, high=one.cost.high),
            figure(f"{usual.total:.3f}"), figure(f"{one.money:.2f}"),
            figure(f"{one.run.change.cost:.2f}"),
        )
        for one, usual in zip(planned.quote.runs, planned.usual, strict=True)
    ]  # fmt: skip
    return {"head": head, "rows": rows}


def shifts_of(planned: Planned, most: int = 4) -> list[dict[str, str]]:
    """The first worked shifts of the plan, for which there is paper."""
    plan = planned.plan
    if not plan.timed:
        return []
    rules = plan.terms.calendars[0].rules
    ends = max(one.end.timestamp() for one in plan.timed)
    found: list[dict[str, str]] = []
    day = plan.now.astimezone(rules.zone).date() - timedelta(days=1)
    while len(found) < most:
        day += timedelta(days=1)
        for start in rules.worked if _works(day, rules) else ():
            begins = datetime.combine(day, start, rules.zone)
            over = begins.timestamp() + 60.0 * rules.shift_min <= plan.now.timestamp()
            if begins.timestamp() >= ends:
                return found
            if not over and len(found) < most:
                found.append({"date": f"{day:%Y-%m-%d}", "shift": f"{start:%H:%M}",
                              "words": weekday_moment(begins)})  # fmt: skip
    return found


def runs_onward(planned: Planned, mill: Mill) -> list[dict[str, str]]:
    """Lead on from every planned run to its run card and to its start, with all that was chosen."""
    orders = {(one.number, one.ball, one.colour) for one in mill.order}
    found = []
    for one in sorted(planned.plan.timed, key=lambda one: one.start):
        run = one.run
        own = {"ball": run.ball_name, "lot": run.lot_name, "line": one.line_name}
        if (run.order_number, run.ball_name, run.colour_name) in orders:
            own["order"] = run.order_number
        found.append({
            "name": run.name,
            "words": say(
                "{run}: {balls} {ball} in {colour} from {lot}, on {line} from {start}",
                run=run.name, balls=run.balls, ball=run.ball_name, colour=run.colour_name,
                lot=run.lot_name, line=one.line_name, start=weekday_moment(one.start),
            ),
            "card": urlencode(own),
            "start": urlencode({**own, "form": "start"}),
        })  # fmt: skip
    return found


def _works(day: date, rules: WorkTime) -> bool:
    return day.weekday() in rules.weekdays and day not in rules.closed
