"""The live view as plain JSON for programs: stable keys, the unit in each."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from clew.ledger.events.moments import show_utc
from clew.ledger.state.answer import Alarm, LaneNow, LiveAnswer, TieNow
from clew.ledger.state.known import Run, Weighed


def plain_live(found: LiveAnswer) -> dict[str, Any]:
    """Write a live view as a JSON object.

    Parameters
    ----------
    found : LiveAnswer
        The live view.

    Returns
    -------
    dict
        Moments as ISO 8601 in UTC; masses in g, times in s or min as the key says.
    """
    return {
        "mill": found.mill,
        "line": found.line,
        "now": show_utc(found.now_us),
        "time_zone": found.zone,
        "words": list(found.words),
        "alarms": [plain_alarm(one) for one in found.alarms],
        "run": None if found.run is None else plain_run(found.run),
        "colour": found.colour,
        "lanes": [_lane(one) for one in found.lanes],
        "ties": [_tie(one) for one in found.ties],
        "last_balls": [_ball(one) for one in found.last_balls],
        "mean_g": found.mean_g,
        "off_target_g": found.off_target_g,
        "doffed": found.doffed,
        "pulled": found.pulled,
        "open_case_balls": found.open_case,
        "full_case_balls": found.case_balls,
        "last_case": found.state.last_case,
        "shift": {
            "name": found.shift.name,
            "from": show_utc(found.shift.from_us),
            "upto": show_utc(found.shift.upto_us),
        },
        "hand": found.hand,
        "handovers": [
            {"at": show_utc(one.at_us), "by": one.author, "to": one.to, "note": one.note}
            for one in found.state.handovers
        ],
        "anchor": {"seq": found.head_seq, "hash": found.head_hash},
        "last_message": _moment(found.last_us),
        "last_message_age_s": found.last_age_s,
        "notes": list(found.notes),
    }


def plain_alarm(one: Alarm) -> dict[str, Any]:
    """Write an alarm as a JSON object."""
    return {
        "name": one.name,
        "kind": one.kind,
        "urgency": one.urgency,
        "lane": one.lane,
        "words": one.words,
        "todo": one.todo,
        "since": show_utc(one.since_us),
        "about": one.about,
    }


def plain_run(run: Run) -> dict[str, Any]:
    """Write a run as a JSON object."""
    found = asdict(run)
    for key, name in (("started", "started_us"), ("changed", "changed_us"), ("ended", "ended_us")):
        found[key] = _moment(found.pop(name))
    found["counts"] = dict(run.counts)
    return found


def _lane(one: LaneNow) -> dict[str, Any]:
    found = asdict(one)
    found["last_balls"] = [_ball(ball) for ball in one.last_balls]
    return found


def _tie(one: TieNow) -> dict[str, Any]:
    found = asdict(one)
    found["at"] = show_utc(found.pop("at_us"))
    found["pull"] = list(one.pull)
    return found


def _ball(one: Weighed) -> dict[str, Any]:
    found = asdict(one)
    found["at"] = show_utc(found.pop("at_us"))
    return found


def _moment(at_us: int | None) -> str | None:
    return None if at_us is None else show_utc(at_us)
