"""One thing that was looked at before a lot goes: what was found, and what would mend it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Subject = Literal["net content", "fault", "shade", "band"]


@dataclass(frozen=True, slots=True)
class Mend:
    """One way out of a failed or open finding.

    Attributes
    ----------
    words : str
        What to do, as a hand would be told it.
    balls : float or None
        Balls it touches; None where that is not known.
    cost : float or None
        What it costs in the mill's money [currency]; None without prices.
    basis : str
        What numbers and cost rest on.
    deed : str
        Name of the deed whatever its numbers: the samples of two markets may ask the same of more
        and of fewer balls. Empty where the words themselves are the deed.
    """

    words: str
    balls: float | None = None
    cost: float | None = None
    basis: str = ""
    deed: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """What one check of a lot found.

    Attributes
    ----------
    subject : str
        What was looked at.
    title : str
        Name of the check, with its rule.
    passed : bool or None
        Its answer; None where it is not decided.
    confirmed : bool
        False where it rests on a table that nobody checked against its source.
    words : tuple of str
        What was found, in sentences.
    mends : tuple of Mend
        What would turn a no, or an open answer, into a yes; cheapest first where that is known.
    beside : str
        What the hands have to keep to although it passed, in a sentence; empty for nothing.
    """

    subject: Subject
    title: str
    passed: bool | None
    confirmed: bool
    words: tuple[str, ...]
    mends: tuple[Mend, ...] = ()
    beside: str = ""
