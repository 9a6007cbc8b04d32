"""What all papers have in common: sheets, rows, and texts handed to a template as data."""

from __future__ import annotations

import json
from dataclasses import Field, asdict, dataclass
from datetime import datetime
from typing import Any, ClassVar, Literal, Protocol

from clew.faults import BadInput, Fault
from clew.languages import joined, moment, say, spoken, tongue
from clew.papers.fixed_words import fixed_words
from clew.papers.letters import printable

Paper = Literal["A4", "Letter"]
"""Sheets that papers are printed on."""


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a paper: what it is and what it says."""

    head: str
    text: str


class PaperContent(Protocol):
    """The texts of a paper: a dataclass that names its template.

    Attributes
    ----------
    template : str
        Name of the template that sets it, without its ending.
    """

    __dataclass_fields__: ClassVar[dict[str, Field[Any]]]
    template: ClassVar[str]

    @property
    def footer(self) -> str:
        """What stands under every page, before the time."""


def printed_words(made: datetime) -> str:
    """Say when a paper was made, on the mill's own clock: ``printed 2026-11-25 07:46``."""
    return say("printed {moment}", moment=moment(made))


def told_moment(written: str) -> str:
    """Say a moment that is kept as text, ``2026-11-25 07:46``, as its reader's language does."""
    try:
        return moment(datetime.strptime(written, "%Y-%m-%d %H:%M"))
    except ValueError:
        return written


def typst_inputs(content: PaperContent, made: datetime) -> dict[str, str]:
    """Hand texts to a template as data; none of it is ever read as markup.

    Parameters
    ----------
    content : PaperContent
        The texts of a paper.
    made : datetime
        When it was made, with its time zone.

    Returns
    -------
    dict of str to str
        The one input ``data``.

    Raises
    ------
    BadInput
        When the time has no time zone.
    """
    if made.tzinfo is None:
        raise BadInput(
            Fault("a time without its time zone", "a time with one", key="made", value=str(made))
        )
    plain = asdict(content)
    plain["footer"] = joined(" · ", (content.footer, printed_words(made)))
    plain["language"] = tongue().code
    plain["fixed"] = fixed_words()
    return {"data": json.dumps(_in_letters(plain), ensure_ascii=False)}


def _in_letters(plain: Any) -> Any:
    """Say every text of a nested plain value, in letters that can be printed."""
    if isinstance(plain, str):
        return printable(spoken(plain))
    if isinstance(plain, dict):
        return {key: _in_letters(value) for key, value in plain.items()}
    if isinstance(plain, (list, tuple)):
        return [_in_letters(value) for value in plain]
    return plain
