"""Anchors: the place and hash a chain stood at, kept where the ledger's keeper cannot reach."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote

from clew.faults import BadInput, Fault
from clew.ledger.events.kinds import LONGEST_NAME
from clew.ledger.events.message import MILL_LINE, MILL_WORD
from clew.ledger.events.reading import is_plain

PAPER_DIGITS = 32
"""Hexadecimal digits of a hash on paper: 128 bits, which nobody can hit again by trying."""
HASH_DIGITS = 64
_HEAD = "clew-anchor:1:"
_DOT = " · "
_PARTED = re.compile(
    r"(?P<line>.+?)\s*[·;|*]\s*(?P<seq>\d[\d ,.']*)\s*[·;|*]\s*(?P<hash>[0-9A-Za-z\s–-]+)"
    r"\s*[·;|*]\s*(?P<check>\d\d)",
    re.DOTALL,
)
_EXPECTED = "as it was printed: line · row · eight groups of four · two check digits"
_READ_AS = str.maketrans("OIL", "011")
"""Letters that no hash holds and that a hand writes for digits."""
_BLANK = re.compile("[\u00ad\u180e\u200b\u200e\u200f\u2060-\u2064\ufeff]")
"""Characters without width, and soft hyphens: what is copied out of a PDF may hold some."""
_JOINERS = re.compile("[\u200c\u200d]")
_FIRST_DOT = re.compile(r"[·;|*]")


@dataclass(frozen=True, slots=True)
class Anchor:
    """One place that a chain must pass through.

    Attributes
    ----------
    line : str
        Whose chain; empty for the mill's own.
    seq : int
        Row.
    digits : str
        That row's hash in small hexadecimal digits: its first 32 off paper, or all 64.
    """

    line: str
    seq: int
    digits: str

    @property
    def check(self) -> str:
        """Two digits by which a mistyped anchor is told from a chain that is another one."""
        return _check(self.line, self.seq, self.digits[:PAPER_DIGITS])

    def text(self) -> str:
        """Write it for paper."""
        digits = self.digits[:PAPER_DIGITS].upper()
        groups = "-".join(digits[first : first + 4] for first in range(0, len(digits), 4))
        return _DOT.join((self.line or MILL_WORD, str(self.seq), groups, self.check))

    def code(self) -> str:
        """Write it for machines, on one line without spaces."""
        return f"{_HEAD}{quote(self.line, safe='')}:{self.seq}:{self.digits}:{self.check}"

    def holds(self, hash_: bytes) -> bool:
        """Say whether a row's hash is the one that was kept."""
        return hash_.hex().startswith(self.digits)

    def plain(self) -> dict[str, Any]:
        """Make an object for JSON."""
        return {
            "line": self.line, "seq": self.seq, "hash": self.digits,
            "text": self.text(), "code": self.code(),
        }  # fmt: skip


def anchor_at(line: str, seq: int, hash_: bytes) -> Anchor:
    """Make the anchor of a row.

    Parameters
    ----------
    line : str
        Line.
    seq : int
        Row.
    hash_ : bytes
        Its hash.
    """
    return Anchor(line, seq, hash_.hex())


def _check(line: str, seq: int, digits: str) -> str:
    """Two check digits over line, row and hash.

    The remainder by the prime 97, as ISO 7064 MOD 97-10 takes it: one wrong digit of a row or a
    hash, or two neighbours that changed places, always show.
    """
    whole = (int.from_bytes(line.encode(), "big") * 10**20 + seq) * 16**PAPER_DIGITS
    return f"{98 - (whole + int(digits, 16)) * 100 % 97:02d}"


def read_anchor(said: str) -> Anchor:
    """Read an anchor off paper or from a machine.

    Parameters
    ----------
    said : str
        As `Anchor.text` or `Anchor.code` writes it; small letters, spaces for dashes, ``;`` for
        the dots and the letter O for a nought are taken, characters without width passed over.

    Raises
    ------
    BadInput
        When it is none, or its check digits say that it was mistyped.
    """
    dot = _FIRST_DOT.search(said)
    name_ends = dot.start() if dot else 0
    name, rest = said[:name_ends], _seen(said[name_ends:])
    # joiners belong to some scripts, so a line's own may stay; only the check digits tell
    *others, last = dict.fromkeys((_BLANK.sub("", name) + rest, _seen(name) + rest, name + rest))
    for one in others:
        try:
            return _read_as_it_is(one)
        except BadInput:
            continue
    return _read_as_it_is(last)


def _seen(text: str) -> str:
    return _JOINERS.sub("", _BLANK.sub("", text))


def _read_as_it_is(said: str) -> Anchor:
    text = said.strip()
    if text.startswith(_HEAD):
        parts = text.removeprefix(_HEAD).split(":")
        if len(parts) != 4:
            raise _no_anchor(said, "no anchor")
        line, row, digits, check = unquote(parts[0]), parts[1], parts[2].lower(), parts[3]
        wanted = HASH_DIGITS
    else:
        found = _PARTED.fullmatch(text)
        if found is None:
            raise _no_anchor(said, "no anchor")
        line = " ".join(found["line"].split())
        line = MILL_LINE if line == MILL_WORD else line
        row = re.sub(r"[ ,.']", "", found["seq"])
        digits = re.sub(r"[\s–-]", "", found["hash"]).upper().translate(_READ_AS).lower()
        check = found["check"]
        wanted = PAPER_DIGITS
    if len(line) > LONGEST_NAME or not is_plain(line):
        raise _no_anchor(said, "no anchor")
    hexadecimal = re.fullmatch(r"[0-9a-f]+", digits) is not None
    if not (row.isascii() and row.isdecimal()) or len(row) > 19:
        raise _no_anchor(said, "no anchor")
    if not hexadecimal or len(digits) not in (wanted, HASH_DIGITS):
        raise _no_anchor(said, "an anchor that was mistyped: its hash is not whole")
    anchor = Anchor(line, int(row), digits)
    if check != anchor.check:
        raise _no_anchor(said, "an anchor that was mistyped: its check digits do not fit")
    return anchor


def _no_anchor(said: str, what: str) -> BadInput:
    return BadInput(Fault(what, _EXPECTED, key="anchor", value=repr(" ".join(said.split()))[:120]))


def read_anchors(path: Path) -> tuple[Anchor, ...]:
    """Read a file of anchors, one a line; empty lines and lines that start with # are passed over.

    Also reads what ``clew ledger anchor --json`` prints.

    Raises
    ------
    BadInput
        Every line that holds none, at once.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "not UTF-8"
        raise BadInput(
            Fault("cannot be read", "a file of anchors", file=str(path), value=str(why))
        ) from None
    if text.lstrip().startswith("{"):
        return _from_json(text, path)
    return _from_lines(text.splitlines(), path)


def _from_lines(lines: Iterable[str], path: Path) -> tuple[Anchor, ...]:
    anchors: list[Anchor] = []
    faults: list[Fault] = []
    for number, line in enumerate(lines, 1):
        bare = _seen(line).strip()
        if not bare or bare.startswith("#"):
            continue
        try:
            anchors.append(read_anchor(line))
        except BadInput as bad:
            one = bad.faults[0]
            faults.append(
                Fault(one.what, one.expected, file=str(path), line=number, value=one.value)
            )
    if faults:
        raise BadInput(faults)
    return tuple(anchors)


def _from_json(text: str, path: Path) -> tuple[Anchor, ...]:
    try:
        found = json.loads(text)
        codes = [one["code"] for one in found["anchors"]]
        return tuple(read_anchor(code) for code in codes)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise BadInput(
            Fault("no anchors", "what clew ledger anchor --json prints", file=str(path))
        ) from None
