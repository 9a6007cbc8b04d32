"""What no record tells about balls that were traced, and what that leaves open."""

from __future__ import annotations

from collections.abc import Sequence

from clew.languages import say, say_many
from clew.ledger.trace.answer import BallFound, CaseIn, ConeIn
from clew.ledger.trace.runs_then import Trials, trial_words
from clew.ledger.trace.tracing import in_words


def of_trials(
    balls: Sequence[BallFound], trials: Trials, cases: Sequence[CaseIn]
) -> tuple[str, ...]:
    """Say which of the balls were made in trials; nothing where none was."""
    count = sum(one.trial for one in balls)
    names = trials.names_of([one.doffed_us for one in balls if one.trial])
    return (trial_words(names, count, [one.case for one in cases]),) if count else ()


def lacking(balls: Sequence[BallFound], cones: Sequence[ConeIn]) -> list[str]:
    """Say what no record tells, and what that leaves open."""
    found = []
    untold = [one for one in balls if one.doffed_us is None]
    if untold:
        found.append(
            say_many(
                "{n} doff message is missing: the gap in the numbers shows it, so "
                "those balls are listed without a time of doff",
                "{n} doff messages are missing: the gap in the numbers shows it, so "
                "those balls are listed without a time of doff",
                len(untold),
            )
        )
    if balls and not cones:
        found.append(say("no cone of that lane is told for that time"))
    no_name = [one for one in cones if not one.cone]
    if no_name:
        found.append(say("a tie names no cone, and none that waited explains it"))
    no_lot = [one.cone for one in cones if one.cone and not one.lot]
    if no_lot:
        found.append(say("no record says the dye lot of {cones}", cones=in_words(no_lot)))
    widened = [one.cone for one in cones if "told" in one.why or "missing" in one.why]
    if widened:
        found.append(
            say(
                "a tie message is missing: widened for {cones}",
                cones=in_words(sorted(set(widened))),
            )
        )
    if any(one.begun_us is None for one in balls):
        found.append(say("no doff before it is told: its beginning is not known"))
    return found
