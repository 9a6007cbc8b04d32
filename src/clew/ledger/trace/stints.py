"""Which cone passed the feed of a lane, and when: from one tie to the next.

Cones of a lane go on in the order in which they were loaded. So a cone that was loaded and of
which no tie is told passed the feed between the ties of its neighbours, or still waits.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from clew.languages import say
from clew.ledger.state.known import Effective
from clew.ledger.trace.answer import ConeStint
from clew.ledger.trace.records import rest_of

ALSO = ("run start",)
"""Kinds that say since when a cone feeds of which no tie is told: the first one of a run."""
KINDS = ("cone loaded", "tie", "colour", "cone off")
"""Kinds of event that say what was on the creel."""
HAND_US = 3_600_000_000
"""A cone may be told as loaded so much after its tie [us]: assumed."""


@dataclass(frozen=True, slots=True)
class _Load:
    event: Effective
    tied: int | None  # place of its tie among the ties


def stints_of(events: Sequence[Effective]) -> tuple[ConeStint, ...]:
    """Work out a lane's cones.

    Parameters
    ----------
    events : sequence of Effective
        Of `KINDS`, of one lane, and run starts.

    Returns
    -------
    tuple of ConeStint
        In order of their earliest beginning.

    Notes
    -----
    A tie told twice, by the hand and by the feed, is one between both times. The first cone on an
    empty creel has no tie: it feeds from the start of the run, or from when it was loaded.
    """
    ordered = sorted(events, key=lambda one: (one.at_us, one.seq))
    told = [one for one in ordered if one.kind in ("tie", "colour")]
    ties = told_once(told)
    sooner = {one.seq: first for one, first in _first_told(told, ties)}
    loads = _matched([one for one in ordered if one.kind == "cone loaded"], ties)
    unloaded = [one for one in ordered if one.kind == "cone off"]
    starts = [one for one in ordered if one.kind in ALSO]
    between = _between(loads, ties, unloaded, starts)
    found = [*_told(loads, ties, between, sooner), *between]
    return tuple(
        sorted(
            found,
            key=lambda one: (
                -1 if one.from_earliest_us is None else one.from_earliest_us,
                one.from_latest_us is None,
                one.cone,
            ),
        )
    )


def told_once(ties: Sequence[Effective]) -> list[Effective]:
    """Leave out a tie whose next one on its lane, within the hour, brings the same cone on."""
    return [
        one
        for one, after in zip(ties, [*ties[1:], None], strict=False)
        if after is None
        or not one.cone
        or after.cone != one.cone
        or after.at_us - one.at_us > HAND_US
    ]


def _first_told(
    told: Sequence[Effective], ties: Sequence[Effective]
) -> list[tuple[Effective, int]]:
    """Say of each tie when it was told first [us]."""
    kept = {one.seq for one in ties}
    found, first_us = [], None
    for one in told:
        first_us = one.at_us if first_us is None else first_us
        if one.seq in kept:
            found.append((one, first_us))
            first_us = None
    return found


def _names(ties: Sequence[Effective]) -> list[str]:
    """The cone that each tie brings on, as far as it or the next one says it."""
    names = []
    for place, one in enumerate(ties):
        after = ties[place + 1].body.get("cone_off", "") if place + 1 < len(ties) else ""
        names.append(one.cone or str(after))
    return names


def _matched(loads: Sequence[Effective], ties: Sequence[Effective]) -> list[_Load]:
    names = _names(ties)
    found: list[_Load] = []
    taken: set[int] = set()
    for place, load in enumerate(loads):
        again = next((one.at_us for one in loads[place + 1 :] if one.cone == load.cone), None)
        tied = next(
            (
                number
                for number, tie in enumerate(ties)
                if names[number] == load.cone
                and number not in taken
                and tie.at_us >= load.at_us - HAND_US
                and (again is None or tie.at_us < again)
            ),
            None,
        )
        if tied is not None:
            taken.add(tied)
        found.append(_Load(load, tied))
    # a tie that names no cone brought on the one that waited, where only one did
    for number, tie in enumerate(ties):
        if number in taken or names[number]:
            continue
        waiting = _waiting(found, number, tie)
        if len(waiting) == 1:
            found[waiting[0]] = replace(found[waiting[0]], tied=number)
            taken.add(number)
    return found


def _waiting(loads: Sequence[_Load], number: int, tie: Effective) -> list[int]:
    before = [
        place for place, one in enumerate(loads) if one.tied is not None and one.tied < number
    ]
    after = [place for place, one in enumerate(loads) if one.tied is not None and one.tied > number]
    first = max(before, default=-1) + 1
    last = min(after, default=len(loads))
    return [
        place
        for place in range(first, last)
        if loads[place].tied is None and loads[place].event.at_us <= tie.at_us
    ]


def _between(
    loads: Sequence[_Load],
    ties: Sequence[Effective],
    unloaded: Sequence[Effective],
    starts: Sequence[Effective],
) -> list[ConeStint]:
    """Cones that were loaded, or named as taken off, and of which no tie is told."""
    found: list[ConeStint] = []
    for place, one in enumerate(loads):
        if one.tied is not None:
            continue
        load = one.event
        before = [other.tied for other in loads[:place] if other.tied is not None]
        after = [other.tied for other in loads[place + 1 :] if other.tied is not None]
        last = ties[max(before)] if before else None
        following = ties[min(after)] if after else None
        off = next(
            (gone for gone in unloaded if gone.cone == load.cone and gone.at_us >= load.at_us), None
        )
        earliest = load.at_us if last is None else max(load.at_us, last.at_us)
        ends = [item.at_us for item in (following, off) if item is not None]
        latest = min(ends) if ends else None
        if latest is not None and latest < earliest:
            continue  # taken off again, or passed over, before it could have been its turn
        if before or following is not None:
            words = (
                say("no tie of it is told")
                if latest is not None
                else say("it waits, or its tie is missing")
            )
        else:
            words = say("no tie of this lane is told before it")
        start = _first_of_run(one, loads, ties, unloaded, starts, following)
        if start is not None and latest is not None and start.at_us > latest:
            start = None  # taken off before that run began
        began: int | None = latest
        sure_upto: int | None = earliest
        if start is not None:
            earliest, began = start.at_us, max(load.at_us, start.at_us)
            sure_upto, words = _first_upto(one, loads, ties, following, latest, began)
        rests = tuple(
            rest_of(item) for item in (load, last, following, off, start) if item is not None
        )
        found.append(
            ConeStint(
                load.line, load.cone, load.lot, str(load.body.get("spinner", "")), load.lane,
                earliest, began, sure_upto, latest, words, rests,
            )
        )  # fmt: skip
    named = {one.event.cone for one in loads}
    names = _names(ties)
    for place, tie in enumerate(ties):
        ended = str(tie.body.get("cone_off", ""))
        before_tie = ties[place - 1] if place else None
        if not ended or (before_tie is not None and names[place - 1] == ended):
            continue
        if ended in named and any(one.cone == ended and _reaches(one, tie) for one in found):
            continue
        since = None if before_tie is None else before_tie.at_us
        words = say("only the tie at its end is told")
        rests = tuple(rest_of(item) for item in (tie, before_tie) if item is not None)
        load_of = next((one.event for one in loads if one.event.cone == ended), None)
        found.append(
            ConeStint(
                tie.line, ended, "" if load_of is None else load_of.lot,
                "" if load_of is None else str(load_of.body.get("spinner", "")), tie.lane,
                since, tie.at_us, tie.at_us if since is None else since, tie.at_us, words, rests,
            )
        )  # fmt: skip
    return found


def _reaches(stint: ConeStint, tie: Effective) -> bool:
    """Say whether a cone's time holds the tie at its end; else it was told in another order."""
    begun, ended = stint.from_earliest_us, stint.upto_latest_us
    return (begun is None or begun < tie.at_us) and (ended is None or ended >= tie.at_us)


def _first_of_run(
    one: _Load,
    loads: Sequence[_Load],
    ties: Sequence[Effective],
    unloaded: Sequence[Effective],
    starts: Sequence[Effective],
    following: Effective | None,
) -> Effective | None:
    """Find the run start since which an untied cone feeds; None where another may have fed."""
    load = one.event
    until_us = load.at_us + HAND_US if following is None else following.at_us
    begun = [start for start in starts if start.at_us < until_us]
    if following is None:  # a cone put on for the next run
        begun += [start for start in starts if start.at_us >= until_us][:1]
    if not begun or begun[-1].at_us < load.at_us - HAND_US:
        return None
    start = begun[-1]
    since_us = begun[-2].at_us if len(begun) > 1 else None
    if since_us is not None and since_us > load.at_us:
        return None  # it was on for a whole run before
    if any(start.at_us <= tie.at_us < until_us for tie in ties):
        return None
    first_us = max(start.at_us, load.at_us)
    gone = {off.cone for off in unloaded if off.at_us <= first_us}
    before = [
        other.event.cone
        for other in loads
        if other.event.at_us <= load.at_us and other is not one and other.event.cone != load.cone
    ]
    tied = [tie.at_us for tie in ties if tie.at_us < start.at_us]
    # what stood there before has ended: taken off, or by a tie that took another one's tail
    names = _names(ties)
    ended = {str(tie.body.get("cone_off", "")) for tie in ties if tie.at_us < start.at_us}
    on = {name for name, tie in zip(names, ties, strict=True) if tie.at_us < start.at_us}
    lasts = names[len(tied) - 1] if tied else ""
    left = [
        name
        for name in dict.fromkeys([*before, lasts])
        if name and name not in gone and name not in ended and (name == lasts or name not in on)
    ]
    if (tied and not lasts) or left:
        return None
    ends = "" if following is None else str(following.body.get("cone_off", ""))
    waits = {other.event.cone for other in loads if other.event.at_us > load.at_us}
    return start if ends in ("", load.cone) or ends in waits else None


def _first_upto(
    one: _Load,
    loads: Sequence[_Load],
    ties: Sequence[Effective],
    following: Effective | None,
    latest: int | None,
    began: int,
) -> tuple[int | None, str]:
    """Say until when the first cone of a run surely fed, and why no longer."""
    if following is not None and following.body.get("cone_off") == one.event.cone:
        return latest, ""
    waiting = [
        max(other.event.at_us, began)
        for other in loads
        if other.tied is None
        and other.event.at_us > one.event.at_us
        and (latest is None or other.event.at_us < latest)
    ]
    if following is None:  # a tie that brought on a cone nobody told as loaded
        waiting += [tie.at_us for tie in ties if tie.at_us >= began][:1]
    if not waiting:
        return latest, ""
    return min(waiting), say("a cone after it may have come on untold")


def _told(
    loads: Sequence[_Load],
    ties: Sequence[Effective],
    between: Sequence[ConeStint],
    sooner: Mapping[int, int],
) -> list[ConeStint]:
    names = _names(ties)
    found = []
    for number, tie in enumerate(ties):
        load = next((one.event for one in loads if one.tied == number), None)
        following = ties[number + 1] if number + 1 < len(ties) else None
        upto = None if following is None else following.at_us
        # a cone whose tie is missing may have come on before the next tie that is told
        before_it = [
            one.from_earliest_us
            for one in between
            if (one.upto_latest_us is None or one.upto_latest_us > tie.at_us)
            and one.from_earliest_us is not None
            and (upto is None or one.from_earliest_us < upto)
        ]
        ends = [max(one, tie.at_us) for one in before_it]
        if following is not None:
            ends.append(max(sooner.get(following.seq, following.at_us), tie.at_us))
        earliest_end = min(ends, default=upto)
        spinner = "" if load is None else str(load.body.get("spinner", ""))
        name = names[number] or ("" if load is None else load.cone)
        widened = bool(before_it) and earliest_end != upto
        words = say("a cone after it may have come on untold") if widened else ""
        if not name:
            words = say("its tie names no cone")
        rests = [rest_of(tie)]
        rests += [rest_of(one) for one in (load, following) if one is not None]
        lot = tie.lot or ("" if load is None else load.lot)
        found.append(
            ConeStint(
                tie.line, name, lot, spinner, tie.lane, sooner.get(tie.seq, tie.at_us), tie.at_us,
                earliest_end, upto,
                words, tuple(rests),
            )
        )  # fmt: skip
    return found
