"""The first line of a checkpoint: what is swept, and whether a file is of the same sweep."""

from __future__ import annotations

import functools
import hashlib
import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from clew.campaign.records import plain
from clew.faults import BadInput, Fault

FORMAT = 1
"""Version of the file itself; it changes when an older file can no longer be read."""


def header_of(
    function: Callable[..., Any], points: Sequence[Any], seed: int | None, version: str
) -> dict[str, Any]:
    """Say what is swept, so that a file can be matched with its sweep.

    Parameters
    ----------
    function : callable
        What is swept, at the top of a module.
    points : sequence
        Over what.
    seed : int or None
        With which seed.
    version : str
        By which version.

    Returns
    -------
    dict
        Its parts, and a SHA-256 over them all.
    """
    name, fixed = function_name(function)
    said = {
        "function": name,
        "fixed": plain(fixed),
        "seed": seed,
        "version": version,
        "points": len(points),
        "points_sha256": _sha256([[type(one).__qualname__, plain(one)] for one in points]),
    }
    return {"clew_sweep": FORMAT, "fingerprint": _sha256(said)} | said


def function_name(function: Callable[..., Any]) -> tuple[str, list[Any]]:
    """Name a function in a way that finds it again, and list what `functools.partial` fixed.

    Parameters
    ----------
    function : callable
        A function at the top of a module, or a ``functools.partial`` of one.

    Returns
    -------
    str
        Module and name.
    list
        Arguments that are fixed.

    Raises
    ------
    TypeError
        When it is not such a function.
    """
    fixed: list[Any] = []
    while isinstance(function, functools.partial):
        fixed = [list(function.args), dict(sorted(function.keywords.items())), *fixed]
        function = function.func
    name = getattr(function, "__qualname__", "<")
    if "." in name or "<" in name:
        raise TypeError(f"only a function at the top of a module can be swept so: {function!r}")
    return f"{function.__module__}.{name}", fixed


def _sha256(value: Any) -> str:
    return hashlib.sha256(json.dumps(value).encode("utf-8")).hexdigest()


def compare(path: Path, line: bytes, header: dict[str, Any]) -> None:
    """Refuse a file that is no checkpoint, or is one of another sweep; say what differs.

    Parameters
    ----------
    path : Path
        The file.
    line : bytes
        Its first line.
    header : dict
        What that line would be for the sweep asked for.

    Raises
    ------
    BadInput
        When they do not agree.
    """
    try:
        found = json.loads(line)
        known = found["clew_sweep"] == FORMAT
    except (ValueError, TypeError, KeyError, RecursionError):
        raise BadInput(
            Fault("is no checkpoint of a sweep", "a new file, or one a sweep began", file=str(path))
        ) from None
    if known and found.get("fingerprint") == header["fingerprint"]:
        return
    differs = []
    for key, words in _WORDS.items():
        if found.get(key) != header.get(key):
            differs.append(
                words
                if key in ("fixed", "points_sha256")
                else f"{words} {found.get(key)}, not {header.get(key)}"
            )
    raise BadInput(
        Fault(
            "holds another sweep",
            "the sweep it was begun with, or another file",
            file=str(path),
            value="; ".join(differs) or "another fingerprint",
        )
    )


_WORDS = {
    "clew_sweep": "format",
    "function": "function",
    "fixed": "other fixed arguments",
    "seed": "seed",
    "version": "version",
    "points": "number of points",
    "points_sha256": "other points",
}
"""Parts of a header and the words for them."""
