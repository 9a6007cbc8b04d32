"""Reading small CSV files that a person wrote: every faulty cell at once, with its place."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from pathlib import Path

from clew.faults import BadInput, Fault
from clew.quantities import Kind, read_quantity

LARGEST_BYTES = 5_000_000
MOST_FAULTS = 200


def _csv_lines(path: Path) -> list[tuple[int, list[str]]]:
    """Read the rows of a file that are not empty, with their line numbers."""
    file = str(path)
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise BadInput(
                Fault(
                    "too large a file",
                    expected=f"at most {LARGEST_BYTES // 1_000_000} MB",
                    file=file,
                )
            )
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(
            Fault("not UTF-8 text", expected="CSV in UTF-8", file=file, value=f"byte {error.start}")
        ) from None
    except OSError as error:
        raise BadInput(
            Fault("cannot be read", expected="a CSV file", file=file, value=str(error.strerror))
        ) from None
    reader = csv.reader(text.splitlines())
    try:
        lines = [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise BadInput(
            Fault(
                "not a CSV file",
                expected="comma-separated rows",
                file=file,
                line=reader.line_num,
                value=str(error),
            )
        ) from None
    return lines


def _check_heading(head: list[str], columns: Mapping[str, bool], file: str, head_line: int) -> None:
    needed = ", ".join(columns)
    if len(head) == 1 and ";" in head[0]:
        raise BadInput(
            Fault("columns parted by ;", "columns parted by commas", file=file, line=head_line)
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
    file = str(path)
    lines = _csv_lines(path)
    if not lines:
        needed = ", ".join(columns)
        raise BadInput(Fault("an empty file", expected=f"a heading with {needed}", file=file))
    head_line, head = lines[0][0], [cell.strip().casefold() for cell in lines[0][1]]
    _check_heading(head, columns, file, head_line)
    faults: list[Fault] = []
    found: list[tuple[int, dict[str, str]]] = []
    for line, row in lines[1:]:
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
        cells = dict.fromkeys(columns, "") | dict(
            zip(head, (cell.strip() for cell in row), strict=False)
        )
        for name, must in columns.items():
            if must and not cells[name]:
                faults.append(
                    Fault("an empty cell", expected="a value", file=file, line=line, key=name)
                )
        found.append((line, cells))
    if not found and not faults:
        raise BadInput(
            Fault("no rows", expected="a row under the heading", file=file, line=head_line)
        )
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
