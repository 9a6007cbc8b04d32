"""The live answer of a line, arranged for a page: lanes as cards, times by the mill's clock."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from clew.languages import joined, say, spoken, told_again
from clew.ledger.events.moments import local_of
from clew.ledger.state.alarms import net_g
from clew.ledger.state.answer import Alarm, Between, LaneNow, LiveAnswer, TieNow
from clew.web.drawn.drawing import svg
from clew.web.drawn.figures import Figures

URGENCY_WORDS = {1: say("At once"), 2: say("Within minutes"), 3: say("Worth knowing")}
WORTH_ASKING_FRAC = 0.005
"""A mean nearer to the target is called neither heavy nor light [-]: assumed."""
_STANDING = ("stopped", "no feed")
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
    why : str
        What its mean asks, for the link to the answer; empty where no ball was weighed.
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
    why: str = ""


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


_GRAMS = re.compile(r"(?<![\w.,])(\d+\.\d) g\b")


def for_reader(words: str, figures: Figures) -> str:
    """Put the masses of a sentence, which the ledger writes as 101.3 g, into the reader's units."""
    if figures.metric:
        return words
    return told_again(
        words, lambda part: _GRAMS.sub(lambda found: figures.mass(float(found[1])), part)
    )


def alarm_rows(alarms: Sequence[Alarm], zone: str, figures: Figures) -> tuple[AlarmRow, ...]:
    """Arrange the open alarms, the most urgent first."""
    return tuple(
        AlarmRow(
            one.urgency, URGENCY_WORDS[one.urgency], for_reader(one.words, figures),
            for_reader(one.todo, figures), clock(one.since_us, zone),
        )
        for one in alarms
    )  # fmt: skip


def lane_cards(live: LiveAnswer, figures: Figures, *, tare_g: float) -> tuple[LaneCard, ...]:
    """Arrange every lane of a line.

    Parameters
    ----------
    live : LiveAnswer
        What the line does now.
    figures : Figures
        The reader's printing.
    tare_g : float
        What is not yarn on a ball that was weighed with it [g].

    Returns
    -------
    tuple of LaneCard
        One for each lane.
    """
    most: dict[int, int] = {}
    for one in live.alarms:
        most[one.lane] = min(one.urgency, most.get(one.lane, 9))
    return tuple(_card(lane, live, most.get(lane.lane, 0), figures, tare_g) for lane in live.lanes)


def _card(
    lane: LaneNow, live: LiveAnswer, urgency: int, figures: Figures, tare_g: float
) -> LaneCard:
    full = None
    if lane.counts is not None and lane.counts_set:
        full = round(100.0 * min(1.0, max(0.0, lane.counts / lane.counts_set)))
    full_words = _counts_words(lane)
    if lane.full_in_s is not None and full_words:
        full_words = joined(", ", (full_words, _full_words(lane, lane.full_in_s)))
    cone = lane.cone or say("not told")
    if lane.cone_lot:
        cone = joined(", ", (cone, lane.cone_lot))
    creel = say("{n} in reserve", n=lane.cones_left) if lane.cones_left else say("none in reserve")
    if lane.next_cone:
        creel = joined(", ", (creel, say("next {cone}", cone=lane.next_cone)))
    joins, over = say("not known"), False
    if lane.joins is not None and live.run is not None:
        joins = say("{joins} of at most {most}", joins=lane.joins, most=lane.joins_limit)
        over = lane.joins > lane.joins_limit
    balls = ""
    if lane.mean_g is not None:
        balls = mean_words(lane.mean_g, lane.off_target_g, figures)
    return LaneCard(
        lane.lane, lane.winder, lane.state.replace(" ", "-"), lane.state_words, lane.words, cone,
        creel, _tie_words(lane), joins, over, full, full_words, balls,
        _strip(lane, live, figures, tare_g), urgency, _why_words(lane, live),
    )  # fmt: skip


def mean_words(mean_g: float, off_target_g: float | None, figures: Figures) -> str:
    """Say the mean of the last balls [g], and how far it is from the target [g]."""
    mean = figures.mass(mean_g)
    if off_target_g is None:
        return say("mean {mass}", mass=mean)
    off = figures.mass_change(off_target_g)
    return say("mean {mass}, {off} from the target", mass=mean, off=off)


def _counts_words(lane: LaneNow) -> str:
    if lane.counts is None:
        return ""
    if lane.counts_set:
        return say("{counts:g} of {full:g} counts", counts=lane.counts, full=lane.counts_set)
    return say("{counts:g} counts", counts=lane.counts)


def _why_words(lane: LaneNow, live: LiveAnswer) -> str:
    """Ask what the lead asks of a winder, by where its last balls stand."""
    run = live.run
    if run is None or run.target_g is None or lane.off_target_g is None:
        return ""
    if abs(lane.off_target_g) < WORTH_ASKING_FRAC * run.target_g:
        return say("How winder {winder} stands", winder=lane.winder)
    if lane.off_target_g > 0.0:
        return say("Why winder {winder} runs heavy", winder=lane.winder)
    return say("Why winder {winder} runs light", winder=lane.winder)


def _full_words(lane: LaneNow, full_in_s: float) -> str:
    left_s = round(full_in_s)
    if left_s > 0:
        return (
            say("full in {n}\u00a0s", n=left_s)
            if left_s < 90
            else say("full in {n:.0f}\u00a0min", n=left_s / 60)
        )
    told = lane.counts is not None and lane.counts_set is not None
    reached = told and (lane.counts or 0.0) >= (lane.counts_set or 0.0)
    # where it has not reached it, the counter was read a while ago
    return say("full") if reached else say("should be full by now")


def _tie_words(lane: LaneNow) -> str:
    if lane.to_tie_min is None and lane.state in _STANDING:
        return say("when it goes on")
    if lane.to_tie_min is not None and lane.to_tie_min.high <= 0.0:
        return say("should be made by now")
    return minutes(lane.to_tie_min)


def minutes(span: Between | None) -> str:
    """Say when something is due [min], with its interval."""
    if span is None:
        return say("not known")
    low, high = max(0.0, span.low), max(0.0, span.high)
    if span.middle < 0.5:
        return (
            say("within a minute") if high < 1.0 else say("within {n}\u00a0min", n=math.ceil(high))
        )
    words = f"{max(0.0, span.middle):.0f}\u00a0min"
    if round(low) != round(high):
        return say("{middle} ({low:.0f} to {high:.0f})", middle=words, low=low, high=high)
    return words


def _due(tie: TieNow, standing: Collection[int]) -> str:
    span = tie.to_winder_s
    if span is None:
        if tie.station == "winder":
            return say("past")
        # a lane that was not heard of lately may run or stand
        return say("when it goes on") if tie.lane in standing else say("not known")
    if span.middle <= 0.0:
        return say("now")
    return minutes(Between(span.middle / 60.0, span.low / 60.0, span.high / 60.0))


TIE_WORDS = {"tie": say("tie"), "retie": say("re-tie"), "colour": say("colour")}
"""What each kind of tie is called."""
STATION_WORDS = {
    "lay-down": say("lay-down"), "steamer": say("steamer"), "dryer": say("dryer"),
    "belt after the dryer": say("belt after the dryer"), "buffer": say("buffer"),
    "winder": say("winder"),
}  # fmt: skip
"""What each place on the line is called where a tie lies."""


def tie_rows(live: LiveAnswer) -> tuple[TieRow, ...]:
    """Arrange the ties that are on their way, or in a ball that is not off yet."""
    standing = {lane.lane for lane in live.lanes if lane.state in _STANDING}
    return tuple(
        TieRow(
            one.lane, one.winder, one.name or TIE_WORDS.get(one.kind, one.kind),
            clock(one.at_us, live.zone, seconds=True), STATION_WORDS.get(one.station, one.station),
            _due(one, standing),
            f"{one.ball} ({100 * one.ball_frac:.0f} %)",
            ", ".join(str(ball) for ball in one.pull) or "–",
        )
        for one in live.ties
    )  # fmt: skip


def _strip(lane: LaneNow, live: LiveAnswer, figures: Figures, tare_g: float) -> Markup:
    """Draw the last balls of a lane, their yarn alone, beside target and call-out limits."""
    run = live.run
    balls = [net_g(one, tare_g) for one in lane.last_balls if one.plausible]
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
        parts.append(_dot(step * place, y(ball), low <= ball <= high))
    title = say(
        "Last {n} balls of winder {winder} against the target {target}, the latest "
        "{latest} on the right; {outside} outside the call-out limits",
        n=len(balls),
        winder=lane.winder,
        target=figures.mass(run.target_g),
        latest=figures.mass(balls[-1]),
        outside=_outside(balls, low, high),
    )
    return svg(f"balls-{lane.lane}", spoken(title), (0.0, 0.0, _WIDE, _HIGH), parts, "balls-strip")


def _dot(x: float, y: float, within: bool) -> str:
    if within:
        return f'<circle class="ball" cx="{x:.1f}" cy="{y:.1f}" r="2.4"/>'
    return f'<path class="off" d="M{x - 3:.1f} {y - 3:.1f}l6 6m0 -6l-6 6"/>'


def _outside(masses_g: Sequence[float], low_g: float, high_g: float) -> str:
    count = sum(not low_g <= one <= high_g for one in masses_g)
    return say("none") if count == 0 else str(count)
