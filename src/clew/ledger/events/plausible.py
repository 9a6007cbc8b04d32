"""Which values of an event are outside what is plausible: they are kept, and flagged."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clew.ledger.events.kinds import KINDS


def implausible(kind: str, body: Mapping[str, Any]) -> tuple[str, ...]:
    """Flag what is out of range.

    Parameters
    ----------
    kind : str
        One of `clew.ledger.events.kinds.KINDS`.
    body : mapping of str to JSON value
        Its fields, each of its type.

    Returns
    -------
    tuple of str
        A flag for each field with a value out of range, in the order of the kind's fields.
    """
    flags = []
    for field in KINDS[kind].fields:
        value = body.get(field.name)
        values = value.values() if isinstance(value, Mapping) else (value,)
        below, above = field.low, field.high
        if any(
            isinstance(one, (int, float))
            and not isinstance(one, bool)
            and ((below is not None and one < below) or (above is not None and one > above))
            for one in values
        ):
            flags.append(f"{field.name} out of range")
    return tuple(flags)
