"""What a shift plan says: lines, runs, cones, changes, crew, and a lane that is down."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from clew.ball.ball_answer import WinderSetting
from clew.plan.sequence.timed_run import Change
from clew.plan.shift.pace_draws import Expected


@dataclass(frozen=True, slots=True)
class Moment:
    """A time by the clock with its doubt.

    Attributes
    ----------
    at : datetime
        When, on average.
    early, late : datetime
        Between these 95 times of 100.
    """

    at: datetime
    early: datetime
    late: datetime


@dataclass(frozen=True, slots=True)
class ConeCall:
    """One cone to fetch in the shift.

    Attributes
    ----------
    number, lane, place, nth : int
        Which cone of the run, in the order to fetch; its lane, its place on the creel, and which
        cone of its lane it is; all from 1.
    first_fill : bool
        Whether it goes on before the run begins.
    free : Moment
        When its place is free; of the first fill, when the run's change begins.
    dry_at : datetime
        When the lane stands without it, on average.
    """

    number: int
    lane: int
    place: int
    nth: int
    first_fill: bool
    free: Moment
    dry_at: datetime


@dataclass(frozen=True, slots=True)
class ConesOfRun:
    """The cones of one run in the shift.

    Attributes
    ----------
    calls : tuple of ConeCall
        In the order to fetch and tie.
    before : int
        Cones that were fetched before the shift.
    later : int
        Cones to fetch after it.
    spare : int
        Cones of the run that no lane needs on average; 0 where the run does not end in the shift.
    short : int
        Cones that are missing on average.
    empty_lanes : int
        Lanes that stand before the run ends on average; 0 where it does not end in the shift.
    begun_left : int
        Begun cones on the creel when the run ends; 0 where it does not end in the shift.
    cone_g : float
        Mass of a full cone [g].
    per_load : int or None
        Cones that one person may lift at once; None where the mill states no heaviest lift.
    """

    calls: tuple[ConeCall, ...]
    before: int
    later: int
    spare: int
    short: int
    empty_lanes: int
    begun_left: int
    cone_g: float
    per_load: int | None


@dataclass(frozen=True, slots=True)
class LaneDown:
    """What one lane that is down from the run's start, or from the shift's, does to a run.

    Attributes
    ----------
    lanes_left : int
        Lanes that run; with 0 the line stands, and nothing else is known.
    told : bool
        Whether the shifts drawn can tell the loss from nothing.
    lost_s : float
        How much longer the run takes on average [s].
    end : Moment or None
        When it then ends.
    late : tuple of str
        Runs of this line that then become late, by name.
    overtime_h : float
        Hours of this line to be worked beside the plan, so that none of them is [h].
    elsewhere : tuple of (str, datetime)
        Other lines that may make the run, and when the plan leaves each free.
    """

    lanes_left: int
    told: bool
    lost_s: float
    end: Moment | None
    late: tuple[str, ...]
    overtime_h: float
    elsewhere: tuple[tuple[str, datetime], ...]


@dataclass(frozen=True, slots=True)
class CrewAdvice:
    """How many hands make a ball cheapest, against the hands there are.

    Attributes
    ----------
    hands : int
        Hands of the line.
    cheapest : int or None
        Hands that make a first-quality ball cheapest; None where the ball has no price.
    or_else : tuple of int
        Numbers of hands that cannot be told from it.
    first_balls, cheapest_first_balls : float
        First-quality balls of a whole shift with the one and with the other.
    cost, cheapest_cost : float or None
        Cost of a first-quality ball with the one and with the other [money].
    """

    hands: int
    cheapest: int | None
    or_else: tuple[int, ...]
    first_balls: float
    cheapest_first_balls: float
    cost: float | None
    cheapest_cost: float | None

    @property
    def as_good(self) -> bool:
        """Whether the hands there are cannot be told from the cheapest."""
        return self.cheapest is None or self.hands in (self.cheapest, *self.or_else)


@dataclass(frozen=True, slots=True)
class ChangeInShift:
    """A change of the shift.

    Attributes
    ----------
    at, upto : datetime
        When it begins and ends by the plan.
    from_lot : str
        Dye lot that is on the line before it; empty where the line is empty.
    change : Change
        What it takes.
    steps : tuple of str
        What to do, in order.
    """

    at: datetime
    upto: datetime
    from_lot: str
    change: Change
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RunInShift:
    """One run that touches the shift.

    Attributes
    ----------
    name, order_number, customer, ball_name, yarn_name, colour_name, lot_name : str
        What is made, of what, for whom.
    settings : tuple of WinderSetting
        What each winder is set to, as on the run card.
    balls_of_run, wound_of_run : float
        First-quality balls asked for, and balls wound for them.
    wound_before : float
        Balls wound before the shift, by the plan.
    balls : Expected
        Balls wound in this shift.
    first_balls : Expected
        First-quality balls of them.
    start : Moment
        When its balls begin; of a run already going, when the shift does.
    going : bool
        Whether it runs when the shift begins.
    end : Moment
        When it ends.
    ends_here_frac : float
        How surely it ends in this shift [1].
    due_end : datetime
        The end of the day by which it must be done.
    change : ChangeInShift or None
        The change before it, where that is in the shift.
    cones : ConesOfRun
        Its cones.
    crew : CrewAdvice
        Hands for this ball.
    lane_down : LaneDown
        If a lane is down.
    """

    name: str
    order_number: str
    customer: str
    ball_name: str
    yarn_name: str
    colour_name: str
    lot_name: str
    settings: tuple[WinderSetting, ...]
    balls_of_run: int
    wound_of_run: float
    wound_before: float
    balls: Expected
    first_balls: Expected
    start: Moment
    going: bool
    end: Moment
    ends_here_frac: float
    due_end: datetime
    change: ChangeInShift | None
    cones: ConesOfRun
    crew: CrewAdvice
    lane_down: LaneDown

    @property
    def ends_here(self) -> bool:
        """Whether it ends in this shift on average."""
        return self.ends_here_frac >= 0.5


@dataclass(frozen=True, slots=True)
class RestByClock:
    """A rest of a hand by the clock.

    Attributes
    ----------
    hand : int
        Which hand, from 1.
    at, upto : datetime
        From when to when.
    """

    hand: int
    at: datetime
    upto: datetime


@dataclass(frozen=True, slots=True)
class LineInShift:
    """One line in the shift.

    Attributes
    ----------
    line_name : str
        Which.
    lanes, places, hands : int
        Its lanes, the places on each lane's creel, its hands.
    runs : tuple of RunInShift
        In the order of time; empty where the plan has nothing for it.
    rests : tuple of RestByClock
        When its hands rest.
    """

    line_name: str
    lanes: int
    places: int
    hands: int
    runs: tuple[RunInShift, ...]
    rests: tuple[RestByClock, ...]


@dataclass(frozen=True, slots=True)
class ShiftPlan:
    """A shift, line by line.

    Attributes
    ----------
    mill_name, currency : str
        The mill and its money.
    shift_from, shift_upto : datetime
        The shift.
    lines : tuple of LineInShift
        Lines with something to do, in the order of the mill file.
    idle : tuple of str
        Lines that the plan has nothing for.
    heaviest_lift_g : float or None
        The most that one person lifts here [g]; None where the mill states none.
    seed, replications : int
        What chance depended on, and how many shifts were drawn.
    """

    mill_name: str
    currency: str
    shift_from: datetime
    shift_upto: datetime
    lines: tuple[LineInShift, ...]
    idle: tuple[str, ...]
    heaviest_lift_g: float | None
    seed: int
    replications: int
