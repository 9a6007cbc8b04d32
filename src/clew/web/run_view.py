"""The live answer of a line, arranged for a page: lanes as cards, times by the mill's clock."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from clew.ledger.events.moments import local_of
from clew.ledger.state.answer import Alarm, Between, LaneNow, LiveAnswer, TieNow, Weighed
from clew.web.drawing import svg
from clew.web.figures import Figures

URGENCY_WORDS = {1: "At once", 2: "Within minutes", 3: "Worth knowing"}
_WIDE, _HIGH = 240.0, 38.0


@dataclass(frozen=True, slots=True)
class LaneCard:
    """One lane as its card shows it.

    Attributes
    ----------
    lane, winder : int
        Lane, and its winder's number.
    state, state_words : str
        What it does: a key for the style sheet, and words.
    words : str
        The lane in one sentence.
    cone, creel : str
        What feeds; what stands in reserve.
    tie : str
        Time to the next tie.
    joins : str
        Joins in the ball being wound.
    over : bool
        Whether those are more than the limit.
    full : int or None
        How far the ball is wound, per cent.
    full_words : str
        The same in words.
    balls : str
        Mean of the last balls, beside the target.
    strip : Markup
        The last balls, drawn.
    urgency : int
        Most urgent alarm of the lane; 0 for none.
    """

    lane: int
    winder: int
    state: str
    state_words: str
    words: str
    cone: str
    creel: str
    tie: str
    joins: str
    over: bool
    full: int | None
    full_words: str
    balls: str
    strip: Markup
    urgency: int


@dataclass(frozen=True, slots=True)
class AlarmRow:
    """One open alarm as the page shows it."""

    urgency: int
    urgency_words: str
    words: str
    todo: str
    since: str


@dataclass(frozen=True, slots=True)
class TieRow:
    """One tie between creel and winder as the page shows it."""

    lane: int
    winder: int
    words: str
    made: str
    station: str
    due: str
    ball: str
    pull: str


def clock(at_us: int, zone: str, *, seconds: bool = False) -> str:
    """Write a moment [us] as the mill's clock shows it, hours and minutes."""
    return f"{local_of(at_us, zone):{'%H:%M:%S' if seconds else '%H:%M'}}"


def ago(seconds: float) -> str:
    """Say how long ago something was [s], as one looks at a clock."""
    if seconds < 90:
        return f"{max(0, round(seconds))}\u00a0s ago"
    if seconds < 5400:
        return f"{round(seconds / 60)}\u00a0min ago"
    return f"{seconds / 3600:.1f}\u00a0h ago" if seconds < 172_800 else "days ago"


_GRAMS = re.compile(r"(?<![\w.,])(\d+\.\d) g\b")


def for_reader(words: str, figures: Figures) -> str:
    """Put the masses of a sentence, which the ledger writes as 101.3 g, into the reader's units."""
    if figures.metric:
        return words
    return _GRAMS.sub(lambda found: figures.mass(float(found[1])), words)


def alarm_rows(alarms: Sequence[Alarm], zone: str, figures: Figures) -> tuple[AlarmRow, ...]:
    """Arrange the open alarms, the most urgent first."""
    return tuple(
        AlarmRow(
            one.urgency, URGENCY_WORDS[one.urgency], for_reader(one.words, figures),
            for_reader(one.todo, figures), clock(one.since_us, zone),
        )
        for one in alarms
    )  # fmt: skip


def lane_cards(live: LiveAnswer, figures: Figures) -> tuple[LaneCard, ...]:
    """Arrange every lane of a line."""
    most: dict[int, int] = {}
    for one in live.alarms:
        most[one.lane] = min(one.urgency, most.get(one.lane, 9))
    return tuple(_card(lane, live, most.get(lane.lane, 0), figures) for lane in live.lanes)


def _card(lane: LaneNow, live: LiveAnswer, urgency: int, figures: Figures) -> LaneCard:
    full = None
    if lane.counts is not None and lane.counts_set:
        full = round(100.0 * min(1.0, max(0.0, lane.counts / lane.counts_set)))
    full_words = "" if lane.counts is None else f"{lane.counts:g}" + (
        f" of {lane.counts_set:g} counts" if lane.counts_set else " counts"
    )  # fmt: skip
    if lane.full_in_s is not None and full_words:
        full_words += f", {_full_words(lane, lane.full_in_s)}"
    cone = lane.cone or "not told"
    if lane.cone_lot:
        cone += f", {lane.cone_lot}"
    creel = f"{lane.cones_left} in reserve" if lane.cones_left else "none in reserve"
    if lane.next_cone:
        creel += f", next {lane.next_cone}"
    joins, over = "not known", False
    if lane.joins is not None:
        joins, over = f"{lane.joins} of at most {lane.joins_limit}", lane.joins > lane.joins_limit
    balls = ""
    if lane.mean_g is not None:
        balls = f"mean {figures.mass(lane.mean_g)}"
        if lane.off_target_g is not None:
            balls += f", {figures.mass_change(lane.off_target_g)} from the target"
    return LaneCard(
        lane.lane, lane.winder, lane.state.replace(" ", "-"), lane.state_words, lane.words, cone,
        creel, _tie_words(lane), joins, over, full, full_words, balls,
        _strip(lane, live, figures), urgency,
    )  # fmt: skip


def _full_words(lane: LaneNow, full_in_s: float) -> str:
    left_s = round(full_in_s)
    if left_s > 0:
        return f"full in {left_s}\u00a0s" if left_s < 90 else f"full in {left_s / 60:.0f}\u00a0min"
    told = lane.counts is not None and lane.counts_set is not None
    reached = told and (lane.counts or 0.0) >= (lane.counts_set or 0.0)
    return "full" if reached else "should be full by now"  # the counter was read a while ago


def _tie_words(lane: LaneNow) -> str:
    if lane.to_tie_min is None and lane.state in ("stopped", "no feed"):
        return "when it goes on"
    return minutes(lane.to_tie_min)


def minutes(span: Between | None) -> str:
    """Say when something is due [min], with its interval."""
    if span is None:
        return "not known"
    low, high = max(0.0, span.low), max(0.0, span.high)
    if span.middle < 0.5:
        return "within a minute" if high < 1.0 else f"within {math.ceil(high):d}\u00a0min"
    words = f"{max(0.0, span.middle):.0f}\u00a0min"
    if round(low) != round(high):
        words += f" ({low:.0f} to {high:.0f})"
    return words


def _due(tie: TieNow) -> str:
    span = tie.to_winder_s
    if span is None:
        return "past" if tie.station == "winder" else "when it goes on"
    if span.middle <= 0.0:
        return "now"
    return minutes(Between(span.middle / 60.0, span.low / 60.0, span.high / 60.0))


def tie_rows(ties: Sequence[TieNow], zone: str) -> tuple[TieRow, ...]:
    """Arrange the ties that are on their way, or in a ball that is not off yet."""
    return tuple(
        TieRow(
            one.lane, one.winder, one.name or one.kind, clock(one.at_us, zone, seconds=True),
            one.station, _due(one),
            f"{one.ball} ({100 * one.ball_frac:.0f} %)",
            ", ".join(str(ball) for ball in one.pull) or "–",
        )
        for one in ties
    )  # fmt: skip


def _strip(lane: LaneNow, live: LiveAnswer, figures: Figures) -> Markup:
    """Draw the last balls of a lane beside target and call-out limits."""
    run = live.run
    balls = [one for one in lane.last_balls if one.plausible]
    if run is None or run.target_g is None or not balls:
        return Markup("")
    low = run.call_low_g if run.call_low_g is not None else run.target_g * 0.97
    high = run.call_high_g if run.call_high_g is not None else run.target_g * 1.03
    reach = 1.35 * max(high - run.target_g, run.target_g - low, 1e-6)

    def y(mass_g: float) -> float:
        off = max(-1.0, min(1.0, (mass_g - (run.target_g or 0.0)) / reach))
        return _HIGH / 2 - off * (_HIGH / 2 - 3.0)

    step = _WIDE / (len(balls) + 1)
    parts = [
        f'<rect class="within" x="0" y="{y(high):.1f}" width="{_WIDE:.0f}" '
        f'height="{y(low) - y(high):.1f}"/>',
        f'<path class="aim" d="M0 {y(run.target_g):.1f}H{_WIDE:.0f}"/>',
    ]
    for place, ball in enumerate(balls, start=1):
        parts.append(_dot(step * place, y(ball.mass_g), low <= ball.mass_g <= high))
    last = balls[-1]
    title = (
        f"Last {len(balls)} balls of winder {lane.winder} against the target "
        f"{figures.mass(run.target_g)}, the latest {figures.mass(last.mass_g)} on the right; "
        f"{_outside(balls, low, high)} outside the call-out limits"
    )
    return svg(f"balls-{lane.lane}", title, (0.0, 0.0, _WIDE, _HIGH), parts, "balls-strip")


def _dot(x: float, y: float, within: bool) -> str:
    if within:
        return f'<circle class="ball" cx="{x:.1f}" cy="{y:.1f}" r="2.4"/>'
    return f'<path class="off" d="M{x - 3:.1f} {y - 3:.1f}l6 6m0 -6l-6 6"/>'


def _outside(balls: Sequence[Weighed], low_g: float, high_g: float) -> str:
    count = sum(not low_g <= one.mass_g <= high_g for one in balls)
    return "none" if count == 0 else str(count)
