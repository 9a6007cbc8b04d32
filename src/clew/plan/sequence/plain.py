"""The plan as plain values for JSON, units in the keys."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from clew.plan.runs import what_is_made

if TYPE_CHECKING:
    from datetime import datetime

    from clew.plan.sequence.plan import SequencePlan, Totals
    from clew.plan.sequence.timed_run import Change, TimedRun
    from clew.plan.sequence.wish import Wish


def plan_plain(plan: SequencePlan) -> dict[str, Any]:
    """Turn a plan into plain values.

    Parameters
    ----------
    plan : SequencePlan
        The plan.

    Returns
    -------
    dict
        Strings, numbers, lists; stable keys with units in their names.
    """
    answer = plan.answer
    return {
        "mill": plan.mill_name,
        "now": _moment(plan.now),
        "currency": plan.currency,
        "words": list(plan.words),
        "kept": plan.kept,
        "seed": answer.seed,
        "within_s": plan.within_s,
        "found_by": answer.found_by,
        "bound_money": answer.bound / 1000.0,
        "bound_by": answer.bound_by,
        "assignment_bound_money": answer.assignment_bound / 1000.0,
        "gap_frac": answer.gap_frac,
        "proven": answer.proven,
        "plan": totals_plain(plan.totals),
        "light_to_dark": totals_plain(plan.light_to_dark),
        "present": None if plan.present is None else totals_plain(plan.present),
        "lines": [
            {"line": name, "runs": [run_plain(one) for one in runs]}
            for name, runs in plan.by_line().items()
        ],
        "late": [
            {
                "run": one.run_name,
                "order": one.order_number,
                "line": one.line_name,
                "late_min": one.late_min,
                "late_days": one.late_days,
                "late_cost_money": one.late_cost,
                "late_even_first": one.alone,
                "behind": list(one.behind),
                "frees": list(one.frees),
            }
            for one in plan.late
        ],
        "cannot": [
            {"run": one.run_name, "why": one.why, "frees": one.frees} for one in plan.cannot
        ],
    }


def totals_plain(totals: Totals) -> dict[str, Any]:
    """Turn what an order of runs comes to into plain values."""
    return {
        "cost_money": totals.cost,
        "change_cost_money": totals.change_cost,
        "late_cost_money": totals.late_cost,
        "run_cost_money": totals.run_cost,
        "wait_money": totals.wait_cost,
        "changes": totals.changes,
        "waste_kg": totals.waste_kg,
        "second_quality_balls": totals.second_balls,
        "stand_s": totals.stand_s,
        "clean_s": totals.clean_s,
        "wait_h": totals.wait_s / 3600.0,
        "late_runs": totals.late_runs,
    }


def run_plain(one: TimedRun) -> dict[str, Any]:
    """Turn a timed run into plain values."""
    return {
        **what_is_made(one.run),
        "change": change_plain(one.change),
        "change_from": _moment(one.change_from),
        "start": _moment(one.start),
        "end": _moment(one.end),
        "end_early": _moment(one.end_early),
        "end_late": _moment(one.end_late),
        "late_cost_money": one.late_cost,
        "wait_h": one.wait_s / 3600.0,
        "wait_money": one.wait_cost,
        "frozen": one.frozen,
    }


def change_plain(change: Change) -> dict[str, Any]:
    """Turn a change into plain values, its money part by part."""
    return {
        "kind": change.kind,
        "cost_money": change.cost,
        "stand_s": change.stand_s,
        "clean_s": change.clean_s,
        "de00": change.de00,
        "lightness_rise": change.lightness_rise,
        "strand_m": change.strand_m,
        "waste_kg": change.waste_kg,
        "second_quality_balls": change.second_balls,
        "parts": [
            {"key": part.key, "words": part.words, "money": part.money} for part in change.parts
        ],
    }


def wish_plain(wish: Wish) -> dict[str, Any]:
    """Turn the price of a wish into plain values; amounts are more than in the plan."""
    return {
        "words": wish.words,
        "run": wish.run_name,
        "line": wish.line_name,
        "place": wish.place,
        "more_money": wish.money,
        "more_waste_kg": wish.waste_kg,
        "more_second_quality_balls": wish.second_balls,
        "more_late_days": wish.late_days,
        "more_late_runs": wish.late_runs,
        "more_wait_h": wish.wait_s / 3600.0,
        "found_by": wish.found_by,
        "plan": totals_plain(wish.totals),
        "runs": [{"line": one.line_name, **run_plain(one)} for one in wish.timed],
    }


def _moment(moment: datetime) -> str:
    return moment.isoformat(timespec="minutes")
