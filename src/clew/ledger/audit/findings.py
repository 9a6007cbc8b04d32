"""What an audit of the ledger found, with the words for it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from clew.ledger.audit.anchors import Anchor
from clew.ledger.events.message import MILL_LINE

What = Literal[
    "changed", "hash", "missing", "double", "inserted", "moved", "renumbered", "body",
    "no number", "after the head", "cut off", "head", "no chain", "archive", "no line",
]  # fmt: skip
Seen = Literal["passes", "other rows", "beyond the end", "in an archive", "missing", "no line"]

UNSEEN = (
    "Without an anchor that was kept elsewhere this cannot be seen: who has the ledger's file and "
    "this program could write all rows from one point on anew, or take the newest rows away, and "
    "set the chain right afterwards."
)
UNSEEN_AFTER = (
    "After the last anchor of a line this cannot be seen: rows written anew, or the newest rows "
    "taken away, with the chain set right afterwards."
)
UNSURE = (
    "A row hangs on all rows before it: who wrote rows anew, and their hashes up to a row that is "
    "named here, would make that one seem the changed one. An anchor from before it that the chain "
    "still passes through rules that out."
)


def name_of(line: str) -> str:
    """Name a chain in a sentence."""
    return "the mill's own chain" if line == MILL_LINE else line


def rows_text(first: int, last: int) -> str:
    """Name one row or several: "row 412", "rows 413 to 9,000"."""
    return f"row {first:,}" if first == last else f"rows {first:,} to {last:,}"


def _were(first: int, last: int) -> str:
    return "was" if first == last else "were"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong.

    Attributes
    ----------
    what : str
        What it is.
    line : str
        Whose chain.
    first, last : int
        Rows that it is about; 0 where it is about none.
    words : str
        A sentence.
    """

    what: What
    line: str
    first: int
    last: int
    words: str

    def plain(self) -> dict[str, Any]:
        """Make an object for JSON."""
        return {
            "what": self.what, "line": self.line, "first": self.first, "last": self.last,
            "words": self.words,
        }  # fmt: skip


def finding(what: What, line: str, first: int, last: int, more: str = "") -> Finding:
    """Word one finding.

    Parameters
    ----------
    what : str
        What it is.
    line : str
        Whose chain.
    first, last : int
        Rows.
    more : str
        What else the sentence needs: where a row stood, what the head says.
    """
    rows, were, of = rows_text(first, last), _were(first, last), f" of {name_of(line)}"
    words = {
        "changed": f"{rows}{of} {were} changed after {'it' if first == last else 'they'} "
        f"{were} kept",
        "hash": f"the hash of {rows}{of} was changed; what the row says is as it was kept",
        "missing": f"{rows}{of} {were} taken out{more}",
        "double": f"{rows}{of} stands there more than once",
        "inserted": f"{rows}{of} {were} put in afterwards, and the rows behind renumbered",
        "moved": f"{rows}{of} was kept as row {more}: rows have changed places",
        "renumbered": f"{rows}{of} {were} renumbered{more}",
        "body": f"{rows}{of} {were} not written by this program: its text has another form",
        "no number": f"a row{of} stands at {more}, which is no number",
        "after the head": f"{rows}{of} {'stands' if first == last else 'stand'} after the row that "
        f"the chain ends with, {more}",
        "cut off": f"{rows}{of} {were} taken off the end: the chain ends with row {last:,}",
        "head": f"{name_of(line)} ends with row {last:,}, but the chain's own note of that row's "
        "hash is another",
        "no chain": f"{rows}{of} stand there, but the chain is not listed",
        "archive": f"{more}",
        "no line": f"{more}",
    }[what]  # fmt: skip
    return Finding(what, line, first, last, words)


@dataclass(frozen=True, slots=True)
class LineAudit:
    """One chain.

    Attributes
    ----------
    line : str
        Whose.
    rows : int
        Rows read.
    first, last : int
        Their numbers; 0 where there are none.
    archived_upto : int
        Last row that went out to an archive; 0 where none did.
    hash : bytes
        Hash that the chain stands at.
    findings : tuple of Finding
        What is wrong, in the order of the rows.
    unchecked : tuple of int
        Rows that cannot be checked because the row before is not there.
    """

    line: str
    rows: int
    first: int
    last: int
    archived_upto: int
    hash: bytes
    findings: tuple[Finding, ...] = ()
    unchecked: tuple[int, ...] = ()

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong."""
        return not self.findings

    def untouched(self) -> tuple[tuple[int, int], ...]:
        """Give the spans of rows that are as they were kept."""
        touched = sorted(
            [(one.first, one.last) for one in self.findings if one.what not in ("head", "cut off")]
            + [(one, one) for one in self.unchecked]
        )
        spans, at = [], self.first
        for first, last in touched:
            if first > at:
                spans.append((at, first - 1))
            at = max(at, last + 1)
        if self.rows and at <= self.last:
            spans.append((at, self.last))
        return tuple(spans)

    def words(self, *, doubted: bool = False) -> tuple[str, ...]:
        """Say how the chain stands, a sentence an entry.

        Parameters
        ----------
        doubted : bool
            Whether an anchor speaks against it: its rows fit one another then, and no more.
        """
        name = name_of(self.line)
        name = name[0].upper() + name[1:]
        if self.sound:
            if not self.rows:
                gone = f"; {rows_text(1, self.archived_upto)} in archives"
                return (f"{name}: no rows{gone if self.archived_upto else ''}.",)
            before = f", {rows_text(1, self.first - 1)} in archives" if self.first > 1 else ""
            stand = "fit one another" if doubted else "untouched"
            return (f"{name}: {rows_text(self.first, self.last)} {stand}{before}.",)
        said = [f"{one.words[0].upper()}{one.words[1:]}." for one in self.findings]
        for seq in self.unchecked:
            said.append(f"Row {seq:,} cannot be checked: the row before it is not there.")
        spans = self.untouched()
        if spans:
            listed = ", ".join(rows_text(*one) for one in spans[:12])
            more = ", and more" if len(spans) > 12 else ""
            said.append(f"{name}: {listed}{more} {_were(*spans[-1])} not touched.")
        else:
            said.append(f"{name}: no row can be vouched for.")
        return tuple(said)

    def plain(self) -> dict[str, Any]:
        """Make an object for JSON."""
        return {
            "line": self.line, "rows": self.rows, "first": self.first, "last": self.last,
            "archived_upto": self.archived_upto, "hash": self.hash.hex(), "sound": self.sound,
            "findings": [one.plain() for one in self.findings],
            "unchecked": list(self.unchecked),
            "untouched": [list(one) for one in self.untouched()],
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class AnchorSeen:
    """One anchor beside the chain.

    Attributes
    ----------
    anchor : Anchor
        What was kept elsewhere.
    seen : str
        Whether the chain passes through it.
    words : str
        A sentence.
    """

    anchor: Anchor
    seen: Seen
    words: str

    @property
    def wrong(self) -> bool:
        """Whether it speaks against the ledger."""
        return self.seen not in ("passes", "in an archive")

    def plain(self) -> dict[str, Any]:
        """Make an object for JSON."""
        return {**self.anchor.plain(), "seen": self.seen, "words": self.words}


@dataclass(frozen=True, slots=True)
class Audit:
    """The whole ledger.

    Attributes
    ----------
    lines : tuple of LineAudit
        Every chain.
    anchors : tuple of AnchorSeen
        Every anchor that was held against it.
    findings : tuple of Finding
        What belongs to no chain.
    """

    lines: tuple[LineAudit, ...]
    anchors: tuple[AnchorSeen, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong, as far as can be seen."""
        return (
            all(one.sound for one in self.lines)
            and not self.findings
            and not any(one.wrong for one in self.anchors)
        )

    @property
    def rows(self) -> int:
        """Rows read."""
        return sum(one.rows for one in self.lines)

    def unseen(self) -> str:
        """Say what this audit could not see."""
        return UNSEEN_AFTER if any(one.seen == "passes" for one in self.anchors) else UNSEEN

    def words(self) -> tuple[str, ...]:
        """Say everything, a sentence an entry."""
        doubted = {one.anchor.line for one in self.anchors if one.wrong}
        said = [words for line in self.lines for words in line.words(doubted=line.line in doubted)]
        said += [f"{one.words[0].upper()}{one.words[1:]}." for one in self.findings]
        said += [f"{one.words[0].upper()}{one.words[1:]}." for one in self.anchors]
        if not all(line.sound for line in self.lines):
            said.append(UNSURE)
        return tuple(said)

    def plain(self) -> dict[str, Any]:
        """Make an object for JSON."""
        return {
            "sound": self.sound, "rows": self.rows,
            "lines": [one.plain() for one in self.lines],
            "findings": [one.plain() for one in self.findings],
            "anchors": [one.plain() for one in self.anchors],
            "unseen": self.unseen(),
        }  # fmt: skip
