"""Walking one chain: each row hashed onto the row before, and what the breaks in it mean.

After a break the walk goes on from the hash that stands there, so that damage further on is
found as well and told apart: a changed row breaks at one place only, a removed one is a gap.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from typing import Any

from clew.ledger.audit.findings import Finding, LineAudit, What, finding
from clew.ledger.store.chain import FIRST_HASH, body_text

_ENCODE = json.JSONEncoder(separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode
_SHA = hashlib.sha256
MOST_KEPT = 400
"""Broken rows that are looked at once more for having changed places."""
MOST_SPANS = 1_000
"""Findings of one kind that are told one by one; beyond it the last one grows."""
FURTHEST = 8
"""How far a renumbering is looked for."""
MOST_BODIES = 200_000

Row = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Bounds:
    """Where a chain must begin and end.

    Attributes
    ----------
    before_seq : int
        Row before its first one: 0, or the end of an archive.
    before_hash : bytes
        That row's hash.
    head_seq : int or None
        Its last row, as the ledger notes it; None where it notes none.
    head_hash : bytes
        That row's hash.
    """

    before_seq: int = 0
    before_hash: bytes = FIRST_HASH
    head_seq: int | None = None
    head_hash: bytes = b""


@dataclass(slots=True)
class _Bad:
    """A row that does not follow from the row before."""

    row: Row
    before: bytes


@dataclass(slots=True)
class _Walk:
    """One walk: where it stands, and what gathered on the way."""

    line: str
    expected: int
    before: bytes | None
    head: int | None = None
    spans: dict[What, list[list[int]]] = field(default_factory=dict)
    bad: dict[int, _Bad] = field(default_factory=dict)
    found: list[Finding] = field(default_factory=list)
    unchecked: list[int] = field(default_factory=list)
    renumbered: list[list[int]] = field(default_factory=list)  # first, last, by how much
    computed: bytes | None = None  # hash of the row before, where it was not the one that stood
    good: bytes | None = None  # last hash that fitted, while rows are broken
    tries: int = 0

    def note(self, what: What, first: int, last: int) -> None:
        spans = self.spans.setdefault(what, [])
        if spans and (spans[-1][1] + 1 == first or len(spans) >= MOST_SPANS):
            spans[-1][1] = last
        else:
            spans.append([first, last])


def digest(before: bytes, row: Row) -> bytes | None:
    """Hash one row as `clew.ledger.store.chain.row_hash` does; None where it has no JSON text."""
    try:
        return _SHA(before + _ENCODE(row).encode()).digest()
    except (TypeError, ValueError):
        return None


def is_canonical(body: object) -> bool:
    """Say whether a body's text is the one that this program writes of it."""
    if not isinstance(body, str):
        return False
    try:
        found = json.loads(body)
        return isinstance(found, dict) and body_text(found) == body
    except (ValueError, RecursionError):
        return False


def walk_chain(
    line: str,
    rows: Iterable[Row],
    bounds: Bounds,
    wanted: Collection[int] = (),
) -> tuple[LineAudit, dict[int, bytes]]:
    """Walk one chain.

    Parameters
    ----------
    line : str
        Whose.
    rows : iterable of tuple
        All columns of its rows, in the order of their numbers; read once, none is held.
    bounds : Bounds
        Where it must begin and end.
    wanted : collection of int
        Rows whose hashes are handed back, for anchors.

    Returns
    -------
    tuple of LineAudit and dict of int to bytes
        What was found; and the hashes that stand at the wanted rows.
    """
    walk = _Walk(line, bounds.before_seq + 1, bounds.before_hash, bounds.head_seq)
    seen_bodies: set[Any] = set()
    hashes: dict[int, bytes] = {}
    count, first, last, stands = 0, 0, bounds.before_seq, bounds.before_hash
    expected, before = walk.expected, walk.before
    for row in rows:
        count += 1
        seq, stored, body = row[1], row[17], row[15]
        if type(stored) is not bytes:  # SQLite lets anything stand anywhere
            stored = b""
        fits = seq == expected and before is not None and digest(before, row[:17]) == stored
        if fits:
            if walk.computed is not None or walk.good is not None:
                walk.computed = walk.good = None
        elif not _out_of_step(walk, row, expected, before):
            continue
        if body not in seen_bodies:
            if is_canonical(body):
                if len(seen_bodies) >= MOST_BODIES:
                    seen_bodies.clear()
                seen_bodies.add(body)
            elif fits:
                walk.note("body", seq, seq)
        if seq in wanted:
            hashes[seq] = stored
        first = first or seq
        last, stands, before = seq, stored, stored
        expected = seq + 1
    _settle(walk)
    _end(walk, count, last, stands, bounds)
    for what, spans in walk.spans.items():
        walk.found += [finding(what, line, first, last) for first, last in spans]
    ordered = sorted(walk.found, key=lambda one: (one.first, one.last, one.what))
    audit = LineAudit(
        line, count, first, last if first else 0, bounds.before_seq, stands, tuple(ordered),
        tuple(walk.unchecked),
    )  # fmt: skip
    return audit, hashes


def _out_of_step(walk: _Walk, row: Row, expected: int, before: bytes | None) -> bool:
    """Find out about a row that does not follow; say whether the walk goes on from it."""
    seq, stored = row[1], row[17]
    if type(seq) is not int or seq < 1:
        walk.found.append(finding("no number", walk.line, 0, 0, repr(seq)[:60]))
        return False
    if seq < expected:
        walk.note("double", seq, seq)
        return False
    if seq > expected:
        last = seq - 1 if walk.head is None else min(seq - 1, walk.head)
        if last >= expected:
            walk.note("missing", expected, last)
        walk.unchecked.append(seq)
        walk.computed = walk.good = None
        return True
    assert before is not None
    if walk.computed is not None and digest(walk.computed, row[:17]) == stored:
        # the row before says what it said: only its hash was touched
        walk.spans["changed"][-1][1] -= 1
        if walk.spans["changed"][-1][1] < walk.spans["changed"][-1][0]:
            walk.spans["changed"].pop()
        walk.bad.pop(seq - 1, None)
        walk.note("hash", seq - 1, seq - 1)
        walk.computed = walk.good = None
        return True
    if len(walk.bad) < MOST_KEPT:
        walk.bad[seq] = _Bad(row, before)
    if _is_renumbered(walk, row, before):
        walk.computed = None
        return True
    if walk.good is None:
        walk.good = before
    walk.computed = digest(before, row[:17])
    walk.note("changed", seq, seq)
    return True


def _is_renumbered(walk: _Walk, row: Row, before: bytes) -> bool:
    """Say whether a row fits under another number, and note it then."""
    seq, stored = row[1], row[17]
    spans = walk.renumbered
    if spans and spans[-1][1] == seq - 1:
        shifts: tuple[int, ...] = (spans[-1][2],)
    elif walk.tries < MOST_KEPT:
        walk.tries += 1
        shifts = tuple(s for n in range(1, FURTHEST + 1) for s in (n, -n))
    else:
        return False
    befores = (before,) if walk.good is None else (before, walk.good)
    for shift in shifts:
        if seq + shift < 1:
            continue
        moved = (row[0], seq + shift, *row[2:17])
        for one in befores:
            if digest(one, moved) == stored:
                if spans and spans[-1][1] == seq - 1 and spans[-1][2] == shift:
                    spans[-1][1] = seq
                else:
                    spans.append([seq, seq, shift])
                return True
    return False


def _settle(walk: _Walk) -> None:
    """Tell rows that changed places, were put in, or were renumbered from rows that changed."""
    _find_moved(walk)
    changed = walk.spans.get("changed", [])
    for first, last, shift in walk.renumbered:
        start = first
        near = next((one for one in changed if one[1] == first - 1), None)
        if shift < 0:
            more = f": they were kept {-shift:,} lower"
            if near is not None and near[1] - near[0] + 1 >= -shift:
                _shorten(changed, near, -shift)
                walk.found.append(finding("inserted", walk.line, first + shift, first - 1))
        else:
            more = f": they were kept {shift:,} higher, so as many were taken out before them"
            if near is not None:
                _shorten(changed, near, 1)
                start = first - 1
        walk.found.append(finding("renumbered", walk.line, start, last, more))


def _shorten(spans: list[list[int]], span: list[int], by: int) -> None:
    span[1] -= by
    if span[1] < span[0]:
        spans.remove(span)


def _find_moved(walk: _Walk) -> None:
    """Look among the broken rows for ones that fit at another broken row's place."""
    bad = walk.bad
    settled: dict[int, int] = {}  # place: where that row was found
    for place in sorted(bad):
        before = bad[place].before
        at = place
        while at in bad and at not in settled:
            came = next(
                (
                    found
                    for found in bad
                    if found not in settled.values() and _fits_at(bad, found, at, before)
                ),
                None,
            )
            if came is None:
                break
            settled[at] = came
            stood = (bad[came].row[0], at, *bad[came].row[2:17])
            before = digest(before, stood) or b""
            at += 1
    settled = {place: came for place, came in settled.items() if _comes_round(settled, place)}
    if all(place == came for place, came in settled.items()):
        return
    for spans in (walk.spans.get("changed", []), walk.renumbered):
        spans[:] = [part for span in spans for part in _without(span, settled)]
    for place, came in settled.items():
        if place != came:
            walk.found.append(finding("moved", walk.line, came, came, f"{place:,}"))


def _comes_round(settled: dict[int, int], place: int) -> bool:
    """Say whether rows only changed places among themselves: nothing put in, nothing lost."""
    at, steps = settled[place], 0
    while at != place and at in settled and steps < len(settled):
        at, steps = settled[at], steps + 1
    return at == place


def _without(span: list[int], gone: Collection[int]) -> list[list[int]]:
    """Take some rows out of a span."""
    parts, at = [], span[0]
    for seq in sorted(one for one in gone if span[0] <= one <= span[1]):
        if seq > at:
            parts.append([at, seq - 1, *span[2:]])
        at = seq + 1
    if at <= span[1]:
        parts.append([at, *span[1:]])
    return parts


def _fits_at(bad: dict[int, _Bad], found: int, place: int, before: bytes) -> bool:
    row = bad[found].row
    hashed = digest(before, (row[0], place, *row[2:17]))
    return hashed is not None and hashed in (row[17], bad[place].row[17])


def _end(walk: _Walk, count: int, last: int, stands: bytes, bounds: Bounds) -> None:
    """Hold the last row against what the ledger notes of it."""
    line, head = walk.line, bounds.head_seq
    if head is None:
        if count:
            walk.found.append(finding("no chain", line, bounds.before_seq + 1, last))
        elif bounds.before_seq:  # the next row would begin the chain anew
            walk.found.append(finding("no chain", line, 1, bounds.before_seq))
    elif last > head:
        walk.found.append(finding("after the head", line, head + 1, last, f"row {head:,}"))
    elif last < head:
        walk.found.append(finding("missing", line, last + 1, head, ": the newest ones"))
    elif stands != bounds.head_hash:
        changed = walk.spans.get("changed", [])
        if walk.computed == bounds.head_hash and changed and changed[-1][1] == last:
            _shorten(changed, changed[-1], 1)
            walk.note("hash", last, last)
        else:
            walk.found.append(finding("head", line, last, last))
