"""From events to a followed line: each lane's feed, winder and ties, and all that was seen."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.line.tracker.clocks import belt_clock
from clew.line.tracker.events import TIES, WHOLE_LINE, Event
from clew.line.tracker.feeding import feeding_of
from clew.line.tracker.joint import Joint, Sight, joint_of
from clew.line.tracker.lane import FedTie, Lane
from clew.line.tracker.sighting import seen_content, seen_tie
from clew.line.tracker.terms import TrackDoubt, TrackTerms
from clew.line.tracker.winding import winding_of

_RENEWED = 0.25
"""A buffer that runs dry, or full, again and again tells little new within that share of the
passage: what comes sooner is left out."""


@dataclass(frozen=True, slots=True)
class Followed:
    """All lanes of a line, followed up to a moment.

    Attributes
    ----------
    now_s : float
        The moment [s].
    lanes : mapping of int to Lane
        Lanes whose winder was heard of.
    joint : Joint
        What is known of the strand between.
    notes : tuple of str
        What had to be assumed or was not used, in words.
    """

    now_s: float
    lanes: dict[int, Lane]
    joint: Joint
    notes: tuple[str, ...]


def follow(events: Sequence[Event], terms: TrackTerms, doubt: TrackDoubt, now_s: float) -> Followed:
    """Follow all lanes through events in order of time.

    Parameters
    ----------
    events : sequence of Event
        As `clew.line.tracker.events.in_order` gives them.
    terms : TrackTerms
        The line.
    doubt : TrackDoubt
        How unsure the inputs are.
    now_s : float
        The moment that is asked about [s].

    Returns
    -------
    Followed
        The line.

    Raises
    ------
    BadInput
        For a lane the line does not have.
    """
    strange = sorted({one.lane for one in events if one.lane > terms.lanes})
    if strange:
        raise BadInput(
            Fault(
                say("no such lane"),
                say("1 to {lanes}", lanes=terms.lanes),
                key="lane",
                value=str(strange[0]),
            )
        )
    notes: list[str] = []
    lanes: dict[int, Lane] = {}
    for number in sorted({one.lane for one in events if one.kind not in WHOLE_LINE} - {0}):
        lane = _lane(events, number, terms, doubt)
        if lane is None:
            notes.append(
                say("Lane {lane}: no turns and no doff of its winder; not followed.", lane=number)
            )
        else:
            lanes[number] = lane
            notes += lane.winding.notes
    joint = _see(events, lanes, notes, terms, doubt)
    return Followed(now_s, lanes, joint, tuple(dict.fromkeys(notes)))


def _see(
    events: Sequence[Event],
    lanes: dict[int, Lane],
    notes: list[str],
    terms: TrackTerms,
    doubt: TrackDoubt,
) -> Joint:
    """Take in all that was seen: first what is sure what it is of, then ties of no name.

    Which tie a hand saw is told by what was seen before it and after it; so is one that was in
    doubt the first time round.
    """
    seen: list[Sight] = []
    used_s: dict[tuple[int, str], float] = {}
    begun_s = events[0].at_s if events else 0.0
    nameless: list[Event] = []
    for one in events:
        if one.lane not in lanes or one.kind not in ("content", "seen", "dry", "full"):
            continue
        if one.kind == "seen":
            if one.name:
                notes += _see_tie(one, lanes, seen, terms, doubt)
            else:
                nameless.append(one)
            continue
        last_s = used_s.get((one.lane, one.kind), -math.inf)
        if one.kind != "content" and one.at_s - last_s < _RENEWED * terms.passage_s:
            continue
        sight, note = seen_content(one, lanes[one.lane], terms, doubt, begun_s)
        if sight is not None:
            used_s[one.lane, one.kind] = one.at_s
            seen.append(sight)
        notes += [note] if note else []
    for last in (False, True):
        again = []
        for one in nameless:
            told = _see_tie(one, lanes, seen, terms, doubt)
            if told and last:
                notes += told
            elif told:
                again.append(one)
        nameless = again
    return joint_of(terms.content_m, terms.raw_per_laid, doubt, seen)


def _see_tie(
    one: Event, lanes: dict[int, Lane], seen: list[Sight], terms: TrackTerms, doubt: TrackDoubt
) -> list[str]:
    """Take in a tie seen at the winder; give what to tell where it was not used."""
    # which tie it was is told well enough by its own lane, and much sooner
    own = [sight for sight in seen if sight.lane == one.lane]
    joint = joint_of(terms.content_m, terms.raw_per_laid, doubt, own)
    lanes[one.lane], sight, note = seen_tie(one, lanes[one.lane], joint, terms, doubt)
    if sight is not None:
        seen.append(sight)
    return [note] if note else []


def _lane(
    events: Sequence[Event], number: int, terms: TrackTerms, doubt: TrackDoubt
) -> Lane | None:
    winding = winding_of(events, number, terms)
    if winding is None:
        return None
    start_s = winding.at_s[0]
    feeding = feeding_of(events, number, terms.feed_m_per_s, start_s)
    start_fed_m = feeding.fed(start_s)[0]
    ties = []
    for one in events:
        if one.lane == number and one.kind in TIES:
            sd_s = doubt.tie_sd_s if one.value is None else 0.0
            # a cone ends while the feed runs; a strand is re-tied, or changed, while it stands
            fed, sd = feeding.fed_about(one.at_s, sd_s, running=one.kind == "tie")
            ties.append(FedTie(one, fed - start_fed_m, sd))
    return Lane(number, feeding, start_fed_m, winding, belt_clock(events, number), tuple(ties))
