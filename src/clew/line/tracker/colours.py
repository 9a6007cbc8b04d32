"""Changes of colour: which balls are mixed in which lanes, and when they come."""

from __future__ import annotations

from dataclasses import dataclass

from clew.line.tracker.events import Event
from clew.line.tracker.follow import Followed
from clew.line.tracker.landing import Landing, landing_of
from clew.line.tracker.terms import TrackTerms


@dataclass(frozen=True, slots=True)
class MixedLane:
    """One lane's part of a change of colour.

    Attributes
    ----------
    lane, winder : int
        Lane, and the winder's number.
    event : Event
        The message about its tie.
    landing : Landing
        Where the tie lands, with the balls to pull.
    old_m, new_m : float
        What the likeliest ball holds of either colour [m], as wound; both 0 where the tie falls
        between two balls.
    held_m : float
        Metres in all balls to pull [m].
    in_s : float or None
        Time until the first of them is begun, at the present pace [s]; below 0: it is on or off.
    off_s : float or None
        Time until the last of them is full [s].
    """

    lane: int
    winder: int
    event: Event
    landing: Landing
    old_m: float
    new_m: float
    held_m: float
    in_s: float | None
    off_s: float | None


@dataclass(frozen=True, slots=True)
class ColourChange:
    """A change of colour through all lanes that were told.

    Attributes
    ----------
    colour : str
        What comes on; empty where not told.
    lanes : tuple of MixedLane
        By lane.
    without : tuple of int
        Lanes of the line of which no colour tie was told.
    balls : int
        Balls to pull.
    held_m : float
        Metres in them [m].
    sure : float
        Chance that all mixed balls are among them [-]; lanes taken as independent.
    """

    colour: str
    lanes: tuple[MixedLane, ...]
    without: tuple[int, ...]
    balls: int
    held_m: float
    sure: float


def colour_changes(found: Followed, terms: TrackTerms, sure: float) -> tuple[ColourChange, ...]:
    """Name the balls that go to second quality at each change of colour.

    Parameters
    ----------
    found : Followed
        The line.
    terms : TrackTerms
        The line's terms.
    sure : float
        Chance that all mixed balls of a change are pulled [-], all lanes together.

    Returns
    -------
    tuple of ColourChange
        In order of their first ties.

    Notes
    -----
    Each of n lanes is asked for 1 - (1 - sure)/n, so that all together are at least as sure as
    wanted. Source: Bonferroni's inequality, MEMORY.
    """
    groups: dict[tuple[str, int], list[tuple[int, int]]] = {}
    for number, lane in sorted(found.lanes.items()):
        often: dict[str, int] = {}
        for place, tie in enumerate(lane.ties):
            if tie.event.kind == "colour":
                name = tie.event.name
                often[name] = often.get(name, 0) + 1
                groups.setdefault((name, often[name]), []).append((number, place))
    changes = [_change(name, members, found, terms, sure) for (name, _), members in groups.items()]
    changes.sort(key=lambda one: min(lane.event.at_s for lane in one.lanes))
    return tuple(changes)


def _change(
    name: str, members: list[tuple[int, int]], found: Followed, terms: TrackTerms, sure: float
) -> ColourChange:
    each = 1.0 - (1.0 - sure) / len(members)
    lanes = tuple(_mixed(number, place, found, terms, each) for number, place in members)
    told = {one.lane for one in lanes}
    together = 1.0
    for one in lanes:
        together *= one.landing.pull_chance
    return ColourChange(
        colour=name,
        lanes=lanes,
        without=tuple(number for number in range(1, terms.lanes + 1) if number not in told),
        balls=sum(len(one.landing.pull) for one in lanes),
        held_m=sum(one.held_m for one in lanes),
        sure=together,
    )


def _mixed(number: int, place: int, found: Followed, terms: TrackTerms, sure: float) -> MixedLane:
    lane = found.lanes[number]
    tie = lane.ties[place]
    landing = landing_of(tie, lane, found.joint, terms, sure=sure)
    pulled = [one for one in landing.balls if one.ball in landing.pull]
    now, _ = lane.winding.wound(found.now_s, terms)
    pace = lane.winding.pace_m_per_s(terms)
    middle = [one for one in landing.balls if one.ball == landing.place.ball]
    best = middle[0] if middle else landing.best
    whole = best.held_m
    old = landing.place.in_ball_m
    return MixedLane(
        lane=number,
        winder=terms.winder_of.get(number, number),
        event=tie.event,
        landing=landing,
        old_m=min(old, whole),
        new_m=max(whole - old, 0.0),
        held_m=sum(one.held_m for one in pulled),
        in_s=None if pace <= 0.0 else (pulled[0].from_m - now) / pace,
        off_s=None if pace <= 0.0 else (pulled[-1].to_m - now) / pace,
    )
