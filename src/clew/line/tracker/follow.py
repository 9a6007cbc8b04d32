"""From events to a followed line: each lane's feed, winder and ties, and all that was seen."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from clew.faults import BadInput, Fault
from clew.line.tracker.clocks import RunClock, belt_clock
from clew.line.tracker.events import TIES, WHOLE_LINE, Event
from clew.line.tracker.feeding import Feeding, feeding_of
from clew.line.tracker.joint import Joint, Sight, joint_of
from clew.line.tracker.terms import TrackDoubt, TrackTerms
from clew.line.tracker.winding import Winding, winding_of

SURE_OF_TIE = 0.8
"""A tie seen at the winder corrects the log only where it is so sure which tie it was."""
MARKED_SEEN = 0.99
"""From here on the tie that was seen counts as wound in."""
SCATTER = 0.5
"""What a sensor says differs from time to time by half of what it is off by every time: assumed."""
_RENEWED = 0.25
"""A buffer that runs dry, or full, again and again tells little new within that share of the
passage: what comes sooner is left out."""
_TYPICAL_CONE_M = 4000.0
"""Between ties of which no message came, where the cone's length is not known: assumed."""


@dataclass(frozen=True, slots=True)
class FedTie:
    """A tie in the strand of a lane.

    Attributes
    ----------
    event : Event
        The message.
    fed_m, sd_m : float
        Where the feed's log stood when it passed, and how unsure that is [m, raw]; counted from
        the winder's first report.
    seen_s : float or None
        When it was seen at the winder [s].
    seen_wound_m, seen_sd_m : float
        Metres wound by then, and how unsure that is [m]; used where it was seen.
    """

    event: Event
    fed_m: float
    sd_m: float
    seen_s: float | None = None
    seen_wound_m: float = 0.0
    seen_sd_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Lane:
    """A lane, followed.

    Attributes
    ----------
    number : int
        Lane.
    feeding : Feeding
        What was fed.
    start_fed_m : float
        What the feed's log showed at the winder's first report [m].
    winding : Winding
        What was wound.
    belt : RunClock
        When the belt ran.
    ties : tuple of FedTie
        In the order in which they passed the feed.
    """

    number: int
    feeding: Feeding
    start_fed_m: float
    winding: Winding
    belt: RunClock
    ties: tuple[FedTie, ...]

    def fed(self, at_s: float) -> tuple[float, float]:
        """Metres fed since the winder's first report, and how unsure that is [m, raw]."""
        fed, sd = self.feeding.fed(at_s)
        return fed - self.start_fed_m, sd


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
            Fault("no such lane", f"1 to {terms.lanes}", key="lane", value=str(strange[0]))
        )
    notes: list[str] = []
    lanes: dict[int, Lane] = {}
    for number in sorted({one.lane for one in events if one.kind not in WHOLE_LINE} - {0}):
        lane = _lane(events, number, terms, doubt)
        if lane is None:
            notes.append(f"Lane {number}: no turns and no doff of its winder; not followed.")
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
    """Take in all that was seen, in order of time: what was seen helps to know the next tie."""
    seen: list[Sight] = []
    used_s: dict[tuple[int, str], float] = {}
    begun_s = events[0].at_s if events else 0.0
    for one in events:
        if one.lane not in lanes or one.kind not in ("content", "seen", "dry", "full"):
            continue
        lane = lanes[one.lane]
        if one.kind == "seen":
            joint = joint_of(terms.content_m, terms.raw_per_laid, doubt, seen)
            lanes[one.lane], sight, note = _seen_tie(one, lane, joint, terms, doubt)
        else:
            last_s = used_s.get((one.lane, one.kind), -math.inf)
            if one.kind != "content" and one.at_s - last_s < _RENEWED * terms.passage_s:
                continue
            sight, note = _seen_content(one, lane, terms, doubt, begun_s)
            if sight is not None:
                used_s[one.lane, one.kind] = one.at_s
        if note:
            notes.append(note)
        if sight is not None:
            seen.append(sight)
    return joint_of(terms.content_m, terms.raw_per_laid, doubt, seen)


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


def _wound_then(one: Event, lane: Lane, terms: TrackTerms) -> tuple[float, float]:
    """Metres wound when something was seen, by the turns told with it where they were."""
    if one.value is not None and one.kind != "content":
        exact = lane.winding.wound_at_turns(one.at_s, one.value, one.ball, terms)
        if exact is not None:
            return exact, 0.0
    return lane.winding.wound(one.at_s, terms)


def _seen_content(
    one: Event, lane: Lane, terms: TrackTerms, doubt: TrackDoubt, begun_s: float
) -> tuple[Sight | None, str]:
    """What a stated content, a dry buffer or a full one say of the strand between."""
    wound, wound_sd = _wound_then(one, lane, terms)
    wound_sd *= terms.raw_per_laid
    if one.kind == "content":
        fed, fed_sd = lane.fed(one.at_s)
        return Sight(lane.number, fed, wound, one.value or 0.0, math.hypot(fed_sd, wound_sd)), ""
    came_s = lane.belt.reading_s(one.at_s) - terms.passage_s
    laid_s = lane.belt.when_s(came_s)
    if laid_s < begun_s:
        return None, (
            f"Lane {lane.number}: the buffer was {one.kind} before strand laid since the log began "
            "was at the belt's end; not used."
        )
    fed, fed_sd = lane.fed(laid_s)
    held = terms.buffer_m if one.kind == "full" else 0.0
    # the winder mostly turns before a buffer is dry and stands before it is full: what the middle
    # between two readings is off by is alike each time, and may be all of the half width
    off = math.hypot(doubt.sensor_sd_m, math.sqrt(3.0) * wound_sd, fed_sd)
    return Sight(lane.number, fed, wound, held, SCATTER * off, one.kind, off), ""


def _seen_tie(
    one: Event, lane: Lane, joint: Joint, terms: TrackTerms, doubt: TrackDoubt
) -> tuple[Lane, Sight | None, str]:
    """Find which tie a hand saw at the winder, and what that says."""
    wound, wound_sd = _wound_then(one, lane, terms)
    sight_sd = math.hypot(terms.raw_per_laid * wound_sd, doubt.seen_sd_m)
    last = max((place for place, tie in enumerate(lane.ties) if tie.seen_s is not None), default=-1)
    open_ties = [
        place for place, tie in enumerate(lane.ties) if place > last and tie.event.at_s <= one.at_s
    ]
    where = f"Lane {lane.number}: a tie seen at {clock_words(one.at_s)}"
    share = 1.0
    if one.name:
        named = [
            place for place, tie in enumerate(lane.ties)
            if one.name in (tie.event.name, tie.event.key)
        ]  # fmt: skip
        if len(named) != 1 or named[0] not in open_ties:
            return lane, None, f'{where} as "{one.name}" is none that was under way; not used.'
        chosen = named[0]
    else:
        chosen, share = _likeliest(open_ties, lane, wound, joint, sight_sd, terms, doubt)
        if share < SURE_OF_TIE:
            return lane, None, f"{where} may be more than one tie, or one not told; not used."
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
        return lane, None, f"{where} says nothing new of the strand; not used."
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
