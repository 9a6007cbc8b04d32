"""The texts of a shift plan, as they are printed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from clew import __version__
from clew.languages import moment, say
from clew.mill.model import Mill
from clew.papers.cautions import DEFERRAL, Caution, cautions
from clew.papers.paper_data import Paper
from clew.plan.shift.terms import LineInShift, RunInShift, ShiftPlan
from clew.plan.shift.words import LineWords, RunWords, between, counted, shift_plan_words
from clew.quantities import UnitSystem

RUN_COLUMNS = (say("Run"), say("What"), say("Begins"), say("Ends"), say("Balls"), say("Cones"))
"""Heads of the table of a line."""
SIGNED = (say("Lead of this shift"), say("Read by the hands"), say("Handed over to"))
"""Who signs."""


@dataclass(frozen=True, slots=True)
class PlanRun:
    """One run on paper.

    Attributes
    ----------
    name : str
        Its number.
    row : tuple of str
        Its cells, as `RUN_COLUMNS`.
    notes : tuple of (str, str)
        What to do, with a word for each.
    change_when : str
        When its change is; empty without one.
    change : tuple of str
        Its steps.
    """

    name: str
    row: tuple[str, ...]
    notes: tuple[tuple[str, str], ...]
    change_when: str
    change: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One line on paper.

    Attributes
    ----------
    name, headline : str
        Which line, and what it does.
    runs : tuple of PlanRun
        Its runs.
    crew : tuple of str
        Hands, a sentence for each ball.
    rests : str
        When they rest.
    """

    name: str
    headline: str
    runs: tuple[PlanRun, ...]
    crew: tuple[str, ...]
    rests: str


@dataclass(frozen=True, slots=True)
class ShiftPlanContent:
    """A shift plan ready for printing.

    Attributes
    ----------
    title, headline : str
        Which shift, and what it makes.
    columns : tuple of str
        Heads of the tables.
    lines : tuple of PlanLine
        Line by line.
    idle, lifting, doubt : str
        Lines without work, how many cones one person lifts, what the intervals hold.
    cautions : tuple of Caution
        What can hurt a hand.
    deferral : str
        What comes before this paper.
    signed : tuple of str
        Who signs.
    footer : str
        What stands under every page.
    paper : {"A4", "Letter"}
        Its size.
    """

    template: ClassVar[str] = "shift_plan"

    title: str
    headline: str
    columns: tuple[str, ...]
    lines: tuple[PlanLine, ...]
    idle: str
    lifting: str
    doubt: str
    cautions: tuple[Caution, ...]
    deferral: str
    signed: tuple[str, ...]
    footer: str
    paper: Paper


def shift_plan_content(
    plan: ShiftPlan, mill: Mill, *, units: UnitSystem | None = None, paper: Paper | None = None
) -> ShiftPlanContent:
    """Arrange a shift plan for printing.

    Parameters
    ----------
    plan : ShiftPlan
        The shift.
    mill : Mill
        The mill: its cautions, its units and its paper.
    units : {"metric", "yard"} or None
        System of units; None for the mill's own.
    paper : {"A4", "Letter"} or None
        Its size; None for the mill's own.

    Returns
    -------
    ShiftPlanContent
        All of its texts; cautions that hold for several lines stand once.
    """
    system = units or mill.mill.units
    words = shift_plan_words(plan, system)
    said: dict[tuple[str, str], Caution] = {}
    for line in plan.lines:
        for one in cautions(mill.safety, mill.find_line(line.line_name), system):
            said.setdefault((one.title, one.text), one)
    when = moment(plan.shift_from)
    return ShiftPlanContent(
        title=say("Shift plan: {when}", when=when),
        headline=words.headline,
        columns=RUN_COLUMNS,
        lines=tuple(
            _line(plan, line, told) for line, told in zip(plan.lines, words.lines, strict=True)
        ),
        idle=words.idle,
        lifting=words.lifting,
        doubt=words.doubt,
        cautions=tuple(said.values()),
        deferral=DEFERRAL,
        signed=SIGNED,
        footer=say(
            "{mill_name} · shift plan {when} · seed {seed} · Clew {version__}",
            mill_name=plan.mill_name,
            when=when,
            seed=plan.seed,
            version__=__version__,
        ),
        paper=paper or mill.mill.paper,
    )


def _line(plan: ShiftPlan, line: LineInShift, words: LineWords) -> PlanLine:
    return PlanLine(
        line.line_name, words.headline,
        tuple(_run(plan, run, told) for run, told in zip(line.runs, words.runs, strict=True)),
        words.crew, words.rests,
    )  # fmt: skip


def _run(plan: ShiftPlan, run: RunInShift, words: RunWords) -> PlanRun:
    lot = say(", lot {lot_name}", lot_name=run.lot_name) if run.lot_name else ""
    what = say(
        "{ball_name} in {colour_name}{lot}, for {customer}",
        ball_name=run.ball_name,
        colour_name=run.colour_name,
        lot=lot,
        customer=run.customer,
    )
    begins = say("runs already") if run.going else between(run.start, plan)
    row = (run.name, what, begins, between(run.end, plan), counted(run.balls),
           str(len(run.cones.calls)))  # fmt: skip
    notes = (
        (say("Set"), words.settings),
        (say("Cones"), words.cones),
        (say("If a lane is down"), words.lane_down),
    )
    return PlanRun(run.name, row, notes, words.change_when, words.change)
