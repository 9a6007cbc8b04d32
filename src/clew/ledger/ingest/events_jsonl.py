"""Events in a file of JSON lines: one object a line."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import IO, Any

from clew.ledger.ingest.events_csv import QUARANTINE, TOO_LONG, line_of_key
from clew.ledger.ingest.rows import FoundRow, RawLine, raw_lines

ENDINGS = (".jsonl", ".ndjson")
_EXPECTED = 'expected one such as {"kind": "doff", ...}'


def read_object(text: bytes) -> dict[str, Any]:
    """Read one line's object.

    Parameters
    ----------
    text : bytes
        The line.

    Returns
    -------
    dict
        What stands in it.

    Raises
    ------
    ValueError
        Why it is none.
    """
    try:
        found = json.loads(text.decode(), object_pairs_hook=_once, parse_constant=_no_number)
    except UnicodeDecodeError:
        raise ValueError("not UTF-8 text") from None
    except json.JSONDecodeError as error:
        raise ValueError(f"no JSON object: {error.msg}; {_EXPECTED}") from None
    except RecursionError:
        raise ValueError(f"too deep; {_EXPECTED}") from None
    if not isinstance(found, dict):
        raise ValueError(f"no JSON object; {_EXPECTED}")
    return found


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"{twice[:60]!r} is there twice; expected each key once")
    return made


def _no_number(word: str) -> Any:
    raise ValueError(f"{word} is no number of JSON")


class JsonLinesFile:
    """A file of JSON lines.

    Parameters
    ----------
    file : binary file
        Open for reading.
    """

    heading = b""
    start, first_line = 0, 1

    def __init__(self, file: IO[bytes]) -> None:
        self.file = file

    def rows(self, start: int, line: int, *, growing: bool) -> Iterator[FoundRow]:
        """Give the rows from a place in the file on; as `CsvFile.rows`."""
        for one in raw_lines(self.file, start, line):
            if growing and not one.ended:
                return
            if one.text.strip():
                yield _row(one)


def _row(line: RawLine) -> FoundRow:
    found, why, key_line = None, TOO_LONG, line.number
    if not line.too_long:
        try:
            found, why = read_object(line.text), ""
            key_line = line_of_key(found.pop(QUARANTINE[0], ""), line.number)
            found.pop(QUARANTINE[1], None)
        except ValueError as error:
            why = str(error)
    return FoundRow(line.number, line.start, line.end, line.ended, found, why, line.text, key_line)
