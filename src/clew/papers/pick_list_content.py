"""The texts of a pick list, as they are printed: cones by dye lot, load by load, in tie order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from clew import __version__
from clew.languages import joined, moment, say, say_many, weekday_name
from clew.mill.model import Mill
from clew.papers.paper_data import Paper
from clew.plan.shift.terms import ConeCall, LineInShift, RunInShift, ShiftPlan
from clew.plan.shift.words import clock, shift_plan_words
from clew.quantities import MASS, UnitSystem, show

LOAD_COLUMNS = (
    say("Lot"),
    say("Load"),
    say("By"),
    say("Lane stands at"),
    say("Cones: lane-place"),
    say("Mass"),
)
"""Heads of the table of a lot."""
HOW = (
    say("One row is one load for one person, in the order to fetch. Tick each cone as it goes on."),
    say(
        "3-2 is lane 3, place 2 of its creel. By: its place is empty then, on "
        "average. A lane without its cone stands at the time beside it."
    ),
    say("Read the lot on every cone. A cone of another lot stays in the store; tell the lead."),
)
"""How the list is used."""
SIGNED = (say("Fetched by"), say("Brought back by, and when"))
"""Who signs."""


@dataclass(frozen=True, slots=True)
class PickLoad:
    """One load.

    Attributes
    ----------
    lot, number, by, stands_at, mass : str
        Its dye lot, which load, when it should be there, when the first lane stands without it,
        its mass.
    cones : tuple of str
        Its cones by lane and place.
    """

    lot: str
    number: str
    by: str
    stands_at: str
    mass: str
    cones: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PickLot:
    """The cones of one run.

    Attributes
    ----------
    title, sentence : str
        Which dye lot, for which run and line, and how many cones.
    loads : tuple of PickLoad
        In the order to fetch.
    spare : tuple of str
        A number for each spare cone.
    back : str
        What comes back at the end of the run; empty when it goes on.
    """

    title: str
    sentence: str
    loads: tuple[PickLoad, ...]
    spare: tuple[str, ...]
    back: str


@dataclass(frozen=True, slots=True)
class PickListContent:
    """A pick list ready for printing.

    Attributes
    ----------
    title, headline : str
        Which shift, and how many cones.
    how : tuple of str
        How the list is used.
    lifting : str
        How many cones one person lifts.
    columns : tuple of str
        Heads of the tables.
    lots : tuple of PickLot
        By dye lot, in the order of the first load.
    signed : tuple of str
        Who signs.
    footer : str
        What stands under every page.
    paper : {"A4", "Letter"}
        Its size.
    """

    template: ClassVar[str] = "pick_list"

    title: str
    headline: str
    how: tuple[str, ...]
    lifting: str
    columns: tuple[str, ...]
    lots: tuple[PickLot, ...]
    signed: tuple[str, ...]
    footer: str
    paper: Paper


def pick_list_content(
    plan: ShiftPlan, mill: Mill, *, units: UnitSystem | None = None, paper: Paper | None = None
) -> PickListContent:
    """Arrange the cones of a shift for the cone store.

    Parameters
    ----------
    plan : ShiftPlan
        The shift.
    mill : Mill
        The mill: its units and its paper.
    units : {"metric", "yard"} or None
        System of units; None for the mill's own.
    paper : {"A4", "Letter"} or None
        Its size; None for the mill's own.

    Returns
    -------
    PickListContent
        All of its texts. A load is what one person lifts; where the mill states no heaviest lift,
        what one lane's creel holds, and where not even a cone may be lifted, one cone for two.
    """
    system = units or mill.mill.units
    pairs = [(line, run) for line in plan.lines for run in line.runs if _has_cones(run)]
    pairs.sort(key=lambda pair: (_first_at(plan, pair[1]), pair[1].lot_name))
    cones = sum(len(run.cones.calls) for _, run in pairs)
    mass_g = sum(len(run.cones.calls) * run.cones.cone_g for _, run in pairs)
    when = moment(plan.shift_from)
    lots = len({run.lot_name for _, run in pairs})
    span = {
        "weekday": weekday_name(plan.shift_from),
        "when": when,
        "upto": f"{plan.shift_upto:%H:%M}",
    }
    headline = say("{weekday} {when} to {upto}: no cones to fetch.", **span)
    if cones:
        headline = say(
            "{weekday} {when} to {upto}: {cones} of {lots}, {mass}.",
            cones=say_many("{n} cone", "{n} cones", cones),
            lots=say_many("{n} lot", "{n} lots", lots),
            mass=_kg(mass_g, system),
            **span,
        )
    return PickListContent(
        title=say("Pick list: {when}", when=when),
        headline=headline,
        how=HOW,
        lifting=shift_plan_words(plan, system).lifting,
        columns=LOAD_COLUMNS,
        lots=tuple(_lot(plan, line, run, system) for line, run in pairs),
        signed=SIGNED,
        footer=say(
            "{mill} · pick list {when} · Clew {version}",
            mill=plan.mill_name,
            when=when,
            version=__version__,
        ),
        paper=paper or mill.mill.paper,
    )


def _has_cones(run: RunInShift) -> bool:
    cones = run.cones
    return bool(cones.calls or cones.spare or cones.begun_left)


def _first_at(plan: ShiftPlan, run: RunInShift) -> float:
    calls = run.cones.calls
    return (calls[0].free.at if calls else plan.shift_upto).timestamp()


def _lot(plan: ShiftPlan, line: LineInShift, run: RunInShift, units: UnitSystem) -> PickLot:
    cones = run.cones
    lot = say("Lot {lot_name}", lot_name=run.lot_name) if run.lot_name else say("Any lot")
    here = say_many("{n} cone for this shift", "{n} cones for this shift", len(cones.calls))
    parts = [
        say("{before} on the line or gone before it", before=cones.before) if cones.before else "",
        say("{later} after it", later=cones.later) if cones.later else "",
        say("{short} short on average: tell the lead", short=cones.short) if cones.short else "",
    ]
    rest = joined("; ", (one for one in parts if one))
    return PickLot(
        title=say(
            "{lot}: {yarn_name} in {colour_name}, {line_name}, run {name}",
            lot=lot,
            yarn_name=run.yarn_name,
            colour_name=run.colour_name,
            line_name=line.line_name,
            name=run.name,
        ),
        sentence=joined("; ", (here, rest)) + "." if rest else here + ".",
        loads=tuple(
            PickLoad(
                run.lot_name,
                str(number),
                clock(load[0].free.at, plan),
                clock(min(one.dry_at for one in load), plan),
                _kg(len(load) * cones.cone_g, units),
                tuple(f"{one.lane}-{one.place}" for one in load),
            )
            for number, load in enumerate(loads_of(cones.calls, per_load(run, line)), start=1)
        ),
        spare=tuple(str(one) for one in range(1, cones.spare + 1)),
        back=_back(run),
    )


def per_load(run: RunInShift, line: LineInShift) -> int:
    """Cones in one load; one where a cone alone is too heavy for one person."""
    return line.places if run.cones.per_load is None else max(run.cones.per_load, 1)


def loads_of(calls: Sequence[ConeCall], most: int) -> tuple[tuple[ConeCall, ...], ...]:
    """Part cones into loads of so many, in their order, the first fill apart from what follows."""
    found = []
    for kind in (True, False):
        cones = [one for one in calls if one.first_fill is kind]
        found += [tuple(cones[at : at + most]) for at in range(0, len(cones), most)]
    return tuple(found)


def _back(run: RunInShift) -> str:
    cones = run.cones
    if not run.ends_here:
        return ""
    parts = []
    if cones.begun_left:
        parts.append(say_many("{n} begun cone", "{n} begun cones", cones.begun_left))
    if cones.spare:
        parts.append(
            say_many(
                "{n} spare cone that nobody tied", "{n} spare cones that nobody tied", cones.spare
            )
        )
    if not parts:
        return ""
    back = joined(say(" and "), parts)
    return say("Comes back when the run ends: {back}. Mark each with its lot.", back=back)


def _kg(mass_g: float, units: UnitSystem) -> str:
    return show(mass_g, MASS, units, digits=3, unit="kg" if units == "metric" else "lb")
