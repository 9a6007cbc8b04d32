"""Open alarms of a line, in the lead's words, most urgent first, each with what to do."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from clew.languages import figure, first_upper, joined, moment, say, say_many
from clew.ledger.events.moments import local_of, show_local
from clew.ledger.ingest.by_hand import said_again
from clew.ledger.state.alarm_kinds import ALARMS, SILENT_S
from clew.ledger.state.answer import Alarm, Between, Shift
from clew.ledger.state.creel_alarms import creel_alarms
from clew.ledger.state.effective import AHEAD
from clew.ledger.state.known import Effective, LaneState, LineState, Run, Weighed


@dataclass(frozen=True, slots=True)
class AlarmRules:
    """When an alarm opens; all of it assumed.

    Attributes
    ----------
    tie_due_min : float
        A tie that may be due so soon, with no cone in reserve [min].
    silent_s : float
        A winder that told nothing for so long [s].
    stop_s : float
        A stop of so long [s].
    look_back_s : float
        Odd messages and weighings stay in sight so long [s].
    """

    tie_due_min: float = 10.0
    silent_s: float = SILENT_S
    stop_s: float = 600.0
    look_back_s: float = 3600.0


@dataclass(frozen=True, slots=True)
class AlarmTerms:
    """What must be known beside the state.

    Attributes
    ----------
    zone : str
        The mill's time zone.
    shift : Shift
        The present shift.
    knot_limit : int or None
        Most knots in a first-quality ball.
    tare_g : float
        Band and all else that a gross weighing holds [g].
    yarn : str
        The run's yarn; empty without a run.
    yarn_of : mapping of str to str
        Yarn of each dye lot of the mill, by its name in lower case.
    to_tie : mapping of int to Between or None
        Minutes to the next tie, by lane [min].
    joins : mapping of int to int
        Joins in the ball being wound, by lane.
    balls : mapping of int to int
        Number of that ball as the tracker counts, by lane.
    trouble : str
        Why the ledger cannot write; empty where it can.
    """

    zone: str
    shift: Shift
    knot_limit: int | None = None
    tare_g: float = 0.0
    yarn: str = ""
    yarn_of: Mapping[str, str] = field(default_factory=dict)
    to_tie: Mapping[int, Between | None] = field(default_factory=dict)
    joins: Mapping[int, int] = field(default_factory=dict)
    balls: Mapping[int, int] = field(default_factory=dict)
    trouble: str = ""


def open_alarms(
    state: LineState,
    events: Sequence[Effective],
    terms: AlarmTerms,
    now_us: int,
    rules: AlarmRules = AlarmRules(),
) -> tuple[Alarm, ...]:
    """Say what asks for a hand.

    Parameters
    ----------
    state : LineState
        What is known of the line.
    events : sequence of Effective
        What counts, in order of time; the latest hours are enough.
    terms : AlarmTerms
        What must be known beside it.
    now_us : int
        The moment [us].
    rules : AlarmRules
        When an alarm opens.

    Returns
    -------
    tuple of Alarm
        Most urgent first, then by kind, lane and time.
    """
    found = [
        *_ledger_alarms(state, terms, now_us),
        *_message_alarms(events, terms, now_us, rules),
        *_line_alarms(state, terms, now_us, rules),
    ]
    quiet = _line_is_quiet(state, now_us, rules)
    for lane in state.lanes:
        if state.run is not None:
            # where nothing is told at all, a tie that was not told is no news of its own; but a
            # lane without a cone in reserve is, for the line may well go on feeding
            to_tie = None if quiet and lane.reserve else terms.to_tie.get(lane.lane)
            found += creel_alarms(
                lane, state, terms.yarn, terms.yarn_of, to_tie, terms.zone, rules.tie_due_min
            )
            found += _winder_alarms(lane, state, state.run, terms, now_us, rules, quiet=quiet)
    order = list(ALARMS)
    return tuple(
        sorted(found, key=lambda one: (one.urgency, order.index(one.kind), one.lane, one.since_us))
    )


def alarm(kind: str, lane: int, words: str, todo: str, since_us: int, about: str = "") -> Alarm:
    """Make an alarm of a known kind."""
    return Alarm(kind, ALARMS[kind].urgency, lane, words, todo, since_us, about)


def _ledger_alarms(state: LineState, terms: AlarmTerms, now_us: int) -> Iterator[Alarm]:
    if terms.trouble:
        yield alarm(
            "ledger trouble", 0,
            say("The ledger cannot keep anything: {trouble}", trouble=terms.trouble),
            say("write on the paper form, and mend it"), now_us,
        )  # fmt: skip
    for words in state.troubles:
        head, _, _ = words.partition(" could not be put in: ")
        yield alarm(
            "correction not put in", 0, first_upper(words),
            say("void that correction, and make it anew"), state.last_us or now_us, head,
        )  # fmt: skip


def _message_alarms(
    events: Sequence[Effective], terms: AlarmTerms, now_us: int, rules: AlarmRules
) -> Iterator[Alarm]:
    from_us = now_us - round(rules.look_back_s * 1e6)
    late: dict[str, list[int]] = {}
    ahead: dict[str, list[int]] = {}
    for one in reversed(events):
        if one.at_us < from_us:
            break
        if AHEAD in one.flags:
            ahead.setdefault(one.source, []).append(one.at_us)
        elif "late" in one.flags and not one.author:  # a hand may enter things when it has time
            late.setdefault(one.source, []).append(one.at_us)
    for source, at_us in sorted(ahead.items()):
        yield alarm(
            "clock ahead", 0,
            say_many(
                "The clock of {source} is ahead: a message up to {latest}",
                "The clock of {source} is ahead: {n} messages up to {latest}",
                len(at_us), source=source, latest=moment(local_of(max(at_us), terms.zone)),
            ),
            say("set its clock, then correct when they happened"), min(*at_us, now_us), source,
        )  # fmt: skip
    if len(late) > _NAMED_ONE_BY_ONE:
        oldest, total = min(map(min, late.values())), sum(map(len, late.values()))
        most = max(sorted(late), key=lambda source: len(late[source]))
        yield alarm(
            "late messages", 0,
            say(
                "{messages} messages of {machines} machines came late, the oldest of {clock}, most "
                "of them from {most}",
                messages=total, machines=len(late), clock=_clock(oldest, terms), most=most,
            ),
            say("look at the network; they are counted where they belong"), oldest,
        )  # fmt: skip
        return
    for source, at_us in sorted(late.items()):
        yield alarm(
            "late messages", 0,
            say_many(
                "{source}: {n} message came late, the oldest of {clock}",
                "{source}: {n} messages came late, the oldest of {clock}",
                len(at_us), source=source, clock=_clock(min(at_us), terms),
            ),
            say("look at its network; they are counted where they belong"), min(at_us), source,
        )  # fmt: skip


_NAMED_ONE_BY_ONE = 3
"""Of more machines than these that are late, it is the network, and one alarm: assumed."""


def _line_is_quiet(state: LineState, now_us: int, rules: AlarmRules) -> bool:
    """Say whether nothing comes from a line that is not stopped: no hand, and no winder of several.

    Parameters
    ----------
    state : LineState
        What is known of the line.
    now_us : int
        The moment [us].
    rules : AlarmRules
        When an alarm opens.
    """
    if state.run is None or state.stopped_us is not None or state.last_us is None:
        return False
    told = sum(lane.heard_us is not None and lane.stopped_us is None for lane in state.lanes)
    return told > 1 and now_us - state.last_us > rules.silent_s * 1e6


def _line_alarms(
    state: LineState, terms: AlarmTerms, now_us: int, rules: AlarmRules
) -> Iterator[Alarm]:
    stopped = state.stopped_us
    if stopped is not None and now_us - stopped > rules.stop_s * 1e6:
        yield alarm(
            "long stop", 0,
            say(
                "The line stands for {how_long}: {why}", how_long=_minutes(now_us - stopped),
                why=said_again(state.stop_why),
            ),
            say("mend it, or end the run"), stopped,
        )  # fmt: skip
    if state.run is None:
        told = [one for one in state.lanes if _heard_lately(one, now_us, rules)]
        if told:
            since = min(one.heard_us or now_us for one in told)
            yield alarm(
                "no run", 0,
                say_many(
                    "A winder tells of balls, and no run is in progress",
                    "{n} winders tell of balls, and no run is in progress", len(told),
                ),
                say("start the run, with the moment at which it began"), since,
            )  # fmt: skip
        return
    if state.last_us is not None and _line_is_quiet(state, now_us, rules):
        yield alarm(
            "winder silent", 0,
            say(
                "Nothing has come from the line for {how_long}, from no winder and no hand",
                how_long=_minutes(now_us - state.last_us),
            ),
            say("look at the network; write on paper meanwhile"), state.last_us,
        )  # fmt: skip
    since = max(terms.shift.from_us, state.run.started_us)
    looks = [
        one for one in state.checks
        if one.what == "start-up" and one.at_us >= terms.shift.from_us - _BEFORE_SHIFT_US
    ]  # fmt: skip
    if not looks:
        yield alarm(
            "start-up not checked", 0, say("Nobody has looked the line over in this shift"),
            say("do the start-up check"), since,
        )  # fmt: skip
    elif looks[-1].not_done:
        yield alarm(
            "start-up not in order", 0,
            say(
                "At start-up {clock} not in order: {points}",
                clock=_clock(looks[-1].at_us, terms),
                points=joined(", ", (said_again(one) for one in looks[-1].not_done)),
            ),
            say("mend it, and look again"), looks[-1].at_us,
        )  # fmt: skip


_BEFORE_SHIFT_US = 3_600_000_000
"""A check made within an hour before the shift begins is of this shift: assumed."""


def _heard_lately(lane: LaneState, now_us: int, rules: AlarmRules) -> bool:
    return lane.heard_us is not None and now_us - lane.heard_us < rules.silent_s * 1e6


def _winder_alarms(
    lane: LaneState, state: LineState, run: Run, terms: AlarmTerms, now_us: int,
    rules: AlarmRules, *, quiet: bool,
) -> Iterator[Alarm]:  # fmt: skip
    number = lane.lane
    if lane.stopped_us is not None and now_us - lane.stopped_us > rules.stop_s * 1e6:
        yield alarm(
            "long stop", number,
            say(
                "Lane {lane} stands for {how_long}: {why}", lane=number,
                how_long=_minutes(now_us - lane.stopped_us), why=said_again(lane.stop_why),
            ),
            say("mend it, or take the lane out"), lane.stopped_us,
        )  # fmt: skip
    stands = quiet or lane.stopped_us is not None or state.stopped_us is not None
    heard = lane.heard_us
    if heard is not None and not stands and now_us - heard > rules.silent_s * 1e6:
        yield alarm(
            "winder silent", number,
            say(
                "Lane {lane}: its winder has told nothing for {how_long}", lane=number,
                how_long=_minutes(now_us - heard),
            ),
            say("look whether it turns, then at its cable and network"), heard,
        )  # fmt: skip
    joins = terms.joins.get(number)
    if joins is not None and terms.knot_limit is not None and joins > terms.knot_limit:
        on = terms.balls.get(number, lane.ball)
        of = {"lane": number, "joins": joins, "most": terms.knot_limit}
        yield alarm(
            "too many joins", number,
            say("Lane {lane}: ball on the winder holds {joins} joins, {most} are allowed", **of)
            if on is None
            else say(
                "Lane {lane}: ball {ball} on the winder holds {joins} joins, {most} are allowed",
                ball=on, **of,
            ),
            say("pull it when it is off"), lane.last_doff_us or now_us,
            "" if on is None else str(on),
        )  # fmt: skip
    if lane.last_balls:
        last = lane.last_balls[-1]
        if now_us - last.at_us <= rules.look_back_s * 1e6:
            yield from _weighing_alarms(last, run, terms)


def net_g(ball: Weighed, tare_g: float) -> float:
    """Give a ball's mass without band and all else that is not yarn [g].

    Parameters
    ----------
    ball : Weighed
        The weighing.
    tare_g : float
        What is not yarn on a ball weighed with it [g].
    """
    return ball.mass_g - tare_g if ball.gross else ball.mass_g


def _weighing_alarms(last: Weighed, run: Run, terms: AlarmTerms) -> Iterator[Alarm]:
    mass = net_g(last, terms.tare_g)
    clock, shown = _clock(last.at_us, terms), _mass(mass)
    head = (
        say("Lane {lane}: the ball weighed at {clock}", lane=last.lane, clock=clock)
        if last.ball is None
        else say(
            "Lane {lane}: ball {ball} weighed at {clock}",
            lane=last.lane, ball=last.ball, clock=clock,
        )
    )  # fmt: skip
    about = "" if last.ball is None else str(last.ball)
    half = None if run.target_g is None else 0.5 * run.target_g
    odd = half is not None and not half <= mass <= 3.0 * half
    if not last.plausible or odd:
        yield alarm(
            "weighing implausible", last.lane,
            say("{head} is said to have {mass}", head=head, mass=shown),
            say("weigh it again, and correct the record"), last.at_us, about,
        )  # fmt: skip
        return
    low, high = run.call_low_g, run.call_high_g
    if low is not None and mass < low:
        words = say("{head} has {mass}, less than {low}", head=head, mass=shown, low=_mass(low))
    elif high is not None and mass > high:
        words = say("{head} has {mass}, more than {high}", head=head, mass=shown, high=_mass(high))
    else:
        return
    yield alarm(
        "ball out of limits", last.lane, words,
        say("hold it, weigh the next two of this winder, and look at count and counter"),
        last.at_us, about,
    )  # fmt: skip


def _clock(at_us: int, terms: AlarmTerms) -> str:
    return show_local(at_us, terms.zone, seconds=False)[11:]


def _minutes(us: int) -> str:
    whole = max(round(us / 60e6), 1)
    if whole < 120:
        return f"{whole} min"
    return f"{whole // 60} h {whole % 60} min"


def _mass(mass_g: float) -> str:
    return figure(f"{mass_g:.1f} g")
