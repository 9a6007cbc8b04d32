"""Texts of a paper handed to its template as data, and when it was printed."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import datetime
from typing import Any

from clew.faults import BadInput, Fault
from clew.languages import joined, moment, say, spoken, tongue
from clew.papers.fixed_words import fixed_words
from clew.papers.letters import printable


def printed_words(made: datetime) -> str:
    """Say when a card was made, on the mill's own clock: ``printed 2026-11-25 07:46``."""
    return say("printed {moment}", moment=moment(made))


def typst_inputs(content: Any, footer: str, made: datetime) -> dict[str, str]:
    """Hand texts to a template as data; none of it is ever read as markup.

    Parameters
    ----------
    content : Any
        The texts of a paper, a dataclass.
    footer : str
        What stands under every page, before the time.
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
    plain["footer"] = joined(" · ", (footer, printed_words(made)))
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
