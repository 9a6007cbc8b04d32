"""What was seen of the strand between creel and winder, and of which tie it was."""

from __future__ import annotations

import math
from dataclasses import replace

from clew.languages import say
from clew.line.tracker.events import Event
from clew.line.tracker.joint import Joint, Sight
from clew.line.tracker.lane import Lane
from clew.line.tracker.terms import TrackDoubt, TrackTerms

SURE_OF_TIE = 0.8
"""A tie seen at the winder corrects the log only where it is so sure which tie it was."""
MARKED_SEEN = 0.99
"""From here on the tie that was seen counts as wound in."""
SCATTER = 0.5
"""What a sensor says differs from time to time by half of what it is off by every time: assumed."""
_TYPICAL_CONE_M = 4000.0
"""Between ties of which no message came, where the cone's length is not known: assumed."""


def _wound_then(one: Event, lane: Lane, terms: TrackTerms) -> tuple[float, float]:
    """Metres wound when something was seen, by the turns told with it where they were."""
    if one.value is not None and one.kind != "content":
        exact = lane.winding.wound_at_turns(one.at_s, one.value, one.ball, terms)
        if exact is not None:
            return exact, 0.0
    return lane.winding.wound(one.at_s, terms)


def seen_content(
    one: Event, lane: Lane, terms: TrackTerms, doubt: TrackDoubt, begun_s: float
) -> tuple[Sight | None, str]:
    """Read what a stated content, a dry buffer or a full one say of the strand between.

    Parameters
    ----------
    one : Event
        The message.
    lane : Lane
        Its lane.
    terms, doubt
        The line, and how unsure it is.
    begun_s : float
        When the log began [s].

    Returns
    -------
    (Sight or None, str)
        What was seen, and what to tell; None where it cannot be used.

    Notes
    -----
    A dry buffer: all that had come to the belt's end is wound, so nothing lies between the winder
    and what was laid down one passage of belt time ago; a full one: a buffer's worth does.
    Source: DERIVED.
    """
    wound, wound_sd = _wound_then(one, lane, terms)
    wound_sd *= terms.raw_per_laid
    if one.kind == "content":
        fed, fed_sd = lane.fed(one.at_s)
        return Sight(lane.number, fed, wound, one.value or 0.0, math.hypot(fed_sd, wound_sd)), ""
    came_s = lane.belt.reading_s(one.at_s) - terms.passage_s
    laid_s = lane.belt.when_s(came_s)
    if laid_s < begun_s:
        return None, (
            say(
                "Lane {lane}: the buffer was full before strand laid since the log began was at "
                "the belt's end; not used.",
                lane=lane.number,
            )
            if one.kind == "full"
            else say(
                "Lane {lane}: the buffer was dry before strand laid since the log began was at "
                "the belt's end; not used.",
                lane=lane.number,
            )
        )
    fed, fed_sd = lane.fed(laid_s)
    held = terms.buffer_m if one.kind == "full" else 0.0
    # the winder mostly turns before a buffer is dry and stands before it is full: what the middle
    # between two readings is off by is alike each time
    off = math.hypot(doubt.sensor_sd_m, wound_sd, fed_sd)
    return Sight(lane.number, fed, wound, held, SCATTER * off, one.kind, off), ""


def seen_tie(
    one: Event, lane: Lane, joint: Joint, terms: TrackTerms, doubt: TrackDoubt
) -> tuple[Lane, Sight | None, str]:
    """Find which tie a hand saw at the winder, and what that says.

    Parameters
    ----------
    one : Event
        The message.
    lane : Lane
        Its lane.
    joint : Joint
        What was known of the strand before.
    terms, doubt
        The line, and how unsure it is.

    Returns
    -------
    (Lane, Sight or None, str)
        The lane, with the tie marked where it surely was the one; what was seen; what to tell.
    """
    wound, wound_sd = _wound_then(one, lane, terms)
    sight_sd = math.hypot(terms.raw_per_laid * wound_sd, doubt.seen_sd_m)
    # ties come in the order in which they were fed
    known = [(place, tie.seen_s) for place, tie in enumerate(lane.ties) if tie.seen_s is not None]
    last = max((place for place, seen_s in known if seen_s <= one.at_s), default=-1)
    first = min((place for place, seen_s in known if seen_s > one.at_s), default=len(lane.ties))
    open_ties = [
        place for place in range(last + 1, first) if lane.ties[place].event.at_s <= one.at_s
    ]
    where = say(
        "Lane {lane}: a tie seen at {clock}",
        lane=lane.number,
        clock=clock_words(one.at_s),
    )
    share = 1.0
    if one.name:
        named = [
            place for place, tie in enumerate(lane.ties)
            if one.name in (tie.event.name, tie.event.key)
        ]  # fmt: skip
        if len(named) != 1 or named[0] not in open_ties:
            return (
                lane,
                None,
                say(
                    '{tie} as "{name}" is none that was under way; not used.',
                    tie=where,
                    name=one.name,
                ),
            )
        chosen = named[0]
    else:
        chosen, share = _likeliest(open_ties, lane, wound, joint, sight_sd, terms, doubt)
        if share < SURE_OF_TIE:
            return (
                lane,
                None,
                say("{tie} may be more than one tie, or one not told; not used.", tie=where),
            )
    tie = lane.ties[chosen]
    if share >= MARKED_SEEN:
        marked = replace(
            tie, seen_s=one.at_s, seen_wound_m=wound, seen_sd_m=sight_sd / terms.raw_per_laid
        )
        ties = (*lane.ties[:chosen], marked, *lane.ties[chosen + 1 :])
        lane = replace(lane, ties=ties)
    mean, before_sd = joint.between(lane.number, tie.fed_m, wound)
    sd = weakened_sd(math.hypot(sight_sd, tie.sd_m), mean, before_sd, share)
    if sd is None:
        return lane, None, say("{tie} says nothing new of the strand; not used.", tie=where)
    return lane, Sight(lane.number, tie.fed_m, wound, 0.0, sd), ""


def clock_words(at_s: float) -> str:
    """Write seconds after midnight as a time of day."""
    whole = round(at_s) % 86_400
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def weakened_sd(sd_m: float, mean_m: float, before_sd_m: float, share: float) -> float | None:
    """Standard deviation to give a sight that is of the tie it is taken for by a share only.

    Parameters
    ----------
    sd_m : float
        What it would be if it surely were [m].
    mean_m, before_sd_m : float
        What was known of the metres between tie and winder before [m].
    share : float
        How likely it is of that tie [-].

    Returns
    -------
    float or None
        With it the corrected variance is that of the mixture: p S R/(S + R) + (1 - p) S +
        p (1 - p) (mean S/(S + R))^2, for S before and R of the sight; None where that is no less
        than S [m].

    Notes
    -----
    Source: probabilistic data association, moments of the mixture, MEMORY.
    """
    if share >= 1.0 or before_sd_m == 0.0:
        return sd_m
    before, own = before_sd_m**2, sd_m**2
    gain = before / (before + own)
    mixed = (
        share * gain * own + (1.0 - share) * before + share * (1.0 - share) * (gain * mean_m) ** 2
    )
    if mixed >= before * (1.0 - 1e-9):
        return None
    return math.sqrt(mixed * before / (before - mixed))


def _likeliest(
    places: list[int],
    lane: Lane,
    wound_m: float,
    joint: Joint,
    sight_sd_m: float,
    terms: TrackTerms,
    doubt: TrackDoubt,
) -> tuple[int, float]:
    """Choose the tie that stands nearest by its own doubt and how likely it is the one.

    Notes
    -----
    Each tie weighs as its normal density at the winder, a tie not told as the share of such times
    the ties in a metre. Source: Bayes' rule, DERIVED.
    """
    weights = []
    for place in places:
        tie = lane.ties[place]
        mean, sd = joint.between(lane.number, tie.fed_m, wound_m, math.hypot(tie.sd_m, sight_sd_m))
        sd = max(sd, 0.01)
        weights.append(math.exp(-0.5 * (mean / sd) ** 2) / (sd * math.sqrt(2.0 * math.pi)))
    untold = doubt.unannounced_frac / (1.0 - doubt.unannounced_frac)
    # a tie far from where it can be is none, even where every tie is told
    total = sum(weights) + max(untold, 1e-6) * _ties_per_m(lane, terms)
    best = max(range(len(weights)), key=lambda place: weights[place], default=-1)
    return (places[best], weights[best] / total) if best >= 0 else (-1, 0.0)


def _ties_per_m(lane: Lane, terms: TrackTerms) -> float:
    """Ties in a raw metre: as the log has them, not fewer than cones end."""
    by_cones = 1.0 / (terms.cone_m or _TYPICAL_CONE_M)
    if len(lane.ties) < 2:
        return by_cones
    between = abs(lane.ties[-1].fed_m - lane.ties[0].fed_m) / (len(lane.ties) - 1)
    return max(by_cones, 1.0 / max(between, 1.0))
