"""What the line, its machines and its hands tell of one run of the played shift."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from clew.cli.play.ball_story import BallTerms, ball_story
from clew.cli.play.hand_story import StopOfLine, wrong_cone
from clew.cli.play.shift_script import HANDS, Flat, creel_told, moments_from
from clew.cli.play.strand_story import LaneStory, LaneWalk, services_of
from clew.cli.play.told import Cone, Told, Wound

if TYPE_CHECKING:
    from clew.ball.run_card import RunCard
    from clew.line.simulate.timeline import Timeline
    from clew.mill.model import Mill

EVERY_S = 60.0
"""Between two readings of a winder's counter [s]."""
PART_WHY = "the run ends"
_CLOSED = ("case closed", "pallet closed")
"""What the packer tells is worked out from the ledger instead, case by case."""


@dataclass(frozen=True, slots=True)
class RunTerms:
    """What a run is drawn from.

    Attributes
    ----------
    mill : Mill
        The mill.
    card : RunCard
        Its run card.
    run : str
        Its name in the ledger.
    start : datetime
        When it starts.
    balls : int
        Balls that are to be banded; then it ends.
    upto_s : float
        When it ends at the latest, after its start [s].
    seed : int
        Which drawing.
    errors : mapping of int to float
        How much longer than set each lane's winder winds [1].
    ball : mapping of int to int
        Number of each lane's first ball.
    fed_m : mapping of int to float
        What each lane's feed counter shows at the start [m, before steam].
    made : mapping of int to int
        Cones of the dye lot that each lane had before.
    stop : StopOfLine
        When the whole line stands; after the run where it does not.
    slip_s : float or None
        From when on a hand may take a wrong cone; None: no slip [s].
    """

    mill: Mill
    card: RunCard
    run: str
    start: datetime
    balls: int
    upto_s: float
    seed: int
    errors: Mapping[int, float]
    ball: Mapping[int, int]
    fed_m: Mapping[int, float]
    made: Mapping[int, int]
    stop: StopOfLine
    slip_s: float | None


@dataclass(frozen=True, slots=True)
class RunDrawn:
    """A run as it was drawn.

    Attributes
    ----------
    stories : tuple of LaneStory
        Lane by lane, up to the end of the run, on the clock of a line that never stands.
    end_s : float
        When it ends, after its start [s].
    done : bool
        Whether all its balls are banded by then.
    passage_s : float
        Running time of the belt from creel to winder [s].
    """

    stories: tuple[LaneStory, ...]
    end_s: float
    done: bool
    passage_s: float

    def next_balls(self) -> dict[int, int]:
        """Give the number of each lane's next ball."""
        return {one.lane: one.balls[-1].number + 1 for one in self.stories}

    def joins_m(self) -> dict[int, list[float]]:
        """Say where joins lie, lane by lane, by the feed counter from the run's start [m]."""
        return {
            story.lane: [
                float(one.says["metres"])
                for one in story.told
                if one.kind in ("tie", "retie") and "metres" in one.says
            ]
            for story in self.stories
        }


def draw_run(terms: RunTerms) -> RunDrawn:
    """Draw the line for a run, and find when the last ball of it is off.

    Parameters
    ----------
    terms : RunTerms
        The run.

    Returns
    -------
    RunDrawn
        Its strand, lane by lane, up to its end.
    """
    from clew.line.layout_from_mill import layout_of
    from clew.line.simulate.timeline import timeline

    card = terms.card
    layout = layout_of(terms.mill, card.line_name, card.ball_name, card.lot_name)
    # The line starts empty of this run: what stood on it before was taken off at the change.
    shift = timeline(replace(layout, warm_up_s=0.0, colour_at_s=()), seed=terms.seed)
    latest_s = _before(terms.stop, terms.upto_s)
    whole = _walked(shift, terms, latest_s)
    off_s = _banded_off_s(whole, terms)
    done = len(off_s) >= terms.balls
    end_s = off_s[terms.balls - 1] + 1.0 if done else latest_s
    stories = _walked(shift, terms, end_s) if done else whole
    return RunDrawn(stories, terms.stop.after(end_s), done, layout.passage_s)


def told_of(
    drawn: RunDrawn, terms: RunTerms, factor: Callable[[int, float], float]
) -> list[tuple[float, dict[str, Any]]]:
    """Tell a run as the machines and hands do.

    Parameters
    ----------
    drawn : RunDrawn
        The run.
    terms : RunTerms
        What it was drawn from.
    factor : callable
        What a winder is set to over its card: (lane, s) -> [1].

    Returns
    -------
    list of (float, dict)
        Flat messages with their moments after the run's start [s], in order of time.
    """
    cones = [cone for story in drawn.stories for cone in story.cones]
    told: list[Told] = []
    for story in drawn.stories:
        told += [_on_counter(one, terms.fed_m) for one in story.told]
    copies = [replace(cone) for cone in cones]
    wrong = _wrong_lot(terms)
    if terms.slip_s is not None and wrong:
        told += wrong_cone(copies, terms.slip_s, wrong, number=0)
    told += creel_told(copies, drawn.stories, {terms.card.lot_name: _count_tex(terms)})
    for place, one in enumerate(told):
        if one.kind == "cone off" and one.says.get("why") == "the next colour comes on":
            says = {**one.says, "why": PART_WHY}
            told[place] = replace(one, says=says, author=one.author or HANDS[one.lane % 2])
    told = [replace(one, at_s=terms.stop.after(one.at_s)) for one in told]
    told += [
        one for one in ball_told(drawn.stories, drawn.joins_m(), terms, factor)
        if one.kind not in _CLOSED
    ]  # fmt: skip
    told += _line_told(drawn, terms)
    told.sort(key=lambda one: one.at_s)
    flat = Flat(terms.card, factor, moments_from(terms.start), terms.run)
    return [(one.at_s, flat.message(one)) for one in told]


def ball_told(
    stories: Sequence[LaneStory],
    joins_m: dict[int, list[float]],
    terms: RunTerms,
    factor: Callable[[int, float], float],
) -> list[Told]:
    """Tell what becomes of the balls of a run."""
    balls = [_later(ball, terms.stop) for story in stories for ball in story.balls]
    cones: list[Cone] = [cone for story in stories for cone in story.cones]
    rng = random.Random(f"{terms.seed} balls")
    return ball_story(balls, cones, joins_m, _ball_terms(terms, factor), HANDS, rng)


def _walked(shift: Timeline, terms: RunTerms, upto_s: float) -> tuple[LaneStory, ...]:
    services, lot = services_of(shift, HANDS), terms.card.lot_name
    return tuple(
        LaneWalk(
            shift, lane, (lot, lot), services, random.Random(f"{terms.seed} lane {lane}"),
            EVERY_S, upto_s=upto_s, ball=terms.ball[lane + 1], made=terms.made[lane + 1],
        ).walk()
        for lane in range(shift.layout.lanes)
    )  # fmt: skip


def _banded_off_s(stories: Sequence[LaneStory], terms: RunTerms) -> list[float]:
    """Say when each ball that is banded later came off, on the clock of the drawn line [s]."""
    drawn = RunDrawn(tuple(stories), 0.0, True, 0.0)
    told = ball_told(stories, drawn.joins_m(), terms, lambda _lane, _s: 1.0)
    banded = {(one.lane, one.says["ball"]) for one in told if one.kind == "banded"}
    return sorted(
        ball.off_s
        for story in stories
        for ball in story.balls
        if (ball.lane, ball.number) in banded
    )


def _later(ball: Wound, stop: StopOfLine) -> Wound:
    return replace(
        ball, from_s=stop.after(ball.from_s), full_s=stop.after(ball.full_s),
        off_s=stop.after(ball.off_s),
    )  # fmt: skip


def _before(stop: StopOfLine, at_s: float) -> float:
    """Put a moment back on the clock of a line that never stands [s]."""
    if at_s <= stop.at_s:
        return at_s
    return max(stop.at_s, at_s - stop.lasts_s)


def _on_counter(told: Told, fed_m: Mapping[int, float]) -> Told:
    """Let the feed's counter go on from where it stood before the run."""
    if told.kind == "content" or "metres" not in told.says:
        return told
    metres = round(float(told.says["metres"]) + fed_m[told.lane], 1)
    return replace(told, says={**told.says, "metres": metres})


def _wrong_lot(terms: RunTerms) -> str:
    """Name a dye lot that a hand may take for the run's: the likest in colour, of the same yarn."""
    colour, own = terms.mill.find_dye_lot(terms.card.lot_name)
    others = [colour, *(one for one in terms.mill.colour if one is not colour)]
    lots = [lot for one in others for lot in one.dye_lot]
    return next((one.lot for one in lots if one.yarn == own.yarn and one.lot != own.lot), "")


def _line_told(drawn: RunDrawn, terms: RunTerms) -> list[Told]:
    """Tell of the belt, and of the stop of the line where it lies within the run."""
    stop, hand = terms.stop, HANDS[0]
    told = [Told(-1.0, "belt on", "belt"), Told(drawn.end_s + 2.0, "belt off", "belt")]
    over_s = stop.at_s + stop.lasts_s
    if over_s < drawn.end_s:
        told += [
            Told(stop.at_s + 0.2, "belt off", "belt"),
            Told(stop.at_s + 15.0, "stop", "row-tablet", 0, hand, {"why": stop.why}),
            Told(over_s - 5.0, "go on", "row-tablet", 0, hand,
                 {"note": "steam is back at its pressure"}),
            Told(over_s - 0.2, "belt on", "belt"),
        ]  # fmt: skip
    return told


def _count_tex(terms: RunTerms) -> float:
    return terms.card.terms.strand.count_spun_tex


def _ball_terms(terms: RunTerms, factor: Callable[[int, float], float]) -> BallTerms:
    from clew.ledger.trace.band_code import write_band_code

    mill, card = terms.mill, terms.card
    lot, line = card.lot_name, mill.find_line(card.line_name)
    ball = mill.find_ball(card.ball_name)
    winders = {row.lane: row.winder for row in card.settings}
    start_us = round(terms.start.timestamp() * 1e6)

    def code(of: str, lane: int, at_s: float) -> str:
        at_us = start_us + round(at_s * 1e6)
        return write_band_code(of, line.name, winders[lane], at_us, mill.mill.time_zone)

    return BallTerms(
        ball_name=ball.name, line_name=line.name,
        scale_g={lot: {row.lane: row.scale_mass_g for row in card.settings}},
        length_m={lot: card.answer.length_m}, scale_sd_g=line.scale_sd_g or 0.1,
        knot_limit=ball.knot_limit, balls_per_case=1, cases_per_pallet=1,
        runs={lot: terms.run}, factor=factor, code=code, moment=moments_from(terms.start),
        errors=dict(terms.errors), part_why=PART_WHY,
    )  # fmt: skip
