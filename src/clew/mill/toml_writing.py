"""Writing plain values as TOML text that a person can go on editing."""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Mapping, Sequence
from typing import Any

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+\Z")
_WIDEST = 100
_SHORT = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t", "\r": "\\r"}


def toml_of(table: Mapping[str, Any], inline: frozenset[str] = frozenset()) -> str:
    """Write a table as TOML text.

    Parameters
    ----------
    table : mapping
        Texts, whole numbers, numbers, booleans, dates, times, and lists and tables of these.
    inline : frozenset of str
        Keys whose tables are written in braces, not under a heading.

    Returns
    -------
    str
        The text; `tomllib` reads the same values from it.
    """
    return "\n".join(_table(table, (), inline)).lstrip("\n") + "\n"


def _table(table: Mapping[str, Any], path: tuple[str, ...], inline: frozenset[str]) -> list[str]:
    """Write the plain keys of a table, then its tables under headings of their own."""
    lines: list[str] = []
    headed: list[str] = []
    for key, value in table.items():
        name = (*path, _key(key))
        if isinstance(value, Mapping) and key not in inline:
            headed += ["", f"[{'.'.join(name)}]", *_table(value, name, inline)]
        elif _is_list_of_tables(value) and key not in inline:
            for entry in value:
                headed += ["", f"[[{'.'.join(name)}]]", *_table(entry, name, inline)]
        else:
            lines.append(_line(_key(key), value))
    return lines + headed


def _is_list_of_tables(value: Any) -> bool:
    is_list = isinstance(value, list) and value != []
    return is_list and all(isinstance(one, Mapping) for one in value)


def _line(key: str, value: Any) -> str:
    """Write a key on one line, or a long list with one element a line."""
    line = f"{key} = {_value(value)}"
    if isinstance(value, list) and value and (len(line) > _WIDEST or _is_list_of_tables(value[1:])):
        return "\n".join([f"{key} = [", *(f"  {_value(one)}," for one in value), "]"])
    return line


def _value(value: Any) -> str:
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = _text(value)
    elif isinstance(value, int):
        text = str(value)
    elif isinstance(value, float):
        text = repr(value) if math.isfinite(value) else str(value)
    elif isinstance(value, datetime.date | datetime.time):
        text = value.isoformat()
    elif isinstance(value, Mapping):
        inner = ", ".join(f"{_key(key)} = {_value(one)}" for key, one in value.items())
        text = f"{{ {inner} }}" if inner else "{}"
    elif isinstance(value, Sequence):
        text = "[" + ", ".join(_value(one) for one in value) + "]"
    else:
        raise TypeError(f"TOML holds no {type(value).__name__}")
    return text


def _key(key: str) -> str:
    return key if _BARE_KEY.match(key) else _text(key)


def _text(text: str) -> str:
    return '"' + "".join(_SHORT.get(char) or _char(char) for char in text) + '"'


def _char(char: str) -> str:
    """Write a character as it is, or by its number where TOML does not let it stand."""
    return f"\\u{ord(char):04x}" if ord(char) < 0x20 or ord(char) == 0x7F else char
