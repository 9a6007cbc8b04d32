"""What is wrong with an input, said so that a person can mend it.

A fault names what is wrong, where it stands and what was expected. Bad input is reported with
every fault at once, never with a traceback; the command line turns it into exit code 2.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from clew.languages import joined, say

LONGEST_SHOWN = 300
"""Characters of what was found, and of a key or section, on a fault's line."""
LONGEST_NAME = 1000
"""Characters of a file's name, of which the end tells most."""
_UNSEEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
"""Controls, half characters, and what turns the direction of the line round."""


def _seen(text: str) -> str:
    """Write as escapes what a terminal would obey, or no file and no answer can hold."""
    return _UNSEEN.sub(lambda one: one[0].encode("unicode_escape").decode(), text)


def only_seen(text: str) -> str:
    """Leave out of a text what a fault would write as escapes."""
    return _UNSEEN.sub("", text)


def _short(text: str) -> str:
    return text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]}…"


@dataclass(frozen=True)
class Fault:
    """One thing wrong with an input.

    Whatever it repeats of the input is safe to print: controls are written as escapes.

    Attributes
    ----------
    what : str
        What is wrong, in a few words.
    expected : str
        What would have been right.
    file : str
        File in which it stands; empty when the input did not come from a file.
    line : int or None
        Line in that file, counted from 1.
    section : str
        Section of the file, with the name of the entry where it has one: ``ball "Fell 100"``.
    key : str
        Key, column or option.
    value : str
        What was found there, shortened to what fits on a line.
    """

    what: str
    expected: str = ""
    file: str = ""
    line: int | None = None
    section: str = ""
    key: str = ""
    value: str = ""

    def __post_init__(self) -> None:
        for name in ("what", "expected", "file", "section", "key", "value"):
            said = getattr(self, name)
            if isinstance(said, str) and _UNSEEN.search(said):
                object.__setattr__(self, name, _seen(said))

    def __str__(self) -> str:
        """Write the fault on one line: where, what, what was found, what was expected."""
        place = str(self.file)
        place = place if len(place) <= LONGEST_NAME else f"…{place[-LONGEST_NAME:]}"
        if self.line is not None:
            place = f"{place}:{self.line}" if place else f"line {self.line}"
        where = " ".join(
            _short(part) for part in (f"[{self.section}]" if self.section else "", self.key) if part
        )
        head = ": ".join(part for part in (place, where) if part)
        text = f"{head}: {self.what}" if head else self.what
        if self.value:
            text += f" (got {_short(self.value)})"
        if self.expected:
            text += f"; expected {self.expected}"
        return " ".join(text.split())

    def said(self) -> str:
        """Write the fault on one line as `str` does, so that it can be said in any language."""
        place = self.file
        if self.line is not None:
            place = f"{place}:{self.line}" if place else say("line {line}", line=self.line)
        where = " ".join(
            _short(part) for part in (f"[{self.section}]" if self.section else "", self.key) if part
        )
        text = joined(": ", [part for part in (place, where, self.what) if part])
        found = _short(self.value)
        if self.value and self.expected:
            return say(
                "{fault} (got {found}); expected {expected}",
                fault=text, found=found, expected=self.expected,
            )  # fmt: skip
        if self.value:
            return say("{fault} (got {found})", fault=text, found=found)
        if self.expected:
            return say("{fault}; expected {expected}", fault=text, expected=self.expected)
        return text


class BadInput(Exception):  # noqa: N818 - it is an input that is bad, not an error of ours
    """An input that cannot be used, with everything that is wrong with it."""

    def __init__(self, faults: Iterable[Fault] | Fault | str) -> None:
        if isinstance(faults, str):
            faults = (Fault(faults),)
        elif isinstance(faults, Fault):
            faults = (faults,)
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))
