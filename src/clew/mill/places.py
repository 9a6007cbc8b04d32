"""How a place in a mill file is spoken of: its section, its key, and what stands there."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from typing import Any

from clew.languages import joined, say
from clew.mill.fields import KeyPath

_NAMED_BY = {"winder": "number", "dye_lot": "lot", "order": "number"}
_LONGEST = 60
_MOST_WORDS = 12


def found_at(raw: Any, path: KeyPath) -> Any:
    """Look up what stands at a path; None when there is nothing.

    Parameters
    ----------
    raw : Any
        The file as `tomllib` read it.
    path : KeyPath
        Where; a place in something that is not a list is passed over.

    Returns
    -------
    Any
        The value.
    """
    for part in path:
        if isinstance(part, int):
            if isinstance(raw, list):
                raw = raw[part] if part < len(raw) else None
        else:
            raw = raw.get(part) if isinstance(raw, dict) else None
    return raw


def section_and_key(raw: Any, path: KeyPath) -> tuple[str, str]:
    """Name the section and the key of a path, as ``line "Line 1" winder 3`` and ``lane``.

    Parameters
    ----------
    raw : Any
        The file as `tomllib` read it; entries are named by what it holds.
    path : KeyPath
        Where.

    Returns
    -------
    tuple of str
        Section and key; the key is empty when the path leads to a section.
    """
    parts: list[str] = []
    for place, part in enumerate(path):
        if isinstance(part, str):
            parts.append(_word(part))
        else:
            parts[-1] += " " + _entry_name(raw, path[: place + 1])
    if len(parts) <= 1:
        return "".join(parts), ""
    return " ".join(parts[:-1]), parts[-1]


def _word(key: str) -> str:
    return key if key.isprintable() and len(key) <= _LONGEST and key else shown(key)


def _entry_name(raw: Any, path: KeyPath) -> str:
    section, place = path[-2], path[-1]
    entry = found_at(raw, path)
    name = entry.get(_NAMED_BY.get(str(section), "name")) if isinstance(entry, dict) else None
    if isinstance(name, str) and name.strip():
        return shown(name.strip())
    if type(name) is int and section == "winder":
        return shown(name)
    return str(int(place) + 1)


def shown(value: Any) -> str:
    """Write a value as it stands in the file, shortened to what fits on a line.

    Parameters
    ----------
    value : Any
        A value that `tomllib` made, or None.

    Returns
    -------
    str
        The value as text; empty for None.
    """
    if value is None:
        text = ""
    elif isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = '"' + as_written(value.replace("\\", "\\\\").replace('"', '\\"')) + '"'
    elif isinstance(value, int):
        text = str(value) if abs(value) < 10**20 else say("a very large whole number")
    elif isinstance(value, datetime.date | datetime.time):
        text = value.isoformat()
    elif isinstance(value, dict):
        text = say("a table")
    elif isinstance(value, list):
        text = say("a list of {n}", n=len(value)) if value else say("an empty list")
    else:
        text = repr(value)
    return text


def one_of(words: Iterable[str]) -> str:
    """Name a choice in words, as far as they fit on a line.

    Parameters
    ----------
    words : iterable of str
        What there is to choose from.

    Returns
    -------
    str
        For example ``one of "Fell", "Mere"``.
    """
    few = list(words)
    if len(few) <= 1:
        return few[0] if few else ""
    choices = joined(", ", few[:_MOST_WORDS])
    if len(few) > _MOST_WORDS:
        return say("one of {choices}, …", choices=choices)
    return say("one of {choices}", choices=choices)


def as_written(text: str, longest: int = _LONGEST) -> str:
    """Show a piece of a file as it stands there, shortened, with nothing that cannot be printed.

    Parameters
    ----------
    text : str
        The piece.
    longest : int
        So many characters of it.

    Returns
    -------
    str
        What fits on a line.
    """
    plain = "".join(
        char if char.isprintable() else _ESCAPES.get(char, f"<U+{ord(char):04X}>")
        for char in text[:longest]
    )
    return plain + ("…" if len(text) > longest else "")


_ESCAPES = {"\n": "\\n", "\t": "\\t", "\r": "\\r"}
