"""Reading orders off a CSV file: every faulty cell, with its place."""

from __future__ import annotations

import math
import re
from datetime import date
from typing import TYPE_CHECKING, cast

from clew.faults import BadInput, Fault
from clew.languages import day, joined, say
from clew.plan.csv_rows import heading_faults, nearest, rows_of
from clew.plan.orders.asked import LotRule, OrderAsked

if TYPE_CHECKING:
    from clew.mill.model import Mill

MUST = ("order", "customer", "ball", "colour", "balls", "due")
MAY = ("dye_lots", "priority", "lines", "ready")
COLUMNS = (*MUST, *MAY)
RULES: tuple[LotRule, ...] = ("one", "case", "any")
MOST_ORDERS = 10_000
MOST_BALLS = 1_000_000
MOST_PRIORITY = 1000.0
FIRST_YEAR, LAST_YEAR = 2000, 2199
MOST_FAULTS = 200
_LONGEST_NAME = 80
_NO_SUCH = {
    "ball": say("no such ball in the mill"),
    "colour": say("no such colour in the mill"),
    "lines": say("no such line in the mill"),
}


def orders_from_csv(text: str, mill: Mill, *, file: str = "") -> tuple[OrderAsked, ...]:
    """Read orders off the text of a CSV file.

    Parameters
    ----------
    text : str
        The text: a heading, then a row an order, parted by commas or by semicolons.
    mill : Mill
        The mill whose balls, colours and lines they name.
    file : str
        The file's name, for the faults.

    Returns
    -------
    tuple of OrderAsked
        In the order of the file.

    Raises
    ------
    BadInput
        Every fault at once, with file, line and column.

    Notes
    -----
    Quoting is that of RFC 4180 (READ). A decimal comma is read as a decimal point; in a file
    parted by commas its cell stands between quotation marks. Several lines stand in one cell,
    parted by semicolons.
    """
    rows = rows_of(text.removeprefix("\ufeff"), file)
    head_line, first = next(rows, (1, []))
    if not first:
        expected = say("a heading with {columns}", columns=joined(", ", MUST))
        raise BadInput(Fault(say("an empty file"), expected, file=file))
    head = ["_".join(cell.split()).casefold() for cell in first]
    while head and not head[-1]:  # a table that was saved with an empty column behind it
        head.pop()
    wrong = heading_faults(head, MUST, COLUMNS, file, head_line)
    if wrong:
        raise BadInput(wrong[:MOST_FAULTS])
    faults: list[Fault] = []
    found: list[OrderAsked] = []
    lines_of: dict[str, int] = {}
    for count, (line, row) in enumerate(rows):
        if count >= MOST_ORDERS or len(faults) >= MOST_FAULTS:
            if count >= MOST_ORDERS:
                expected = say("at most {most} orders", most=MOST_ORDERS)
                faults.append(Fault(say("too many orders"), expected, file, line))
            break
        while len(row) > len(head) and not row[-1].strip():
            row.pop()
        if len(row) > len(head):
            expected = say("{n} cells", n=len(head))
            faults.append(
                Fault(say("more cells than columns"), expected, file, line, value=f"{len(row)}")
            )
            continue
        cells = dict.fromkeys(COLUMNS, "")
        cells |= {name: cell.strip() for name, cell in zip(head, row, strict=False)}
        reader = _Row(mill, cells, file, line)
        order = reader.order()
        number = cells["order"].casefold()
        if number and number in lines_of:
            again = say(
                "{order}, as in line {line}", order=repr(cells["order"]), line=lines_of[number]
            )
            reader.wrong(
                "order", say("an order that stands twice"), say("each order number once"), again
            )
        lines_of.setdefault(number, line)
        faults += reader.faults
        if order is not None:
            found.append(order)
    if faults:
        raise BadInput(faults[:MOST_FAULTS])
    if not found:
        raise BadInput(Fault(say("no orders"), say("a row under the heading"), file, head_line))
    return tuple(found)


class _Row:
    """One row, read cell by cell; what is wrong with it is kept."""

    def __init__(self, mill: Mill, cells: dict[str, str], file: str, line: int) -> None:
        self.mill, self.cells, self.file, self.line = mill, cells, file, line
        self.faults: list[Fault] = []

    def wrong(self, column: str, what: str, expected: str, value: str | None = None) -> None:
        """Keep a fault of a cell."""
        shown = repr(self.cells[column][:40]) if value is None else value
        self.faults.append(
            Fault(what, expected, self.file, self.line, key=column, value=shown)
        )  # fmt: skip

    def order(self) -> OrderAsked | None:
        """Read the order; None where anything is wrong with it."""
        mill = self.mill
        number, customer = self._text("order"), self._text("customer")
        if number.startswith(tuple("=+-@")):  # it goes into tables that a spreadsheet opens
            self.wrong("order", say("a number that is a formula"), say("a letter or a digit first"))
        ball = self._name("ball", [one.name for one in mill.ball])
        colour = self._name("colour", [one.name for one in mill.colour])
        balls, due = self._balls(), self._date("due")
        ready = self._date("ready") if self.cells["ready"] else None
        rule = self.cells["dye_lots"].casefold() or "one"
        if rule not in RULES:
            self.wrong("dye_lots", say("no rule of dye lots"), say("one, case or any"))
        priority, lines = self._priority(), self._lines()
        if due is not None and ready is not None and ready > due:
            self.wrong(
                "ready",
                say("yarn that is ready after the order is due"),
                say("{date} or before", date=day(due)),
            )
        if self.faults or due is None:
            return None
        return OrderAsked(
            number, customer, ball, colour, balls, due, cast("LotRule", rule), priority, lines,
            ready,
        )  # fmt: skip

    def _filled(self, column: str) -> bool:
        if not self.cells[column]:
            self.wrong(column, say("an empty cell"), say("a value"), "")
        return bool(self.cells[column])

    def _text(self, column: str) -> str:
        text = self.cells[column]
        if self._filled(column) and (len(text) > _LONGEST_NAME or not text.isprintable()):
            self.wrong(
                column,
                say("not a name"),
                say("at most {most} plain characters", most=_LONGEST_NAME),
            )
        return text

    def _known(self, column: str, wanted: str, known: list[str]) -> str:
        for name in known:
            if name.casefold() == wanted.casefold():
                return name
        expected = nearest(wanted, known) if known else say("none is in the mill file")
        self.wrong(column, _NO_SUCH[column], expected, repr(wanted[:40]))
        return ""

    def _name(self, column: str, known: list[str]) -> str:
        return self._known(column, self.cells[column], known) if self._filled(column) else ""

    def _balls(self) -> int:
        text = self.cells["balls"]
        if not self._filled("balls"):
            return 0
        # ten digits hold every number that could be right
        balls = int(text) if re.fullmatch(r"[0-9]{1,10}", text) else 0
        if not 1 <= balls <= MOST_BALLS:
            self.wrong(
                "balls",
                say("no number of balls"),
                say("a whole number from 1 to {most}", most=MOST_BALLS),
            )
        return balls

    def _date(self, column: str) -> date | None:
        text = self.cells[column]
        if column in MUST and not self._filled(column):
            return None
        try:
            if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text) is None:
                raise ValueError
            found = date.fromisoformat(text)
            if not FIRST_YEAR <= found.year <= LAST_YEAR:
                raise ValueError
            return found
        except ValueError:
            self.wrong(
                column,
                say("no date"),
                say(
                    "a date such as 2026-12-04, {first} to {last}", first=FIRST_YEAR, last=LAST_YEAR
                ),
            )
            return None

    def _priority(self) -> float:
        text = self.cells["priority"]
        if not text:
            return 1.0
        plain = re.fullmatch(r"[0-9]{1,9}([.,][0-9]{1,9})?", text)
        value = float(text.replace(",", ".")) if plain else math.nan
        if not 0.0 <= value <= MOST_PRIORITY:
            self.wrong(
                "priority",
                say("no priority"),
                say("a number from 0 to {most:g}", most=MOST_PRIORITY),
            )
        return value

    def _lines(self) -> tuple[str, ...]:
        known = [line.name for line in self.mill.line]
        wanted = [part.strip() for part in self.cells["lines"].split(";") if part.strip()]
        found = tuple(self._known("lines", one, known) for one in wanted)
        if len(set(found)) < len(found) and all(found):
            self.wrong("lines", say("a line named twice"), say("each line once"))
        return found
