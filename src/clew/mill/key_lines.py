"""On which line a key of a TOML text stands.

The text is read by `tomllib`, which keeps no lines. This goes over a text that `tomllib` has
accepted and only notes where each key and each element of a list begins; it judges nothing.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, field

_BLANK = re.compile(r"[ \t]*")
_GAP = re.compile(r"(?:[\s,]+|#[^\n]*)*+")
_CLOSING = re.compile(r"[ \t\]]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_STRING = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*+"""(?:"{0,2})'
    r"|'''(?:[^']|'(?!''))*+'''(?:'{0,2})"
    r'|"(?:[^"\\\n]|\\.)*+"'
    r"|'[^'\n]*'",
    re.DOTALL,
)
_SCALAR = re.compile(r"[^,\]}#\n]*")


@dataclass(slots=True)
class _Spot:
    """A key or an element: its line, and the spots inside its value."""

    line: int
    inside: dict[str | int, _Spot] = field(default_factory=dict)
    headed: int = 0
    """How many ``[[headings]]`` of this name there were."""


class KeyLines:
    """The lines on which the keys of a TOML text stand.

    Parameters
    ----------
    text : str
        A text that `tomllib` accepts. Any other text gives lines that may be wrong, and no error.
    """

    def __init__(self, text: str) -> None:
        self._text = text
        self._ends = [place for place, char in enumerate(text) if char == "\n"]
        self._top = _Spot(1)
        self._headings: list[tuple[int, tuple[str | int, ...]]] = []
        self._go_over()

    def line_of(self, path: Sequence[str | int]) -> int | None:
        """Find the line of a key.

        Parameters
        ----------
        path : sequence of str and int
            Keys, and places in lists counted from 0: ``("ball", 1, "tilt", 2, "turn")``. A place in
            something that is not a list is passed over.

        Returns
        -------
        int or None
            The line, counted from 1; that of the nearest thing around it when the key is not
            there, and None when nothing around it is.
        """
        spot = self._top
        for part in path:
            found = spot.inside.get(part)
            if found is None and isinstance(part, int):
                continue
            if found is None:
                break
            spot = found
        return None if spot is self._top else spot.line

    def table_at(self, line: int) -> tuple[str | int, ...]:
        """Say under which heading a line stands, as a path; empty above the first heading."""
        found: tuple[str | int, ...] = ()
        for start, path in self._headings:
            if start > line:
                break
            found = path
        return found

    def _line(self, place: int) -> int:
        return bisect_left(self._ends, place) + 1

    def _go_over(self) -> None:
        text, place, table = self._text, 0, self._top
        while True:
            place = self._skip(_GAP, place)
            if place >= len(text):
                return
            if text[place] == "[":
                table, place = self._heading(place)
            else:
                spot, place = self._key(table, place)
                if text.startswith("=", place):
                    place = self._value(spot, self._skip(_BLANK, place + 1))

    def _skip(self, pattern: re.Pattern[str], place: int) -> int:
        match = pattern.match(self._text, place)
        return match.end() if match else place

    def _names(self, place: int) -> tuple[list[str], int]:
        """Read a dotted key; goes on by one character at least."""
        names, start = [], place
        while True:
            place = self._skip(_BLANK, place)
            match = _BARE_KEY.match(self._text, place) or _STRING.match(self._text, place)
            if match is None:
                break
            names.append(_unquoted(match.group()))
            place = self._skip(_BLANK, match.end())
            if not self._text.startswith(".", place):
                break
            place += 1
        return names, max(place, start + 1)

    def _heading(self, place: int) -> tuple[_Spot, int]:
        many = self._text.startswith("[[", place)
        line = self._line(place)
        names, end = self._names(place + (2 if many else 1))
        spot = self._top
        path: list[str | int] = []
        for depth, name in enumerate(names):
            spot = spot.inside.setdefault(name, _Spot(line))
            path.append(name)
            last = depth == len(names) - 1
            if last and many:
                spot.headed += 1
                spot.inside[spot.headed - 1] = _Spot(line)
            if spot.headed:
                path.append(spot.headed - 1)
                spot = spot.inside[spot.headed - 1]
            elif last:
                spot.line = line
        self._headings.append((line, tuple(path)))
        return spot, self._skip(_CLOSING, end)

    def _key(self, table: _Spot, place: int) -> tuple[_Spot, int]:
        line, spot = self._line(place), table
        names, end = self._names(place)
        for name in names:
            spot = spot.inside.setdefault(name, _Spot(line))
        return spot, end

    def _value(self, spot: _Spot, place: int) -> int:
        """Go over a value with all that is in it; without recursion, for a value of any depth."""
        text = self._text
        holders: list[tuple[_Spot, bool]] = []
        waiting: _Spot | None = spot
        while True:
            if waiting is not None:
                if text.startswith(("[", "{"), place):
                    holders.append((waiting, text[place] == "["))
                    place += 1
                else:
                    string = _STRING.match(text, place)
                    place = string.end() if string else self._skip(_SCALAR, place)
                waiting = None
            if not holders:
                return place
            place = self._skip(_GAP, place)
            if place >= len(text):
                return place
            holder, is_list = holders[-1]
            if text[place] in "]}":
                holders.pop()
                place += 1
            elif is_list:
                waiting = holder.inside.setdefault(len(holder.inside), _Spot(self._line(place)))
            else:
                inner, place = self._key(holder, place)
                if text.startswith("=", place):
                    waiting, place = inner, self._skip(_BLANK, place + 1)


def _unquoted(name: str) -> str:
    if name[0] not in "\"'":
        return name
    if name[0] == "'" or "\\" not in name:
        return name[1:-1]
    try:
        return str(tomllib.loads(f"name = {name}")["name"])
    except tomllib.TOMLDecodeError:
        return name[1:-1]
