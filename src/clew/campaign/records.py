"""Records as plain values and back, exactly: what a checkpoint writes and reads."""

from __future__ import annotations

import dataclasses
import itertools
import types
from collections.abc import Mapping
from typing import Any, TypeVar, Union, cast, get_args, get_origin, get_type_hints

Record = TypeVar("Record")


def plain(value: Any) -> Any:
    """Write a value as plain JSON values: records as objects, tuples as lists.

    Parameters
    ----------
    value : dataclass, mapping, tuple, list, str, bool, int, float or None
        What to write. Floats keep every digit; not a number and infinity are kept too.

    Returns
    -------
    dict, list, str, bool, int, float or None
        The same, for ``json.dumps``.

    Raises
    ------
    TypeError
        When something in it is none of these, such as an array or a number of numpy's.
    """
    if value is None or type(value) in (str, bool, int, float):
        return value
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {
            field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)
        }
    if isinstance(value, Mapping):
        if not all(type(name) is str for name in value):
            raise TypeError(f"a plain mapping has names for keys: {value!r}")
        return {name: plain(inner) for name, inner in value.items()}
    if isinstance(value, (tuple, list)):
        return [plain(inner) for inner in value]
    raise TypeError(f"not a plain value: {value!r} ({type(value).__name__})")


def record_from(record: type[Record], written: Any) -> Record:
    """Read a record back from its plain values, by the types of its fields.

    Parameters
    ----------
    record : type
        A dataclass; its fields may be plain values, tuples, lists, mappings and such records.
    written : dict
        What `plain` made of it.

    Returns
    -------
    dataclass
        The record.

    Raises
    ------
    TypeError
        When it does not fit the record.
    """
    return cast(Record, _read(record, written))


def _read(kind: Any, written: Any) -> Any:
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        hints = get_type_hints(kind)
        return kind(**{name: _read(hints.get(name, Any), inner) for name, inner in written.items()})
    origin, inner = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        return None if written is None else _read(_only(kind, inner), written)
    if origin is tuple:
        kinds = itertools.repeat(inner[0], len(written)) if inner[1:] == (...,) else inner
        return tuple(_read(one_kind, one) for one_kind, one in zip(kinds, written, strict=True))
    if origin is list:
        return [_read(inner[0], one) for one in written]
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return {name: _read(inner[1], one) for name, one in written.items()}
    return written


def _only(kind: Any, choices: tuple[Any, ...]) -> Any:
    """Find what a union asks for beside None; a union of plain values needs no reading."""
    made = [one for one in choices if one is not type(None) and one not in (str, bool, int, float)]
    if len(made) > 1:
        raise TypeError(f"cannot tell which of {kind} was written")
    return made[0] if made else Any
