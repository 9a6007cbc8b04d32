"""What a release certificate says of a net-content test: the official worksheet's figures."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.checks.packages.plan import quantity_word
from clew.checks.packages.verdict import Verdict, mean_and_limit, sheet_sentences
from clew.checks.packages.worksheet import Worksheet
from clew.languages import figure, joined, say
from clew.papers.card_content import Table
from clew.papers.paper_data import Row
from clew.quantities import POUND_G, YARD_M

_UNIT = {"mass": "g", "length": "m"}
MARKS_TOLD = say(
    "Of these marks: READ, read in its source; READ-2, at second hand; MEMORY, "
    "recalled and not checked; OURS, the house's own choice"
)
"""What a reader of the paper needs to know of the words before each source."""
_ANSWER = {True: say("passed"), False: say("failed"), None: say("not decided")}


@dataclass(frozen=True, slots=True)
class SheetContent:
    """One declaration's worksheet as printed.

    Attributes
    ----------
    title : str
        Rule set and quantity.
    answer : str
        Its answer in a word or two; never a bare pass by an unconfirmed table.
    sentences : tuple of str
        The answer in plain words.
    rows : tuple of Row
        Every figure between the balls and the answer.
    balls : Table
        Every ball of the sample.
    notes : tuple of str
        Source, marks, and what a reader must know.
    """

    title: str
    answer: str
    sentences: tuple[str, ...]
    rows: tuple[Row, ...]
    balls: Table
    notes: tuple[str, ...]


def sheet_contents(verdict: Verdict) -> tuple[SheetContent, ...]:
    """Print the worksheets of one verdict.

    Parameters
    ----------
    verdict : Verdict
        The answer of one rule set.

    Returns
    -------
    tuple of SheetContent
        One for each declaration.
    """
    rule = verdict.rule
    source = say(
        "{rule}: {source}, {edition}, {date}",
        rule=rule.title,
        source=rule.source,
        edition=rule.edition,
        date=rule.date,
    )
    found = []
    for sheet in verdict.sheets:
        answer = _ANSWER[sheet.passed]
        if not verdict.confirmed:
            answer = say("{answer} by a table not checked against its source", answer=answer)
        notes = [source, say("Exactly at a limit: {equality}", equality=rule.equality)]
        notes += [*verdict.marks, MARKS_TOLD, *verdict.cautions]
        found.append(
            SheetContent(
                joined(": ", (rule.title, quantity_word(sheet.plan.quantity))),
                answer,
                tuple(sheet_sentences(sheet)),
                tuple(sheet_rows(sheet)),
                ball_table(sheet),
                tuple(dict.fromkeys(notes)),
            )
        )
    return tuple(found)


def sheet_rows(sheet: Worksheet) -> list[Row]:
    """Print every figure of a worksheet in the order it is worked out.

    Parameters
    ----------
    sheet : Worksheet
        The sheet.

    Returns
    -------
    list of Row
        Only figures that there are: what a rule does not ask is left out.
    """
    plan, unit = sheet.plan, _UNIT[sheet.plan.quantity]
    other = (
        say(
            "{pounds:.6f} lb ({ounces:.4f} oz)",
            pounds=plan.declared / POUND_G,
            ounces=plan.declared / (POUND_G / 16),
        )
        if unit == "g"
        else figure(f"{plan.declared / YARD_M:.4f} yd")
    )
    rows = [
        Row(say("Declared"), joined(" = ", (figure(f"{plan.declared:g} {unit}"), other))),
        Row(say("Condition"), sheet.sample.condition),
        Row(say("Balls in the lot"), f"{sheet.lot_size}"),
        Row(say("Balls weighed") if unit == "g" else say("Balls reeled"), f"{sheet.n_given}"),
        Row(say("Balls the rule set asks for"), f"{sheet.n_required}"),
        Row(say("Balls in the mean"), f"{sheet.n_used}"),
    ]
    if sheet.tare_mean is not None:
        told = (
            say("mean of {tares}", tares=sheet.tare_n)
            if sheet.tare_n > 1
            else say("one, weighed or entered")
        )
        rows.append(Row(say("Tare"), joined(", ", (figure(f"{sheet.tare_mean:.4f} g"), told))))
    if sheet.nominal_gross is not None:
        rows.append(Row(say("Nominal gross mass"), figure(f"{sheet.nominal_gross:.4f} g")))
    if sheet.allowance:
        rows.append(
            Row(
                say("Moisture allowance"),
                say("{allowance:g} g, before the test", allowance=sheet.allowance)
                if sheet.allowance_when == "before"
                else say("{allowance:g} g, after the test", allowance=sheet.allowance),
            )
        )
    if sheet.unit_of_measure is not None:
        rows.append(Row(say("Unit of measure"), figure(f"{sheet.unit_of_measure:g} {unit}")))
    mean, limit = mean_and_limit(sheet, 3)
    rows += [
        Row(say("Total error"), _signed(sheet.total_error, unit)),
        Row(say("Mean error"), _signed(sheet.mean_error, unit)),
        Row(say("Mean"), figure(f"{mean} {unit}")),
    ]
    if sheet.sd is not None:
        rows.append(Row(say("Standard deviation (n − 1)"), figure(f"{sheet.sd:.4f} {unit}")))
    if plan.factor:
        rows.append(Row(say("Sample correction factor"), figure(f"{plan.factor:g}")))
    if sheet.sample_error_limit is not None and plan.factor:
        rows.append(
            Row(say("Sample error limit"), figure(f"{sheet.sample_error_limit:.4f} {unit}"))
        )
    if sheet.limit is not None:
        rows.append(Row(say("Lowest mean that passes"), figure(f"{limit} {unit}")))
        rows.append(Row(say("Average requirement"), _ANSWER[sheet.average_pass]))
    rows += _single_rows(sheet, unit)
    rows += [Row(say("Step"), step) for step in sheet.steps]
    return rows


def _single_rows(sheet: Worksheet, unit: str) -> list[Row]:
    plan = sheet.plan
    if plan.individual_open:
        return [Row(say("Single balls"), say("not judged: the table of the limit is off"))]
    if not plan.stages:
        return []
    allowed = "–" if sheet.allowed is None else f"{sheet.allowed}"
    rows = [
        Row(
            say("A ball is short below"),
            say(
                "{lowest:g} {unit} ({deficiency:g} {unit} less)",
                lowest=plan.declared - sheet.deficiency_used,
                unit=unit,
                deficiency=sheet.deficiency_used,
            ),
        ),
        Row(
            say("Short balls"),
            say("{short}; {allowed} allowed", short=sheet.short_count, allowed=allowed),
        ),
    ]
    if math.isfinite(sheet.far_used):
        rows += [
            Row(say("No ball below"), figure(f"{plan.declared - sheet.far_used:g} {unit}")),
            Row(say("Balls below it"), f"{sheet.far_count}"),
        ]
    if len(plan.stages) > 1:
        told = joined(
            "; ",
            (
                say(
                    "{drawn} drawn: accept at {accept}, reject at {reject}",
                    drawn=one.drawn,
                    accept=one.accept,
                    reject=one.reject,
                )
                for one in plan.stages
            ),
        )
        rows.append(Row(say("Stages"), told))
    rows.append(Row(say("Individual requirement"), _ANSWER[sheet.individual_pass]))
    return rows


def _signed(value: float, unit: str) -> str:
    return figure(f"{value:+.3f} {unit}".replace("-", "−"))


def ball_table(sheet: Worksheet) -> Table:
    """Print every ball judged.

    Parameters
    ----------
    sheet : Worksheet
        The sheet.

    Returns
    -------
    Table
        Name, gross where it was weighed, net, error, error in units of measure, and what it is.
    """
    unit = _UNIT[sheet.plan.quantity]
    gross = any(ball.gross is not None for ball in sheet.balls)
    units = sheet.unit_of_measure is not None
    columns = [
        say("Ball"),
        *([say("Gross g")] if gross else []),
        say("Net {unit}", unit=unit),
        say("Error {unit}", unit=unit),
    ]
    columns += [*([say("Units")] if units else []), ""]
    places = decimals_of(sheet)
    rows = []
    for ball in sheet.balls:
        word = say("short") if ball.short else (say("at the limit") if ball.at_limit else "")
        if ball.far_short:
            word = say("far short")
        cells = [ball.name]
        if gross:
            cells.append("" if ball.gross is None else figure(f"{ball.gross:.{places}f}"))
        error = figure(f"{ball.error:+.{places}f}".replace("-", "−"))
        cells += [figure(f"{ball.content:.{places}f}"), error]
        if units:
            cells.append("" if ball.units is None else _plain(ball.units, signed=True))
        rows.append((*cells, word))
    return Table(say("Balls of the sample, {n}", n=len(rows)), tuple(columns), tuple(rows))


def decimals_of(sheet: Worksheet) -> int:
    """Count the decimals that balls of a sheet need, three at most: the column stands in line."""
    given = [ball.content for ball in sheet.balls]
    given += [ball.gross for ball in sheet.balls if ball.gross is not None]
    return max((len(f"{one:.3f}".rstrip("0").partition(".")[2]) for one in given), default=0)


def _plain(value: float, *, signed: bool = False) -> str:
    text = f"{value:+.3f}" if signed else f"{value:.3f}"
    text = text.rstrip("0").rstrip(".")
    return "0" if text in ("+0", "-0", "0") else figure(text.replace("-", "−"))
