"""A shift plan as plain values, with keys that scripts may rely on."""

from __future__ import annotations

from typing import Any

from clew.plan.shift.pace_draws import Expected
from clew.plan.shift.terms import (
    ChangeInShift,
    ConesOfRun,
    CrewAdvice,
    LaneDown,
    LineInShift,
    Moment,
    RunInShift,
    ShiftPlan,
)


def plain_shift_plan(plan: ShiftPlan) -> dict[str, Any]:
    """Give a shift plan as numbers, strings, lists and dicts.

    Parameters
    ----------
    plan : ShiftPlan
        The shift.

    Returns
    -------
    dict
        What JSON can hold; times with their offset.
    """
    return {
        "mill": plan.mill_name,
        "shift_from": plan.shift_from.isoformat(),
        "shift_upto": plan.shift_upto.isoformat(),
        "currency": plan.currency,
        "heaviest_lift_g": plan.heaviest_lift_g,
        "lines": [_line(one) for one in plan.lines],
        "idle_lines": list(plan.idle),
        "interval_share": 0.95,
        "replications": plan.replications,
        "seed": plan.seed,
    }


def _line(line: LineInShift) -> dict[str, Any]:
    return {
        "line": line.line_name,
        "lanes": line.lanes,
        "cones_per_lane": line.places,
        "hands": line.hands,
        "runs": [_run(one) for one in line.runs],
        "rests": [
            {"hand": one.hand, "from": one.at.isoformat(), "upto": one.upto.isoformat()}
            for one in line.rests
        ],
    }


def _run(run: RunInShift) -> dict[str, Any]:
    return {
        "run": run.name,
        "order": run.order_number,
        "customer": run.customer,
        "ball": run.ball_name,
        "yarn": run.yarn_name,
        "colour": run.colour_name,
        "lot": run.lot_name,
        "winders": [
            {"winder": one.winder, "lane": one.lane, "counts": one.counts} for one in run.settings
        ],
        "balls_of_run": run.balls_of_run,
        "wound_balls_of_run": run.wound_of_run,
        "wound_balls_before": run.wound_before,
        "balls": _expected(run.balls),
        "first_balls": _expected(run.first_balls),
        "going": run.going,
        "start": _moment(run.start),
        "end": _moment(run.end),
        "ends_in_shift_share": run.ends_here_frac,
        "due_end": run.due_end.isoformat(),
        "change": _change(run.change),
        "cones": _cones(run.cones),
        "crew": _crew(run.crew),
        "lane_down": _lane_down(run.lane_down),
    }


def _expected(one: Expected) -> dict[str, float]:
    return {"mean": one.mean, "low": one.low, "high": one.high}


def _moment(one: Moment) -> dict[str, str]:
    return {
        "at": one.at.isoformat(),
        "early": one.early.isoformat(),
        "late": one.late.isoformat(),
    }


def _change(change: ChangeInShift | None) -> dict[str, Any] | None:
    if change is None:
        return None
    return {
        "kind": change.change.kind,
        "from": change.at.isoformat(),
        "upto": change.upto.isoformat(),
        "from_lot": change.from_lot,
        "stand_s": change.change.stand_s,
        "clean_s": change.change.clean_s,
        "strand_m": change.change.strand_m,
        "waste_kg": change.change.waste_kg,
        "second_balls": change.change.second_balls,
        "cost": change.change.cost,
        "steps": list(change.steps),
    }


def _cones(cones: ConesOfRun) -> dict[str, Any]:
    return {
        "to_fetch": [
            {
                "number": one.number,
                "lane": one.lane,
                "place": one.place,
                "nth_of_lane": one.nth,
                "first_fill": one.first_fill,
                "place_free": _moment(one.free),
                "lane_stands_at": one.dry_at.isoformat(),
            }
            for one in cones.calls
        ],
        "fetched_before": cones.before,
        "to_fetch_later": cones.later,
        "spare": cones.spare,
        "short": cones.short,
        "lanes_empty_early": cones.empty_lanes,
        "begun_left": cones.begun_left,
        "cone_g": cones.cone_g,
        "cones_per_load": cones.per_load,
    }


def _crew(crew: CrewAdvice) -> dict[str, Any]:
    return {
        "hands": crew.hands,
        "cheapest_hands": crew.cheapest,
        "not_told_from": list(crew.or_else),
        "first_balls_a_shift": crew.first_balls,
        "cheapest_first_balls_a_shift": crew.cheapest_first_balls,
        "cost_per_ball": crew.cost,
        "cheapest_cost_per_ball": crew.cheapest_cost,
    }


def _lane_down(down: LaneDown) -> dict[str, Any]:
    return {
        "lanes_left": down.lanes_left,
        "told_from_nothing": down.told,
        "lost_s": down.lost_s if down.end is not None else None,
        "end": None if down.end is None else _moment(down.end),
        "late_runs": list(down.late),
        "overtime_h": down.overtime_h,
        "other_lines": [{"line": name, "free_from": at.isoformat()} for name, at in down.elsewhere],
    }
