"""The data dictionary: the ledger's tables and the mill file's keys."""

from __future__ import annotations

import json
import types
import typing
from collections.abc import Iterator, Mapping
from typing import Any, Literal, get_args, get_origin

from pydantic.fields import FieldInfo

WORDS: Mapping[str, str] = {
    "chain.line": "the line, or `(mill)` as an empty text for the mill's own chain",
    "chain.head": "number of its last row",
    "chain.hash": "that row's hash",
    "chain.newest_us": "the latest moment any of its rows speaks of",
    "event.line": "whose chain it stands in",
    "event.seq": "its place in the chain, from 1 without a gap",
    "event.at_us": "when it happened",
    "event.received_us": "when it arrived",
    "event.kind": "what happened: a kind of {doc}`../ledger_messages`",
    "event.source": "which device or file told it",
    "event.key": "the source's own key; one source says a key once",
    "event.author": "who vouches for it; empty for a machine",
    "event.lane": "the lane; 0 for the whole line",
    "event.ball": "number of the ball on that lane's winder",
    "event.run": "the run it names",
    "event.cone": "the cone it names",
    "event.lot": "the dye lot it names",
    "event.package": "the case or pallet it names",
    "event.token": "the ball's token or tray",
    "event.body": "its other fields, as JSON with sorted keys",
    "event.flags": "what was odd about it, parted by commas",
    "event.hash": "SHA-256 over the row and the hash before it",
    "archive.line": "whose rows went out",
    "archive.upto_seq": "the last row in the file",
    "archive.upto_hash": "that row's hash, by which the chain goes on",
    "archive.from_seq": "the first row in the file",
    "archive.file": "the file",
    "archive.sha256": "its fingerprint",
    "archive.made_us": "when it was made",
    "refused.number": "number of the refusal",
    "refused.received_us": "when it arrived",
    "refused.path": "which way it came",
    "refused.source": "who sent it",
    "refused.reason": "why it was refused",
    "refused.body": "the message, as it came",
    "file_read.path": "the file",
    "file_read.sha256_head": "fingerprint of its first part, by which it is known again",
    "file_read.bytes_read": "how far it has been read [bytes]",
    "file_read.rows_read": "rows taken",
    "file_read.changed_us": "when that was",
    "person.key": "the name without regard to case",
    "person.name": "as it is written",
    "person.role": "hand, lead, quality or office: {doc}`../who_may`",
    "person.password_hash": "Argon2id",
    "person.made_us": "when they were added",
    "person.changed_us": "when the password was last set",
    "person.ended_us": "when their access ended; empty while it holds",
    "session.token_hash": "SHA-256 of the session's secret",
    "session.person": "whose it is",
    "session.made_us": "when they signed in",
    "session.seen_us": "when they were last heard of",
    "session.ends_us": "when it ends at the latest",
    "api_token.name": "the machine's name",
    "api_token.token_hash": "SHA-256 of the token",
    "api_token.scopes": "what it may do, parted by blanks",
    "api_token.line": "the one line it may write to; empty for any",
    "api_token.made_us": "when it was made",
    "api_token.made_by": "who made it",
    "api_token.ended_us": "when it ended; empty while it holds",
    "sign_in_try.key": "a name, an address, or both",
    "sign_in_try.failed": "tries that failed in a row",
    "sign_in_try.last_us": "when the last one was",
}
"""What a column says. A column that is not here, or one too many, stops the build."""


def ledger_page() -> str:
    from sqlalchemy.dialects import postgresql

    import clew.ledger.people.tables  # noqa: F401 - hangs the people's tables on METADATA
    from clew.ledger.store.schema import METADATA

    tables = METADATA.sorted_tables
    columns = {f"{table.name}.{column.name}" for table in tables for column in table.columns}
    if columns != set(WORDS):
        raise ValueError(f"columns without words, or words without: {columns ^ set(WORDS)}")
    lines = [
        "# Data dictionary: the ledger's tables", "",
        "What it answers: **what stands in which column of the ledger?** The tables are the same in"
        " SQLite and PostgreSQL; types are given as PostgreSQL calls them. A column in `_us` is a"
        " moment in microseconds since 1970, UTC. What the rows of `event` say is in"
        " {doc}`../ledger_messages`. Made from the program by `make docs`.", "",
    ]  # fmt: skip
    for table in sorted(tables, key=lambda one: one.name):
        lines += [f"## {table.name}", "", f"{table.comment}.", "",
                  "| column | holds | must | what it says |", "|---|---|---|---|"]  # fmt: skip
        for column in table.columns:
            kind = column.type.compile(dialect=postgresql.dialect()).lower()
            must = "key" if column.primary_key else "" if column.nullable else "must"
            said = WORDS[f"{table.name}.{column.name}"]
            lines.append(f"| `{column.name}` | {kind} | {must} | {said} |")
        indexes = sorted(str(index.name) for index in table.indexes)
        lines += [""]
        if indexes:
            lines += [f"Indexes: {', '.join(f'`{name}`' for name in indexes)}.", ""]
    return "\n".join(lines)


def _parts_of(kind: Any) -> tuple[Any, list[Any]]:
    """Take a type's annotations off; an optional one loses its None."""
    notes: list[Any] = []
    while True:
        if get_origin(kind) is typing.Annotated:
            kind, *more = get_args(kind)
            notes += more
        elif get_origin(kind) in (typing.Union, types.UnionType):
            rest = [one for one in get_args(kind) if one is not type(None)]
            if len(rest) != 1:
                return kind, notes
            (kind,) = rest
        else:
            return kind, notes


def _limits(kind: Any, notes: list[Any]) -> str:
    of = "letters" if kind is str else "entries"
    from pydantic.fields import FieldInfo as Info

    found = []
    for note in notes:
        for inner in note.metadata if isinstance(note, Info) else [note]:
            for sign, words in (("gt", "above"), ("ge", "at least"), ("lt", "below"),
                                ("le", "at most"), ("min_length", "at least"),
                                ("max_length", "at most")):  # fmt: skip
                limit = getattr(inner, sign, None)
                if isinstance(limit, int | float):
                    found.append(f"{words} {limit:g}{f' {of}' if '_' in sign else ''}")
    return ", ".join(dict.fromkeys(found))


def _holds(kind: Any, notes: list[Any]) -> str:
    from clew.mill.fields import Reads

    kind, inner = _parts_of(kind)
    notes = [*notes, *inner]
    said = next((note for note in notes if isinstance(note, Reads)), None)
    if said is not None:
        return f"{said.one}, such as {said.example}"
    if get_origin(kind) is Literal:
        return "one of " + ", ".join(
            f"`{json.dumps(one, ensure_ascii=False)}`" for one in get_args(kind)
        )
    if get_origin(kind) is tuple:
        return "a list: " + _holds(get_args(kind)[0], [])
    names = {str: "text", int: "whole number", float: "number", bool: "`true` or `false`"}
    return names.get(kind, getattr(kind, "__name__", str(kind)).lower())


def _inner_section(kind: Any) -> Any:
    from clew.mill.fields import Section

    kind, _ = _parts_of(kind)
    if get_origin(kind) is tuple:
        kind, _ = _parts_of(get_args(kind)[0])
    return kind if isinstance(kind, type) and issubclass(kind, Section) else None


def _left_out(info: FieldInfo) -> str:
    from clew.mill.fields import Section

    if info.is_required():
        return "must be there"
    default = info.get_default(call_default_factory=True)
    if default is None:
        return "as the section says, or none"
    if isinstance(default, Section):
        return "as below"
    if isinstance(default, bool):
        return f"`{str(default).lower()}`"
    if isinstance(default, tuple):
        return ", ".join(map(str, default)) or "none"
    return f"{default:g}" if isinstance(default, float) else f"{default}"


_UNITS = {
    "frac": "share", "c": "°C", "cn": "cN", "cn_per_tex": "cN/tex", "kpa": "kPa", "deg": "°",
    "dba": "dB(A)", "kg_m3": "kg/m³", "m_per_s": "m/s", "per_km": "/km", "per_m": "/m",
}  # fmt: skip


def _unit(name: str, key: str) -> str:
    unit = name.removeprefix(key).strip("_")
    return _UNITS.get(unit, unit)


def _sections(model: Any, heading: str) -> Iterator[str]:
    from clew.mill.fields import WRITTEN_AS_LIST, file_key

    words = " ".join((model.__doc__ or "").split())
    yield from (f"## {heading}", "", words, "")
    yield from ("| key | holds | limits | left out | unit inside |", "|---|---|---|---|---|")
    below = []
    for name, info in model.model_fields.items():
        key = info.alias or file_key(name)
        inner = _inner_section(info.annotation)
        if inner is not None:
            mark = f"[[{key}]]" if key in WRITTEN_AS_LIST else f"[{key}]"
            below.append((inner, key))
            yield f"| `{mark}` | a section, below | | {_left_out(info)} | |"
            continue
        kind, notes = _parts_of(info.annotation)
        every = [*info.metadata, *notes]
        unit = _unit(name, file_key(name))
        cells = (f"`{key}`", _holds(kind, every), _limits(kind, every), _left_out(info), unit)
        yield f"| {' | '.join(cells)} |"
    yield ""
    for inner, key in below:
        within = "" if heading == "The file" else f"{heading.strip('`')}."
        yield from _sections(inner, f"`{within}{key}`")


def mill_page() -> str:
    from clew.mill.model import Mill

    head = [
        "# Data dictionary: the mill file's keys", "",
        "What it answers: **which keys may stand in a mill file, what do they hold, within what"
        " limits, and what holds where one is left out?** How to write one is in"
        " {doc}`../mill_file`. Limits and what is assumed are in the unit inside, the last column."
        " Made from the program by `make docs`.", "",
    ]  # fmt: skip
    return "\n".join([*head, *_sections(Mill, "The file")])
