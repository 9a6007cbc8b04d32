"""The recall list: what must be fetched back, where it is now, and why, ready for a table."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import Literal

from clew.languages import joined, say
from clew.ledger.events.moments import show_local
from clew.ledger.trace.answer import BallMaybe, CaseIn, ForwardTrace
from clew.ledger.trace.tracing import in_words

COLUMNS = (
    "what", "name", "sure", "balls_sure", "balls_possible", "line", "lot", "where", "customer",
    "pallet", "delivery", "time", "why", "records",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class RecallRow:
    """One thing to fetch back: a case, or a ball that is in no case yet.

    Attributes
    ----------
    what : {"case", "ball"}
        What it is.
    name : str
        Its name.
    sure : bool
        Whether some of what is recalled is in it by all records.
    balls_sure, balls_possible : int
        Balls in it that have, and besides that may have, what is recalled in them.
    line, lot : str
        Who made it, and the dye lot on it, or all of them in words.
    where : str
        Where it is now, in words.
    customer, pallet, delivery : str
        To whom it went and how; empty where it did not.
    time : str
        When the case was closed, or the ball doffed, by the mill's clock; empty if not told.
    why : str
        Why it is on the list.
    records : str
        The records it rests on.
    """

    what: Literal["case", "ball"]
    name: str
    sure: bool
    balls_sure: int
    balls_possible: int
    line: str
    lot: str
    where: str
    customer: str
    pallet: str
    delivery: str
    time: str
    why: str
    records: str


@dataclass(frozen=True, slots=True)
class RecallList:
    """A recall list.

    Attributes
    ----------
    asked : str
        What is recalled.
    rows : tuple of RecallRow
        Shipped cases first, then cases in the mill, then balls in no case; sure before possible.
    sure, possible : int
        Balls that have, and besides that may have, it in them.
    missing : tuple of str
        What is missing, and how far that widens the list.
    """

    asked: str
    rows: tuple[RecallRow, ...]
    sure: int
    possible: int
    missing: tuple[str, ...]

    @property
    def customers(self) -> tuple[str, ...]:
        """Whom to tell, by name."""
        return tuple(sorted({one.customer for one in self.rows if one.customer}))


def recall_list(trace: ForwardTrace, zone: str) -> RecallList:
    """Make a recall list of a trace on.

    Parameters
    ----------
    trace : ForwardTrace
        Of a cone or a dye lot.
    zone : str
        The mill's time zone.

    Returns
    -------
    RecallList
        Each case that a ball of the trace may be in, and each ball that can be in no case.
    """
    of_case: dict[str, list[BallMaybe]] = {one.case: [] for one in trace.cases}
    loose: list[BallMaybe] = []
    for ball in trace.balls:
        for name in ball.cases:
            of_case[name].append(ball)
        if not ball.cases:
            loose.append(ball)
    rows = [_case_row(one, of_case[one.case], zone) for one in trace.cases]
    rows += [_ball_row(one, zone) for one in loose]
    rows.sort(key=lambda one: (one.what != "case", not one.customer, not one.sure))
    return RecallList(trace.asked, tuple(rows), trace.sure, trace.possible, trace.missing)


def _case_row(case: CaseIn, balls: list[BallMaybe], zone: str) -> RecallRow:
    sure = 0
    if case.sure:
        sure = sum(one.sure and not one.trial and one.cases == (case.case,) for one in balls)
    maybe = len(balls) - sure
    names = sorted({name for one in balls for name in one.cones if name})
    cones = in_words(names, most=4)
    why = say(
        "{some} of its {balls} balls may be of {cones}",
        some=len(balls), balls=case.balls, cones=cones or say("it"),
    )  # fmt: skip
    if len(balls) > case.balls:
        why = say(
            "{some} balls that may be of {cones} fit its time; {balls} are in it",
            some=len(balls), cones=cones or say("it"), balls=case.balls,
        )  # fmt: skip
    if not balls:
        why = say("its record names the lot; which of its balls are of it is not told")
        maybe = case.balls
    trial = sum(one.trial for one in balls)
    if trial:
        words = say("{n} of a trial run, not for sale", n=trial)
        why = joined("; ", (why, words))
    return RecallRow(
        "case", case.case, case.sure, sure, min(maybe, case.balls - min(sure, case.balls)),
        case.line, case.lot_words, case.where, case.customer, case.pallet, case.delivery,
        show_local(case.closed_us, zone, seconds=False), why,
        " ".join(rest.name for rest in case.rests),
    )  # fmt: skip


def _ball_row(ball: BallMaybe, zone: str) -> RecallRow:
    if ball.pulled_to:
        where = say("pulled to {place}", place=ball.pulled_to)
    elif ball.doffed_us is None:
        where = say("no doff is told; in no case that was closed")
    else:
        where = say("in no case that was closed")
    if ball.trial:
        where = say("of a trial run, not for sale; {where}", where=where)
    time = "" if ball.doffed_us is None else show_local(ball.doffed_us, zone, seconds=False)
    cones = ", ".join(one for one in ball.cones if one) or say("it")
    why = (
        say("holds strand of {cones}", cones=cones)
        if ball.sure
        else say("may hold strand of {cones}", cones=cones)
    )
    return RecallRow(
        "ball", ball.name, ball.sure, int(ball.sure), int(not ball.sure), ball.line, "", where, "",
        "", "", time, why, " ".join(rest.name for rest in ball.rests),
    )  # fmt: skip


def recall_csv(found: RecallList) -> bytes:
    """Write a recall list as a table: UTF-8, commas, CRLF (RFC 4180), a header line.

    Parameters
    ----------
    found : RecallList
        The list.

    Returns
    -------
    bytes
        The file. A text that a table program would take for a formula stands behind an apostrophe.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in found.rows:
        writer.writerow([_cell(getattr(row, name)) for name in COLUMNS])
    return out.getvalue().encode()


_FORMULA = tuple("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")
"""What a table program takes for the beginning of a formula, in full width too.

Source: OWASP, CSV Injection.
"""


def _cell(value: str | int | bool) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    text = str(value)
    return f"'{text}" if text[:1] in _FORMULA else text
