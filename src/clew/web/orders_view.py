"""The plan, the cones and the money of Orders, arranged as tables and sentences."""

from __future__ import annotations

import math
from datetime import date, datetime, timedelta
from typing import Any

from clew.mill.model import Mill
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
from clew.web.figures import Figures, plural
from clew.web.orders_page import OrdersPage, Planned
from clew.web.plan_drawing import NARROW, WIDE, plan_drawing

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
        "cannot": [f"{one.run_name}: {one.why}. What would free it: {one.frees}." for one in
                   plan.cannot],
        "drawings": [plan_drawing(picture, form) for form in (WIDE, NARROW)] if plan.timed else [],
        "runs": runs_table(planned),
        "bound": bound_words(planned),
        "cones": {
            "head": head_words(materials),
            "unmet": [unmet_words(one) for one in materials.orders if not one.met],
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
    }  # fmt: skip


def verdict_words(planned: Planned) -> str:
    """Say first whether everything will be done in time, and with what there is."""
    plan, materials = planned.plan, planned.materials
    short = [one.asked.number for one in materials.orders if not one.met]
    late = [one.run_name for one in plan.late]
    parts = []
    if late:
        parts.append(f"{_named(late)} will be late")
    if short:
        parts.append(f"{_named(short)} cannot be met from stock")
    if plan.cannot:
        parts.append(f"no line can make {_named([one.run_name for one in plan.cannot])}")
    if not parts:
        many = len(materials.orders)
        return (
            "The order will be done in time."
            if many == 1
            else (f"All {many} orders will be done in time.")
        )
    said = "; ".join(parts)
    return f"{said[0].upper()}{said[1:]}."


def _named(names: list[str], most: int = 4) -> str:
    shown = names[:most]
    more = len(names) - len(shown)
    if more:
        return f"{', '.join(shown)} and {more} more"
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"


def next_words(planned: Planned) -> list[str]:
    """Say what comes on first and what after it, line by line."""
    said = []
    for name, runs in planned.plan.by_line().items():
        if not runs:
            said.append(f"{name}: nothing to make.")
            continue
        first = runs[0].run
        now = f"{first.ball_name} in {first.colour_name} from {first.lot_name} ({first.name})"
        then = ""
        if len(runs) > 1:
            run = runs[1]
            then = f", then {run.run.colour_name} ({run.run.name}) at {_clock(run.change_from)}"
        said.append(f"{name}: {now}{then}.")
        waits = [wait_words(one, one.run.name) for one in runs if one.wait_s > 0.0]
        if waits:
            said.append(f"{name} {', '.join(waits)}.")
    return said


def bound_words(planned: Planned) -> str:
    """Say how good the plan is at least."""
    answer, plan = planned.plan.answer, planned.plan
    if not plan.timed:
        return ""
    if answer.proven:
        return "It is the cheapest order of runs there is: proven."
    # rounded up: the saying holds as it stands
    saved = math.ceil(1000.0 * answer.gap_frac) / 10.0
    return (
        f"No order of these runs costs less than {answer.bound / 1000.0:.2f} {plan.currency}; "
        f"this one costs {answer.best.cost / 1000.0:.2f}, so at most "
        f"{saved:.1f} % could still be saved."
    )


def runs_table(planned: Planned) -> Table:
    """Every run with its line, its change before it and its time."""
    head = ("Run", "Line", "Ball", "Colour", "Dye lot", "Balls", "Before it", "Begins",
            "Ends, 95 of 100", "Due")  # fmt: skip
    rows = []
    for one in planned.plan.timed:
        run = one.run
        rows.append((
            run.name, one.line_name, run.ball_name, run.colour_name, run.lot_name,
            str(run.balls), change_words(one) if one.change.kind != "none" else "nothing",
            _clock(one.start), f"{_clock(one.end_early)} to {_clock(one.end_late)}",
            f"{run.due:%a %d %b}" + (" late" if one.late_cost > 0 else ""),
        ))  # fmt: skip
    return {"head": head, "rows": rows}


def cones_table(planned: Planned) -> Table:
    """The orders against the cones in stock."""
    head = ("Order", "Customer", "Ball", "Colour", "Balls", "Due", "Cones to fetch",
            "Chance they suffice")  # fmt: skip
    rows = [
        (
            one.asked.number, one.asked.customer, one.asked.ball_name, one.asked.colour_name,
            str(one.asked.balls), f"{one.asked.due:%a %d %b}",
            ", ".join(f"{lot.cones} of {lot.lot_name}" for lot in one.lots) or "not met",
            chance_words(one),
        )
        for one in planned.materials.orders
    ]  # fmt: skip
    return {"head": head, "rows": rows}


def lots_table(planned: Planned) -> Table:
    """What the orders take of each dye lot."""
    head = ("Dye lot", "Colour", "Yarn", "In stock", "Wanted", "Left", "For")
    rows = [
        (one.lot_name, one.colour_name, one.yarn_name, str(one.stock_cones),
         str(one.wanted_cones), str(one.left_cones), ", ".join(one.order_numbers) or "nothing")
        for one in planned.materials.lots
    ]  # fmt: skip
    return {"head": head, "rows": rows}


def money_words(planned: Planned) -> str:
    """Say what the plan costs, and how much of it changing and lateness are."""
    plan, totals = planned.plan, planned.plan.totals
    if not plan.timed:
        return ""
    changes = "change" if totals.changes == 1 else plural(totals.changes, "change")
    said = (
        f"All balls of the plan cost {planned.quote.money:.2f} {plan.currency}; in it, the "
        f"{changes} alone {totals.change_cost:.2f}."
    )
    beside = [
        f"{what} {cost:.2f}"
        for what, cost in (
            ("lateness", totals.late_cost), ("lines that wait for yarn", totals.wait_cost)
        )
        if cost >= 0.005
    ]  # fmt: skip
    return f"{said} Beside it: {', '.join(beside)}." if beside else said


def money_table(planned: Planned) -> Table:
    """What a ball of each run costs by the time it leaves."""
    head = ("Run", "Ball", "Balls", "A ball costs", "Between", "With a usual change", "The run",
            "Its change alone")  # fmt: skip
    rows = [
        (
            one.run.run.name, one.run.run.ball_name, str(one.run.run.balls),
            f"{one.cost.total:.3f}", f"{one.cost.low:.2f} to {one.cost.high:.2f}",
            f"{usual.total:.3f}", f"{one.money:.2f}", f"{one.run.change.cost:.2f}",
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
                              "words": f"{begins:%A %d %b, %H:%M}"})  # fmt: skip
    return found


def _works(day: date, rules: WorkTime) -> bool:
    return day.weekday() in rules.weekdays and day not in rules.closed


def _clock(moment: datetime) -> str:
    return f"{moment:%a %d %b %H:%M}"
