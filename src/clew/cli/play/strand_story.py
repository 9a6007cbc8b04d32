"""One lane of a drawn shift, followed along its strand: cones, ties, counters, balls."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from clew.cli.play.told import Cone, Told, Wound
from clew.line.simulate.timeline import LaneChange, Timeline

SPINNERS = ("Hollin Spinning", "Tarn & Wick")
"""Invented."""
CONE_CV = 0.013
LOAD, COLOUR = "load", "colour"
_STANDS = ("starved", "broken", "changing", "served: feed", "served: colour")


@dataclass(frozen=True, slots=True)
class Services:
    """Who ended which service where: hands by what they did, the lane and the moment [ms]."""

    hands: dict[tuple[str, int, int], str]

    def hand(self, what: str, lane: int, at_s: float) -> str:
        """Give the hand who ended a service at a moment [s]; empty where none did."""
        return self.hands.get((what, lane, round(at_s * 1000.0)), "")


def services_of(shift: Timeline, names: tuple[str, ...]) -> Services:
    """Find who ended which service, hands named in turn."""
    found: dict[tuple[str, int, int], str] = {}
    last: dict[int, Any] = {}
    for change in shift.hands:
        before = last.get(change.hand)
        if before is not None and before.state.startswith("serves: "):
            what = before.state.removeprefix("serves: ")
            key = (what, before.lane, round(change.at_s * 1000.0))
            found[key] = names[change.hand % len(names)]
        last[change.hand] = change
    return Services(found)


@dataclass(slots=True)
class LaneStory:
    """What one lane tells.

    Attributes
    ----------
    lane : int
        Which, from 1.
    told : list of Told
        Machines' and hands' events of the strand, but for what is said of whole balls.
    cones : list of Cone
        In the order in which they ran.
    off : list of (Cone, float, str)
        Cones taken off at a change of colour, when [s], by whom.
    balls : list of Wound
        In their order.
    """

    lane: int
    told: list[Told] = field(default_factory=list)
    cones: list[Cone] = field(default_factory=list)
    off: list[tuple[Cone, float, str]] = field(default_factory=list)
    balls: list[Wound] = field(default_factory=list)


class LaneWalk:
    """Follows one lane from change to change.

    Parameters
    ----------
    shift : Timeline
        The drawn shift.
    lane : int
        Which lane, from 0.
    lots : (str, str)
        Dye lot before and after the change of colour.
    services : Services
        Who did what.
    rng : random.Random
        For cones and readings.
    every_s : float
        Between two readings of the winder's counter [s].
    upto_s : float, optional
        When the run ends before the drawn shift does: part balls and part cones come off then [s].
    ball, made : int
        Number of the first ball; cones of this dye lot that the lane had before.
    """

    def __init__(
        self,
        shift: Timeline,
        lane: int,
        lots: tuple[str, str],
        services: Services,
        rng: random.Random,
        every_s: float,
        *,
        upto_s: float | None = None,
        ball: int = 1,
        made: int = 0,
    ) -> None:
        self.layout, self.lane, self.rng, self.services = shift.layout, lane, rng, services
        self.changes = [one for one in shift.lanes if one.lane == lane]
        self.every_s = every_s
        self.lots, self.lot = lots, lots[0]
        self.story = LaneStory(lane + 1)
        self.at_s = self.fed_m = self.on_ball_m = self.wound_m = 0.0
        self.winder, self.feed = "winding", "feeding"
        self.runs, self.moving, self.dry = True, True, False
        self.ball, self.ball_from_s, self.full_s = ball, 0.0, 0.0
        self.creel: list[Cone] = []
        self.made, self.upto_s = made, upto_s
        self.ball_start_m = 0.0

    def walk(self) -> LaneStory:
        """Follow the lane through the shift."""
        layout = self.layout
        first = self.changes[0]
        self.on_ball_m = first.on_ball_m or 0.0
        held_m = layout.passage_s * layout.feed_m_per_s + (first.buffer_m or 0.0)
        # What lies between creel and winder was fed before the counter stood at nought.
        self.ball_start_m = -held_m - self.on_ball_m
        self.wound_m = -held_m
        for _ in range(layout.cones_per_lane):
            self.load(-300.0 + 35.0 * self.lane + 8.0 * len(self.creel), "")
        self.tell(0.0, "feed on", "feed")
        self.tell(0.0, "content", "feed", metres=round(held_m, 1))
        readings = iter(self.readings())
        due_s, what = next(readings)
        ends_s = layout.shift_s if self.upto_s is None else self.upto_s
        for change in self.changes:
            if self.upto_s is not None and change.at_s > ends_s:
                break
            while due_s < change.at_s:
                self.read(due_s, what)
                due_s, what = next(readings)
            self.change(change)
        while due_s <= ends_s:
            self.read(due_s, what)
            due_s, what = next(readings)
        self.pass_time(ends_s)
        if self.upto_s is not None:
            self.clear(ends_s)
            return self.story
        if self.creel:
            left_m = max(self.rng.gauss(0.4, 0.2), 0.05) * layout.cone_m
            self.creel[0].upto_m = self.fed_m + left_m
        for cone in self.creel[1:]:
            self.new_length(cone)
        self.story.cones += self.creel
        return self.story

    def readings(self) -> Iterator[tuple[float, str]]:
        """Say when the winder's and the feed's counters are read, without an end."""
        phase_s = self.rng.uniform(0.0, self.every_s)
        count = 0
        while True:
            yield phase_s + count * self.every_s, "turns"
            if count % 4 == 0:
                yield phase_s + count * self.every_s, "feed"
            count += 1

    def tell(self, at_s: float, kind: str, source: str, hand: str = "", **says: Any) -> None:
        """Tell one thing."""
        tablet = "creel-tablet" if source == "feed" else "row-tablet"
        name = tablet if hand else f"{source}-{self.story.lane}"
        self.story.told.append(Told(at_s, kind, name, self.story.lane, hand, says))

    def read(self, at_s: float, what: str) -> None:
        """Read a counter [s]."""
        self.pass_time(at_s)
        if what == "turns":
            self.tell(at_s, "turns", "winder", ball=self.ball, ball_frac=self.on_ball_frac())
        else:
            self.tell(at_s, "feed", "feed", metres=round(self.fed_m, 1))

    def on_ball_frac(self) -> float:
        """How much of a ball is on the mandrel [1]; what the counter makes of it comes later."""
        return min(max(self.on_ball_m / self.layout.ball_m, 0.0), 1.0)

    def pass_time(self, at_s: float) -> None:
        """Let the strand run until a moment [s]."""
        past_s = at_s - self.at_s
        if self.moving:
            self.fed_m += self.layout.feed_m_per_s * past_s
        if self.winder == "winding":
            more_m = self.layout.wind_m_per_s * past_s
            room_m = max(self.layout.ball_m - self.on_ball_m, 0.0)
            self.on_ball_m += min(more_m, room_m)
            self.wound_m += min(more_m, room_m)
        self.at_s = at_s

    def change(self, change: LaneChange) -> None:
        """Take in one change."""
        at_s, state = change.at_s, change.state
        if at_s == 0.0 and self.at_s == 0.0 and change.part != "winder":
            self.runs = self.runs and state != "stopped"
            return
        self.pass_time(at_s)
        if change.part == "winder":
            self.winder_change(at_s, state)
        elif change.part == "belt" and state in ("stopped", "running"):
            self.runs = state == "running"
            if not self.runs:
                self.tell(at_s, "full", "winder", ball=self.ball, ball_frac=self.on_ball_frac())
        elif change.part == "feed":
            self.feed_change(at_s, state)
        moving = self.runs and self.feed not in _STANDS and not self.dry
        if moving != self.moving:
            self.tell(at_s, "feed on" if moving else "feed off", "feed")
            self.moving = moving

    def winder_change(self, at_s: float, state: str) -> None:
        """Take in what a winder does."""
        was, self.winder = self.winder, state
        if state == "waits for doff":
            self.full_s = at_s
            self.on_ball_m = self.layout.ball_m
        elif state == "starved":
            self.tell(at_s, "dry", "winder", ball=self.ball, ball_frac=self.on_ball_frac())
        if was == "served: doff":
            self.take_off(at_s, whole=True, hand=self.services.hand("doff", self.lane, at_s))
        elif was == "served: change":
            self.take_off(at_s, whole=False, hand=self.services.hand("change", self.lane, at_s))
        elif was == "served: mend":
            hand = self.services.hand("mend", self.lane, at_s)
            self.tell(
                at_s, "retie", "winder", hand, parted_at="winder", ball=self.ball,
                ball_frac=self.on_ball_frac(),
            )  # fmt: skip

    def take_off(self, at_s: float, *, whole: bool, hand: str) -> None:
        """Take a ball off [s]."""
        if whole:
            frac = 1.0
        else:
            frac, self.full_s = self.on_ball_frac(), at_s
        self.tell(at_s, "doff", "winder", ball=self.ball, ball_frac=frac)
        self.story.balls.append(
            Wound(
                self.story.lane, self.ball, self.ball_from_s, self.full_s, at_s,
                self.ball_start_m, self.wound_m, whole, hand,
            )
        )  # fmt: skip
        self.ball += 1
        self.on_ball_m, self.ball_from_s, self.ball_start_m = 0.0, at_s, self.wound_m

    def feed_change(self, at_s: float, state: str) -> None:
        """Take in what happens at the creel."""
        was, self.feed = self.feed, state
        loader = self.services.hand(LOAD, self.lane, at_s)
        dyer = self.services.hand(COLOUR, self.lane, at_s)
        if dyer:
            self.next_colour(at_s, dyer)
        elif loader:
            self.load(at_s, loader)
            if self.dry:
                self.tie(at_s, loader)
                self.dry = False
        elif was == "served: feed":
            hand = self.services.hand("feed", self.lane, at_s)
            self.tell(
                at_s, "retie", "feed", hand, parted_at="feed", metres=round(self.fed_m, 1)
            )  # fmt: skip
        elif state == "feeding":
            self.tie(at_s, "")
        elif state == "starved":
            self.dry = True

    def load(self, at_s: float, hand: str) -> None:
        """Put a cone up [s]."""
        places = {cone.place for cone in self.creel}
        place = next(one for one in range(1, 100) if one not in places)
        self.made += 1
        self.creel.append(
            Cone(
                f"{self.lot}-{self.lane + 1}{self.made:02d}", self.lot,
                SPINNERS[self.rng.random() < 0.3], self.lane + 1, place, at_s,
                sum(self.rng.random() < 0.35 for _ in range(4)),
                self.rng.gauss(0.0, CONE_CV),
            )
        )  # fmt: skip
        self.creel[-1].hand = hand
        self.creel[-1].from_m = self.fed_m if len(self.creel) == 1 else 0.0

    def tie(self, at_s: float, hand: str) -> None:
        """Let the running cone's tail pass the feed and the next one's head after it [s]."""
        if len(self.creel) < 2:  # the hand's cone is on already; it was told a moment too late
            self.load(at_s - 1.0, hand)
        ended = self.creel.pop(0)
        ended.upto_m = self.creel[0].from_m = self.fed_m
        self.story.cones.append(ended)
        following = self.creel[0]
        self.tell(
            at_s, "tie", "feed", hand, metres=round(self.fed_m, 1), cone=following.name,
            cone_off=ended.name, lot=following.lot,
        )  # fmt: skip

    def next_colour(self, at_s: float, hand: str) -> None:
        """Take the old colour off and tie the next on [s]."""
        for place, cone in enumerate(self.creel):
            if place == 0:
                cone.upto_m = self.fed_m
                cone.left_m = max(self.rng.gauss(0.5, 0.15), 0.05) * self.layout.cone_m
            else:
                self.new_length(cone)
            self.story.off.append((cone, at_s - 30.0 + 4.0 * place, hand))
            self.story.cones.append(cone)
        self.creel.clear()
        self.lot = self.lots[1]
        self.load(at_s - 8.0, hand)
        cone = self.creel[0]
        cone.from_m = self.fed_m
        self.tell(
            at_s, "colour", "feed", hand, metres=round(self.fed_m, 1), lot=cone.lot, cone=cone.name
        )  # fmt: skip

    def clear(self, at_s: float) -> None:
        """Stop the lane at the end of a run; part ball and part cones come off [s]."""
        if self.moving:
            self.tell(at_s, "feed off", "feed")
            self.moving = False
        self.take_off(at_s + 2.0, whole=False, hand="")
        for place, cone in enumerate(self.creel):
            if place == 0:
                cone.upto_m = self.fed_m
                cone.left_m = max(self.rng.gauss(0.4, 0.2), 0.05) * self.layout.cone_m
            else:
                self.new_length(cone)
            self.story.off.append((cone, at_s + 60.0 + 20.0 * self.lane + 4.0 * place, ""))
        self.story.cones += self.creel
        self.creel = []

    def new_length(self, cone: Cone) -> None:
        """Give a cone that never ran its length."""
        cone.ran = False
        cone.left_m = self.layout.cone_m * self.rng.gauss(1.0, self.layout.cone_cv)
