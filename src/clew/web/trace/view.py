"""A trace arranged for a page: the answer in words, then tables with what each line rests on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from clew.languages import first_upper, joined, moment, say, say_many
from clew.ledger.events.field_words import setting_words
from clew.ledger.events.moments import local_of
from clew.ledger.ingest.by_hand import said_again
from clew.ledger.trace.answer import (
    BackTrace,
    BallFound,
    CaseIn,
    Decision,
    ForwardTrace,
    Rest,
    RunThen,
)
from clew.ledger.trace.pallets import PalletTrace
from clew.web.drawn.figures import Figures

DECISION_WORDS = {
    "release": say("released"), "hold": say("held"), "rework": say("sent to rework"),
    "refuse": say("refused"),
}  # fmt: skip
"""What each decision on a lot is called."""
CHECK_KINDS = {
    "weighing": say("weighing"), "length check": say("length check"), "check": say("check"),
}  # fmt: skip
"""What each kind of check is called."""
MOST = 60
"""Lines of one table; the files have all."""
NOTHING = "–"
"""What stands where nothing is told."""
MOST_WAYS = 4
"""Cones of a ball that are led on from."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table with its heading.

    Attributes
    ----------
    key, title : str
        Name on the page, and heading.
    columns : tuple of str
        Heads.
    rows : tuple of tuple of str
        The lines shown.
    loose : tuple of bool
        Which columns may run over several lines.
    left_out : int
        Lines that are not shown.
    none : str
        What stands where there are none.
    """

    key: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    loose: tuple[bool, ...]
    left_out: int = 0
    none: str = ""


def _sheet(
    key: str,
    title: str,
    columns: Sequence[str],
    rows: Iterable[Sequence[str]],
    none: str,
    *,
    loose: Sequence[int] = (),
) -> Sheet:
    listed = [tuple(one) for one in rows]
    shown = listed[:MOST]
    # a column in which nothing is told only takes room
    told = [at for at in range(len(columns)) if any(one[at] != NOTHING for one in shown)]
    return Sheet(
        key, title, tuple(columns[at] for at in told),
        tuple(tuple(one[at] for at in told) for one in shown),
        tuple(at in loose for at in told), max(0, len(listed) - MOST), none,
    )  # fmt: skip


def _at(at_us: int | None, zone: str) -> str:
    return say("open") if at_us is None else moment(local_of(at_us, zone))


def _until(from_us: int | None, upto_us: int | None, zone: str) -> str:
    """Say when something ended; on the day it began, by the clock alone."""
    if from_us is None or upto_us is None:
        return _at(upto_us, zone)
    end = local_of(upto_us, zone)
    return f"{end:%H:%M}" if end.date() == local_of(from_us, zone).date() else moment(end)


def _rests(rests: Sequence[Rest]) -> str:
    names = [one.name.replace(" ", "\u00a0") for one in rests]
    shown = " ".join(names[:6])
    if len(names) <= 6:
        return shown
    return say("{shown} and {more} more", shown=shown, more=len(names) - 6)


def _named(name: str, trial: bool) -> str:
    return say("{name}, of a trial: not for sale", name=name) if trial else name


def _sure(sure: bool) -> str:
    return say("sure") if sure else say("possible")


def _span(from_us: int | None, upto_us: int | None, zone: str) -> str:
    return say("{begin} to {end}", begin=_at(from_us, zone), end=_until(from_us, upto_us, zone))


def _sentences(parts: Iterable[str]) -> list[str]:
    return [first_upper(one) + "." for one in parts]


def _then_words(run: RunThen, zone: str) -> str:
    of = {"run": run.run, "lot": run.lot, "ball": run.ball_name, "begin": _at(run.started_us, zone)}
    words = (
        say("Run {run} of dye lot {lot}, {ball}, from {begin} goes on", **of)
        if run.ended_us is None
        else say(
            "Run {run} of dye lot {lot}, {ball}, from {begin} to {end}",
            end=_until(run.started_us, run.ended_us, zone), **of,
        )
    )  # fmt: skip
    return say("{run}, a trial: not for sale.", run=words) if run.trial else words + "."


def _decision_words(one: Decision, zone: str) -> str:
    decision = DECISION_WORDS.get(one.decision, one.decision)
    of = {"lot": one.lot, "decision": decision, "when": _at(one.at_us, zone)}
    if one.author:
        return say("Dye lot {lot}: {decision}, {when}, by {name}.", name=one.author, **of)
    return say("Dye lot {lot}: {decision}, {when}.", **of)


def _joins_words(ball: BallFound) -> str:
    if not ball.joins:
        return "0"
    sure = sum(join.sure for join in ball.joins)
    return say("{sure} sure, {possible} possible", sure=sure, possible=len(ball.joins) - sure)


def _shipped_words(cases: Sequence[CaseIn]) -> str:
    customers = sorted({one.customer for one in cases if one.customer})
    held = say_many("{n} case may hold some of it", "{n} cases may hold some of it", len(cases))
    if not customers:
        return say("{held}; none has left the mill.", held=held)
    return say("{held}; shipped to {customers}.", held=held, customers=", ".join(customers))


def back_shown(found: BackTrace, zone: str, figures: Figures) -> dict[str, Any]:
    """Arrange a trace from a band, a case or a token back to cones.

    Parameters
    ----------
    found : BackTrace
        The trace.
    zone : str
        The mill's time zone.
    figures : Figures
        The reader's units.

    Returns
    -------
    dict
        ``headline``, ``words``, ``sheets`` and ``missing``.
    """
    asked = first_upper(found.asked)
    of_case = found.winder == 0 and bool(found.cases)
    if found.size == 0:
        headline = say("{asked}: no ball is found.", asked=asked)
    elif found.size == 1:
        ball = found.balls[0]
        mass = say("its mass is not told") if ball.mass_g is None else figures.mass(ball.mass_g)
        headline = say("{asked}: it is {ball}; {mass}.", asked=asked, ball=ball.name, mass=mass)
    elif of_case:
        headline = say(
            "{asked}: {balls} of these {n} balls.",
            asked=asked,
            balls=found.cases[0].balls,
            n=found.size,
        )
    else:
        headline = say("{asked}: one of {n} balls.", asked=asked, n=found.size)
    words = _sentences([found.why])
    run = found.run
    if run is not None:
        words.append(_then_words(run, zone))
    words += [_decision_words(one, zone) for one in found.decisions]
    sheets = [
        _sheet(
            "balls", _balls_title(found.size, of_case=of_case),
            (
                say("Ball"), say("Doffed"), say("Mass"), say("Joins in it"), say("Pulled to"),
                say("Records"),
            ),
            (
                (
                    _named(one.name, one.trial), _at(one.doffed_us, zone),
                    NOTHING if one.mass_g is None else figures.mass(one.mass_g),
                    _joins_words(one), said_again(one.pulled_to) or NOTHING, _rests(one.rests),
                )
                for one in found.balls
            ),
            say("None is found."), loose=(3, 4, 5),
        ),
        _sheet(
            "cones", say("Its cones"),
            (
                say("Cone"), "", say("Dye lot"), say("Spinner"), say("At the feed"), say("Why"),
                say("Records"),
            ),
            (
                (
                    one.cone or say("without a name"), _sure(one.sure), one.lot or say("not told"),
                    one.spinner or say("not told"),
                    _span(one.from_us, one.upto_us, zone), one.why, _rests(one.rests),
                )
                for one in found.cones
            ),
            say("None is told."), loose=(3, 5, 6),
        ),
        cases_sheet(found.cases, zone),
        _sheet(
            "checks", say("Checks then"), (say("What"), say("When"), say("Found"), say("Records")),
            (
                (
                    CHECK_KINDS.get(one.kind, one.kind), _at(one.at_us, zone), one.words,
                    _rests(one.rests),
                )
                for one in found.checks
            ),
            say("None near it."), loose=(2, 3),
        ),
        _sheet(
            "settings", say("Settings of the run at that time"), (say("Setting"), say("Value")),
            () if run is None else (setting_words(*one) for one in run.settings),
            say("None is told."), loose=(0, 1),
        ),
    ]  # fmt: skip
    return {
        "headline": headline, "words": words, "sheets": sheets, "ways": ways_back(found),
        "missing": _sentences(found.missing),
    }  # fmt: skip


def _balls_title(size: int, *, of_case: bool) -> str:
    if of_case:
        return say("The balls that may be in it")
    return say("The ball") if size == 1 else say("The balls it may be")


def ways_back(found: BackTrace) -> tuple[tuple[str, str], ...]:
    """Lead on from a ball: where else its cones and its dye lot went, for each with its words."""
    cones = dict.fromkeys(one.cone for one in found.cones if one.cone)
    ways = [(say("Where else cone {cone} went", cone=cone), {"what": "cone", "name": cone})
            for cone in list(cones)[:MOST_WAYS]]  # fmt: skip
    if found.run is not None and found.run.lot:
        lot = found.run.lot
        ways.append((say("Where all of dye lot {lot} went", lot=lot), {"what": "lot", "name": lot}))
    return tuple((words, f"/trace?{urlencode(asked)}") for words, asked in ways)


def cases_sheet(cases: Sequence[CaseIn], zone: str) -> Sheet:
    """Arrange cases, with where they are now."""
    return _sheet(
        "cases", say("Cases"),
        (
            say("Case"), "", say("Balls"), say("Closed"), say("Where"), say("Pallet"),
            say("Records"),
        ),
        (
            (
                one.case, _sure(one.sure), str(one.balls), _at(one.closed_us, zone), one.where,
                one.pallet or NOTHING, _rests(one.rests),
            )
            for one in cases
        ),
        say("No case that was closed can hold it."), loose=(4, 6),
    )  # fmt: skip


def forward_shown(found: ForwardTrace, zone: str) -> dict[str, Any]:
    """Arrange a trace from a cone or a dye lot on to balls and cases.

    Parameters
    ----------
    found : ForwardTrace
        The trace.
    zone : str
        The mill's time zone.

    Returns
    -------
    dict
        ``headline``, ``words``, ``sheets`` and ``missing``.
    """
    asked = first_upper(found.asked)
    if not found.cones:
        headline, words = say("{asked}: no record says that it passed a feed.", asked=asked), []
    else:
        headline = say(
            "{asked}: in {balls} for sure, in {possible} more possibly.",
            asked=asked,
            balls=say_many("{n} ball", "{n} balls", found.sure),
            possible=found.possible,
        )
        words = [_shipped_words(found.cases)]
    sheets = [
        cases_sheet(found.cases, zone),
        _sheet(
            "stints", say("At the feed"),
            (
                say("Cone"), say("Line, lane"), say("From"), say("To"), say("Dye lot"),
                say("Spinner"), say("Why so"), say("Records"),
            ),
            (
                (
                    one.cone or say("without a name"), f"{one.line}, {one.lane}",
                    _at(one.from_earliest_us, zone),
                    _until(one.from_earliest_us, one.upto_latest_us, zone),
                    one.lot or say("not told"), one.spinner or say("not told"), one.why or NOTHING,
                    _rests(one.rests),
                )
                for one in found.cones
            ),
            say("Never, by any record."), loose=(5, 6, 7),
        ),
        _sheet(
            "balls", say("Balls"),
            (
                say("Ball"), "", say("Doffed"), say("Cases"), say("Pulled to"), say("Records"),
            ),
            (
                (
                    _named(one.name, one.trial), _sure(one.sure), _at(one.doffed_us, zone),
                    joined(say(" or "), one.cases) or say("in none that was closed"),
                    said_again(one.pulled_to) or NOTHING, _rests(one.rests),
                )
                for one in found.balls
            ),
            say("None."), loose=(3, 4, 5),
        ),
    ]  # fmt: skip
    return {
        "headline": headline, "words": words, "sheets": sheets,
        "missing": _sentences(found.missing),
    }  # fmt: skip


def pallet_shown(found: PalletTrace, zone: str) -> dict[str, Any]:
    """Arrange what is known of a pallet, case by case.

    Parameters
    ----------
    found : PalletTrace
        The pallet.
    zone : str
        The mill's time zone.

    Returns
    -------
    dict
        ``headline``, ``words``, ``sheets`` and ``missing``.
    """
    customers = sorted({one.customer for one in found.cases if one.customer})
    cones = {cone.cone: cone for trace in found.traces for cone in trace.cones if cone.cone}
    return {
        "headline": say(
            "{asked}: {cases}, closed {when}.",
            asked=first_upper(found.asked),
            cases=say_many("{n} case", "{n} cases", len(found.cases)),
            when=_at(found.closed_us, zone),
        ),
        "words": [
            say("Shipped to {customers}.", customers=", ".join(customers))
            if customers
            else say("It is in the mill.")
        ],
        "sheets": [
            cases_sheet(found.cases, zone),
            _sheet(
                "cones", say("Cones that its balls come from, or may"),
                (say("Cone"), say("Dye lot"), say("Spinner"), say("At the feed")),
                (
                    (
                        one.cone, one.lot or say("not told"), one.spinner or say("not told"),
                        _span(one.from_us, one.upto_us, zone),
                    )
                    for one in sorted(cones.values(), key=lambda cone: cone.cone)
                ),
                say("None is told."), loose=(2,),
            ),
        ],
        "missing": _sentences(found.missing),
    }  # fmt: skip
