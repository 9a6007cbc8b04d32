"""A lane metre by metre, apart from the tracker: every metre of strand is an entry in a queue.

Nothing here is worked out: the strand is laid, carried, taken and wound piece by piece, and what a
mill would have been told of it is written down. The truth, in which ball and at which turn each tie
was wound in, is written down beside it.
"""

from __future__ import annotations

import random
from collections import deque
from dataclasses import dataclass, field

import numpy as np

from clew.line.tracker.events import Event
from clew.line.tracker.terms import TrackTerms


@dataclass
class Truth:
    """What a lane is really like, unknown to the tracker."""

    content_m: float
    feed_slip: float = 0.0
    feed_walk_m: float = 0.0
    shrink_error: float = 0.0
    turn_error: float = 0.0
    strand_walk_m: float = 0.0
    ball_cv: float = 0.0
    passage_off_s: float = 0.0
    full_off_m: float = 0.0


@dataclass
class Habits:
    """How the lane is run."""

    doff_s: float = 8.0
    cone_m: float = 600.0
    cone_cv: float = 0.2
    feed_break_m: float = 900.0
    mend_m: float = 700.0
    waste_m: float = 2.0
    loose_m: float = 20.0
    go_m: float = 10.0
    read_s: float = 7.0
    colour_at_s: tuple[float, ...] = ()
    sensors: bool = True
    counter: bool = False
    first_turns: float = 20.0
    first_ball: int = 1


@dataclass
class Landed:
    ball: int
    turn: float
    at_s: float
    waste: bool = False


@dataclass
class Story:
    """What was told, and what was true."""

    events: list[Event] = field(default_factory=list)
    landed: dict[str, Landed] = field(default_factory=dict)
    belt_stops: int = 0
    dry_stops: int = 0
    feed_breaks: int = 0


class MetreLine:
    """One lane in steps in which about a metre is fed."""

    def __init__(
        self, lane: int, terms: TrackTerms, truth: Truth, habits: Habits, rng: random.Random
    ) -> None:
        self.lane, self.terms, self.truth, self.habits, self.rng = lane, terms, truth, habits, rng
        self.story = Story()
        self.step_s = 1.0 / terms.feed_m_per_s
        self.now_s = self.belt_s = self.counter_m = self.fed_m = 0.0
        self.belt_runs = self.feed_whole = True
        self.feed_back_s = 0.0
        self.next_cone_m = self.cone()
        self.next_break_m = rng.expovariate(1.0 / habits.feed_break_m)
        self.colours = deque(habits.colour_at_s)
        # strand as [raw metres, ties at its front, belt time at which it is at the belt's end,
        # how much longer than the mean it comes out of steam]
        self.passage_s = terms.passage_s + truth.passage_off_s
        self.full_buffer_m = terms.buffer_m + truth.full_off_m
        on_belt = min(terms.passage_s * terms.feed_m_per_s, 0.9 * truth.content_m)
        self.buffer: deque[list] = deque()
        self.buffer_m = 0.0
        for length in pieces(truth.content_m - on_belt):
            self.buffer.append([length, [], 0.0, self.a_piece(length)])
            self.buffer_m += length
        self.belt: deque[list] = deque()
        done = 0.0
        for length in pieces(on_belt):
            done += length
            self.belt.append([length, [], terms.passage_s * done / on_belt, self.a_piece(length)])
        self.pending: list[str] = []
        self.ties = 0
        # the winder
        self.ball = habits.first_ball
        self.ball_factor = self.a_ball()
        self.in_ball_m = terms.laid_m(habits.first_turns)
        self.full_m = terms.full_m(lane)
        self.state, self.back_s = "winds", 0.0
        self.next_mend_m = rng.expovariate(1.0 / habits.mend_m)
        self.next_read_s = 0.0
        self.was_full = False

    def cone(self) -> float:
        return self.habits.cone_m * max(self.rng.gauss(1.0, self.habits.cone_cv), 0.2)

    def a_piece(self, raw_m: float) -> float:
        spread = self.truth.strand_walk_m / (1000.0 * raw_m) ** 0.5
        return max(1.0 + self.rng.gauss(0.0, spread), 0.01) if spread else 1.0

    def a_ball(self) -> float:
        return 1.0 + self.rng.gauss(0.0, self.truth.ball_cv)

    def tell(self, kind, value=None, name="", ball=None, at_s=None) -> None:
        self.story.events.append(
            Event(
                self.now_s if at_s is None else at_s, kind,
                self.lane, value, ball, name,
                key=f"{self.lane}-{len(self.story.events)}",
            )
        )  # fmt: skip

    def tie(self, kind: str) -> None:
        self.ties += 1
        name = f"{self.lane}.{self.ties}"
        self.pending.append(name)
        self.tell(kind, self.counter_m if self.habits.counter else None, name)

    def run(self, until_s: float) -> Story:
        self.read()
        while self.now_s < until_s:
            self.creel()
            self.lay()
            self.wind()
            self.now_s += self.step_s
            self.switch_belt()
            if self.now_s >= self.next_read_s:
                self.read()
        return self.story

    def read(self) -> None:
        self.next_read_s = self.now_s + self.habits.read_s
        self.tell("turns", self.turns())
        if self.habits.counter:
            self.tell("feed", self.counter_m)

    def turns(self) -> float:
        return self.terms.turns_of(self.in_ball_m)

    def creel(self) -> None:
        """What hands and cones do to the feed before this step."""
        if not self.feed_whole and self.now_s >= self.feed_back_s:
            self.feed_whole = True
            self.tell("feed on")
            self.tie(self.mended_by)
        if not (self.feed_whole and self.belt_runs):
            return
        if self.counter_m >= self.next_cone_m:
            self.next_cone_m += self.cone()
            self.tie("tie")
        if self.colours and self.now_s >= self.colours[0]:
            self.colours.popleft()
            self.stop_feed("colour")
        elif self.counter_m >= self.next_break_m:
            self.next_break_m += self.rng.expovariate(1.0 / self.habits.feed_break_m)
            self.story.feed_breaks += 1
            self.stop_feed("retie")

    def stop_feed(self, mended_by: str) -> None:
        self.feed_whole, self.mended_by = False, mended_by
        self.feed_back_s = self.now_s + self.rng.uniform(5.0, 60.0)
        self.tell("feed off")

    def lay(self) -> None:
        if not self.belt_runs:
            return
        self.belt_s += self.step_s
        if self.feed_whole:
            shown = self.terms.feed_m_per_s * self.step_s
            walk = self.truth.feed_walk_m * (shown / 1000.0) ** 0.5
            real = max(shown * (1.0 + self.truth.feed_slip) + self.rng.gauss(0.0, walk), 0.01)
            self.counter_m += shown
            self.belt.append([real, self.pending, self.belt_s + self.passage_s, self.a_piece(real)])
            self.pending = []
        while self.belt and self.belt[0][2] <= self.belt_s:
            piece = self.belt.popleft()
            self.buffer.append(piece)
            self.buffer_m += piece[0]

    def switch_belt(self) -> None:
        if self.belt_runs and self.buffer_m >= self.full_buffer_m:
            self.belt_runs = False
            self.story.belt_stops += 1
            self.tell("belt off")
            if self.habits.sensors:
                self.tell("full", self.turns() if self.habits.counter else None)
        elif not self.belt_runs and self.buffer_m <= self.full_buffer_m - self.habits.loose_m:
            self.belt_runs = True
            self.tell("belt on")

    def wind(self) -> None:
        if self.state == "doff" and self.now_s >= self.back_s:
            self.state = "winds"
            self.tell("doff")
            self.ball += 1
            self.in_ball_m, self.ball_factor = 0.0, self.a_ball()
        if self.state == "dry" and self.buffer_m >= self.habits.go_m:
            self.state = "winds"
        if self.state != "winds":
            return
        left = self.terms.wind_m_per_s * self.step_s
        while left > 0.0:
            if not self.buffer:
                if not self.belt or self.belt[0][2] > self.belt_s:
                    self.state = "dry"
                    self.story.dry_stops += 1
                    if self.habits.sensors:
                        at = self.now_s + self.step_s
                        self.tell("dry", self.turns() if self.habits.counter else None, at_s=at)
                return
            raw, ties, came_s, longer = self.buffer[0]
            for name in ties:
                at = self.now_s + self.step_s - left / self.terms.wind_m_per_s
                self.story.landed[name] = Landed(self.ball, self.turns(), at)
            wound = raw * longer / self.raw_per_wound()
            take = min(wound, left, self.full_m - self.in_ball_m)
            share = take / wound
            self.in_ball_m += take
            left -= take
            if share >= 1.0 - 1e-12:
                self.buffer.popleft()
                self.buffer_m -= raw
            else:
                self.buffer[0] = [raw * (1.0 - share), [], came_s, longer]
                self.buffer_m -= raw * share
            self.next_mend_m -= take
            mended = self.next_mend_m <= 0.0
            if mended:
                self.mend()
            if self.full_m - self.in_ball_m < 1e-9:
                self.state = "doff"
                self.back_s = self.now_s + self.habits.doff_s * self.rng.uniform(0.7, 2.5)
            if mended or self.state == "doff":
                return

    def raw_per_wound(self) -> float:
        """Raw metres in a metre as the counter has it: shrink and turns of the run, this ball."""
        truth = self.truth
        return (
            self.terms.raw_per_laid
            * (1.0 + truth.shrink_error + truth.turn_error)
            * self.ball_factor
        )

    def mend(self) -> None:
        """The strand parted at the winder: a little is pulled off, and lost."""
        self.next_mend_m = self.rng.expovariate(1.0 / self.habits.mend_m)
        lost = 0.0
        at_s = self.now_s + 0.5 * self.step_s
        self.tell("turns", self.turns(), at_s=at_s)
        while self.buffer and lost < self.habits.waste_m:
            raw, ties, _, longer = self.buffer.popleft()
            self.buffer_m -= raw
            for name in ties:
                self.story.landed[name] = Landed(self.ball, self.turns(), self.now_s, True)
            lost += raw * longer / self.raw_per_wound()
        self.tell("waste", lost, at_s=at_s)


def pieces(length_m: float) -> list[float]:
    whole = int(length_m)
    return [1.0] * whole + ([length_m - whole] if length_m > whole else [])


def a_table(rng: random.Random, full_turns: int, full_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Turns and metres of a ball whose turns grow as it does."""
    grows = rng.uniform(1.0, 2.5)
    turns = np.arange(full_turns + 1.0)
    laid = turns + (grows - 1.0) * turns**2 / (2.0 * full_turns)
    return turns, laid * full_m / laid[-1]


def some_terms(rng: random.Random, lanes: int = 1) -> TrackTerms:
    """A line nobody has seen, with winders faster than its feed, or not."""
    feed = rng.uniform(1.0, 6.0)
    shrink, strain = rng.uniform(0.0, 0.3), rng.uniform(0.0, 0.03)
    taken = feed * (1.0 - shrink) * (1.0 + strain)
    full_turns = rng.randint(40, 400)
    full_m = rng.uniform(30.0, 150.0)
    turns, laid = a_table(rng, full_turns, full_m)
    passage, buffer = rng.uniform(20.0, 150.0), rng.uniform(60.0, 200.0)
    return TrackTerms(
        lanes=lanes, feed_m_per_s=feed, wind_m_per_s=taken * rng.uniform(0.95, 2.0),
        shrink_frac=shrink, strain_frac=strain, passage_s=passage, buffer_m=buffer,
        knot_turns=turns, knot_laid_m=laid,
        full_turns=dict.fromkeys(range(1, lanes + 1), full_turns),
        content_m=passage * feed + 0.5 * buffer, cone_m=600.0,
    )  # fmt: skip
