"""What the live view says of a line, in plain values.

What it is made from, the state that records fold into, stands in `clew.ledger.state.known` and is
handed on from here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from clew.ledger.state.known import (
    Banded,
    ConeOn,
    Effective,
    Handover,
    LaneState,
    LineState,
    LookedOver,
    Run,
    Weighed,
)

__all__ = [
    "Alarm", "Banded", "Between", "ConeOn", "Effective", "Handover", "LaneNow", "LaneState",
    "LineState", "LiveAnswer", "LookedOver", "Run", "Shift", "TieNow", "Urgency", "Weighed",
]  # fmt: skip

Urgency = Literal[1, 2, 3]
"""1: at once; 2: within the next minutes; 3: worth knowing."""


@dataclass(frozen=True, slots=True)
class Shift:
    """A shift of the mill.

    Attributes
    ----------
    name : str
        Day and time at which it began by the mill's clock, such as ``2026-11-25 06:00``.
    from_us, upto_us : int
        Its first moment, and the first of the next [us].
    """

    name: str
    from_us: int
    upto_us: int


@dataclass(frozen=True, slots=True)
class Between:
    """A value with its 95 % interval.

    Attributes
    ----------
    middle, low, high : float
        In the unit that the field's own name says.
    """

    middle: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Alarm:
    """Something that asks for a hand.

    Attributes
    ----------
    kind : str
        Stable name of what is wrong, such as ``wrong lot``: one of
        `clew.ledger.state.alarm_kinds.ALARMS`.
    urgency : int
        1 at once, 2 within the next minutes, 3 worth knowing.
    lane : int
        Lane; 0 for the whole line.
    words : str
        What is wrong, as the lead would say it; without a full stop.
    todo : str
        What to do; without a full stop.
    since_us : int
        Since when [us].
    about : str
        What it is about: a cone, a ball, a source; with kind and lane it names the alarm.
    """

    kind: str
    urgency: Urgency
    lane: int
    words: str
    todo: str
    since_us: int
    about: str = ""

    @property
    def name(self) -> str:
        """A name that stays while the alarm does, such as ``wrong lot/4/C-118``."""
        return f"{self.kind}/{self.lane}/{self.about}"


@dataclass(frozen=True, slots=True)
class TieNow:
    """Where a tie is now, and the ball it lands in.

    Attributes
    ----------
    lane, winder : int
        Lane, and its winder's number.
    kind : {"tie", "retie", "colour"}
        What it is.
    at_us : int
        When it was made [us].
    name : str
        Its own name.
    station : str
        Where on the line it lies.
    to_winder_s : Between or None
        Time until it is at the winder [s]; None while the winder stands, or once it is past.
    ball : int
        Likeliest ball.
    ball_frac : float
        How likely that ball is [-].
    pull : tuple of int
        Balls to pull to be sure.
    words : str
        All of it in a sentence.
    """

    lane: int
    winder: int
    kind: str
    at_us: int
    name: str
    station: str
    to_winder_s: Between | None
    ball: int
    ball_frac: float
    pull: tuple[int, ...]
    words: str


@dataclass(frozen=True, slots=True)
class LaneNow:
    """One lane of the live view.

    Attributes
    ----------
    lane, winder : int
        Lane, and its winder's number.
    state : {"runs", "stopped", "no feed", "silent", "not started"}
        What it does.
    state_words : str
        The same in words, with reason and time.
    cone, cone_lot : str
        What feeds, and its dye lot; empty where not told.
    cones_left : int
        Cones in reserve beside it.
    next_cone : str
        The one that is next; empty where there is none.
    to_tie_min : Between or None
        Minutes to the next tie [min]; None while it stands or where no tie was told.
    ball : int or None
        Ball on the winder.
    counts, counts_set : float or None
        What its counter showed last, and what it is set to.
    turns : float or None
        Flyer turns that is [-].
    turns_set : float or None
        Flyer turns at the setting [-].
    full_in_s : float or None
        Time until that ball is full [s].
    joins : int or None
        Joins in the ball being wound, likeliest; None where nothing is known.
    joins_limit : int
        Most knots in a first-quality ball.
    last_balls : tuple of Weighed
        Weighed last, latest last.
    mean_g : float or None
        Their mean [g], plausible ones only.
    off_target_g : float or None
        Mean less target [g].
    words : str
        The lane in one sentence.
    """

    lane: int
    winder: int
    state: str
    state_words: str
    cone: str
    cone_lot: str
    cones_left: int
    next_cone: str
    to_tie_min: Between | None
    ball: int | None
    counts: float | None
    counts_set: float | None
    turns: float | None
    turns_set: float | None
    full_in_s: float | None
    joins: int | None
    joins_limit: int
    last_balls: tuple[Weighed, ...]
    mean_g: float | None
    off_target_g: float | None
    words: str


@dataclass(frozen=True, slots=True)
class LiveAnswer:
    """The live view of a line.

    Attributes
    ----------
    mill, line : str
        Which.
    now_us : int
        The moment it is of [us].
    zone : str
        The mill's time zone, in which times are shown.
    words : tuple of str
        What the lead must know, most important first, in whole sentences.
    alarms : tuple of Alarm
        Open alarms, most urgent first.
    run : Run or None
        The run in progress.
    colour : str
        Colourway of its dye lot; empty without a run.
    lanes : tuple of LaneNow
        By lane, every lane of the line.
    ties : tuple of TieNow
        Ties between creel and winder, or in a ball not yet off, by lane.
    last_balls : tuple of Weighed
        Balls of all lanes weighed last, latest last.
    mean_g : float or None
        Their mean [g].
    off_target_g : float or None
        Mean less target [g].
    doffed, pulled : int
        Balls taken off, and pulled out of first quality, since the run started.
    open_case : int
        Balls banded since the last case was closed.
    case_balls : int
        Balls that make a full case; 0 where the ball's packing does not say.
    shift : Shift
        The present shift.
    hand : str
        Who stands at the tablet in this shift; empty where nobody has said so.
    head_seq : int
        The chain's last place.
    head_hash : str
        Its hash, hexadecimal: the anchor.
    last_us : int or None
        Moment of the newest event [us].
    last_age_s : float or None
        Time since then [s].
    notes : tuple of str
        What had to be assumed, and what could not be said.
    state : LineState
        What all of it was made from.
    """

    mill: str
    line: str
    now_us: int
    zone: str
    words: tuple[str, ...]
    alarms: tuple[Alarm, ...]
    run: Run | None
    colour: str
    lanes: tuple[LaneNow, ...]
    ties: tuple[TieNow, ...]
    last_balls: tuple[Weighed, ...]
    mean_g: float | None
    off_target_g: float | None
    doffed: int
    pulled: int
    open_case: int
    case_balls: int
    shift: Shift
    hand: str
    head_seq: int
    head_hash: str
    last_us: int | None
    last_age_s: float | None
    notes: tuple[str, ...]
    state: LineState
