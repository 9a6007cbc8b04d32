"""Tables that an office sends as CSV: their rows with line numbers, and their heading."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence

from clew.faults import BadInput, Fault
from clew.languages import joined, say

_PARTED_BY = (",", ";", "\t")


def rows_of(text: str, file: str = "") -> Iterator[tuple[int, list[str]]]:
    """Give the rows of a table that are not empty.

    Parameters
    ----------
    text : str
        Rows parted by commas, semicolons or tabs, whichever stands most in the heading; quoted as
        RFC 4180 has it. A line ``sep=;`` before the heading, as some spreadsheets write, is left
        out.
    file : str
        The file's name, for the faults.

    Yields
    ------
    (int, list of str)
        The line it begins in, and its cells.

    Raises
    ------
    BadInput
        When a quotation mark is not closed or not doubled.
    """
    lines = text.splitlines(keepends=True)
    skipped = 0
    if lines and lines[0].strip().casefold() in ("sep=,", "sep=;"):
        skipped, text = 1, "".join(lines[1:])
    heading = next((line for line in text.splitlines() if line.strip()), "")
    parted_by = max(_PARTED_BY, key=heading.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=parted_by, strict=True)
    begins = 1 + skipped
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                yield begins, row
            begins = reader.line_num + 1 + skipped
    except csv.Error as error:
        expected = say(
            "rows parted by commas or semicolons, a quotation mark doubled inside a cell"
        )
        line = max(reader.line_num, 1) + skipped
        raise BadInput(
            Fault(say("not a CSV file"), expected, file, line, value=str(error))
        ) from None


def heading_faults(
    head: Sequence[str], must: Sequence[str], columns: Sequence[str], file: str, line: int
) -> list[Fault]:
    """See that a heading has the columns it must have, no other, and each once.

    Parameters
    ----------
    head : sequence of str
        Its cells, in small letters.
    must, columns : sequence of str
        Columns that must stand there; all that may.
    file : str
        The file's name.
    line : int
        The heading's line.

    Returns
    -------
    list of Fault
        Everything that is wrong.
    """
    faults = [
        Fault(
            say("a column is missing"),
            say("a heading with {columns}", columns=joined(", ", must)),
            file,
            line,
            key=name,
        )
        for name in must
        if name not in head
    ]
    faults += [
        Fault(say("an unknown column"), nearest(name, columns), file, line, key=name[:40])
        for name in head
        if name not in columns
    ]
    faults += [
        Fault(say("a column twice"), say("each once"), file, line, key=name)
        for name in columns
        if list(head).count(name) > 1
    ]
    return faults


def nearest(wanted: str, known: Sequence[str]) -> str:
    """Name what was probably meant, or what there is."""
    from difflib import get_close_matches

    folded = {name.casefold(): name for name in known}
    close = get_close_matches(wanted.casefold(), folded, n=1)
    if close:
        return say("{name}, perhaps", name=folded[close[0]])
    names = joined(", ", known[:12])
    return (
        say("one of {names} ...", names=names)
        if len(known) > 12
        else say("one of {names}", names=names)
    )
