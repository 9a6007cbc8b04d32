"""Closing a case: its name, its balls, and whether the line has made that many."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from clew.checks.band.gs1 import case_gtin_for
from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.ledger.events.message import Message
from clew.ledger.events.moments import read_moment, show_utc
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.runs.setting import text_faults
from clew.ledger.shipping.case_faults import (
    count_faults,
    no_full_case,
    run_faults,
    taken_faults,
    token_faults,
)
from clew.ledger.shipping.made import LotMade, lots_made
from clew.ledger.shipping.masses import full_case
from clew.ledger.shipping.mixed import lots_asked
from clew.ledger.shipping.names import CASE, next_package, package_said
from clew.ledger.shipping.packed import CaseKept, case_kept, cases_in, not_yet, taken_back
from clew.ledger.shipping.turn import reading_once
from clew.ledger.store.ledger import Ledger
from clew.ledger.trace.records import Kept, KeptInLedger
from clew.mill.balls import Ball
from clew.mill.lines import Line
from clew.mill.model import Mill
from clew.plan.named import each_and
from clew.plan.orders.asked import OrderAsked


@dataclass(frozen=True, slots=True)
class CaseQuestion:
    """A case that somebody wants to close.

    Attributes
    ----------
    lots : tuple of str
        Dye lots in it; several only for an order that takes any, where their shades agree.
    balls : int
        Balls in it.
    at_us : int
        When it is closed [us].
    author, source, key : str
        Who closes it, who sends the message, and its own key, new for each.
    line_name, run, ball_name : str
        Line, the only one where empty; run and ball, those of the lot's last run where empty.
    first, last : str
        Moments at which its first and last ball were banded, ISO 8601; empty where not known.
    tokens : tuple of str
        Tokens of its balls, where they carry any.
    order : OrderAsked or None
        The order it is packed for.
    package : str
        A name of its own; the next free one where empty.
    anyway : str
        Why it is closed although the line has not told that many balls.
    """

    lots: tuple[str, ...]
    balls: int
    at_us: int
    author: str
    source: str
    key: str
    line_name: str = ""
    run: str = ""
    ball_name: str = ""
    first: str = ""
    last: str = ""
    tokens: tuple[str, ...] = ()
    order: OrderAsked | None = None
    package: str = ""
    anyway: str = ""


@dataclass(frozen=True, slots=True)
class CaseClosing:
    """A case that is ready to be kept.

    Attributes
    ----------
    message : Message
        To hand to the ledger.
    made : LotMade
        Balls of its lot on that line, before this case.
    mind : tuple of str
        What is to be minded, in words: a lot that is not released, a case that is not full.
    """

    message: Message
    made: LotMade
    mind: tuple[str, ...]


def close_case(ledger: Ledger, mill: Mill, question: CaseQuestion) -> CaseClosing:
    """Work out the record of a case that is closed; `clew.ledger.shipping.turn` keeps it.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    mill : Mill
        The mill; with ``gs1_prefix`` the case gets an SSCC, else a name such as ``C-0042``.
    question : CaseQuestion
        What is closed.

    Returns
    -------
    CaseClosing
        The message and what is to be minded. A case may be closed before its lot is released.

    Raises
    ------
    BadInput
        When line, run, lot or ball is none; for lots that may not share a case, or a run of one of
        them; for more balls than were made and not pulled, unless it is said why; for a package
        that was closed already; for an order of another ball or colour.
    CannotKeep
        When the database does not answer.
    """
    line = mill.find_line(question.line_name)
    lots = lots_asked(mill, question.lots, question.order)
    lot = each_and(lots)
    faults = _plain_faults(question)
    with reading_once(ledger) as connection:
        kept = KeptInLedger(connection, mill.mill.time_zone)
        made = lots_made(kept, line, lots, question.at_us, run=question.run)
        faults += run_faults(question, made, line, lot)
        run = question.run or _last_run(made, lots)
        ball = _ball_of(mill, kept, question, lots, made, faults)
        if not question.anyway:
            faults += count_faults(question, made, line, lot)
        faults += token_faults(kept, question, line, lots)
        package = package_said(question.package)
        if package:
            faults += taken_faults(kept, package)
        if faults:
            raise BadInput(faults)
        package = package or next_package(connection, mill, CASE)
        message = _message(mill, question, line, lots, run, ball, package)
        mind = _minded(kept, question, ball, line, run, lots, package)
    return CaseClosing(message, made, mind)


def _last_run(made: LotMade, lots: Sequence[str]) -> str:
    """Name the lot's last run; empty for several lots, for a run is of one."""
    return made.runs[-1] if made.runs and len(lots) == 1 else ""


def _plain_faults(question: CaseQuestion) -> list[Fault]:
    faults = []
    if question.run and len(set(question.lots)) > 1:
        faults.append(
            Fault(say("a run is of one dye lot, the case of several"), say("no run"), key="run",
                  value=question.run)
        )  # fmt: skip
    if not question.author.strip():
        faults.append(Fault(say("nobody is named"), say("who closes the case"), key="by"))
    if question.balls < 1:
        faults.append(
            Fault(say("no balls"), say("1 or more"), key="balls", value=str(question.balls))
        )
    if bool(question.first) != bool(question.last):
        faults.append(Fault(say("one moment without the other"), "--from and --upto", key="from"))
    if question.tokens and len(set(question.tokens)) != question.balls:
        faults.append(
            Fault(
                say(
                    "{tokens} tokens for {balls} balls",
                    tokens=len(set(question.tokens)),
                    balls=question.balls,
                ),
                say("one token a ball, each once"),
                key="tokens",
            )
        )
    return faults + text_faults("anyway", question.anyway)


def _ball_of(
    mill: Mill,
    kept: Kept,
    question: CaseQuestion,
    lots: Sequence[str],
    made: LotMade,
    faults: list[Fault],
) -> Ball:
    """Find the ball in the case; what is wrong with it goes to the faults."""
    lot, order = each_and(lots), question.order
    run = question.run or (made.runs[-1] if made.runs else "")
    starts = kept.naming("run", run, ("run start",)) if run else []
    of_run = str(starts[-1].body.get("ball_name") or "") if starts else ""
    said = question.ball_name or of_run or ("" if order is None else order.ball_name)
    if not said:
        faults.append(
            Fault(
                say("what {lot} was wound into is not told", lot=lot), say("the ball"), key="ball"
            )
        )
        raise BadInput(faults)
    ball = mill.find_ball(said)
    if of_run and of_run != ball.name:
        what = say("{run} makes {ball}", run=run, ball=of_run)
        faults.append(Fault(what, say("the run's own ball"), key="ball", value=ball.name))
    for _, dye_lot in map(mill.find_dye_lot, lots):
        if dye_lot.yarn != ball.yarn:
            faults.append(
                Fault(
                    say(
                        "{lot} is {yarn}, {ball} is wound of {other}",
                        lot=dye_lot.lot,
                        yarn=dye_lot.yarn,
                        ball=ball.name,
                        other=ball.yarn,
                    ),
                    say("a dye lot of {yarn}", yarn=ball.yarn),
                    key="lot",
                )
            )
    colour, _ = mill.find_dye_lot(lots[0])
    if order is not None and (order.ball_name, order.colour_name) != (ball.name, colour.name):
        faults.append(
            Fault(
                say(
                    "order {number} is for {ball} in {colour}",
                    number=order.number,
                    ball=order.ball_name,
                    colour=order.colour_name,
                ),
                say("an order for {ball} in {colour}", ball=ball.name, colour=colour.name),
                key="order",
            )
        )
    return ball


def _message(
    mill: Mill,
    question: CaseQuestion,
    line: Line,
    lots: Sequence[str],
    run: str,
    ball: Ball,
    package: str,
) -> Message:
    zone = mill.mill.time_zone
    found: dict[str, Any] = {
        "kind": "case closed", "line": line.name, "lot": lots[0], "package": package,
        "balls": question.balls, "ball_name": ball.name,
    }  # fmt: skip
    gtin = case_gtin_of(ball, question.balls)
    order = "" if question.order is None else question.order.number
    for key, said in (
        ("run", run), ("gtin", gtin), ("tokens", list(question.tokens)),
        ("lots", list(lots) if len(lots) > 1 else []), ("order", order),
    ):  # fmt: skip
        if said:
            found[key] = said
    moments = {
        key: _moment_of(said, zone, key, question.at_us)
        for key, said in (("from", question.first), ("upto", question.last))
        if said
    }
    if len(moments) == 2 and moments["from"] > moments["upto"]:
        raise BadInput(
            Fault(say("the first ball after the last"), say("the earlier one"), key="from")
        )
    found |= {key: show_utc(at_us) for key, at_us in moments.items()}
    if question.anyway:
        found["note"] = f"closed anyway: {question.anyway.strip()}"
    sender = Sender(
        question.source, question.author.strip(), "", zone, question.at_us, question.key
    )
    return read_message(found, sender)


def _moment_of(said: str, zone: str, key: str, now_us: int) -> int:
    """Read a moment that a hand typed [us]; raises `BadInput`."""
    try:
        at_us = read_moment(said, zone).at_us
    except BadInput as bad:
        first = bad.faults[0]
        raise BadInput(Fault(first.what, first.expected, key=key, value=said[:40])) from None
    if at_us > now_us:
        raise BadInput(
            Fault(say("a moment to come"), say("now or before"), key=key, value=said[:40])
        )
    return at_us


def case_gtin_of(ball: Ball, balls: int) -> str:
    """Give the GTIN of a full case of a ball, in 14 digits; empty where it has none.

    A case that is not full is not that trade item, so it has none.
    """
    if balls != full_case(ball):
        return ""
    if ball.case_gtin:
        return ball.case_gtin
    return case_gtin_for(ball.gtin) if ball.gtin else ""


def _minded(
    kept: Kept,
    question: CaseQuestion,
    ball: Ball,
    line: Line,
    run: str,
    lots: Sequence[str],
    package: str,
) -> tuple[str, ...]:
    case = CaseKept(
        package, line.name, run, lots[0], ball.name, question.balls, "", question.at_us, 0,
        tuple(lots) if len(lots) > 1 else (),
    )  # fmt: skip
    minded = not_yet(kept, case)
    full = full_case(ball)
    if question.balls != full:
        minded.append(no_full_case(question.balls, full))
    return tuple(minded)


def lots_in(cases: Sequence[CaseKept]) -> tuple[str, ...]:
    """Name the dye lots of some cases, each once, in their order."""
    return tuple(dict.fromkeys(lot for one in cases for lot in one.all_lots))


def known_case(kept: Kept, said: str, key: str = "case") -> CaseKept:
    """Find a case by its name; raises `BadInput` where none of that name was closed."""
    found = case_kept(kept, package_said(said))
    if found is None:
        raise BadInput(
            Fault(say("no such case was closed"), say("one that was told"), key=key, value=said)
        )
    return found


def cases_on(kept: Kept, pallet: str, key: str = "package") -> tuple[CaseKept, ...]:
    """Give all cases of a pallet; raises `BadInput` where the closing of one was corrected away."""
    gone = taken_back(kept, pallet)
    if gone:
        what = say(
            "pallet {pallet} names {cases}, and the closing was corrected away",
            pallet=pallet,
            cases=joined(", ", gone),
        )
        expected = say("the case closed anew under its name, or the pallet closed anew")
        raise BadInput(Fault(what, expected, key=key))
    return cases_in(kept, pallet)
