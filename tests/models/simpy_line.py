"""The line in time written a second time, for simpy: a process per part of a lane, one per hand.

Between events the strand is a fluid whose levels are known in closed form; the next crossing of a
level is a timeout, and whoever changes a rate interrupts the process that waits for it. There is
no time step.

What the model's text leaves open, decided here:

1. All that happens at a moment happens before any hand chooses. Then hands who became free at
   that moment choose (or rest) among all open calls, those raised at this same moment included;
   then what is left goes to idle hands, nearest first, calls in order of lane and slot. So a call
   that a service raises as it ends may be taken by the hand who ended it.
2. Events at exactly the shift's end do not happen.
3. The belt stops whenever it runs and Q >= buffer_m, also at the first moment and also if the
   winder would lower Q. A winder at Q = 0 that takes more than arrives is dry, also at once.
4. At one moment: arrivals (gap or strand at the belt's end) first, then the belt's stop or start,
   then go, then what the winder has reached, then dry. A gap laid while the belt stood has no
   length and is no gap.
5. The winder is first full, then at a colour mark, then broken; any of these goes before dry. It
   is at a place when W is within 1e-6 m of it. This matters: old strand before a gap ends exactly
   at the mark or tie, so the winder is called to "change" there instead of running dry.
6. Marks are seen by a turning winder only: one made or reached while it is dry (the gap was longer
   than the belt) is found when it goes on, one jumped by the waste of a mend when that mend ends.
   A winder at a mark as its doff or mend ends is called to "change" at once, without turning.
7. After a service the winder turns if Q > 0, whatever go_m; only a dry winder waits for go_m.
8. A ball's joins: ties at W in (start, end], those in a mend's waste included, and its mends. The
   tie of a colour mark goes with the part ball that is pulled, so lands in no full ball.
9. The first ball's metres from before the shift are in no book: they are neither initial nor
   wound, nor waste if that ball is pulled. `wound_m` is W less all waste (mends, and what pulled
   part balls had from this shift). `on_mandrel_m` is the whole unfinished ball, 0 when full.
10. Only strand wound in spoils a ball, not a mend's waste; overlaps under 1e-6 m do not count. A
    stop that has not ended does not count (no strand it kept too long has reached the winder).
    Spoilt: strictly longer than allowed (by more than 1e-9 s).
11. Distance to the next break at the winder counts metres wound, not waste; it is redrawn at a
    mend's end. The distance to a break at the feed goes on at a colour change.
12. A load call served while the lane waits for or has its colour tie adds a cone to a reserve that
    is not full. A colour that comes due in a break at the feed, or with a colour call open, is
    called for at the moment of that service's end.
13. While the belt stands the feed's seconds are "full", whatever else it lacks.
14. `answered` counts services begun. `cones` counts cones put on after the first: at a cone's end,
    at the load that ends starving, at each colour. `belt_stops` counts stops of the belt.
15. A rest due is taken at the moment of (1) by a hand who became free; by an idle hand before the
    calls of the same moment. Several rests missed follow one another.
16. "resting" of a winder's wait: while every hand rested, of the time from call to service (a hand
    on his way does not rest). A wait ended by the shift's end is booked in the same way.
17. Walks open at the shift's end count in part, in seconds and metres.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Generator, Iterator
from dataclasses import dataclass, field
from typing import Any

import simpy
from simpy.events import Event, EventPriority

import shared_variates as variates

Process = Generator[Event, Any, None]

EVENT_WORDS = (
    "ball full", "doff start", "doff end", "wind break", "change", "winder dry", "winder go",
    "feed break", "feed starved", "feed colour", "feed goes", "cone end", "colour mark",
    "belt stop", "belt start",
)  # fmt: skip
"""What the log can say; "change" is the mark at the winder, "colour mark" the tie that makes it."""

_HERE_M = 1e-6
_LEVEL_M = 1e-9
_CLOCK_S = 1e-9

_CHOOSE, _SEND = EventPriority(2), EventPriority(3)
"""Priorities behind simpy's own 0 and 1: hands choose, then idle hands are sent."""

_SLOT = {"doff": 0, "mend": 0, "change": 0, "feed": 1, "colour": 1, "load": 2}
_WINDER_CAUSE = {"doff": "doffing", "mend": "broken", "change": "changing"}
_WAIT_CAUSE = {"doff": "waiting", "mend": "broken", "change": "changing"}


@dataclass(slots=True)
class LaneBooks:
    """What one lane did in the shift."""

    balls: int = 0
    second_quality_balls: int = 0
    fed_m: float = 0.0
    wound_m: float = 0.0
    waste_m: float = 0.0
    mend_waste_m: float = 0.0
    pulled_m: float = 0.0
    initial_m: float = 0.0
    on_belt_m: float = 0.0
    buffer_m: float = 0.0
    on_mandrel_m: float = 0.0
    mandrel_start_m: float = 0.0
    winder_s: dict[str, float] = field(
        default_factory=lambda: dict.fromkeys(
            ("winding", "waiting", "doffing", "starved", "broken", "changing", "resting"), 0.0
        )
    )
    feed_stop_s: dict[str, float] = field(
        default_factory=lambda: dict.fromkeys(("full", "starved", "broken", "changing"), 0.0)
    )
    belt_stops: int = 0
    cones: int = 0
    ties: int = 0
    colour_marks: int = 0
    feed_breaks: int = 0
    winder_breaks: int = 0
    answered: dict[str, int] = field(default_factory=lambda: dict.fromkeys(_SLOT, 0))
    joins_landed: int = 0
    balls_by_joins: list[int] = field(default_factory=lambda: [0, 0, 0, 0])


@dataclass(slots=True)
class HandBooks:
    """What one hand did in the shift."""

    serving_s: float = 0.0
    walking_s: float = 0.0
    resting_s: float = 0.0
    walked_m: float = 0.0


@dataclass(slots=True)
class SimpyShift:
    """One shift of a line."""

    lanes: list[LaneBooks]
    hands: list[HandBooks]
    doff_waits_s: list[float]
    log: list[tuple[float, int, str]]
    events: int


class Moment(Event):
    """An event that happens when all else of its moment has happened."""

    def __init__(self, env: simpy.Environment, priority: EventPriority) -> None:
        super().__init__(env)
        self._ok = True
        self._value = None
        env.schedule(self, priority)


class Call:
    """A lane's call for a hand."""

    __slots__ = ("all_rested_s", "begun_s", "done", "kind", "lane", "place", "raised_s")

    def __init__(self, kind: str, lane: Lane, raised_s: float, all_rested_s: float) -> None:
        self.kind = kind
        self.lane = lane
        self.place = (lane.number, _SLOT[kind])
        self.raised_s = raised_s
        self.begun_s = -1.0
        # until service begins: the seconds all hands had rested when the call was raised;
        # afterwards: how much of the wait they rested
        self.all_rested_s = all_rested_s
        self.done = Event(lane.env)

    @property
    def at_winder(self) -> bool:
        return self.place[1] == 0


class Crew:
    """Open calls, idle hands, and who goes where."""

    def __init__(self, env: simpy.Environment, layout: Any, draw: Any) -> None:
        self.env = env
        self.layout = layout
        self.draw = draw
        self.waiting: list[Call] = []
        self.idle: list[Hand] = []
        self.hands: list[Hand] = []
        self.urgency = {kind: place for place, kinds in enumerate(layout.first) for kind in kinds}
        self.resting = 0
        self.all_since_s = 0.0
        self.all_rested_s = 0.0
        self.doff_waits_s: list[float] = []
        self._sending = False

    def call(self, kind: str, lane: Lane) -> Call:
        """Raise a call; if hands are idle one of them is sent at the end of this moment."""
        call = Call(kind, lane, self.env.now, self.rested_s())
        self.waiting.append(call)
        if self.idle and not self._sending:
            self._sending = True
            Moment(self.env, _SEND).callbacks.append(self._send)
        return call

    def _send(self, _: Event) -> None:
        self._sending = False
        for call in sorted(self.waiting, key=lambda one: one.place):
            if not self.idle:
                return
            hand = min(self.idle, key=lambda one: (one.way_m(call), one.number))
            self.waiting.remove(call)
            self.idle.remove(hand)
            hand.summons.succeed(call)

    def take(self, hand: Hand) -> Call | None:
        """The call a free hand goes to."""
        waiting = self.waiting
        if not waiting:
            return None
        if len(waiting) == 1:
            return waiting.pop()
        urgency = self.urgency
        first = min(urgency[call.kind] for call in waiting)
        rule, lanes = self.layout.rule, self.layout.lanes

        def order(call: Call) -> tuple[float, float, tuple[int, int]]:
            if rule == "nearest":
                by = hand.way_m(call)
            elif rule == "patrol":
                by = (call.lane.number - hand.lane) % lanes
            else:
                by = 0.0
            return by, call.raised_s, call.place

        call = min((one for one in waiting if urgency[one.kind] == first), key=order)
        waiting.remove(call)
        return call

    def rested_s(self) -> float:
        """Seconds so far in which every hand rested."""
        if self.resting == len(self.hands):
            return self.all_rested_s + self.env.now - self.all_since_s
        return self.all_rested_s

    def rest_begins(self) -> None:
        self.resting += 1
        if self.resting == len(self.hands):
            self.all_since_s = self.env.now

    def rest_ends(self) -> None:
        self.all_rested_s = self.rested_s()
        self.resting -= 1


class Hand:
    """A hand: walks to a call, serves it, stays there, rests when it is time."""

    def __init__(self, crew: Crew, number: int) -> None:
        layout = crew.layout
        self.env = crew.env
        self.crew = crew
        self.number = number
        self.lane: int = number * layout.lanes // layout.hands
        self.end = 0
        self.spacing_m: float = layout.spacing_m
        self.across_m: float = layout.across_m
        self.rests_due_s = deque(
            min(
                max(
                    layout.shift_s * (k + 1) / (layout.breaks + 1)
                    + (number - 0.5 * (layout.hands - 1)) * layout.break_s,
                    0.0,
                ),
                layout.shift_s - layout.break_s,
            )
            for k in range(layout.breaks)
        )
        self.books = HandBooks()
        self.doing = ""
        self.since_s = 0.0
        self.summons = crew.env.event()
        self.env.process(self.work())
        if layout.breaks:
            self.env.process(self.clock())

    def way_m(self, call: Call) -> float:
        lane, slot = call.place
        way_m = self.spacing_m * abs(lane - self.lane)
        return way_m if (slot > 0) == self.end else way_m + self.across_m

    def clock(self) -> Process:
        """Send the hand to rest when he is idle and it is time."""
        for due_s in tuple(self.rests_due_s):
            yield self.env.timeout(max(due_s - self.env.now, 0.0))
            if self in self.crew.idle:
                self.crew.idle.remove(self)
                self.summons.succeed(None)

    def work(self) -> Process:
        env, crew, books, layout = self.env, self.crew, self.books, self.crew.layout
        means_s = {
            "doff": layout.doff_s, "mend": layout.mend_s, "feed": layout.feed_mend_s,
            "load": layout.load_s, "change": layout.change_s, "colour": layout.colour_tie_s,
        }  # fmt: skip
        while True:
            yield Moment(env, _CHOOSE)
            if self.rests_due_s and self.rests_due_s[0] <= env.now + _CLOCK_S:
                self.rests_due_s.popleft()
                crew.rest_begins()
                self.doing, self.since_s = "resting", env.now
                yield env.timeout(layout.break_s)
                crew.rest_ends()
                self.doing = ""
                books.resting_s += env.now - self.since_s
                continue
            call = crew.take(self)
            if call is None:
                crew.idle.append(self)
                self.summons = env.event()
                call = yield self.summons
                if call is None:
                    continue

            way_m = self.way_m(call)
            if way_m:
                self.doing, self.since_s = "walking", env.now
                yield env.timeout(way_m / layout.walk_m_per_s)
                books.walking_s += env.now - self.since_s
                books.walked_m += way_m
            self.lane, self.end = call.lane.number, int(not call.at_winder)

            kind, lane = call.kind, call.lane
            self.doing, self.since_s = "serving", env.now
            call.begun_s = env.now
            call.all_rested_s = crew.rested_s() - call.all_rested_s
            lane.books.answered[kind] += 1
            if kind == "doff":
                crew.doff_waits_s.append(env.now - call.raised_s)
                lane.say("doff start")
            service_s = means_s[kind]
            if layout.service_cv and service_s:
                service_s = crew.draw.lognormal(
                    lane.number, variates.PURPOSE_OF[kind], service_s, layout.service_cv
                )
            yield env.timeout(service_s)
            books.serving_s += env.now - self.since_s
            self.doing = ""
            call.done.succeed()

    def close(self) -> HandBooks:
        """Book what is open at the shift's end."""
        so_far_s = self.env.now - self.since_s
        if self.doing == "walking":
            self.books.walking_s += so_far_s
            self.books.walked_m += so_far_s * self.crew.layout.walk_m_per_s
        elif self.doing == "serving":
            self.books.serving_s += so_far_s
        elif self.doing == "resting":
            self.books.resting_s += so_far_s
        return self.books


class Spoilt:
    """Strand that stood too long in one place on the belt, as stretches of W."""

    def __init__(self, from_s: float, dwell_s: float, longest_s: float) -> None:
        self.from_s, self.dwell_s = from_s, dwell_s
        self.slack_s = longest_s - dwell_s + _CLOCK_S
        self.stops: deque[tuple[float, float]] = deque()
        self.stretches: deque[tuple[float, float]] = deque()

    def stood(self, clock_s: float, stop_s: float) -> tuple[float, float] | None:
        """Lay-down clocks between which this stop, with those before it, was one too many."""
        stops = self.stops
        stops.append((clock_s, stop_s))
        while stops[0][0] < clock_s - self.dwell_s:
            stops.popleft()
        total_s = 0.0
        for at_s, stood_s in reversed(stops):
            total_s += stood_s
            if total_s > self.slack_s:
                return clock_s - self.from_s - self.dwell_s, at_s - self.from_s
        return None

    def wound_in(self, from_m: float, to_m: float) -> bool:
        """Whether a stretch taken by the winder has any of it."""
        stretches = self.stretches
        while stretches and stretches[0][1] <= from_m + _HERE_M:
            stretches.popleft()
        return bool(stretches) and stretches[0][0] < to_m - _HERE_M


class Lane:
    """One lane: creel and feed, belt and buffer, winder."""

    def __init__(self, crew: Crew, number: int, log: list[tuple[float, int, str]] | None) -> None:
        env, layout, draw = crew.env, crew.layout, crew.draw
        self.env, self.crew, self.layout, self.draw = env, crew, layout, draw
        self.number = number
        self.log = log
        self.books = books = LaneBooks()

        # the strand: see `settle`
        self.feed_m_per_s: float = layout.feed_m_per_s
        self.wind_m_per_s: float = layout.wind_m_per_s
        self.ball_m: float = layout.ball_m
        self.settled_s = 0.0
        self.clock_s = 0.0
        self.fed_m = 0.0
        self.waits_m = layout.start_buffer_frac * layout.buffer_m
        self.taken_m = 0.0
        self.belt_runs = self.whole = self.arriving = True
        self.turning = self.dry = False
        books.initial_m = self.initial_m = layout.passage_s * layout.feed_m_per_s + self.waits_m
        # (belt clock, strand or gap from there on, metres fed there); the first has arrived
        self.changes: deque[tuple[float, bool, float]] = deque(
            [(-layout.passage_s, True, -layout.passage_s * layout.feed_m_per_s)]
        )
        self.tight = [
            Spoilt(layout.steam_from_s, layout.steam_s, layout.steam_longest_s),
            Spoilt(layout.dry_from_s, layout.dry_s, layout.dry_longest_s),
        ]
        self.tight = [place for place in self.tight if math.isfinite(place.slack_s)]

        books.mandrel_start_m = draw.uniform(number, variates.START) * layout.ball_m
        self.cone_end_m = draw.uniform(number, variates.START) * self.next_cone_m()
        self.feed_break_m = self.next_break_m(variates.FEED_BREAK, layout.feed_breaks_per_km)
        self.wind_break_m = self.next_break_m(variates.WIND_BREAK, layout.wind_breaks_per_km)
        self.full_reserve = self.reserve = layout.cones_per_lane - 1

        self.feed_cause = ""
        self.feed_since_s = 0.0
        self.colours_due = 0
        self.loaded: Event | None = None
        self.cone_missing: Event | None = None
        self.belt_stopped_s = 0.0
        self.belt_starts = env.event()

        self.ball_end_m: float = layout.ball_m - books.mandrel_start_m
        self.unbooked_m = books.mandrel_start_m
        self.ties: deque[float] = deque()
        self.marks: deque[float] = deque()
        self.joins = 0
        self.second_quality = False
        self.winder_call: Call | None = None
        self.winder_since_s = 0.0
        self.turned_from_m = 0.0
        self.next_m = math.inf
        self.reached = env.event()

        self.feed_process = env.process(self.feed())
        env.process(self.creel())
        self.strand_process = env.process(self.strand())
        env.process(self.winder())
        if layout.colour_at_s:
            env.process(self.colours())

    def say(self, what: str) -> None:
        if self.log is not None:
            self.log.append((self.env.now, self.number, what))

    def next_cone_m(self) -> float:
        length_m: float = self.layout.cone_m
        if self.layout.cone_cv:
            length_m = self.draw.cone(self.number, length_m, self.layout.cone_cv)
        return length_m

    def next_break_m(self, purpose: int, per_km: float) -> float:
        next_m = math.inf
        if per_km:
            next_m = self.draw.exponential(self.number, purpose, 1000.0 / per_km)
        return next_m

    # The strand

    def settle(self) -> None:
        """Bring the levels to the present moment."""
        now_s = self.env.now
        passed_s = now_s - self.settled_s
        if passed_s:
            self.settled_s = now_s
            if self.belt_runs:
                self.clock_s += passed_s
                fed_m = self.feed_m_per_s * passed_s
                if self.whole:
                    self.fed_m += fed_m
                if self.arriving:
                    self.waits_m += fed_m
            if self.turning:
                taken_m = self.wind_m_per_s * passed_s
                self.taken_m += taken_m
                self.waits_m -= taken_m

    def lay(self, whole: bool) -> None:
        """From here on the belt gets strand, or a gap."""
        self.whole = whole
        changes = self.changes
        if len(changes) > 1 and changes[-1][0] == self.clock_s:
            changes.pop()
            return
        changes.append((self.clock_s, whole, self.fed_m))
        if len(changes) == 2:
            self.strand_process.interrupt()

    def fed_at_m(self, clock_s: float) -> float:
        """Metres fed when the belt clock showed so much, of what is still on the belt."""
        for at_s, whole, fed_m in reversed(self.changes):
            if at_s <= clock_s:
                return fed_m + (clock_s - at_s) * self.feed_m_per_s if whole else fed_m
        return self.changes[0][2]

    # The strand's end, and the belt

    def strand(self) -> Process:
        """Wait for the next level: of the buffer, of the belt, of the ball at the winder."""
        env, layout, changes = self.env, self.layout, self.changes
        feed, wind, passage_s = layout.feed_m_per_s, layout.wind_m_per_s, layout.passage_s
        full_m, go_m = layout.buffer_m, layout.go_m
        loose_m = full_m - layout.loose_m
        while True:
            self.settle()
            while len(changes) > 1 and changes[1][0] + passage_s <= self.clock_s + _CLOCK_S:
                changes.popleft()
                self.arriving = changes[0][1]
            waits_m = self.waits_m
            if self.belt_runs:
                if waits_m >= full_m - _LEVEL_M:
                    self.stop_belt()
            elif waits_m <= loose_m + _LEVEL_M:
                self.start_belt()
            rate = feed if self.belt_runs and self.arriving else 0.0

            if self.dry and waits_m >= go_m - _LEVEL_M:
                self.winder_goes_on()
            if self.turning:
                if self.next_m - self.taken_m <= _HERE_M:
                    self.winder_stops()
                    self.reached.succeed()
                elif waits_m <= _LEVEL_M and rate < wind:
                    self.waits_m = waits_m = 0.0
                    self.winder_stops()
                    self.dry = True
                    self.say("winder dry")

            if self.turning:
                rate -= wind
                next_s = (self.next_m - self.taken_m) / wind
            else:
                next_s = math.inf
            if rate:
                if rate > 0.0:
                    level_m = go_m if self.dry else full_m
                else:
                    level_m = 0.0 if self.belt_runs else loose_m
                level_s = (level_m - waits_m) / rate
                next_s = min(next_s, level_s)
            if len(changes) > 1 and self.belt_runs:
                next_s = min(next_s, changes[1][0] + passage_s - self.clock_s)
            try:
                yield env.timeout(next_s) if next_s < math.inf else env.event()
            except simpy.Interrupt:  # a rate, or a level to come, is another now
                continue

    def stop_belt(self) -> None:
        self.book_feed()
        self.belt_runs = False
        self.books.belt_stops += 1
        self.belt_stopped_s = self.env.now
        self.belt_starts = self.env.event()
        if self.whole:
            self.feed_process.interrupt()
        self.say("belt stop")

    def start_belt(self) -> None:
        self.book_feed()
        self.belt_runs = True
        self.belt_starts.succeed()
        stood_s = self.env.now - self.belt_stopped_s
        for place in self.tight:
            between = place.stood(self.clock_s, stood_s)
            if between is not None:
                from_m, to_m = (self.fed_at_m(at_s) + self.initial_m for at_s in between)
                if to_m > from_m:
                    place.stretches.append((from_m, to_m))
        self.say("belt start")

    # The creel and the feed

    def book_feed(self) -> None:
        """Book the time up to now: the feed's, or the belt's, state is about to change."""
        now_s = self.env.now
        cause = self.feed_cause if self.belt_runs else "full"
        if cause:
            self.books.feed_stop_s[cause] += now_s - self.feed_since_s
        self.feed_since_s = now_s

    def feed_stops(self, cause: str) -> None:
        self.book_feed()
        self.feed_cause = cause
        if self.whole:
            self.lay(False)

    def feed_goes(self) -> None:
        self.book_feed()
        self.feed_cause = ""
        self.lay(True)
        self.say("feed goes")

    def tie(self) -> None:
        self.books.ties += 1
        self.ties.append(self.fed_m + self.initial_m)

    def feed(self) -> Process:
        """Lay strand until a cone ends, the strand breaks, or the colour changes."""
        env, books, layout = self.env, self.books, self.layout
        while True:
            self.settle()
            if self.colours_due:
                yield from self.next_colour()
                continue
            try:
                if not self.belt_runs:
                    yield self.belt_starts
                    continue
                next_m = min(self.cone_end_m, self.feed_break_m)
                yield env.timeout(max(next_m - self.fed_m, 0.0) / self.feed_m_per_s)
            except simpy.Interrupt:
                continue
            self.settle()
            if self.cone_end_m <= self.feed_break_m:
                yield from self.next_cone()
            else:
                books.feed_breaks += 1
                self.say("feed break")
                self.feed_stops("broken")
                yield self.crew.call("feed", self).done
                self.settle()
                self.tie()
                self.feed_break_m = self.fed_m + self.next_break_m(
                    variates.FEED_BREAK, layout.feed_breaks_per_km
                )
                self.feed_goes()

    def next_cone(self) -> Process:
        """The cone is empty: go over to the next, or wait until one is tied to it."""
        self.say("cone end")
        if self.cone_missing is not None:
            self.cone_missing.succeed()
            self.cone_missing = None
        starved = self.reserve == 0
        if starved:
            self.say("feed starved")
            self.feed_stops("starved")
            self.loaded = self.env.event()
            try:
                yield self.loaded
            except simpy.Interrupt:
                self.loaded = None
                return
            self.settle()
        else:
            self.reserve -= 1
        self.books.cones += 1
        self.cone_end_m = self.fed_m + self.next_cone_m()
        self.tie()
        if starved:
            self.feed_goes()

    def creel(self) -> Process:
        """Have cones loaded while any is missing."""
        while True:
            self.cone_missing = self.env.event()
            yield self.cone_missing
            while True:
                yield self.crew.call("load", self).done
                if self.loaded is not None:
                    self.loaded.succeed()
                    self.loaded = None
                elif self.reserve < self.full_reserve:
                    self.reserve += 1
                if self.reserve >= self.full_reserve:
                    break

    def colours(self) -> Process:
        """Colours come due by the clock; a whole or starved feed stops for them at once."""
        for due_s in self.layout.colour_at_s:
            yield self.env.timeout(max(due_s - self.env.now, 0.0))
            self.colours_due += 1
            if self.whole or self.feed_cause == "starved":
                self.feed_process.interrupt()

    def next_colour(self) -> Process:
        self.colours_due -= 1
        self.say("feed colour")
        self.feed_stops("changing")
        yield self.crew.call("colour", self).done
        self.settle()
        self.books.cones += 1
        self.books.colour_marks += 1
        self.cone_end_m = self.fed_m + self.next_cone_m()
        self.reserve = 0
        if self.full_reserve and self.cone_missing is not None:
            self.cone_missing.succeed()
            self.cone_missing = None
        self.tie()
        self.marks.append(self.fed_m + self.initial_m)
        self.say("colour mark")
        self.feed_goes()
        if self.marks[-1] < self.next_m:
            self.next_m = self.marks[-1]
            self.strand_process.interrupt()

    # The winder

    def winder(self) -> Process:
        """Wind until the ball is full, the strand breaks, or the next colour is here."""
        while True:
            mark_m = self.marks[0] if self.marks else math.inf
            self.next_m = min(self.ball_end_m, mark_m, self.wind_break_m)
            self.strand_process.interrupt()
            if self.next_m - self.taken_m > _HERE_M:
                self.winder_turns()
                self.reached = self.env.event()
                yield self.reached
                mark_m = self.marks[0] if self.marks else math.inf
            self.count_joins()
            if self.ball_end_m - self.taken_m <= _HERE_M:
                self.ball_is_full()
                yield from self.served("doff")
                self.say("doff end")
                self.next_ball()
            elif mark_m - self.taken_m <= _HERE_M:
                self.say("change")
                yield from self.served("change")
                self.marks.popleft()
                self.count_joins()
                self.pull_part_ball()
                self.next_ball()
            else:
                self.books.winder_breaks += 1
                self.say("wind break")
                yield from self.served("mend")
                self.mend()

    def winder_turns(self) -> None:
        self.turning = True
        self.turned_from_m = self.taken_m
        self.winder_since_s = self.env.now

    def winder_stops(self) -> None:
        self.turning = False
        self.books.winder_s["winding"] += self.env.now - self.winder_since_s
        self.winder_since_s = self.env.now
        for place in self.tight:
            if place.stretches and place.wound_in(self.turned_from_m, self.taken_m):
                self.second_quality = True

    def winder_goes_on(self) -> None:
        self.dry = False
        self.books.winder_s["starved"] += self.env.now - self.winder_since_s
        self.say("winder go")
        self.winder_turns()

    def served(self, kind: str) -> Process:
        """Call a hand, wait for him and for what he does."""
        self.winder_call = self.crew.call(kind, self)
        yield self.winder_call.done
        self.settle()
        self.book_call()
        self.winder_call = None

    def book_call(self) -> None:
        """Book a wait and a service up to now."""
        call, seconds, now_s = self.winder_call, self.books.winder_s, self.env.now
        assert call is not None
        if call.begun_s >= 0.0:
            begun_s, rested_s = call.begun_s, call.all_rested_s
            seconds[_WINDER_CAUSE[call.kind]] += now_s - begun_s
        else:
            begun_s, rested_s = now_s, self.crew.rested_s() - call.all_rested_s
        seconds["resting"] += rested_s
        seconds[_WAIT_CAUSE[call.kind]] += begun_s - call.raised_s - rested_s

    def count_joins(self) -> None:
        """Count the ties that passed the winder, up to a colour whose part ball is to come."""
        ties, mark_m = self.ties, self.marks[0] if self.marks else math.inf
        while ties and ties[0] <= self.taken_m + _HERE_M and ties[0] < mark_m:
            ties.popleft()
            self.joins += 1

    def ball_is_full(self) -> None:
        self.say("ball full")
        books = self.books
        books.balls += 1
        books.joins_landed += self.joins
        books.balls_by_joins[min(self.joins, 3)] += 1
        books.second_quality_balls += self.second_quality

    def next_ball(self) -> None:
        self.ball_end_m = self.taken_m + self.layout.ball_m
        self.unbooked_m = 0.0
        self.joins = 0
        self.second_quality = False

    def on_mandrel_m(self) -> float:
        left_m = self.ball_end_m - self.taken_m
        return self.ball_m - left_m

    def pull_part_ball(self) -> None:
        self.books.pulled_m += self.on_mandrel_m() - self.unbooked_m

    def mend(self) -> None:
        layout = self.layout
        waste_m = min(layout.mend_waste_m, self.waits_m)
        self.waits_m -= waste_m
        self.taken_m += waste_m
        self.ball_end_m += waste_m
        self.books.mend_waste_m += waste_m
        self.joins += 1
        self.count_joins()
        self.wind_break_m = self.taken_m + self.next_break_m(
            variates.WIND_BREAK, layout.wind_breaks_per_km
        )

    def close(self) -> LaneBooks:
        """Book what is open at the shift's end."""
        books = self.books
        self.settle()
        self.book_feed()
        full = False
        if self.winder_call is not None:
            self.book_call()
            full = self.winder_call.kind == "doff"
        else:
            books.winder_s["starved" if self.dry else "winding"] += (
                self.env.now - self.winder_since_s
            )
        books.fed_m = self.fed_m
        books.buffer_m = self.waits_m
        books.on_belt_m = self.fed_m - self.fed_at_m(self.clock_s - self.layout.passage_s)
        books.waste_m = books.mend_waste_m + books.pulled_m
        books.wound_m = self.taken_m - books.waste_m
        books.on_mandrel_m = 0.0 if full else self.on_mandrel_m()
        return books


def simulate(
    layout: Any, seed: int, replication: int = 0, *, source: Any = "shared", log: bool = False
) -> SimpyShift:
    """Run one shift of a line.

    The variates are the model's own ("shared"), those of Python's generator ("python"), or an
    object that draws as they do.
    """
    draw = source
    if source == "shared":
        draw = variates.SharedVariates(seed, replication, layout.lanes)
    elif source == "python":
        draw = variates.PythonVariates(seed, replication)
    env = simpy.Environment()
    crew = Crew(env, layout, draw)
    said: list[tuple[float, int, str]] = []
    lanes = [Lane(crew, number, said if log else None) for number in range(layout.lanes)]
    crew.hands = [Hand(crew, number) for number in range(layout.hands)]
    env.run(until=layout.shift_s)
    return SimpyShift(
        lanes=[lane.close() for lane in lanes],
        hands=[hand.close() for hand in crew.hands],
        doff_waits_s=crew.doff_waits_s,
        log=said,
        events=_events_done(env),
    )


def _events_done(env: simpy.Environment) -> int:
    """How many events simpy has processed: those it numbered less those it still holds.

    Read afterwards, so that counting costs the run nothing.
    """
    return next(env._eid) - len(env._queue)


def shifts(layout: Any, seed: int, replications: int, **how: Any) -> Iterator[SimpyShift]:
    """Shift after shift, each a replication."""
    for replication in range(replications):
        yield simulate(layout, seed, replication, **how)
