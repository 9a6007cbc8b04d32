"""Lines of a file with their place in it: what a reader of rows stands on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import IO, Any

LONGEST_ROW = 1 << 20
"""Bytes in one row; what is longer is no row of events."""
SHOWN_OF_LONG = 2_000
"""Bytes kept of a row that is longer."""
BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class RawLine:
    """One line of a file.

    Attributes
    ----------
    number : int
        Its number, from 1.
    start, end : int
        Where it begins, and where the next one does [bytes].
    text : bytes
        The line without its end; of one that is too long only the beginning.
    ended : bool
        Whether its line end is there.
    too_long : bool
        Whether it is longer than `LONGEST_ROW`.
    """

    number: int
    start: int
    end: int
    text: bytes
    ended: bool
    too_long: bool


@dataclass(frozen=True, slots=True)
class FoundRow:
    """One row of a file, read as far as the file's own form goes.

    Attributes
    ----------
    line : int
        Number of the line it begins on, from 1.
    start, end : int
        Where it begins and ends in the file [bytes].
    ended : bool
        Whether its line end is there.
    found : mapping or None
        Its values by their keys; None where the row cannot be read at all.
    why : str
        Why it cannot.
    raw : bytes
        The row as it stands, without its line end.
    key_line : int
        Line by which its key is made: a row mended in a quarantine file keeps that of the file
        it came from, so that it is one event wherever it is mended.
    """

    line: int
    start: int
    end: int
    ended: bool
    found: Mapping[str, Any] | None
    why: str
    raw: bytes
    key_line: int = 0


def raw_lines(file: IO[bytes], start: int, number: int) -> Iterator[RawLine]:
    """Give the lines of a file one by one, from a place in it.

    Parameters
    ----------
    file : binary file
        Open for reading.
    start : int
        Where the first one begins [bytes].
    number : int
        Its number.

    Yields
    ------
    RawLine
        In their order; no line is held whole that is longer than `LONGEST_ROW`.
    """
    file.seek(start)
    while text := file.readline(LONGEST_ROW + 2):
        end = start + len(text)
        too_long = len(text) > LONGEST_ROW and not text.endswith(b"\n")
        ended = text.endswith(b"\n")
        if too_long:
            text = text[:SHOWN_OF_LONG]
            while more := file.readline(LONGEST_ROW):
                end += len(more)
                ended = more.endswith(b"\n")
                if ended:
                    break
        if start == 0:
            text = text.removeprefix(BOM)
        yield RawLine(number, start, end, text.removesuffix(b"\n").removesuffix(b"\r"),
                      ended, too_long)  # fmt: skip
        start, number = end, number + 1


def lines_before(file: IO[bytes], upto: int) -> int:
    """Count the lines that end before a place in a file [bytes]."""
    file.seek(0)
    count = 0
    while upto > 0 and (block := file.read(min(upto, 1 << 20))):
        count += block.count(b"\n")
        upto -= len(block)
    return count
