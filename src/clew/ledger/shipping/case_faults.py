"""What is wrong with a case that somebody wants to close, in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from clew.faults import Fault
from clew.languages import say, say_many
from clew.ledger.shipping.made import LotMade
from clew.ledger.trace.records import Kept
from clew.mill.lines import Line
from clew.plan.named import or_words

if TYPE_CHECKING:
    from clew.ledger.shipping.case import CaseQuestion


def run_faults(question: CaseQuestion, made: LotMade, line: Line, lot: str) -> list[Fault]:
    """Say what is wrong with the run that a case is said to be of."""
    if question.run and question.run in made.trials:
        return [
            Fault(
                say("{run} is a trial: its balls are not for sale", run=question.run),
                say("a run for sale"),
                key="run",
            )
        ]
    if question.run and question.run not in made.runs:
        return [
            Fault(
                say(
                    "no run {run} of {lot} was started on {line}",
                    run=question.run,
                    lot=lot,
                    line=line.name,
                ),
                say("a run of that lot"),
                key="run",
            )
        ]
    return []


def count_faults(question: CaseQuestion, made: LotMade, line: Line, lot: str) -> list[Fault]:
    """Say that the line has not told so many balls."""
    if question.balls <= made.left:
        return []
    told = {
        "n": max(made.doffed, made.banded), "lot": lot, "pulled": made.pulled, "cased": made.cased,
        "where": say("{line} in {run}", line=line.name, run=question.run)
        if question.run else line.name,
    }  # fmt: skip
    if made.banded > made.doffed:
        what = say(
            "{n} balls of {lot} were banded on {where}, {pulled} pulled, {cased} are in cases",
            **told,
        )
    else:
        what = say(
            "{n} balls of {lot} were taken off on {where}, {pulled} pulled, {cased} are in cases",
            **told,
        )
    expected = f"at most {max(made.left, 0)}, or --anyway and why"
    return [Fault(what, expected, key="balls", value=str(question.balls))]


def token_faults(
    kept: Kept, question: CaseQuestion, line: Line, lots: Sequence[str]
) -> list[Fault]:
    """Say which tokens are of no ball that may be in the case."""
    faults = []
    for token in question.tokens:
        seen = [
            one
            for one in kept.naming("token", token, ("doff", "banded", "pulled"))
            if one.line == line.name and one.at_us <= question.at_us
        ]
        if not seen:
            expected = say("one of {line}", line=line.name)
            faults.append(
                Fault(say("no ball of that token was told"), expected, key="tokens", value=token)
            )
            continue
        if seen[-1].kind == "pulled":
            what = say("the ball of that token was pulled")
            faults.append(Fault(what, say("a first-quality ball"), key="tokens", value=token))
        if seen[-1].lot and seen[-1].lot not in lots:
            what = say(
                "the ball of that token is of {lot}: lots may not share a case", lot=seen[-1].lot
            )
            expected = say("a ball of {lots}", lots=or_words(lots))
            faults.append(Fault(what, expected, key="tokens", value=token))
    return faults


def taken_faults(kept: Kept, package: str) -> list[Fault]:
    """Say that a name is another package's already."""
    told = kept.naming("package", package, ("case closed", "pallet closed"))
    if not told:
        return []
    if told[-1].kind == "case closed":
        what = say("case {package} is closed already", package=package)
    else:
        what = say("pallet {package} is closed already", package=package)
    return [Fault(what, say("a new name"), key="package")]


def no_full_case(balls: int, full: int) -> str:
    """Say that so many balls are no full case, which holds others."""
    if balls < full:
        return say_many(
            "{n} balls, {full} make a full case: a part case, without a GTIN",
            "{n} balls, {full} make a full case: a part case, without a GTIN",
            balls,
            full=full,
        )
    return say(
        "{balls} balls, {full} make a full case: more than a full case, without a GTIN",
        balls=balls,
        full=full,
    )
