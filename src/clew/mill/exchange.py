"""Carrying a mill file over to JSON and back, and a mill to plain values."""

from __future__ import annotations

import datetime
import json
import math
import re
from collections.abc import Iterator
from typing import Any

from clew.faults import BadInput, Fault
from clew.mill.fields import WRITTEN_INLINE, KeyPath
from clew.mill.model import Mill
from clew.mill.places import section_and_key, shown
from clew.mill.toml_text import read_text
from clew.mill.toml_writing import toml_of

_DATES = {("order", "due"), ("order", "ready"), ("plan", "closed")}
"""Keys that hold a date in the mill file; JSON has only text for it."""
_ISO_DATE = re.compile(r"\d{4}-\d\d-\d\d\Z")
_DEEPEST = 64
_ENDLESS = "a number that is not finite"
_HALF = "half a surrogate pair, which is no character"


def mill_to_plain(mill: Mill) -> dict[str, Any]:
    """Turn a mill into plain values.

    Parameters
    ----------
    mill : Mill
        The mill.

    Returns
    -------
    dict
        Every value in the inside unit, under the field's name with its unit, such as
        ``declared_mass_g``; dates as ISO text; what was not given is None.
    """
    return mill.model_dump(mode="json")


def text_to_json(toml_text: str) -> str:
    """Turn the text of a mill file into JSON, with the file's own keys and words.

    Parameters
    ----------
    toml_text : str
        The text of a mill file; comments are lost.

    Returns
    -------
    str
        JSON text; dates and times as ISO text.

    Raises
    ------
    BadInput
        When the text is not TOML, or holds a number that JSON has no word for.
    """
    read = read_text(toml_text, "")
    if read.faults:
        raise BadInput(read.faults)
    try:
        return json.dumps(read.raw, indent=2, ensure_ascii=False, allow_nan=False, default=_iso)
    except ValueError:
        raise BadInput(Fault(_ENDLESS, "finite numbers only")) from None


def json_to_text(json_text: str) -> str:
    """Turn JSON made by `text_to_json` into the text of a mill file again.

    Parameters
    ----------
    json_text : str
        The JSON text.

    Returns
    -------
    str
        TOML text with the same keys and values; whether they make a mill is not judged here.

    Raises
    ------
    BadInput
        When it is not JSON, or holds what a mill file cannot: null, infinite numbers, half a
        surrogate pair, a list at its top.
    """
    try:
        plain = json.loads(json_text, parse_constant=_not_finite, object_pairs_hook=_each_key_once)
    except json.JSONDecodeError as error:
        raise BadInput(
            Fault("not written as JSON", "JSON as clew mill export writes it", line=error.lineno)
        ) from None
    except RecursionError:
        raise BadInput(Fault("JSON too deep in itself", "at most a few levels")) from None
    except ValueError:
        raise BadInput(Fault("a number of very many digits", "at most 19 digits")) from None
    if not isinstance(plain, dict):
        wanted = "an object with the sections of a mill file"
        raise BadInput(Fault("JSON that is not an object", wanted, value=shown(plain)))
    faults = list(_faults(plain, ()))
    if faults:
        raise BadInput(faults)
    return toml_of(_with_dates(plain, ()), WRITTEN_INLINE)


def _iso(value: Any) -> str:
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    raise TypeError(f"TOML holds no {type(value).__name__}")


def _not_finite(word: str) -> float:
    raise BadInput(Fault(_ENDLESS, "finite numbers only", value=word))


def _each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    plain = dict(pairs)
    if len(plain) < len(pairs):
        keys = [key for key, _ in pairs]
        doubled = next(key for key in keys if keys.count(key) > 1)
        raise BadInput(Fault("a key that stands twice in an object", "each key once", key=doubled))
    return plain


def _faults(value: Any, path: KeyPath) -> Iterator[Fault]:
    """Find what a mill file cannot hold."""
    section, key = section_and_key({}, path)
    if len(path) > _DEEPEST:
        yield Fault("JSON too deep in itself", "at most a few levels", section=str(path[0]))
    elif isinstance(value, float) and not math.isfinite(value):
        yield Fault(_ENDLESS, "finite numbers only", section=section, key=key)
    elif value is None:
        yield Fault("null", "a value, or the key left out", section=section, key=key)
    elif isinstance(value, str):
        if not _is_text(value):
            yield Fault(_HALF, "whole characters", section=section, key=key)
    elif isinstance(value, list):
        for place, one in enumerate(value):
            yield from _faults(one, (*path, place))
    elif isinstance(value, dict):
        for name, one in value.items():
            if _is_text(name):
                yield from _faults(one, (*path, name))
            else:
                yield Fault(_HALF, "whole characters", section=section, key="a key")


def _is_text(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def _with_dates(value: Any, path: tuple[str, ...]) -> Any:
    """Make dates of the texts that stand where the mill file has a date."""
    if isinstance(value, dict):
        return {key: _with_dates(one, (*path, key)) for key, one in value.items()}
    if isinstance(value, list):
        return [_with_dates(one, path) for one in value]
    if isinstance(value, str) and path in _DATES and _ISO_DATE.match(value):
        try:
            return datetime.date.fromisoformat(value)
        except ValueError:
            return value
    return value
