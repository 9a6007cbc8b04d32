"""Where every tie is, as plain values with keys that scripts may rely on."""

from __future__ import annotations

from typing import Any

from clew.line.tracker.answer import LaneAnswer, Span, TieAnswer, WhereAnswer
from clew.line.tracker.colours import ColourChange
from clew.line.tracker.landing import Landing


def plain_where(found: WhereAnswer) -> dict[str, Any]:
    """Everything known of a line's ties, as an object for JSON.

    Parameters
    ----------
    found : WhereAnswer
        The answer.

    Returns
    -------
    dict
        Times in s on the events' clock or from now, lengths in m: after steam as wound, and raw,
        before steam. Of a stale answer all that changes with time is null, and so is every chance
        that the balls to pull hold a tie.
    """
    return {
        "now_s": found.now_s,
        "last_message_s": found.last_s,
        "stale": found.stale,
        "sure": None if found.stale else found.sure,
        "ties_told": found.told,
        "ties": [_tie(one) | _unknown(_TIE_NOW, found.stale) for one in found.ties],
        "lanes": [_lane(one) | _unknown(_LANE_NOW, found.stale) for one in found.lanes],
        "colour_changes": [_change(one, stale=found.stale) for one in found.changes],
        "notes": list(found.notes),
    }


_TIE_NOW = (
    "station", "passed_chance", "to_winder_m", "to_winder_m_interval", "to_winder_raw_m",
    "to_winder_raw_m_interval", "in_s", "in_s_interval", "off_in_s", "pull_chance",
)  # fmt: skip
_LANE_NOW = ("turns", "content_raw_m", "content_sd_raw_m", "doff_in_s")


def _unknown(keys: tuple[str, ...], stale: bool) -> dict[str, None]:
    return dict.fromkeys(keys) if stale else {}


def _tie(one: TieAnswer) -> dict[str, Any]:
    return {
        "lane": one.lane,
        "winder": one.winder,
        "kind": one.event.kind,
        "name": one.event.name,
        "fed_at_s": one.event.at_s,
        "seen_at_s": one.seen_s,
        "station": one.station,
        "passed_chance": one.passed_chance,
        "to_winder_m": one.to_winder_m.middle,
        "to_winder_m_interval": _interval(one.to_winder_m),
        "to_winder_raw_m": one.to_winder_raw_m.middle,
        "to_winder_raw_m_interval": _interval(one.to_winder_raw_m),
        "in_s": None if one.in_s is None else one.in_s.middle,
        "in_s_interval": None if one.in_s is None else _interval(one.in_s),
        "off_in_s": one.off_s,
    } | _landing(one.landing)


def _interval(span: Span) -> list[float]:
    return [span.low, span.high]


def _landing(one: Landing) -> dict[str, Any]:
    return {
        "ball": one.best.ball,
        "ball_chance": one.best.chance,
        "turn": one.place.turn,
        "turn_of_ball": one.place.ball,
        "in_ball_m": one.place.in_ball_m,
        "balls": {str(ball.ball): ball.chance for ball in one.balls},
        "pull": list(one.pull),
        "pull_chance": one.pull_chance,
    }


def _lane(one: LaneAnswer) -> dict[str, Any]:
    return {
        "lane": one.lane,
        "winder": one.winder,
        "ball": one.ball,
        "turns": one.turns,
        "content_raw_m": one.content_m,
        "content_sd_raw_m": one.content_sd_m,
        "pace_m_per_s": one.pace_m_per_s,
        "slip_frac": one.slip_frac,
        "slip_sd_frac": one.slip_sd_frac,
        "doff_in_s": one.doff_s,
    }


def _change(one: ColourChange, *, stale: bool) -> dict[str, Any]:
    return {
        "colour": one.colour,
        "mixed_balls": len(one.lanes),
        "balls_to_pull": one.balls,
        "balls_to_pull_m": one.held_m,
        "sure": None if stale else one.sure,
        "lanes_not_told": list(one.without),
        "lanes": [
            {
                "lane": lane.lane,
                "winder": lane.winder,
                "fed_at_s": lane.event.at_s,
                "old_colour_m": lane.old_m,
                "new_colour_m": lane.new_m,
                "pulled_m": lane.held_m,
                "begins_in_s": lane.in_s,
                "off_in_s": lane.off_s,
            }
            | _landing(lane.landing)
            | _unknown(("begins_in_s", "off_in_s", "pull_chance"), stale)
            for lane in one.lanes
        ],
    }
