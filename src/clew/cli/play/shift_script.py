"""The true messages of a shift of the demo mill, from its set-up to its handover, drawn by seed."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from clew.cli.play.ball_story import BallTerms, ball_story
from clew.cli.play.hand_story import StopOfLine, hand_story, wrong_cone
from clew.cli.play.told import Cone, Told, Wound

if TYPE_CHECKING:
    from clew.ball.run_card import RunCard
    from clew.cli.play.strand_story import LaneStory
    from clew.mill.model import Mill

BALL, LOTS, LINE = "Querl 100", ("SL-207", "BR-088"), "Line 1"
"""What the demo mill winds in the shift that is played: its ball, and two dye lots in turn."""
LEAD, HANDS, NEXT_LEAD = "Wynn Ashdown", ("Mara Teal", "Joss Farrow"), "Ida Penhale"
"""Invented."""
COLOUR_AT_S = 7.0 * 3600.0
MEND_AT_S = 50.0 * 60.0
"""When the lead takes turns off the winder that winds heavy."""
SHIFT_S = 8.0 * 3600.0 + 600.0
"""Length of the shift with its handover [s]."""
SLIPS_AFTER_S = (900.0, 6990.0)
"""When a hand takes a wrong cone; the second soon after `clew demo --live` has caught up [s]."""
STOP = StopOfLine(at_s=100.0 * 60.0, lasts_s=240.0, why="steam or dryer")


@dataclass(frozen=True, slots=True)
class Script:
    """A shift that can be played.

    Attributes
    ----------
    messages : tuple of dict
        Flat messages, as a source sends them, in the order of time.
    at_s : tuple of float
        When each happened, from the start of the run [s].
    """

    messages: tuple[dict[str, Any], ...]
    at_s: tuple[float, ...]


def shift_script(
    mill: Mill | None = None,
    *,
    seed: int = 7,
    start: datetime | None = None,
    minutes: float | None = None,
    every_s: float = 10.0,
) -> Script:
    """Draw the true messages of a shift.

    Parameters
    ----------
    mill : Mill, optional
        A mill with the demo mill's names; the demo mill itself where left out.
    seed : int
        Which shift.
    start : datetime, optional
        When its run starts; a fixed morning where left out.
    minutes : float, optional
        How much of it after the run's start [min]; all where left out.
    every_s : float
        Between two readings of a winder's counter [s].

    Returns
    -------
    Script
        The messages, each with its moment.

    Raises
    ------
    BadInput
        When the mill has not the demo mill's names.
    """
    from clew.ball.run_card import run_card_of
    from clew.line.simulate.timeline import timeline

    mill = _demo_mill() if mill is None else mill
    start = datetime(2026, 11, 23, 6, 0, tzinfo=UTC) if start is None else start.astimezone(UTC)
    cards = {lot: run_card_of(mill, BALL, lot, LINE) for lot in LOTS}
    stories = _lanes(mill, timeline, seed, every_s)
    rng = random.Random(f"{seed} balls")
    runs = _run_names(start, mill.mill.time_zone)
    moment = moments_from(start)
    told = [one for story in stories for one in story.told]
    cones = [cone for story in stories for cone in story.cones]
    counts_tex = {lot: card.terms.strand.count_spun_tex for lot, card in cards.items()}
    for after_s in SLIPS_AFTER_S:
        told += wrong_cone(cones, after_s)
    told += creel_told(cones, stories, counts_tex)
    told = [replace(one, at_s=STOP.after(one.at_s)) for one in told]
    balls = [later(ball) for story in stories for ball in story.balls]
    joins = {
        story.lane: [
            float(one.says["metres"])
            for one in story.told
            if one.kind in ("tie", "retie", "colour") and "metres" in one.says
        ]
        for story in stories
    }
    terms = _ball_terms(mill, cards, runs, start)
    told += ball_story(balls, cones, joins, terms, HANDS, rng)
    told += hand_story(
        cards, runs, balls, STOP, (LEAD, NEXT_LEAD, *HANDS), factor_of=_factor_for(cards[LOTS[0]]),
        mend_at_s=MEND_AT_S, shift_s=STOP.after(8.0 * 3600.0), rng=rng,
    )  # fmt: skip
    if minutes is not None:
        told = [one for one in told if one.at_s <= 60.0 * minutes]
    told.sort(key=lambda one: one.at_s)
    first = cards[LOTS[0]]
    flat = Flat(first, _factor_for(first), moment, f"{start:%y%m%d%H%M%S}")
    return Script(tuple(flat.message(one) for one in told), tuple(one.at_s for one in told))


def _run_names(start: datetime, zone: str) -> dict[str, str]:
    """Name each run after line, day and clock: a mill may see many plays on a day."""
    begun = {lot: start + timedelta(seconds=place * COLOUR_AT_S) for place, lot in enumerate(LOTS)}
    return {lot: f"L1-{at.astimezone(ZoneInfo(zone)):%y%m%d-%H%M}" for lot, at in begun.items()}


def _demo_mill() -> Mill:
    from importlib import resources

    from clew.mill import mill_from_text

    path = resources.files("clew.mill") / "demo" / "mill.toml"
    return mill_from_text(path.read_text(encoding="utf-8"))


def _lanes(mill: Mill, draw: Callable[..., Any], seed: int, every_s: float) -> list[LaneStory]:
    """Draw the shift and follow each lane of it."""
    from clew.cli.play.strand_story import LaneWalk, services_of
    from clew.line.layout_from_mill import layout_of

    # A fresh start, not one after hours of running: the cones of the creel are told from the first.
    layout = replace(
        layout_of(mill, LINE, BALL, LOTS[0]), warm_up_s=0.0, colour_at_s=(COLOUR_AT_S,)
    )
    shift = draw(layout, seed=seed)
    services = services_of(shift, HANDS)
    return [
        LaneWalk(shift, lane, LOTS, services, random.Random(f"{seed} lane {lane}"), every_s).walk()
        for lane in range(layout.lanes)
    ]


def creel_told(
    cones: Sequence[Cone], stories: Sequence[LaneStory], counts_tex: dict[str, float]
) -> list[Told]:
    """Tell which cones were put up, and which were taken off."""
    told = [
        Told(
            cone.loaded_s, "cone loaded", "creel-tablet", cone.lane,
            cone.hand or HANDS[cone.lane % 2],
            {
                "cone": cone.name, "lot": cone.lot, "place": cone.place, "spinner": cone.spinner,
                "joins": cone.joins,
                "cone_mass_g": max(round(cone.mass_g(counts_tex[cone.lot])), 20),
            },
        )
        for cone in cones
    ]  # fmt: skip
    for story in stories:
        for cone, at_s, hand in story.off:
            left_g = cone.left_m * counts_tex[cone.lot] * (1.0 + cone.count_error_frac) / 1000.0
            says = {
                "cone": cone.name, "lot": cone.lot, "to": "stock", "cone_mass_g": round(left_g),
                "why": "the next colour comes on",
            }  # fmt: skip
            told.append(Told(at_s, "cone off", "creel-tablet", cone.lane, hand, says))
    return told


def later(ball: Wound) -> Wound:
    """Put a ball's moments behind the stop of the line."""
    return replace(
        ball,
        from_s=STOP.after(ball.from_s),
        full_s=STOP.after(ball.full_s),
        off_s=STOP.after(ball.off_s),
    )


def moments_from(start: datetime) -> Callable[[float], str]:
    """Give what writes a moment of the shift as ISO 8601."""

    def moment(at_s: float) -> str:
        at = start + timedelta(milliseconds=round(at_s * 1000.0))
        return at.isoformat(timespec="milliseconds").replace("+00:00", "Z")

    return moment


def _factor_for(card: RunCard) -> Callable[[int, float], float]:
    """Say what a winder is set to over its card: less once the lead has taken turns off it."""
    from clew.cli.play.ball_story import HEAVY_FRAC, HEAVY_WINDER

    counts = {row.lane: row.counts for row in card.settings}
    mended = round(counts[HEAVY_WINDER] / (1.0 + HEAVY_FRAC)) / counts[HEAVY_WINDER]

    def factor(lane: int, at_s: float) -> float:
        return mended if lane == HEAVY_WINDER and at_s >= MEND_AT_S else 1.0

    return factor


def _ball_terms(
    mill: Mill,
    cards: dict[str, RunCard],
    runs: dict[str, str],
    start: datetime,
) -> BallTerms:
    from clew.ledger.trace.band_code import write_band_code

    def code(lot: str, lane: int, at_s: float) -> str:
        at_us = round((start.timestamp() + at_s) * 1e6)
        return write_band_code(lot, LINE, winders[lane], at_us, mill.mill.time_zone)

    winders = {row.lane: row.winder for row in cards[LOTS[0]].settings}
    ball, line = mill.find_ball(BALL), mill.find_line(LINE)
    packing = ball.packing
    per_case = packing.balls_per_bag * packing.bags_per_case if packing else 80
    return BallTerms(
        ball_name=BALL,
        line_name=LINE,
        scale_g={
            lot: {row.lane: row.scale_mass_g for row in card.settings}
            for lot, card in cards.items()
        },
        length_m={lot: card.answer.length_m for lot, card in cards.items()},
        scale_sd_g=line.scale_sd_g or 0.1,
        knot_limit=ball.knot_limit,
        balls_per_case=per_case,
        cases_per_pallet=packing.cases_per_pallet if packing else 24,
        runs=runs,
        factor=_factor_for(cards[LOTS[0]]),
        code=code,
        moment=moments_from(start),
    )


class Flat:
    """Makes flat messages: moments on the real clock, keys, counters as they count.

    Parameters
    ----------
    card : RunCard
        The first run's.
    factor : callable
        What a winder is set to over its card: (lane, s) -> [1].
    moment : callable
        Writes a moment.
    play : str
        What its keys begin with.
    """

    def __init__(
        self,
        card: RunCard,
        factor: Callable[[int, float], float],
        moment: Callable[[float], str],
        play: str,
    ) -> None:
        import numpy as np

        laid = np.asarray(card.answer.build.cumulative_length_m, dtype=np.float64)
        self.laid_frac = laid / laid[-1]
        self.turns_frac = np.linspace(0.0, 1.0, laid.size)
        self.interp = np.interp
        self.counts = {row.lane: row.counts for row in card.settings}
        self.factor = factor
        self.moment, self.play = moment, play
        self.told: dict[str, int] = {}

    def message(self, told: Told) -> dict[str, Any]:
        """Make a message of what was told."""
        number = self.told[told.source] = self.told.get(told.source, 0) + 1
        found: dict[str, Any] = {
            "line": LINE, "kind": told.kind, "at": self.moment(told.at_s),
            "source": told.source, "key": f"{self.play}-{number:05d}",
        }  # fmt: skip
        if told.author:
            found["author"] = told.author
        if told.lane:
            found["lane"] = told.lane
        for name, value in told.says.items():
            if value is None:
                continue
            if name == "ball_frac":
                found["counts"] = self.count(told.lane, told.at_s, float(value))
            else:
                found[name] = value
        return found

    def count(self, lane: int, at_s: float, ball_frac: float) -> int:
        """Say what a winder's counter shows with so much of a ball wound: it counts turns."""
        full = self.counts[lane] * self.factor(lane, at_s)
        turns_frac = float(self.interp(ball_frac, self.laid_frac, self.turns_frac))
        return int(full * turns_frac + 1e-6)
