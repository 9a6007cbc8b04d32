"""Reading CSV files that a person or a detector wrote: every faulty cell, with its place."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

from clew.faults import BadInput, Fault
from clew.quantities import Kind, read_quantity

LARGEST_BYTES = 5_000_000
MOST_FAULTS = 200
_PARTED_BY = (",", ";", "\t")
_DECIMAL_COMMA = re.compile(r"([+-]?\d+),(\d+)(\s*[^\d,]*)")
"""A cell that is one number, with or without its unit."""


def parted_by(heading: str) -> str:
    """Tell what parts the columns of a file: a comma, a semicolon or a tab, by its heading."""
    return max(_PARTED_BY, key=heading.count)


def _with_point(cell: str) -> str:
    """Write a cell's number with a point, where commas do not part the columns."""
    found = _DECIMAL_COMMA.fullmatch(cell.strip())
    return cell if found is None else f"{found[1]}.{found[2]}{found[3]}"


def _csv_lines(path: Path, most_rows: int | None) -> Iterator[tuple[int, list[str]]]:
    """Give the rows of a file that are not empty, one by one, with their line numbers."""
    file = str(path)
    most_bytes = LARGEST_BYTES if most_rows is None else max(LARGEST_BYTES, 100 * most_rows)
    try:
        if path.stat().st_size > most_bytes:
            raise BadInput(
                Fault(
                    "too large a file",
                    expected=f"at most {most_bytes // 1_000_000} MB",
                    file=file,
                )
            )
        data = path.read_bytes()
        if most_rows is not None:
            _check_rows(data, most_rows, file)
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(
            Fault("not UTF-8 text", expected="CSV in UTF-8", file=file, value=f"byte {error.start}")
        ) from None
    except OSError as error:
        raise BadInput(
            Fault("cannot be read", expected="a CSV file", file=file, value=str(error.strerror))
        ) from None
    del data
    lines = text.splitlines()
    del text
    mark = parted_by(next((line for line in lines if line.strip()), ""))
    reader = csv.reader(lines, delimiter=mark)
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                yield reader.line_num, row if mark == "," else [_with_point(one) for one in row]
    except csv.Error as error:
        raise BadInput(
            Fault(
                "not a CSV file",
                expected="rows parted by commas, semicolons or tabs",
                file=file,
                line=reader.line_num,
                value=str(error),
            )
        ) from None


def _check_rows(data: bytes, most_rows: int, file: str) -> None:
    """Refuse too many rows before one is read: nobody waits, and nothing fills the memory."""
    ends = max(data.count(b"\n"), data.count(b"\r"))
    rows = ends - data.endswith((b"\n", b"\r"))
    if rows > most_rows:
        raise BadInput(
            Fault(
                "too many rows",
                expected=f"at most {most_rows} rows under the heading; part the file",
                file=file,
                value=f"{rows} rows",
            )
        )


def _check_heading(head: list[str], columns: Mapping[str, bool], file: str, head_line: int) -> None:
    needed = ", ".join(columns)
    if head[0][:1].isdigit() and not set(head) & set(columns):
        raise BadInput(
            Fault(
                "no heading",
                expected=f"a first line with {needed}",
                file=file,
                line=head_line,
                value=", ".join(head)[:60],
            )
        )
    faults = [
        Fault(
            "a column is missing",
            expected=f"a heading with {needed}",
            file=file,
            line=head_line,
            key=name,
        )
        for name, must in columns.items()
        if must and name not in head
    ]
    faults += [
        Fault("an unknown column", expected=f"one of {needed}", file=file, line=head_line, key=name)
        for name in head
        if name not in columns
    ]
    faults += [
        Fault("a column twice", expected="each once", file=file, line=head_line, key=name)
        for name in sorted(set(head))
        if head.count(name) > 1
    ]
    if faults:
        raise BadInput(faults)


def stream_rows(
    path: Path, columns: Mapping[str, bool], faults: list[Fault], *, most_rows: int | None = None
) -> Iterator[tuple[int, list[str]]]:
    """Give a CSV file's rows one by one, so that a long file does not fill the memory.

    Parameters
    ----------
    path : Path
        The file.
    columns : mapping of str to bool
        Columns that may stand in it, and whether a row must fill them.
    faults : list of Fault
        Where faulty rows are added; such a row is left out. Reading stops after many of them.
    most_rows : int or None
        Most rows under the heading; None where the size of the file is the only limit.

    Yields
    ------
    (int, list of str)
        Line number and the stripped cells in the order of `columns`, empty where a column that
        may be left out is.

    Raises
    ------
    BadInput
        What ends the reading: no file, not UTF-8, too large, missing or unknown columns.
    """
    file = str(path)
    lines = _csv_lines(path, most_rows)
    needed = ", ".join(columns)
    head_line, first = next(lines, (0, []))
    if not first:
        raise BadInput(Fault("an empty file", expected=f"a heading with {needed}", file=file))
    head = [cell.strip().casefold() for cell in first]
    _check_heading(head, columns, file, head_line)
    places = [head.index(name) if name in head else len(head) for name in columns]
    must = list(columns.items())
    for line, row in lines:
        if len(faults) >= MOST_FAULTS:
            return
        if len(row) > len(head):
            faults.append(
                Fault(
                    "more cells than columns",
                    expected=f"{len(head)} cells",
                    file=file,
                    line=line,
                    value=str(len(row)),
                )
            )
            continue
        cells = [row[place].strip() if place < len(row) else "" for place in places]
        if not all(cells):
            empty = [
                name for (name, needs), cell in zip(must, cells, strict=True) if needs and not cell
            ]
            faults += [
                Fault("an empty cell", expected="a value", file=file, line=line, key=name)
                for name in empty
            ]
            if empty:
                continue
        yield line, cells


def read_rows(path: Path, columns: Mapping[str, bool]) -> list[tuple[int, dict[str, str]]]:
    """Read a CSV file's rows with their line numbers.

    Parameters
    ----------
    path : Path
        The file.
    columns : mapping of str to bool
        Columns that may stand in it, and whether a row must fill them.

    Returns
    -------
    list of (int, dict of str to str)
        Line number and the stripped cells, empty where a column that may be left out is.

    Raises
    ------
    BadInput
        Every fault at once: no file, not UTF-8, missing or unknown columns, empty cells.
    """
    faults: list[Fault] = []
    found = [
        (line, dict(zip(columns, cells, strict=True)))
        for line, cells in stream_rows(path, columns, faults)
    ]
    if not found and not faults:
        raise BadInput(Fault("no rows", expected="a row under the heading", file=str(path), line=1))
    if faults:
        raise BadInput(faults[:MOST_FAULTS])
    return found


def placed(fault: Fault, path: Path, line: int, column: str) -> Fault:
    """Give a fault its place in a CSV file."""
    return Fault(fault.what, fault.expected, str(path), line, "", column, fault.value)


def read_columns(path: Path, kinds: Mapping[str, Kind]) -> dict[str, list[float]]:
    """Read columns of quantities, each with its unit in every cell.

    Parameters
    ----------
    path : Path
        The file.
    kinds : mapping of str to Kind
        Column names and what they hold.

    Returns
    -------
    dict of str to list of float
        Values in inside units.

    Raises
    ------
    BadInput
        Every faulty cell at once, with file, line and column.
    """
    values: dict[str, list[float]] = {name: [] for name in kinds}
    faults: list[Fault] = []
    for line, cells in read_rows(path, dict.fromkeys(kinds, True)):
        for name, kind in kinds.items():
            try:
                values[name].append(read_quantity(cells[name], kind))
            except BadInput as bad:
                faults.append(placed(bad.faults[0], path, line, name))
    if faults:
        raise BadInput(faults[:MOST_FAULTS])
    return values
