"""Which day is played, where, by which clock, and how far it got."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from clew.cli.output import write_whole
from clew.faults import BadInput, Fault

MARK = "day.json"
"""What a played day leaves beside the mill file: which day, and how far it got."""


@dataclass(frozen=True, slots=True)
class DayAsked:
    """A day that is to be played.

    Attributes
    ----------
    folder : Path
        Folder of the mill.
    seed : int
        Which day.
    start : datetime
        When its shift begins, with its time zone.
    hours : float
        How much of the shift [h].
    """

    folder: Path
    seed: int
    start: datetime
    hours: float

    def plain(self) -> dict[str, Any]:
        """Write it down."""
        return {"seed": self.seed, "start": self.start.isoformat(), "hours": self.hours}


class DayClock:
    """The clock of the played day: it stands where it was set, and never goes back.

    Parameters
    ----------
    start : datetime
        Where it stands at first.
    """

    def __init__(self, start: datetime) -> None:
        self.now_us = round(start.timestamp() * 1e6)

    def __call__(self) -> int:
        """Tell the time [us]."""
        return self.now_us

    def reach(self, at_us: int) -> int:
        """Go on to a moment, where it is ahead [us]."""
        self.now_us = max(self.now_us, at_us)
        return self.now_us


def read_mark(folder: Path) -> dict[str, Any] | None:
    """Read what a folder says of a day that was played in it; None where it says nothing.

    Raises
    ------
    BadInput
        When the file is none of ours.
    """
    path = folder / MARK
    if not path.exists():
        return None
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        if not isinstance(found, dict) or "done" not in found:
            raise ValueError
        DayAsked(folder, int(found["seed"]), datetime.fromisoformat(found["start"]),
                 float(found["hours"]))  # fmt: skip
    except OSError as error:
        raise BadInput(Fault("cannot be read", file=str(path), value=str(error.strerror))) from None
    except (ValueError, KeyError, TypeError, OverflowError, RecursionError):
        raise BadInput(
            Fault("says nothing of a played day", "what clew demo wrote, or no such file",
                  file=str(path))
        ) from None  # fmt: skip
    return found


def write_mark(asked: DayAsked, found: dict[str, Any] | None) -> None:
    """Write down which day is played, and what came of it once it is over."""
    plain: dict[str, Any] = {**asked.plain(), "done": found is not None}
    plain |= found or {}
    text = json.dumps(plain, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    write_whole(asked.folder / MARK, text.encode("utf-8"))
