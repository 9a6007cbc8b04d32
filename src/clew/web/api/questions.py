"""What the addresses for programs have in common: how they ask, and how they refuse."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, Field

from clew.web.answers import FaultsBody

FAULTS: dict[int | str, dict[str, Any]] = {422: {"model": FaultsBody}}
"""What an address for programs answers when something is wrong with the question."""


def typed(words: str, *, longest: int = 200) -> Any:
    """Declare one thing that is asked, as a text that may be left out.

    Parameters
    ----------
    words : str
        What it is, for the schema.
    longest : int
        Most letters that are taken.

    Returns
    -------
    Any
        The field of a question.
    """
    return Field("", max_length=longest, description=words)


class OfBall(BaseModel):
    """A question about a ball; what is left out is as in the mill file."""

    ball: str = typed("name of a ball; the first when left out")
    lot: str = typed('a dye lot, or "none" for the yarn as spun; the first that fits when left out')


class OfLine(OfBall):
    """A question about a ball on a line."""

    line: str = typed("name of a line; the first when left out")
