"""What is wrong with an input, said so that a person can mend it.

A fault names what is wrong, where it stands and what was expected. Bad input is reported with
every fault at once, never with a traceback; the command line turns it into exit code 2.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One thing wrong with an input.

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

    def __str__(self) -> str:
        """Write the fault on one line: where, what, what was found, what was expected."""
        place = self.file
        if self.line is not None:
            place = f"{place}:{self.line}" if place else f"line {self.line}"
        where = " ".join(
            part for part in (f"[{self.section}]" if self.section else "", self.key) if part
        )
        head = ": ".join(part for part in (place, where) if part)
        text = f"{head}: {self.what}" if head else self.what
        if self.value:
            text += f" (got {self.value})"
        if self.expected:
            text += f"; expected {self.expected}"
        return " ".join(text.split())


class BadInput(Exception):  # noqa: N818 - it is an input that is bad, not an error of ours
    """An input that cannot be used, with everything that is wrong with it."""

    def __init__(self, faults: Iterable[Fault] | Fault | str) -> None:
        if isinstance(faults, str):
            faults = (Fault(faults),)
        elif isinstance(faults, Fault):
            faults = (faults,)
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))
