"""Reading TOML text, and going on behind what cannot be read to find the rest that is wrong.

`tomllib` stops at its first complaint. So that a person sees every fault at once, the statement it
complained of is put aside, the fault is noted, and the text is read again.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field, replace
from typing import Any

from clew.faults import BadInput, Fault
from clew.mill.fields import WRITTEN_AS_LIST, KeyPath
from clew.mill.key_lines import KeyLines
from clew.mill.places import found_at, section_and_key
from clew.mill.syntax_words import COLON_LINE, HEADING, KEY_LINE, spoken, twice

_PLACE = re.compile(
    r"^(?P<said>.*) \(at (?:line (?P<line>\d+), column \d+|end of document)\)$", re.DOTALL
)
_LONG_KEY = re.compile(r"(?<![\w-])(?:[\w-]++[ \t]*\.[ \t]*){64}")
_LONG_NUMBER = re.compile(r"(?<![\w.-])(?:0[xob])?[0-9][0-9a-fA-F_]{999}")
_QUOTED_OR_COMMENT = re.compile(r""""[^"]*"|'[^']*'|#.*""")
_UNSURE = frozenset("\"'\\[{")
_FIRST_WORD = re.compile(r"^\s*([A-Za-z0-9_-]+)")
_PLAIN_NAME = re.compile(r"^[A-Za-z0-9_-]+(\.[A-Za-z0-9_-]+)*$")
_DEEPEST = 64
_ROUNDS = 60
_WORK = 4_000_000
"""Characters that may be read over again to find further faults: far more than any mill needs."""
_DOUBLED = ("Cannot overwrite a value", "Cannot declare")


@dataclass
class ReadText:
    """A text as far as it could be read.

    Attributes
    ----------
    raw : dict
        What `tomllib` made of it.
    lines : KeyLines
        Where its keys stand.
    faults : list of Fault
        What could not be read, in the order of the lines.
    put_aside : set of int
        Lines of what could not be read.
    tried : set of int
        Lines at which reading stopped once; a second stop there ends it.
    """

    raw: dict[str, Any]
    lines: KeyLines
    faults: list[Fault] = field(default_factory=list)
    put_aside: set[int] = field(default_factory=set)
    tried: set[int] = field(default_factory=set)


def read_text(text: str, file: str) -> ReadText:
    """Read TOML text.

    Parameters
    ----------
    text : str
        The text.
    file : str
        Name of the file it came from, for the faults.

    Returns
    -------
    ReadText
        What could be read and what could not.

    Raises
    ------
    BadInput
        When nothing can be said about the text behind a fault; it holds the faults up to there.
    """
    _refuse_monsters(text, file)
    lines = text.replace("\r\n", "\n").split("\n")
    found = ReadText({}, KeyLines(""))
    for _ in range(max(2, min(_ROUNDS, _WORK // (len(text) + 1)))):
        try:
            found.raw = tomllib.loads("\n".join(lines))
        except tomllib.TOMLDecodeError as error:
            if not _put_aside(str(error), lines, found, file):
                break
        except RecursionError:
            raise BadInput(_too_deep(lines, file)) from None
        else:
            # how deep `tomllib` can read depends on who calls it; how deep a file may be does not
            if _depth(found.raw) > _DEEPEST:
                raise BadInput(_too_deep(lines, file))
            found.lines = KeyLines("\n".join(lines))
            return found
    *before, last = found.faults
    raise BadInput([*before, replace(last, what=f"{last.what}; nothing behind it could be read")])


def _put_aside(error: str, lines: list[str], found: ReadText, file: str) -> bool:
    """Note the fault `tomllib` stopped at and take its statement out; false when it cannot be."""
    match = _PLACE.match(error)
    said = match["said"] if match else error
    last = min(int(match["line"]), len(lines)) if match and match["line"] else len(lines)
    while last > 1 and not lines[last - 1].strip():
        last -= 1
    first, before = _statement_start(lines, last)
    if first in found.tried:
        return False
    found.tried.add(first)
    line = lines[first - 1]
    known = KeyLines("\n".join(lines[: first - 1]))
    under = known.table_at(first)
    heading = HEADING.match(line)
    doubled = said.startswith(_DOUBLED)
    listed = False
    if doubled:
        path = _path_of(line, under)
        listed = isinstance(found_at(before, path), list)
        words = twice(line, known.line_of(path), listed=listed)
    else:
        words = spoken(said, line)
    if _balance(line) > 0 and not heading:
        words = replace(words, value="")
    section = (
        heading["name"]
        if heading
        else " ".join(part for part in section_and_key(before, under) if part)
    )
    found.faults.append(
        Fault(words.what, words.expected, file, first, section, words.key, words.value)
    )
    if heading and listed and not line.strip().startswith("[["):
        lines[first - 1] = f"[[{heading['name']}]]"
        return True
    return _take_out(lines, first, last, doubled, found)


def _statement_start(lines: list[str], last: int) -> tuple[int, dict[str, Any]]:
    """Find the line at which the statement begins that ends, or breaks off, on line ``last``."""
    size = sum(map(len, lines[:last])) + 1
    for count in range(last - 1, max(-1, last - 2 - max(1, _WORK // 4 // size)), -1):
        try:
            return count + 1, tomllib.loads("\n".join(lines[:count]))
        except (tomllib.TOMLDecodeError, RecursionError):
            continue
    return last, {}


def _path_of(line: str, under: KeyPath) -> KeyPath:
    """Path of the key or heading on a line that stands under a heading."""
    keyed, heading = KEY_LINE.match(line), HEADING.match(line)
    if keyed:
        return (*under, *keyed["key"].strip('"').split("."))
    name = heading["name"] if heading else ""
    return tuple(part.strip().strip('"') for part in name.split("."))


def _take_out(lines: list[str], first: int, last: int, doubled: bool, found: ReadText) -> bool:
    """Put a harmless statement in the place of one that cannot be read."""
    line = lines[first - 1]
    keyed, heading = KEY_LINE.match(line) or COLON_LINE.match(line), HEADING.match(line)
    if heading and _PLAIN_NAME.match(heading["name"]) and not doubled:
        lines[first - 1] = _heading(heading["name"])
        return True
    if heading:
        lines[first - 1] = f'["put aside {first}"]'
    elif keyed and doubled:
        lines[first - 1] = f'"put aside {first}" = 0'
    elif keyed:
        rest = keyed["rest"]
        if rest.startswith(('"""', "'''")):
            return False
        last = _closing_line(lines, first, rest) if rest.startswith(("[", "{")) else first
        meant = rest.split("#")[0].strip(" \t\"'“”„‘’")
        plain = meant.isprintable() and not _UNSURE & set(meant)
        lines[first - 1] = f"{keyed['key']} = " + (f"'{meant}'" if plain else "[]")
    elif first == last:
        word = _FIRST_WORD.match(line)
        lines[first - 1] = f"{word[1]} = []" if word else ""
    else:
        return False
    lines[first:last] = [""] * (last - first)
    found.put_aside.update(range(first, last + 1))
    return True


def _heading(name: str) -> str:
    listed = name.rsplit(".", maxsplit=1)[-1] in WRITTEN_AS_LIST
    return f"[[{name}]]" if listed else f"[{name}]"


def _closing_line(lines: list[str], first: int, rest: str) -> int:
    """Find where a list or a table in braces ends, or the last line before the next statement."""
    open_brackets, place = _balance(lines[first - 1]), first
    while open_brackets > 0 and place < len(lines):
        after = lines[place]
        if HEADING.match(after) or (rest.startswith("[") and KEY_LINE.match(after)):
            break
        open_brackets += _balance(after)
        place += 1
    return place


def _balance(line: str) -> int:
    bare = _QUOTED_OR_COMMENT.sub("", line)
    return sum(bare.count(mark) for mark in "[{") - sum(bare.count(mark) for mark in "]}")


def _refuse_monsters(text: str, file: str) -> None:
    """Refuse what would keep `tomllib` busy for hours, or Python from printing it."""
    for pattern, what, expected in (
        (_LONG_KEY, "a key of very many parts", "keys of a few parts"),
        (_LONG_NUMBER, "a number of very many digits", "at most 19 digits"),
    ):
        match = pattern.search(text)
        if match:
            line = text.count("\n", 0, match.start()) + 1
            raise BadInput(
                Fault(what, expected, file=file, line=line, value=match.group()[:30] + "…")
            )


def _depth(raw: object) -> int:
    """Count how deep lists and tables stand in one another, without recursion."""
    deepest, level = 0, [raw]
    while level:
        deepest += 1
        level = [
            inner
            for value in level
            if isinstance(value, dict | list)
            for inner in (value.values() if isinstance(value, dict) else value)
        ]
    return deepest


def _too_deep(lines: list[str], file: str) -> Fault:
    depth = 0
    for number, line in enumerate(lines, 1):
        for char in line:
            depth += (char in "[{") - (char in "]}")
            if depth > _DEEPEST:
                return Fault(
                    "lists or tables too deep in one another",
                    "at most three",
                    file=file,
                    line=number,
                )
    return Fault("lists or tables too deep in one another", "at most three", file=file)
