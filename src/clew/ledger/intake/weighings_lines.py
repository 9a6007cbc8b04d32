"""A file of weighings as blocks of cells: the text is never held whole.

One line is one row; a cell that runs over a line's end is refused. That keeps the line number of
every row, and a quote that is not closed spoils its own line alone.
"""

from __future__ import annotations

import csv
import difflib
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from clew.checks.weighings import FACTORS, NUMBERS
from clew.faults import BadInput, Fault

FILE_COLUMNS = ("time", *FACTORS, *(name for name in NUMBERS if name != "time_s"))
"""Names that may stand in the heading. `time` becomes `time_s`, the others keep their names."""

JSON_ENDINGS = (".jsonl", ".ndjson")
BLOCK_CHARS = 1 << 20
LONGEST_LINE = 1 << 20
_SEP = re.compile(r"sep=.?", re.IGNORECASE)
DECIMAL_COMMA = 'a decimal comma? write 49.6, or part columns by ";"'


@dataclass(slots=True)
class Block:
    """Some thousand rows.

    Attributes
    ----------
    lines : list of int
        Line of each row.
    raw : list of str
        Each row as it stood.
    cells : dict of str to sequence of str
        Cells by column.
    faults : list of (int, Fault)
        Rows that have no cells because the line itself is bad: line and fault; they are not among
        `lines`.
    bad_raw : dict of int to str
        Those rows as they stood.
    """

    lines: list[int]
    raw: list[str]
    cells: dict[str, Sequence[str]]
    faults: list[tuple[int, Fault]] = field(default_factory=list)
    bad_raw: dict[int, str] = field(default_factory=dict)


def may_stand() -> str:
    """Name the columns a file may have."""
    return ", ".join(FILE_COLUMNS)


def numbered_lines(path: Path) -> Iterator[tuple[int, list[str]]]:
    """Give the lines of a text file in blocks, each with the number of its first line.

    Raises
    ------
    BadInput
        When it cannot be read, is not UTF-8, or has a line of more than a million characters.
    """
    file = str(path)
    first = 1
    carry = ""
    try:
        with path.open(encoding="utf-8-sig") as text:
            while piece := text.read(BLOCK_CHARS):
                lines = (carry + piece).split("\n")
                carry = lines.pop()
                if len(carry) > LONGEST_LINE:
                    raise BadInput(
                        Fault("too long a line", "a row of weighings a line", file, first)
                    )
                if lines:
                    yield first, lines
                first += len(lines)
            if carry:
                yield first, [carry]
    except UnicodeDecodeError:
        raise BadInput(
            Fault("not UTF-8 text", 'CSV or JSON lines saved as "UTF-8"', file)
        ) from None
    except OSError as error:
        raise BadInput(
            Fault("cannot be read", "CSV or JSON lines", file, value=str(error.strerror))
        ) from None


def is_json(path: Path) -> bool:
    """Tell by its name whether a file holds JSON lines."""
    return path.suffix.casefold() in JSON_ENDINGS


def blocks(path: Path) -> tuple[str, Iterator[Block]]:
    """Open a file of weighings.

    Returns
    -------
    str
        What parts its columns; empty for JSON lines.
    iterator of Block
        Its rows.

    Raises
    ------
    BadInput
        When there is no heading or a column in it is unknown, at once; when the text cannot be
        read, while it is.
    """
    if is_json(path):
        return "", _json_blocks(path)
    source = numbered_lines(path)
    for first, lines in source:
        for place, line in enumerate(lines):
            # Some spreadsheets say on a line before the heading what parts the columns.
            if line.strip(" \t,;\r\ufeff") and not _SEP.fullmatch(line.strip()):
                mark = _mark_of(line)
                head, spare = _heading(line, mark, str(path), first + place)
                rest = (first + place + 1, lines[place + 1 :])
                shape = _Shape(mark, tuple(head), spare, str(path))
                return mark, _csv_blocks(rest, source, shape)
    raise BadInput(Fault("an empty file", f"a heading with some of {may_stand()}", str(path)))


def _mark_of(line: str) -> str:
    def known(mark: str) -> tuple[int, int]:
        cells = [cell.strip(' "').casefold() for cell in line.split(mark)]
        return sum(cell in FILE_COLUMNS for cell in cells), len(cells)

    return max((",", ";", "\t"), key=known)


@dataclass(frozen=True, slots=True)
class _Shape:
    """How the rows of a CSV file are made: what parts them, columns, empty cells after these."""

    mark: str
    head: tuple[str, ...]
    spare: int
    file: str


def _heading(line: str, mark: str, file: str, number: int) -> tuple[list[str], int]:
    """Read the heading, and how many nameless columns stand at its end."""
    cells = next(csv.reader([line], delimiter=mark))
    head = [cell.strip().casefold() for cell in cells]
    while head and not head[-1]:
        head.pop()
    if not set(head) & set(FILE_COLUMNS) and any(cell[:1].isdigit() for cell in head):
        raise BadInput(
            Fault(
                "no heading",
                f"a first line with some of {may_stand()}",
                file,
                number,
                value=repr(line.strip()[:60]),
            )
        )
    faults = [_unknown(name, file, number) for name in head if name not in FILE_COLUMNS]
    faults += [
        Fault("a column twice", "each once", file, number, key=name)
        for name in dict.fromkeys(head)
        if name in FILE_COLUMNS and head.count(name) > 1
    ]
    if faults:
        raise BadInput(faults)
    return head, len(cells) - len(head)


def _unknown(name: str, file: str, number: int) -> Fault:
    if not name:
        return Fault("a column without a name", f"one of {may_stand()}", file, number)
    near = difflib.get_close_matches(name, FILE_COLUMNS, 1, 0.55)
    meant = f"{near[0]}? or " if near else ""
    shown = name[:40] if name.isprintable() else repr(name[:40])
    expected = f"{meant}one of {may_stand()}; rename it or take it out"
    return Fault("an unknown column", expected, file, number, key=shown)


def _csv_blocks(
    rest: tuple[int, list[str]], source: Iterator[tuple[int, list[str]]], shape: _Shape
) -> Iterator[Block]:
    yield _csv_block(*rest, shape)
    for first, lines in source:
        yield _csv_block(first, lines, shape)


def _csv_block(first: int, lines: list[str], shape: _Shape) -> Block:
    numbers = list(range(first, first + len(lines)))
    plain = _plain_columns(lines, shape)
    if plain is not None:
        return Block(numbers, lines, plain)
    rows: list[list[str]] | None
    try:
        rows = list(csv.reader(lines, delimiter=shape.mark, strict=True))
    except csv.Error:
        rows = None
    faults: list[tuple[int, Fault]] = []
    bad: dict[int, str] = {}
    wide = len(shape.head)
    if (
        rows is None
        or len(rows) != len(lines)
        or any(len(row) != wide or not any(map(str.strip, row)) for row in rows)
    ):
        kept: list[tuple[int, str, list[str]]] = []
        for number, line in zip(numbers, lines, strict=True):
            cells = _cells(line, shape, number)
            if isinstance(cells, Fault):
                faults.append((number, cells))
                bad[number] = line
            elif cells:
                kept.append((number, line, cells))
        numbers = [one[0] for one in kept]
        lines = [one[1] for one in kept]
        rows = [one[2] for one in kept]
    columns: list[Sequence[str]] = list(zip(*rows, strict=True)) if rows else [()] * wide
    return Block(numbers, lines, dict(zip(shape.head, columns, strict=True)), faults, bad)


def _plain_columns(lines: list[str], shape: _Shape) -> dict[str, Sequence[str]] | None:
    """Part lines without quotes and with the right number of cells, three times as fast."""
    wide = len(shape.head)
    if wide < 2 or any(line.count(shape.mark) != wide - 1 for line in lines):
        return None
    text = shape.mark.join(lines)
    junk = shape.mark + " \t\r"
    empty = any(line[0] in junk and not line.strip(junk) for line in lines)
    if '"' in text or not lines or empty:
        return None
    cells = text.split(shape.mark)
    return {name: cells[place::wide] for place, name in enumerate(shape.head)}


def _cells(line: str, shape: _Shape, number: int) -> list[str] | Fault:
    """Part one line into its cells; an empty line has none."""
    file, wide = shape.file, len(shape.head)
    try:
        found = list(csv.reader([line], delimiter=shape.mark, strict=True))
    except csv.Error:
        return Fault("a quote that is not closed, or text after it", "whole quotes", file, number)
    if not found or not any(cell.strip() for cell in found[0]):
        return []
    cells = found[0]
    # Empty cells at the end are dropped only where the heading has them: "4,49,7," under three
    # columns is a decimal comma, not 49 g and 7 m.
    for _ in range(shape.spare):
        if len(cells) > wide and not cells[-1].strip():
            cells.pop()
    if len(cells) > wide:
        expected = f"{wide} cells" + (f"; {DECIMAL_COMMA}" if shape.mark == "," else "")
        return Fault("more cells than columns", expected, file, number, value=str(len(found[0])))
    if len(cells) < wide:
        return Fault(
            "fewer cells than columns",
            f"{wide} cells, empty where not measured",
            file,
            number,
            value=str(len(cells)),
        )
    return cells


def _json_blocks(path: Path) -> Iterator[Block]:
    file = str(path)
    some = False
    for first, lines in numbered_lines(path):
        block = Block([], [], {})
        objects: list[dict[str, str]] = []
        for number, line in enumerate(lines, start=first):
            if not line.strip():
                continue
            some = True
            found = _object(line, file, number)
            if isinstance(found, Fault):
                block.faults.append((number, found))
                block.bad_raw[number] = line
            elif any(found.values()):
                block.lines.append(number)
                block.raw.append(line)
                objects.append(found)
        names = dict.fromkeys(name for one in objects for name in one)
        block.cells = {name: [one.get(name, "") for one in objects] for name in names}
        yield block
    if not some:
        raise BadInput(Fault("an empty file", "a JSON object a line", file))


def _object(line: str, file: str, number: int) -> dict[str, str] | Fault:
    try:
        found = json.loads(line)
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict):
        return Fault("no JSON object", 'such as {"winder": "4", "mass_g": 101.2}', file, number)
    cells: dict[str, str] = {}
    for key, value in found.items():
        if key not in FILE_COLUMNS:
            return _unknown(str(key), file, number)
        if isinstance(value, bool | list | dict):
            return Fault(
                "neither a number nor text", "a number or text", file, number, key=str(key)
            )
        cells[key] = "" if value is None else str(value).strip()
    return cells


def raw_lines(path: Path, wanted: set[int]) -> dict[int, str]:
    """Read some lines of a file again, as they stand."""
    found: dict[int, str] = {}
    text: IO[str]
    with path.open(encoding="utf-8-sig") as text:
        for number, line in enumerate(text, start=1):
            if number in wanted:
                found[number] = line.rstrip("\n")
                if len(found) == len(wanted):
                    break
    return found
