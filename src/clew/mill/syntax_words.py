"""What is wrong with the writing of a mill file, in words of its own.

`tomllib` stops at the first thing it cannot read and says so in the words of its grammar. Here its
message and the line it points at become what a person did and what to write in its place.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from clew.mill.places import as_written

KEY_LINE = re.compile(r"""^\s*(?P<key>[A-Za-z0-9_.-]+|"[^"\\]*")\s*=\s*(?P<rest>.*?)\s*$""")
HEADING = re.compile(r"""^\s*(?P<marks>\[\[?)\s*(?P<name>[^\[\]#,={}]*?)\s*(\].*|#.*)?$""")
COLON_LINE = re.compile(r"^\s*(?P<key>[A-Za-z0-9_-]+)\s*:\s*(?P<rest>.+?)\s*$")
_NUMBER_LIKE = re.compile(r"^[+-]?[0-9.,_]+$")
_COMMENT = re.compile(r"\s+#[^\"']*$")


@dataclass(frozen=True, slots=True)
class Spoken:
    """A fault of writing.

    Attributes
    ----------
    what, expected : str
        What was done, and what to write.
    key, value : str
        What it is about; empty where that cannot be told.
    """

    what: str
    expected: str
    key: str = ""
    value: str = ""


_FIXED = {
    "Expected '=' after": ("a key without = and a value after it", "key = value"),
    "Unclosed array": (
        "a list that is not closed, or without a comma between two elements",
        "a comma between elements and ] at the end",
    ),
    "Unclosed inline table": (
        "a list or table that is not closed, or holds what cannot be read",
        "quantities between quotation marks, commas between values, ] or } at the end",
    ),
    "Duplicate inline table key": ("a key that stands twice in one table", "each key once"),
    "Invalid initial character for a key": (
        "a table in braces that goes over the end of the line or ends in a comma",
        "{ key = value, key = value } on one line",
    ),
    "Unescaped '\\'": (
        "a backslash in a text",
        "two backslashes, or the text between single quotation marks",
    ),
    "Invalid hex value": ("a backslash that names no character", "the character itself"),
    "Escaped character is": ("a backslash that names no character", "the character itself"),
    "Invalid date": ("a date that is not in the calendar", "a date such as 2026-12-04"),
    "Unterminated string": ("a text that is not closed", "a quotation mark at its end"),
    'Expected "\'"': ("a text that is not closed", "a quotation mark at its end"),
    "Expected \"'''\"": ("a text that is not closed", "three quotation marks at its end"),
    "Illegal character '\\n'": ("a text that is not closed", "a quotation mark at its end"),
    "Illegal character": ("a character that cannot be printed", "plain text on one line"),
    "Found invalid character '\\n'": ("a text that is not closed", "a quotation mark at its end"),
    "Found invalid character": ("a character that cannot be printed", "plain text on one line"),
    "Cannot redefine namespace": (
        "a section that is written to after it was closed",
        "each section once",
    ),
    "Cannot mutate immutable": (
        "a table that is added to after it was closed",
        "each table in one place",
    ),
}


def spoken(message: str, line: str) -> Spoken:
    """Say what is wrong with a line that `tomllib` could not read.

    Parameters
    ----------
    message : str
        What `tomllib` said, without the place.
    line : str
        The line at which the statement begins.

    Returns
    -------
    Spoken
        The fault in our words; doubled keys and headings are not known here.
    """
    keyed = KEY_LINE.match(line)
    if HEADING.match(line):
        return Spoken(
            "a heading that cannot be read",
            "[section] or [[section]] on a line of its own",
            "",
            as_written(line.strip()),
        )
    colon = COLON_LINE.match(line)
    if colon and not keyed:
        key, value = colon["key"], as_written(colon["rest"])
        return Spoken("a colon after a key", f"{key} = {value}", key, value)
    key, rest = (keyed["key"].strip('"'), _COMMENT.sub("", keyed["rest"])) if keyed else ("", "")
    for start, (what, expected) in _FIXED.items():
        if message.startswith(start):
            return Spoken(what, expected, key, as_written(rest or line.strip()))
    if rest.startswith(("[", "{")):
        return Spoken(*_FIXED["Unclosed inline table"], key, as_written(rest))
    if keyed:
        return _unread_value(key, rest)
    return Spoken(
        "a line that is not a key with a value, a [section] or a # comment",
        "key = value",
        "",
        as_written(line.strip()),
    )


def _unread_value(key: str, rest: str) -> Spoken:
    value = as_written(rest)
    if not rest or rest.startswith("#"):
        return Spoken("a key without a value", "a value after the =", key)
    if rest.casefold() in {"true", "false", "yes", "no"}:
        return Spoken(
            "a yes or no that cannot be read", "true or false, in small letters", key, value
        )
    if any(mark in rest for mark in "“”„‘’«»"):
        return Spoken("curly quotation marks", 'straight quotation marks "', key, value)
    if rest[0] in "\"'":
        return Spoken(
            "something after the end of a text", "one text between quotation marks", key, value
        )
    if _NUMBER_LIKE.match(rest):
        return Spoken(
            "a number that cannot be read",
            "digits, with a point and digits after it where needed",
            key,
            value,
        )
    expected = f'quotation marks around words and quantities: "{value}"'
    return Spoken("a value without quotation marks", expected, key, value)


def twice(line: str, first: int | None, *, listed: bool) -> Spoken:
    """Say that a key or a heading stands for the second time.

    Parameters
    ----------
    line : str
        The line of the second.
    first : int or None
        Line of the first, where it is known.
    listed : bool
        Whether the first was headed ``[[so]]``.

    Returns
    -------
    Spoken
        The fault.
    """
    where = f"; the first is on line {first}" if first is not None else ""
    keyed = KEY_LINE.match(line)
    if keyed:
        return Spoken(
            f"a key that stands twice{where}",
            "each key once",
            keyed["key"].strip('"'),
            as_written(_COMMENT.sub("", keyed["rest"])),
        )
    heading = HEADING.match(line)
    name = heading["name"] if heading else "section"
    if heading and heading["marks"] == "[" and listed:
        return Spoken(f"one table beside a list; write [[{name}]]", f"[[{name}]]", "", f"[{name}]")
    if heading and heading["marks"] == "[[":
        return Spoken(
            f"a list beside one [{name}]{where}", f"one way of writing {name}", "", f"[[{name}]]"
        )
    return Spoken(f"a section that stands twice{where}", f"[{name}] once", "", f"[{name}]")
