"""What a day's report tells beside what the ledger holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from clew.ledger.trace.answer import BackTrace


@dataclass(frozen=True, slots=True)
class DayTold:
    """What a day's report tells beside what the ledger holds.

    Attributes
    ----------
    plan_words : tuple of str
        What the plan says of itself.
    put_off : tuple of str
        Runs of the plan that were not begun.
    mends : mapping of str to tuple of str
        By run: what would release its lot.
    trace : BackTrace or None
        Where the ball that came back is from.
    papers : tuple of (str, str)
        What was written, and where in the folder.
    rows : int
        Records that were verified.
    sound : bool
        Whether none of them was changed.
    anchor : str
        Where the line's chain stood.
    """

    plan_words: tuple[str, ...]
    put_off: tuple[str, ...]
    mends: Mapping[str, Sequence[str]]
    trace: BackTrace | None
    papers: tuple[tuple[str, str], ...]
    rows: int
    sound: bool
    anchor: str
