"""Findings made of what the other checks answer: net content, faults, shade."""

from __future__ import annotations

from collections.abc import Sequence

from clew.checks.attributes.inspection import FAULTS, FaultVerdict, fault_words
from clew.checks.attributes.plans import AttributePlan
from clew.checks.attributes.shade_of_lot import LotPair, LotShade, ShadeLimits
from clew.checks.attributes.shade_words import shade_words
from clew.checks.packages.plan import Plan
from clew.checks.packages.rule import Rule
from clew.checks.packages.verdict import Verdict, sheet_sentences
from clew.checks.packages.worksheet import Worksheet
from clew.checks.release.finding import Finding, Mend
from clew.checks.release.sorting import SortTerms, mends_for
from clew.checks.weighings import Factor, Weighings
from clew.languages import joined, say, say_many

_MOST_NAMED = 5
SORTED_BY = ("winder", "cone", "lot")
"""What balls of a failed lot can be told apart by at the line."""


def sample_factors(
    weighings: Weighings, sheet: Worksheet, names: Sequence[str] = SORTED_BY
) -> list[tuple[str, Factor]]:
    """Give what each ball of a sheet's sample came from.

    Parameters
    ----------
    weighings : Weighings
        The file the sample was taken from.
    sheet : Worksheet
        The sheet.
    names : sequence of str
        Factors wanted.

    Returns
    -------
    list of (str, Factor)
        Those that the file has, in the order of the sample's balls.
    """
    rows = sheet.sample.rows
    return [
        (
            "dye lot" if name == "lot" else name,
            Factor(weighings.factors[name].codes[rows], weighings.factors[name].names),
        )
        for name in names
        if name in weighings.factors and len(weighings.factors[name].names) > 1
    ]


def content_finding(verdict: Verdict, weighings: Weighings, terms: SortTerms) -> Finding:
    """Turn a rule set's answer into a finding.

    Parameters
    ----------
    verdict : Verdict
        The answer.
    weighings : Weighings
        What it was made of: says which winder a ball came from.
    terms : SortTerms
        What sorting and re-winding take.

    Returns
    -------
    Finding
        With what would let the lot pass.
    """
    mends: list[Mend] = []
    if verdict.passed is False:
        for sheet in verdict.sheets:
            if sheet.passed is False:
                mends += mends_for(sheet, sample_factors(weighings, sheet), terms)
    elif verdict.passed is None:
        mends = [Mend(ask) for ask in _asks(verdict)]
    words = [say("{word}.", word=verdict.word)] if verdict.passed is None else []
    words += [one for sheet in verdict.sheets for one in sheet_sentences(sheet)]
    return Finding(
        "net content",
        say("Net content, {rule}", rule=verdict.rule.title),
        verdict.passed,
        verdict.confirmed,
        tuple(words),
        tuple(mends),
    )


def _asks(verdict: Verdict) -> list[str]:
    """Say what would finish a test that is not decided."""
    asks = []
    for sheet in verdict.sheets:
        lacking = sheet.n_required - sheet.n_given
        if lacking > 0:
            asks.append(_ask_more(sheet, lacking))
        if sheet.plan.individual_open:
            asks.append(say("have the table of the limit for single balls confirmed and turned on"))
    return list(dict.fromkeys(asks)) or [verdict.word]


def _ask_more(sheet: Worksheet, lacking: int) -> str:
    """Say how many balls are to be weighed or reeled yet."""
    given = {"given": sheet.n_given, "asked": sheet.n_required}
    if sheet.plan.quantity == "mass":
        return say_many(
            "weigh {n} more ball of the lot: {given} of {asked} are in",
            "weigh {n} more balls of the lot: {given} of {asked} are in",
            lacking,
            **given,
        )
    return say_many(
        "reel {n} more ball of the lot: {given} of {asked} are in",
        "reel {n} more balls of the lot: {given} of {asked} are in",
        lacking,
        **given,
    )


def length_open(rule: Rule, plan: Plan) -> Finding:
    """Make a finding of a declared length that a rule set asks for and nobody reeled.

    Parameters
    ----------
    rule : Rule
        The rule set.
    plan : Plan
        What it asks of the length.

    Returns
    -------
    Finding
        Not decided: a length on the band is a promise like the mass, and the fewer balls are
        reeled the less may be passed.
    """
    ask = (
        say(
            "reel {n} balls of the lot, and have the table of the limit confirmed and turned on; "
            "or judge by a rule set that asks nothing of the length",
            n=plan.n_required,
        )
        if plan.individual_open
        else say(
            "reel {n} balls of the lot; or judge by a rule set that asks nothing of the length",
            n=plan.n_required,
        )
    )
    words = say(
        "No ball of the sample was reeled; {declared:g} m is declared.", declared=plan.declared
    )
    title = say("Declared length, {rule}", rule=rule.title)
    return Finding("net content", title, None, plan.confirmed, (words,), (Mend(ask),))


def not_looked_for(fault: str, plan: AttributePlan) -> Finding:
    """Make a finding of a fault that no lot goes without being looked through for.

    Parameters
    ----------
    fault : str
        Its name, one of `FAULTS`.
    plan : AttributePlan
        The plan.

    Returns
    -------
    Finding
        Not decided.
    """
    what = FAULTS[fault]
    mend = Mend(
        say("look at {drawn} balls for those {what}", drawn=plan.stages[0].drawn, what=what)
    )
    return Finding(
        "fault", say("Balls {what}", what=what), None, True, (say("Not looked for."),), (mend,)
    )


def fault_finding(verdict: FaultVerdict, plan: AttributePlan, terms: SortTerms) -> Finding:
    """Make a finding of one kind of fault looked for in a sample.

    Parameters
    ----------
    verdict : FaultVerdict
        What the plan says.
    plan : AttributePlan
        The plan.
    terms : SortTerms
        What sorting takes.

    Returns
    -------
    Finding
        Failed where the plan rejects, not decided where it wants more balls.
    """
    seen = verdict.inspection
    what = fault_words(seen.fault)
    title = say("Balls {what}", what=what)
    words = (plan.words, verdict.words)
    if verdict.outcome == "draw more":
        mend = Mend(say("look at {more} more balls for those {what}", more=verdict.more, what=what))
        return Finding("fault", title, None, True, words, (mend,))
    if verdict.outcome == "accept":
        return Finding("fault", title, True, True, words)
    size = verdict.lot_size or 0
    likely = size * seen.bad / seen.n
    mend = Mend(
        say(
            "look through all {size} balls and grade those {what} as second-quality: "
            "about {likely:.0f}, at most {most:.0f}; then draw a new sample",
            size=size,
            what=what,
            likely=likely,
            most=verdict.most_bad_frac * size,
        ),
        float(size),
        terms.cost(float(size), 0.0),
        say(
            "{bad} of {n} balls of the sample; a hand's time to look as to weigh",
            bad=seen.bad,
            n=seen.n,
        ),
    )
    return Finding("fault", title, False, True, words, (mend,))


def _listed(names: Sequence[str]) -> str:
    """Name a few dye lots, and count the others."""
    shown, more = list(names[:_MOST_NAMED]), len(names) - _MOST_NAMED
    if more > 0:
        shown.append(say("{n} more", n=more))
    if len(shown) == 1:
        return shown[0]
    return say("{names} and {last}", names=joined(", ", shown[:-1]), last=shown[-1])


def shade_finding(
    lot: LotShade, pairs: Sequence[LotPair], limits: ShadeLimits, terms: SortTerms, lot_size: int
) -> Finding:
    """Make a finding of a dye lot's shade.

    Parameters
    ----------
    lot : LotShade
        The lot against its standard.
    pairs : sequence of LotPair
        The lot beside others, where they were read too.
    limits : ShadeLimits
        What the mill lets through.
    terms : SortTerms
        What sorting takes.
    lot_size : int
        Balls of the lot.

    Returns
    -------
    Finding
        Passed, failed, or to be sorted by cones.
    """
    words = (shade_words(lot, pairs, limits),)
    if lot.decision == "pass" and len(lot.cones) < 2:
        mend = Mend(
            say("read another cone of {lot}: one cone says nothing of the others", lot=lot.lot)
        )
        return Finding("shade", say("Shade"), None, True, words, (mend,))
    if lot.decision == "pass":
        others = [
            pair.second if pair.first == lot.lot else pair.first
            for pair in pairs
            if not pair.may_mix and lot.lot in (pair.first, pair.second)
        ]
        beside = say("Do not mix it with {lots}.", lots=_listed(others)) if others else ""
        return Finding("shade", say("Shade"), True, True, words, beside=beside)
    if lot.decision == "sort":
        share = len(lot.off) / len(lot.cones)
        mend = Mend(
            say(
                "take out the balls of cone {cones}, about {balls:.0f}",
                cones=joined(", ", lot.off),
                balls=share * lot_size,
            ),
            share * lot_size,
            terms.cost(share * lot_size, 0.0),
            say("{off} of {cones} cones read", off=len(lot.off), cones=len(lot.cones)),
        )
        return Finding("shade", say("Shade"), False, True, words, (mend,))
    mend = Mend(
        say(
            "lay it beside the standard with the customer, or sell it as a dye lot of "
            "its own; the dyehouse decides whether it can be corrected"
        )
    )
    return Finding("shade", say("Shade"), False, True, words, (mend,))
