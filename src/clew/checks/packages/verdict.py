"""The answer on a lot: one or more worksheets, the word, and the plain sentence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from clew.checks.packages.plan import Plan
from clew.checks.packages.rule import OFFICE, Rule
from clew.checks.packages.worksheet import Ball, Worksheet, both
from clew.languages import figure, joined, say, say_many

UNCONFIRMED = say("table unconfirmed: pass by a table not checked against the source")
_UNIT = {"mass": "g", "length": "m"}
_MOST_NAMED = 5
_MOST_TOLD = 2
_MOST_DIGITS = 12
ORDER = say("that order must be a random one")
"""How the caution ends that a sample was taken from the head of a longer file."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer on a lot.

    Attributes
    ----------
    rule : Rule
        The rule set.
    sheets : tuple of Worksheet
        One for each declaration judged.
    passed, average_pass, individual_pass : bool or None
        Over all sheets; None where it is not decided.
    confirmed : bool
        Every table used was read in its source or confirmed by a person.
    word : str
        "pass", "fail", or why it is neither; never a bare pass by an unconfirmed table.
    sentences : tuple of str
        The answer in plain words, one sentence a reason.
    marks, cautions : tuple of str
        What the figures rest on, and what a reader must know.
    """

    rule: Rule
    sheets: tuple[Worksheet, ...]
    passed: bool | None
    average_pass: bool | None
    individual_pass: bool | None
    confirmed: bool
    word: str
    sentences: tuple[str, ...]
    marks: tuple[str, ...]
    cautions: tuple[str, ...]


def verdict_of(
    rule: Rule,
    sheets: Sequence[Worksheet],
    *,
    yards_missing: bool = False,
    commercial: bool = False,
    cautions: Sequence[str] = (),
) -> Verdict:
    """Draw the worksheets of one lot together.

    Parameters
    ----------
    rule : Rule
        The rule set.
    sheets : sequence of Worksheet
        One for each declaration.
    yards_missing : bool
        The band must give a length and none was judged: then nothing passes.
    commercial : bool
        Mass was judged at the commercial regain.
    cautions : sequence of str
        Further ones.

    Returns
    -------
    Verdict
        The answer.
    """
    average: bool | None = True
    individual: bool | None = True
    for sheet in sheets:
        average = both(average, sheet.average_pass)
        individual = both(individual, sheet.individual_pass)
    passed = both(average, individual)
    reasons = list(dict.fromkeys(reason for sheet in sheets for reason in sheet.open_reasons))
    if yards_missing:
        passed = both(passed, None)
        reasons.append(
            say("below 2 oz the band gives the length in yards, and no length was judged")
        )
    practice_only = commercial and rule.commercial != "by text"
    confirmed = all(sheet.plan.confirmed for sheet in sheets) and not practice_only
    if passed is False:
        word = "fail" if confirmed else say("fail, by a table not checked against the source")
    elif passed is None:
        word = say("not decided: {reasons}", reasons=joined("; ", reasons))
    else:
        word = "pass" if confirmed else UNCONFIRMED
    told = [*cautions]
    if practice_only:
        told.append(
            say(
                "judged at the commercial regain: trade practice, in no text of this rule "
                "set read here"
            )
        )
    elif commercial:
        told.append(
            say(
                "judged at the agreed regain, as the text asks: it must be the allowance "
                "the text names"
            )
        )
    elif rule.commercial == "by text":
        told.append(
            say(
                "judged as weighed: the text takes dry mass with the agreed allowance, and "
                "a damper ball looks heavier here than to an inspector"
            )
        )
    for sheet in sheets:
        told += [*sheet.plan.notes, *sheet.sample.cautions, *_sheet_cautions(sheet)]
    told.append(OFFICE)
    marks = [mark for sheet in sheets for mark in sheet.plan.marks]
    marks += [say("{mark}: {what}", mark=mark, what=what) for what, mark in rule.marks]
    return Verdict(
        rule,
        tuple(sheets),
        passed,
        average,
        individual,
        confirmed,
        word,
        tuple(sentence for sheet in sheets for sentence in sheet_sentences(sheet)),
        tuple(dict.fromkeys(marks)),
        tuple(dict.fromkeys(told)),
    )


def _sheet_cautions(sheet: Worksheet) -> list[str]:
    told = []
    if sheet.average_at_limit:
        told.append(say("the mean lies exactly at its limit; see the rule set on equality"))
    exact = [ball.name for ball in sheet.balls if ball.at_limit]
    if exact:
        told.append(
            say(
                "exactly at the limit for a single ball, so not short: {balls}",
                balls=_named(exact),
            )
        )
    if sheet.left_out:
        counts = {
            "judged": len(sheet.balls),
            "given": sheet.n_given,
            "left": sheet.left_out,
            "order": ORDER,
        }
        told.append(
            say(
                "the sample is the first {judged} of {given} balls in the order drawn, {left} were "
                "left out, {short} of them short; {order}",
                short=sheet.left_out_short,
                **counts,
            )
            if sheet.left_out_short
            else say(
                "the sample is the first {judged} of {given} balls in the order drawn, {left} were "
                "left out; {order}",
                **counts,
            )
        )
    if sheet.sample.left_empty:
        told.append(
            say("{n} rows without a mass", n=sheet.sample.left_empty)
            if sheet.plan.quantity == "mass"
            else say("{n} rows without a length", n=sheet.sample.left_empty)
        )
    return told


def _named(names: Sequence[str]) -> str:
    shown, more = joined(", ", names[:_MOST_NAMED]), len(names) - _MOST_NAMED
    return say("{names} and {n} more", names=shown, n=more) if more > 0 else shown


def sheet_sentences(sheet: Worksheet) -> list[str]:
    """Say in plain words what one worksheet found.

    Parameters
    ----------
    sheet : Worksheet
        The sheet.

    Returns
    -------
    list of str
        One sentence on the mean, one on single balls, and one for each reason to fail.
    """
    plan, unit = sheet.plan, _UNIT[sheet.plan.quantity]
    said = [_average_words(sheet, unit)]
    if plan.individual_open:
        said.append(say("Single balls were not judged: the table of the limit is off."))
    elif plan.stages:
        said += _ball_words(sheet, unit)
    return said


def _average_words(sheet: Worksheet, unit: str) -> str:
    plan = sheet.plan
    mean, limit = mean_and_limit(sheet)
    mean = figure(f"{mean} {unit}")
    head = (
        say("The one ball holds {mean}", mean=mean)
        if sheet.n_used == 1
        else say("The mean of {n} balls is {mean}", n=sheet.n_used, mean=mean)
    )
    if plan.average_n == 0:
        return say("{head}; nothing is asked of the mean of one ball.", head=head)
    if sheet.limit is None:
        return say("{head}; one ball gives no spread to hold it against.", head=head)
    lowest = figure(f"{limit} {unit}")
    if plan.rule == "us-thread-states":
        lowest = say(
            "{lowest} ({share:g} % of {declared:g})",
            lowest=lowest,
            share=100 * plan.floor / plan.declared,
            declared=plan.declared,
        )
    if sheet.average_pass is None:
        return say(
            "{head}, with so few balls not yet held against the lowest that passes, {lowest}.",
            head=head,
            lowest=lowest,
        )
    if sheet.mean >= sheet.limit or sheet.average_at_limit:
        return say(
            "{head}, which reaches the lowest that passes, {lowest}.", head=head, lowest=lowest
        )
    return say(
        "{head}, {gap} below the lowest that passes, {lowest}.",
        head=head,
        gap=figure(f"{shown_gap(sheet.mean, sheet.limit)} {unit}"),
        lowest=lowest,
    )


def mean_and_limit(sheet: Worksheet, least: int = 2) -> tuple[str, str]:
    """Write a worksheet's mean and the lowest that passes with as few decimals as tell them apart.

    Parameters
    ----------
    sheet : Worksheet
        The sheet; without a limit the mean stands for it.
    least : int
        Fewest decimals; two is a digit beyond what a scale of 0.1 g shows.

    Returns
    -------
    (str, str)
        Both, with the same number of decimals: a mean just below its limit never reads like it.
    """
    limit = sheet.mean if sheet.limit is None or sheet.average_at_limit else sheet.limit
    places = _apart_from(sheet.mean, limit, least)
    return f"{sheet.mean:.{places}f}", f"{limit:.{places}f}"


def shown_gap(below: float, limit: float) -> str:
    """Write how far a mean lies below its limit [g or m], with the decimals of both."""
    return f"{limit - below:.{_apart_from(below, limit, 2)}f}"


def _apart_from(one: float, other: float, least: int) -> int:
    places = least
    while places < _MOST_DIGITS and one != other and f"{one:.{places}f}" == f"{other:.{places}f}":
        places += 1
    return places


def _ball_words(sheet: Worksheet, unit: str) -> list[str]:
    plan = sheet.plan
    lowest = plan.declared - plan.deficiency
    judged = [ball for ball in sheet.balls if ball.short]
    fields = {"lowest": figure(f"{lowest:.6g} {unit}"), "allowed": sheet.allowed}
    if judged:
        names = _named([ball.name for ball in judged])
        said = [
            say_many(
                "{n} ball lies below {lowest}, {allowed} allowed: {balls}.",
                "{n} lie below {lowest}, {allowed} allowed: {balls}.",
                sheet.short_count,
                balls=names,
                **fields,
            )
        ]
    else:
        said = [say("No ball lies below {lowest}, {allowed} allowed.", **fields)]
    far = [ball for ball in judged if ball.far_short]
    beyond = sheet.left_out_far
    if len(far) + len(beyond) <= _MOST_TOLD:
        said += [say("{ball} {why}.", ball=ball.name, why=why_short(sheet, ball)) for ball in far]
        return said + [
            say("{ball}, beyond the sample, {why}.", ball=ball.name, why=why_short(sheet, ball))
            for ball in beyond
        ]
    limit = figure(f"{plan.declared - plan.far_deficiency:.6g} {unit}")
    if far:
        said.append(
            say(
                "{n} of the sample below {limit}, where one such ball fails the lot: {balls}.",
                n=len(far),
                limit=limit,
                balls=_held(far, unit),
            )
        )
    if beyond:
        said.append(
            say(
                "{n} beyond the sample below {limit}, where one such ball fails the lot: {balls}.",
                n=len(beyond),
                limit=limit,
                balls=_held(beyond, unit),
            )
        )
    return said


def _held(balls: Sequence[Ball], unit: str) -> str:
    """Name balls with what they hold."""
    shown = [
        joined("", (ball.name, figure(f" ({ball.content:.6g} {unit})")))
        for ball in balls[:_MOST_NAMED]
    ]
    more = len(balls) - _MOST_NAMED
    names = joined(", ", shown)
    return say("{names} and {n} more", names=names, n=more) if more > 0 else names


def why_short(sheet: Worksheet, ball: Ball) -> str:
    """Say why a ball counts as short.

    Parameters
    ----------
    sheet : Worksheet
        Its sheet.
    ball : Ball
        A short ball.

    Returns
    -------
    str
        What it holds, and which limit it lies below.
    """
    plan, unit = sheet.plan, _UNIT[sheet.plan.quantity]
    limit = plan.declared - (plan.far_deficiency if ball.far_short else plan.deficiency)
    digits = 6
    while digits < _MOST_DIGITS and f"{ball.content:.{digits}g}" == f"{limit:.{digits}g}":
        digits += 1  # a mass carried to another regain may lie below a limit by very little
    content = figure(f"{ball.content:.{digits}g} {unit}")
    lowest = figure(f"{limit:.{digits}g} {unit}")
    if ball.far_short:
        return say(
            "holds {content}, below {limit}: one such ball fails the lot",
            content=content,
            limit=lowest,
        )
    return say("holds {content}, below {limit}", content=content, limit=lowest)


def scale_caution(plan: Plan, division: float) -> str:
    """Say whether the scale is fine enough for the rule set.

    Parameters
    ----------
    plan : Plan
        The plan.
    division : float
        Division of the scale or reel [g or m].

    Returns
    -------
    str
        A caution; empty when it is fine enough, or the rule set says nothing.

    Notes
    -----
    Source: NIST Handbook 133 (2026), 2.3: a division at most a sixth of the allowable variation
    and at least 100 of them in the load (READ). The European rules and R 87: a measuring error of
    at most a fifth of the tolerable one; a division is held against it (READ, the last OURS).
    """
    unit = _UNIT[plan.quantity]
    limit = plan.deficiency - plan.allowance
    if not plan.stages or limit <= 0.0:
        return ""
    parts = 6 if plan.rule == "us-category-a" else 5
    if division > limit / parts * (1.0 + 1e-9):
        terms = {"division": division, "unit": unit, "limit": limit, "most": limit / parts}
        if parts == 6:
            return say(
                "a division of {division:g} {unit} is too coarse: at most a sixth of "
                "{limit:g} {unit}, {most:.3g} {unit}",
                **terms,
            )
        return say(
            "a division of {division:g} {unit} is too coarse: at most a fifth of "
            "{limit:g} {unit}, {most:.3g} {unit}",
            **terms,
        )
    if plan.rule == "us-category-a" and plan.declared / division < 100:
        return say(
            "a division of {division:g} {unit} gives fewer than 100 divisions of a ball",
            division=division,
            unit=unit,
        )
    return ""
