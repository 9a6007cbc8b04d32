"""The texts of a recall list, as they are printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from clew.languages import joined, say, say_many
from clew.ledger.trace.recall import RecallList, RecallRow
from clew.papers.paper_data import Paper, told_moment

WHAT_TO_DO = (
    say("Stop every case on this list that is still in the mill; mark it and set it apart."),
    say("Tell each customer named here; ask what is still on their shelves and what was sold."),
    say(
        "Tick each line off when it is back, or accounted for; count against the "
        "number on the line."
    ),
    say("Keep this list, ticked and signed, with the lot's papers."),
)
"""What to do with the list, where the mill gives no words of its own."""


@dataclass(frozen=True, slots=True)
class RecallLine:
    """One line of the list.

    Attributes
    ----------
    name, sure, balls, where, why, records : str
        The columns.
    """

    name: str
    sure: str
    balls: str
    where: str
    why: str
    records: str


@dataclass(frozen=True, slots=True)
class RecallGroup:
    """Lines of one place.

    Attributes
    ----------
    title : str
        A customer, or where in the mill.
    lines : tuple of RecallLine
        Its lines.
    """

    title: str
    lines: tuple[RecallLine, ...]


@dataclass(frozen=True, slots=True)
class RecallContent:
    """A recall list ready for printing.

    Attributes
    ----------
    title, sentence : str
        What is recalled, and how much.
    what_to_do : tuple of str
        What to do with the list.
    groups : tuple of RecallGroup
        By customer, then what is in the mill.
    missing : tuple of str
        What is missing, and how far that widens the list.
    author : str
        Who made it.
    anchors : tuple of str
        Where each chain of the ledger stood.
    footer : str
        What stands under every page.
    paper : {"A4", "Letter"}
        Its size.
    """

    template: ClassVar[str] = "recall_list"

    title: str
    sentence: str
    what_to_do: tuple[str, ...]
    groups: tuple[RecallGroup, ...]
    missing: tuple[str, ...]
    author: str
    anchors: tuple[str, ...]
    footer: str
    paper: Paper


def recall_content(
    found: RecallList,
    *,
    mill_name: str,
    author: str,
    anchors: Sequence[str],
    words: Sequence[str] = (),
    paper: Paper = "A4",
) -> RecallContent:
    """Arrange a recall list for printing.

    Parameters
    ----------
    found : RecallList
        The list.
    mill_name : str
        The mill.
    author : str
        Who made the list; empty leaves a line to sign.
    anchors : sequence of str
        Where each chain of the ledger stands, as `clew ledger anchor` writes it for paper.
    words : sequence of str
        The mill's own words on what to do; those of Clew where left out.
    paper : {"A4", "Letter"}
        Its size.

    Returns
    -------
    RecallContent
        All of its texts.
    """
    groups: dict[str, list[RecallLine]] = {}
    for row in found.rows:
        groups.setdefault(_group(row), []).append(_line(row))
    return RecallContent(
        say("Recall list: {asked}", asked=found.asked),
        recall_sentence(found),
        tuple(words) or WHAT_TO_DO,
        tuple(RecallGroup(title, tuple(lines)) for title, lines in groups.items()),
        found.missing,
        author,
        tuple(anchors),
        say("{mill} · recall of {asked}", mill=mill_name, asked=found.asked),
        paper,
    )


def recall_sentence(found: RecallList) -> str:
    """Say in one sentence how much there is to fetch back, and from whom."""
    cases = [one for one in found.rows if one.what == "case"]
    gone = sum(bool(one.customer) for one in cases)
    balls = say_many(
        "{n} ball has it in it, {possible} more may",
        "{n} balls have it in them, {possible} more may",
        found.sure,
        possible=found.possible,
    )
    where = say_many(
        "{n} case, {gone} of them shipped",
        "{n} cases, {gone} of them shipped",
        len(cases),
        gone=gone,
    )
    if found.customers:
        where = say("{where} to {customers}", where=where, customers=joined(", ", found.customers))
    loose = len(found.rows) - len(cases)
    if loose:
        beside = say_many("{n} ball in no case", "{n} balls in no case", loose)
        return say("{balls}: {where}; {beside}.", balls=balls, where=where, beside=beside)
    return say("{balls}: {where}.", balls=balls, where=where)


def _group(row: RecallRow) -> str:
    if row.customer:
        return row.customer
    return say("In the mill: cases") if row.what == "case" else say("In the mill: balls in no case")


def _line(row: RecallRow) -> RecallLine:
    balls = say(
        "{balls_sure} sure, {balls_possible} possible",
        balls_sure=row.balls_sure,
        balls_possible=row.balls_possible,
    )
    behind = [
        say("pallet {pallet}", pallet=row.pallet) if row.pallet else "",
        row.delivery,
        told_moment(row.time),
    ]
    where = row.where if not row.customer else ""
    return RecallLine(
        row.name, say("sure") if row.sure else say("possible"), balls if row.what == "case" else "",
        joined(", ", (one for one in (where, *behind) if one)), row.why, row.records,
    )  # fmt: skip
