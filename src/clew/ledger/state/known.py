"""What is known of a line, in plain values: what the records give when they are folded."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from clew.ledger.state.fed_wrong import FedWrong

LAST_BALLS = 12
"""Balls weighed that are kept in sight, for each lane."""
LAST_NOTES = 8
"""Checks and handover notes that are kept in sight."""
MOST_IN_CASE = 2_000
"""Balls counted into one open case."""


@dataclass(frozen=True, slots=True)
class Effective:
    """One event as it counts: the record, with every correction of it put in.

    Attributes
    ----------
    line : str
        Line whose chain it stands in.
    seq : int
        Its place in that chain; the only value here that rests on the order of arrival.
    at_us : int
        When it happened, as corrected, UTC, microseconds since 1970 [us].
    kind, source, key, author, lane, ball, run, cone, lot, package, token
        As in `clew.ledger.events.message.Record`, as corrected.
    body : mapping of str to JSON value
        The kind's other fields, as corrected.
    flags : tuple of str
        What is odd about it.
    corrected : bool
        Whether a correction changed it.
    """

    line: str
    seq: int
    at_us: int
    kind: str
    source: str
    key: str
    author: str
    lane: int
    ball: int | None
    run: str
    cone: str
    lot: str
    package: str
    token: str
    body: Mapping[str, Any]
    flags: tuple[str, ...] = ()
    corrected: bool = False


@dataclass(frozen=True, slots=True)
class Run:
    """A run, in progress or ended.

    Attributes
    ----------
    run : str
        Its name, such as ``L1-251125-1``.
    ball_name, lot : str
        Ball and dye lot of its card.
    started_us : int
        When it started [us].
    started_by : str
        Who started it.
    turns : int or None
        Flyer turns in a ball.
    counts : mapping of str to float
        Counter setting by winder number, as set now.
    target_g, call_low_g, call_high_g : float or None
        Mass aimed at, and outside which the lead is called [g].
    feed_m_per_s, belt_m_per_s, steam_c, dryer_c : float or None
        Line settings that were changed during the run [m/s, °C]; None: as the card has them.
    card : str
        Fingerprint of the run card.
    trial : bool
        Whether its balls are not for sale.
    order : str
        Order it is made for.
    changes : int
        How often a setting was changed.
    changed_us : int or None
        When last [us].
    ended_us : int or None
        When it ended [us]; None while it is in progress.
    end_why : str
        Why it ended.
    """

    run: str
    ball_name: str
    lot: str
    started_us: int
    started_by: str = ""
    turns: int | None = None
    counts: Mapping[str, float] = field(default_factory=dict)
    target_g: float | None = None
    call_low_g: float | None = None
    call_high_g: float | None = None
    feed_m_per_s: float | None = None
    belt_m_per_s: float | None = None
    steam_c: float | None = None
    dryer_c: float | None = None
    card: str = ""
    trial: bool = False
    order: str = ""
    changes: int = 0
    changed_us: int | None = None
    ended_us: int | None = None
    end_why: str = ""


@dataclass(frozen=True, slots=True)
class ConeOn:
    """A cone on the creel.

    Attributes
    ----------
    cone : str
        Its name; empty where a tie was told without one.
    place : int
        Place on the lane's creel, from 1; 0 where not told.
    lot, spinner : str
        As its label says; empty where not told.
    loaded_us : int
        When it was put on [us]; when it was tied on, for one that nobody told as loaded.
    mass_g : float or None
        Yarn on it when it was put on [g].
    joins : int or None
        Joins known to be on it.
    loaded : bool
        Whether it was told as loaded before it was tied on.
    """

    cone: str
    place: int
    lot: str
    spinner: str
    loaded_us: int
    mass_g: float | None = None
    joins: int | None = None
    loaded: bool = True


@dataclass(frozen=True, slots=True)
class Weighed:
    """A ball on the scale.

    Attributes
    ----------
    at_us : int
        When [us].
    lane : int
        Lane it was wound in.
    ball : int or None
        Its number there, where told.
    mass_g : float
        What the scale said [g].
    gross : bool
        Whether band and all else was weighed with it.
    token, author : str
        Its token; who weighed it.
    plausible : bool
        Whether the reading is one that can be.
    """

    at_us: int
    lane: int
    ball: int | None
    mass_g: float
    gross: bool = False
    token: str = ""
    author: str = ""
    plausible: bool = True


@dataclass(frozen=True, slots=True)
class Banded:
    """A ball that got its band and lies in the case that is open.

    Attributes
    ----------
    at_us : int
        When [us].
    lane : int
        Lane it was told for.
    ball : int or None
        Its number there, where told.
    lot, token, code : str
        Dye lot, token and band code, where told.
    trial : bool
        Whether it was banded during a trial run: not for sale.
    """

    at_us: int
    lane: int
    ball: int | None = None
    lot: str = ""
    token: str = ""
    code: str = ""
    trial: bool = False


@dataclass(frozen=True, slots=True)
class LaneState:
    """A lane, as far as the records tell.

    Attributes
    ----------
    lane : int
        Lane, from 1.
    feeding : ConeOn or None
        The cone that feeds.
    reserve : tuple of ConeOn
        Cones that stand beside it, in the order in which they were put on.
    lot : str
        Dye lot tied on by a change of colour since the run started; empty: the run's own.
    last_tie_us : int or None
        When the cone that feeds was tied on, or began [us].
    ties : int
        Ties and changes of colour told since the run started.
    feed_on : bool
        Whether the feed runs by its own messages; it is taken to until one says otherwise.
    feed_changed_us : int or None
        When that was last told [us].
    fed_us : int
        Time the feed ran since the last tie, up to `fed_from_us` [us].
    fed_from_us : int or None
        Since when it has run without a stop [us]; None while lane or line stands.
    metres : float or None
        Last reading of the feed's counter [m, before steam].
    metres_at_us : int or None
        When it was read [us].
    tie_metres : float or None
        The same counter at the last tie [m].
    stopped_us : int or None
        Since when the lane is stopped by hand [us].
    stop_why : str
        The reason.
    ball : int or None
        Number of the ball on the winder.
    counts : float or None
        What the winder's counter showed last, of that ball.
    heard_us : int or None
        When the winder last told anything [us].
    last_doff_us : int or None
        When a full ball was last taken off [us].
    doffed, pulled : int
        Balls taken off, and pulled out of first quality, since the run started.
    joins_told : int
        Joins told for the ball on the winder: re-ties at it and ties seen.
    last_balls : tuple of Weighed
        Balls weighed last since the run started, latest last, at most `LAST_BALLS`.
    fed_wrong : tuple of FedWrong
        Cones of a wrong dye lot that fed since the run started, no ball pulled since.
    """

    lane: int
    feeding: ConeOn | None = None
    reserve: tuple[ConeOn, ...] = ()
    lot: str = ""
    last_tie_us: int | None = None
    ties: int = 0
    feed_on: bool = True
    feed_changed_us: int | None = None
    fed_us: int = 0
    fed_from_us: int | None = None
    metres: float | None = None
    metres_at_us: int | None = None
    tie_metres: float | None = None
    stopped_us: int | None = None
    stop_why: str = ""
    ball: int | None = None
    counts: float | None = None
    heard_us: int | None = None
    last_doff_us: int | None = None
    doffed: int = 0
    pulled: int = 0
    joins_told: int = 0
    last_balls: tuple[Weighed, ...] = ()
    fed_wrong: tuple[FedWrong, ...] = ()


@dataclass(frozen=True, slots=True)
class LookedOver:
    """A start-up or shut-down check.

    Attributes
    ----------
    at_us : int
        When [us].
    what : {"start-up", "shut-down"}
        Which.
    author : str
        Who looked.
    done, not_done : tuple of str
        What was found in order, what was not.
    """

    at_us: int
    what: str
    author: str
    done: tuple[str, ...] = ()
    not_done: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Handover:
    """A note from one lead to the next.

    Attributes
    ----------
    at_us : int
        When [us].
    author, to : str
        From whom, to whom.
    note : str
        What the next lead must know.
    """

    at_us: int
    author: str
    to: str
    note: str


@dataclass(frozen=True, slots=True)
class LineState:
    """A line, as far as the records tell: the same whatever order they came in, and how often.

    Attributes
    ----------
    line : str
        Its name.
    run : Run or None
        The run in progress.
    last_run : Run or None
        The run that ended last.
    lanes : tuple of LaneState
        By lane, those that any record names.
    belt_on : bool
        Whether the belt runs; it is taken to until a message says otherwise.
    belt_changed_us : int or None
        When that was last told [us].
    stopped_us : int or None
        Since when the line is stopped by hand [us].
    stop_why : str
        The reason.
    hand : str
        Who stands at the tablet; empty where nobody has said so.
    hand_us : int or None
        Since when [us].
    checks : tuple of LookedOver
        Start-up and shut-down checks, latest last, at most `LAST_NOTES`.
    handovers : tuple of Handover
        Latest last, at most `LAST_NOTES`.
    open_case : tuple of Banded
        Balls banded since the last case was closed, in order of time, at most `MOST_IN_CASE`.
    last_case : str
        The case that was closed last.
    last_us : int or None
        Moment of the newest event [us].
    events : int
        Events that count.
    troubles : tuple of str
        Corrections that could not be put in, and why.
    """

    line: str
    run: Run | None = None
    last_run: Run | None = None
    lanes: tuple[LaneState, ...] = ()
    belt_on: bool = True
    belt_changed_us: int | None = None
    stopped_us: int | None = None
    stop_why: str = ""
    hand: str = ""
    hand_us: int | None = None
    checks: tuple[LookedOver, ...] = ()
    handovers: tuple[Handover, ...] = ()
    open_case: tuple[Banded, ...] = ()
    last_case: str = ""
    last_us: int | None = None
    events: int = 0
    troubles: tuple[str, ...] = ()

    def lane(self, lane: int) -> LaneState:
        """Give a lane; an empty one where no record names it."""
        return next((one for one in self.lanes if one.lane == lane), LaneState(lane))
