"""A value that cannot stand in a field of the mill file: what is wrong, what would be right.

The checks themselves are pydantic's; its words are for programmers and never shown.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal, get_args, get_origin

import annotated_types as bounds
from pydantic.fields import FieldInfo

from clew.mill.fields import UNLIMITED, Reads
from clew.mill.places import one_of, shown

_SORTS: dict[type, tuple[str, str]] = {
    str: ("words between quotation marks", "words"),
    bool: ("true or false", "true or false"),
    int: ("a whole number", "a whole number"),
    float: ("a number", "a number"),
    datetime.date: ("a date such as 2026-12-04", "a date"),
}
"""For each type of value: what is expected, and what something else is said not to be."""

_OUT_OF_RANGE = {
    "greater_than": "too small",
    "greater_than_equal": "too small",
    "less_than": "too large",
    "less_than_equal": "too large",
    "string_too_long": "too long",
    "too_long": "too long",
    "finite_number": "not a number that can be reckoned with",
    "string_pattern_mismatch": "not a currency",
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
        few = f"at most {longest} " if longest else ""
        return f'a list of {few}texts, ["…", "…"]'
    for rule in rules:
        if isinstance(rule, Reads):
            said = _from_to(*_range(rules), rule) or f" such as {rule.example}"
            return f"{'an' if rule.kind[0] in 'aeiou' else 'a'} {rule.kind}{said}"
    words = _SORTS[sort][0]
    if sort in (int, float):
        words += _from_to(*_range(rules), None)
    if any(getattr(rule, "pattern", None) for rule in rules):
        words = "three capital letters such as GBP"
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
        return str(context["what"]), str(context["expected"])
    sort, rules = _sort_and_rules(field, element)
    expected = _expected(sort, rules)
    if get_origin(sort) is Literal:
        choices = [choice for choice in get_args(sort) if isinstance(choice, str)]
        return "none of the words that may stand here", _nearest_choice(value, choices) or expected
    if kind in _OUT_OF_RANGE:
        high = _range(rules)[1]
        if kind.startswith("less") and high is not None and high[0] >= UNLIMITED:
            expected = f"at most {high[0]:.0f}"
        if kind == "string_too_long":
            expected = f"at most {context['max_length']} characters"
        return _OUT_OF_RANGE[kind], expected
    return _wrong_sort(sort, rules, expected, value)


def _wrong_sort(sort: Any, rules: list[Any], expected: str, value: Any) -> tuple[str, str]:
    if get_origin(sort) is tuple:
        return "not a list", expected
    if any(isinstance(rule, Reads) for rule in rules):
        return "not a quantity", expected
    what = f"not {_SORTS[sort][1]}"
    if isinstance(value, str) and sort is not str:
        return f"{what} but a text", f"{expected}, without quotation marks"
    if isinstance(value, int | float) and sort is str and not isinstance(value, bool):
        return f"{what} but a number", f'words between quotation marks, as in "{value}"'
    return what, expected


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


def _from_to(low: _Limit | None, high: _Limit | None, reads: Reads | None) -> str:
    if high is not None and high[0] >= UNLIMITED:
        high = None
    if low is not None and high is not None and (low[1], high[1]) != ("from", "to"):
        high = (high[0], "and up to" if high[1] == "to" else "and below")
    if low is None and high is not None and high[1] == "to":
        high = (high[0], "up to")
    return "".join(f" {limit[1]} {_said(limit[0], reads)}" for limit in (low, high) if limit)


def _said(limit: float, reads: Reads | None) -> str:
    if reads is None:
        return f"{limit:g}"
    if reads.unit == "s" and limit % 3600 == 0 and limit:
        return f"{limit / 3600:g} h"
    space = "" if reads.unit == "°" else " "
    return f"{limit / reads.per_unit:g}{space}{reads.unit}"


def _nearest_choice(value: Any, choices: list[str]) -> str:
    from difflib import get_close_matches

    if not isinstance(value, str):
        return ""
    close = get_close_matches(value.casefold().strip(), choices, n=1)
    return f'"{close[0]}", perhaps' if close else ""
