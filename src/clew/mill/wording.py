"""A value that cannot stand in a field of the mill file: what is wrong, what would be right.

The checks themselves are pydantic's; its words are for programmers and never shown.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal, NamedTuple, get_args, get_origin

import annotated_types as bounds
from pydantic.fields import FieldInfo

from clew.languages import figure, say
from clew.mill.fields import UNLIMITED, Reads
from clew.mill.places import one_of, shown


class _Words(NamedTuple):
    """For a type of value: what is expected, what something else is not, and what it is instead."""

    expected: str
    is_not: str
    is_not_but: str


_SORTS: dict[type, _Words] = {
    str: _Words(
        say("words between quotation marks"), say("not words"), say("not words but a number")
    ),
    bool: _Words(
        say("true or false"), say("not true or false"), say("not true or false but a text")
    ),
    int: _Words(
        say("a whole number"), say("not a whole number"), say("not a whole number but a text")
    ),
    float: _Words(say("a number"), say("not a number"), say("not a number but a text")),
    datetime.date: _Words(
        say("a date such as 2026-12-04"), say("not a date"), say("not a date but a text")
    ),
}

_OUT_OF_RANGE = {
    "greater_than": say("too small"),
    "greater_than_equal": say("too small"),
    "less_than": say("too large"),
    "less_than_equal": say("too large"),
    "string_too_long": say("too long"),
    "too_long": say("too long"),
    "finite_number": say("not a number that can be reckoned with"),
    "string_pattern_mismatch": say("not a currency"),
}
_Limit = tuple[float, str]
"""A limit, and the word that goes before it."""


def expected_of(field: FieldInfo) -> str:
    """Say what may stand in a field: its sort, its choices, its limits.

    Parameters
    ----------
    field : FieldInfo
        The field of a section.

    Returns
    -------
    str
        For example ``a length from 2 mm to 300 mm``.
    """
    return _expected(*_sort_and_rules(field))


def _expected(sort: Any, rules: list[Any]) -> str:
    if get_origin(sort) is Literal:
        return one_of(shown(choice) for choice in get_args(sort))
    if get_origin(sort) is tuple:
        longest = _longest(rules)
        if longest:
            return say('a list of at most {n} texts, ["…", "…"]', n=longest)
        return say('a list of texts, ["…", "…"]')
    for rule in rules:
        if isinstance(rule, Reads):
            ranged = _from_to(rule.one, *_range(rules), rule)
            return ranged or say(
                "{quantity} such as {example}", quantity=rule.one, example=rule.example
            )
    words = _SORTS[sort].expected
    if sort in (int, float):
        words = _from_to(words, *_range(rules), None) or words
    if any(getattr(rule, "pattern", None) for rule in rules):
        words = say("three capital letters such as GBP")
    return words


def what_is_wrong(
    field: FieldInfo, kind: str, context: Mapping[str, Any], value: Any, *, element: bool = False
) -> tuple[str, str]:
    """Say what is wrong with a value.

    Parameters
    ----------
    field : FieldInfo
        The field it was meant for.
    kind : str
        Name of pydantic's error.
    context : mapping
        Its parts.
    value : Any
        What stands in the file.
    element : bool
        Whether it is an element of the field, which is a list.

    Returns
    -------
    tuple of str
        What is wrong, and what was expected.
    """
    if kind == "clew":
        return context["what"], context["expected"]
    sort, rules = _sort_and_rules(field, element)
    expected = _expected(sort, rules)
    if get_origin(sort) is Literal:
        choices = [choice for choice in get_args(sort) if isinstance(choice, str)]
        nearest = _nearest_choice(value, choices)
        return say("none of the words that may stand here"), nearest or expected
    if kind in _OUT_OF_RANGE:
        high = _range(rules)[1]
        if kind.startswith("less") and high is not None and high[0] >= UNLIMITED:
            expected = say("at most {limit}", limit=figure(f"{high[0]:.0f}"))
        if kind == "string_too_long":
            expected = say("at most {n} characters", n=context["max_length"])
        return _OUT_OF_RANGE[kind], expected
    return _wrong_sort(sort, rules, expected, value)


def _wrong_sort(sort: Any, rules: list[Any], expected: str, value: Any) -> tuple[str, str]:
    if get_origin(sort) is tuple:
        return say("not a list"), expected
    if any(isinstance(rule, Reads) for rule in rules):
        return say("not a quantity"), expected
    words = _SORTS[sort]
    if isinstance(value, str) and sort is not str:
        unquoted = say("{expected}, without quotation marks", expected=expected)
        return words.is_not_but, unquoted
    if isinstance(value, int | float) and sort is str and not isinstance(value, bool):
        quoted = say('words between quotation marks, as in "{value}"', value=str(value))
        return words.is_not_but, quoted
    return words.is_not, expected


def _sort_and_rules(field: FieldInfo, element: bool = False) -> tuple[Any, list[Any]]:
    """Take a field's type apart: what is at its core, and every rule around that."""
    sort: Any = get_args(field.annotation)[0] if element else field.annotation
    rules = [] if element else list(_flat(field.metadata))
    while True:
        if get_origin(sort) is Annotated:
            sort, *more = get_args(sort)
            rules = [*_flat(more), *rules]
        elif type(None) in get_args(sort):
            sort = next(part for part in get_args(sort) if part is not type(None))
        else:
            return sort, rules


def _flat(metadata: Any) -> Iterator[Any]:
    for rule in metadata:
        if isinstance(rule, FieldInfo):
            yield from _flat(rule.metadata)
        else:
            yield rule


def _longest(rules: list[Any]) -> int | None:
    found = [rule.max_length for rule in rules if isinstance(rule, bounds.MaxLen)]
    return min(found) if found else None


def _range(rules: list[Any]) -> tuple[_Limit | None, _Limit | None]:
    """Find the narrowest limits."""
    lows: list[Any] = [(rule.ge, "from") for rule in rules if isinstance(rule, bounds.Ge)]
    lows += [(rule.gt, "above") for rule in rules if isinstance(rule, bounds.Gt)]
    highs: list[Any] = [(rule.le, "to") for rule in rules if isinstance(rule, bounds.Le)]
    highs += [(rule.lt, "below") for rule in rules if isinstance(rule, bounds.Lt)]
    return max(lows, default=None), min(highs, default=None)


def _from_to(what: str, low: _Limit | None, high: _Limit | None, reads: Reads | None) -> str:
    """Say a quantity or a sort of number with its limits; empty where there are none."""
    if high is not None and high[0] >= UNLIMITED:
        high = None
    least = "" if low is None else _said(low[0], reads)
    most = "" if high is None else _said(high[0], reads)
    said = ""
    match (low[1] if low else "", high[1] if high else ""):
        case ("from", "to"):
            said = say("{quantity} from {least} to {most}", quantity=what, least=least, most=most)
        case ("from", "below"):
            said = say(
                "{quantity} from {least} and below {most}", quantity=what, least=least, most=most
            )
        case ("above", "to"):
            said = say(
                "{quantity} above {least} and up to {most}", quantity=what, least=least, most=most
            )
        case ("above", "below"):
            said = say(
                "{quantity} above {least} and below {most}", quantity=what, least=least, most=most
            )
        case ("from", _):
            said = say("{quantity} from {least}", quantity=what, least=least)
        case ("above", _):
            said = say("{quantity} above {least}", quantity=what, least=least)
        case (_, "to"):
            said = say("{quantity} up to {most}", quantity=what, most=most)
        case (_, "below"):
            said = say("{quantity} below {most}", quantity=what, most=most)
    return said


def _said(limit: float, reads: Reads | None) -> str:
    if reads is None:
        return figure(f"{limit:g}")
    if reads.unit == "s" and limit % 3600 == 0 and limit:
        return figure(f"{limit / 3600:g} h")
    space = "" if reads.unit == "°" else " "
    return figure(f"{limit / reads.per_unit:g}{space}{reads.unit}")


def _nearest_choice(value: Any, choices: list[str]) -> str:
    from difflib import get_close_matches

    if not isinstance(value, str):
        return ""
    close = get_close_matches(value.casefold().strip(), choices, n=1)
    return say('"{name}", perhaps', name=close[0]) if close else ""
