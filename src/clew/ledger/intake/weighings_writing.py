"""Writing weighings: good rows in one plain form, refused rows as they stood with their reason."""

from __future__ import annotations

import contextlib
import csv
import math
import os
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from pathlib import Path

from clew.faults import BadInput, Fault
from clew.ledger.intake.weighings import BadRow, Scan
from clew.ledger.intake.weighings_columns import DAY_S, TimeKind
from clew.ledger.intake.weighings_lines import FILE_COLUMNS

_AT_A_TIME = 20_000
_START = datetime(1970, 1, 1)

Row = Sequence[str | int]


def clean_rows(scan: Scan) -> Iterator[Row]:
    """Give a heading and the good rows: commas, points, plain numbers in the column's unit.

    Parameters
    ----------
    scan : Scan
        A file as it was read.

    Yields
    ------
    sequence of str
        Cells; read again, they are the same balls.
    """
    table = scan.table
    names = {"time": "time_s"}
    held = [
        name
        for name in FILE_COLUMNS
        if name in table.factors or names.get(name, name) in table.numbers
    ]
    yield held
    for start in range(0, table.rows, _AT_A_TIME):
        rows = slice(start, start + _AT_A_TIME)
        yield from zip(*(_cells(scan, name, rows) for name in held), strict=True)


def _cells(scan: Scan, name: str, rows: slice) -> list[str]:
    table = scan.table
    if name in table.factors:
        factor = table.factors[name]
        return [factor.names[code] if code >= 0 else "" for code in factor.codes[rows].tolist()]
    if name == "time":
        times = table.numbers["time_s"][rows].tolist()
        return ["" if math.isnan(at_s) else _time(scan, at_s) for at_s in times]
    values = table.numbers[name][rows].tolist()
    return ["" if math.isnan(value) else repr(value).removesuffix(".0") for value in values]


def _time(scan: Scan, at_s: float) -> str:
    return shown_time(at_s, scan.time_kind, to_the_second=scan.time_to_the_second)


def shown_time(at_s: float, kind: TimeKind, *, to_the_second: bool = True) -> str:
    """Write a time as the file wrote it; with a zone it is that of Greenwich.

    Parameters
    ----------
    at_s : float
        The time, as `TimeReader` counts it [s].
    kind : str
        How the file writes its times.
    to_the_second : bool
        Whether all of them tell seconds; if not, full minutes are written without.

    Returns
    -------
    str
        Such as 2026-11-25T10:15:30, 10:15:30 or 36930.
    """
    if kind == "seconds":
        return repr(at_s).removesuffix(".0")
    # A float of seconds since 1970 is good to a microsecond, no further.
    at = _START + timedelta(seconds=round(at_s % DAY_S if kind == "clock" else at_s, 6))
    full = not to_the_second and not at.second and not at.microsecond
    spec = "minutes" if full else "auto"
    if kind == "clock":
        return at.time().isoformat(spec)
    return at.isoformat(timespec=spec) + ("+00:00" if kind == "zone" else "")


def rejected_rows(bad: Iterable[BadRow]) -> Iterator[Row]:
    """Give a heading and the refused rows: line, what is wrong with it, the row as it stood.

    Parameters
    ----------
    bad : iterable of (int, str, Fault)
        As `scan_file` gives them.

    Yields
    ------
    sequence of str or int
        Cells; a row with two faults is one row with two reasons.
    """
    yield ("line", "reason", "row")
    for line, (row, reasons) in by_line(bad).items():
        yield (line, "; ".join(reasons), row)


def by_line(bad: Iterable[BadRow]) -> dict[int, tuple[str, list[str]]]:
    """Gather what is wrong by line: the row as it stood, and each reason without its place."""
    found: dict[int, tuple[str, list[str]]] = {}
    for line, row, fault in bad:
        bare = Fault(fault.what, fault.expected, key=fault.key, value=fault.value)
        found.setdefault(line, (row, []))[1].append(str(bare))
    return found


def check_targets(source: Path, targets: Sequence[Path], *, overwrite: bool) -> None:
    """Refuse files that are there already, or that are the source or one another.

    Raises
    ------
    BadInput
        All that is wrong at once.
    """
    faults = []
    seen = {source.resolve()}
    for target in targets:
        if target.resolve() in seen:
            faults.append(Fault("would be written over", "a file of its own", str(target)))
        elif os.path.lexists(target) and not overwrite:
            faults.append(Fault("there already", "another name, or --overwrite", str(target)))
        seen.add(target.resolve())
    if faults:
        raise BadInput(faults)


def write_together(files: Sequence[tuple[Path, Iterable[Row]]]) -> None:
    """Write CSV files row by row beside their places, and put them there when all are whole.

    Raises
    ------
    BadInput
        When one cannot be written; none has changed then.
    """
    waiting: list[tuple[Path, Path]] = []
    try:
        for target, rows in files:
            target.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
            waiting.append((Path(name), target))
            with os.fdopen(handle, "w", encoding="utf-8", newline="") as out:
                csv.writer(out, lineterminator="\n").writerows(rows)
                out.flush()
                os.fsync(out.fileno())
            Path(name).chmod(0o644)
        for beside, target in waiting:
            beside.replace(target)
    except OSError as error:
        raise BadInput(
            Fault(
                "cannot be written",
                "a folder that can be written to",
                str(target),
                value=str(error.strerror),
            )
        ) from None
    finally:
        for beside, _ in waiting:
            with contextlib.suppress(OSError):
                beside.unlink(missing_ok=True)
