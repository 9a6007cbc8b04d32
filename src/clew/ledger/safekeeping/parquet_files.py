"""Archive files: rows of one chain as Parquet, with where they stood in it."""

from __future__ import annotations

import importlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from clew.faults import BadInput, Fault
from clew.ledger.audit.findings import Finding
from clew.ledger.audit.walk import Bounds, Row, walk_chain
from clew.ledger.store.schema import EVENT_COLUMNS

VERSION = 1
KEY = b"clew_archive"
IN_GROUP = 50_000
"""Rows in a row group, and held in memory at once."""

_WHOLE = ("seq", "at_us", "received_us", "ball")


@dataclass(frozen=True, slots=True)
class Span:
    """Rows of one chain.

    Attributes
    ----------
    line : str
        Whose.
    from_seq, upto_seq : int
        First and last row.
    before_hash, upto_hash : bytes
        Hash of the row before the first, and of the last.
    """

    line: str
    from_seq: int
    upto_seq: int
    before_hash: bytes
    upto_hash: bytes

    @property
    def rows(self) -> int:
        """How many."""
        return self.upto_seq - self.from_seq + 1

    def bounds(self) -> Bounds:
        """Say where a walk over them begins and ends."""
        return Bounds(self.from_seq - 1, self.before_hash, self.upto_seq, self.upto_hash)


def parquet() -> tuple[Any, Any]:
    """Import what reads and writes Parquet.

    Raises
    ------
    BadInput
        When it is not installed.
    """
    try:
        return importlib.import_module("pyarrow"), importlib.import_module("pyarrow.parquet")
    except ImportError:
        raise BadInput(
            Fault("what writes Parquet is not installed", 'pip install "clew[archive]"')
        ) from None


def write_parquet(path: Path, span: Span, rows: Iterable[Row]) -> None:
    """Write rows to a file.

    Parameters
    ----------
    path : Path
        The file; it is written over.
    span : Span
        Which rows they are.
    rows : iterable of tuple
        All their columns, in order.
    """
    pa, pq = parquet()
    said = {
        "version": VERSION, "line": span.line, "from_seq": span.from_seq,
        "upto_seq": span.upto_seq, "before_hash": span.before_hash.hex(),
        "upto_hash": span.upto_hash.hex(),
    }  # fmt: skip
    schema = pa.schema(
        [pa.field(name, _type(pa, name), nullable=name == "ball") for name in EVENT_COLUMNS],
        metadata={KEY: json.dumps(said, ensure_ascii=False).encode()},
    )
    with pq.ParquetWriter(path, schema, compression="zstd") as writer:
        held: list[Row] = []
        for row in rows:
            held.append(row)
            if len(held) == IN_GROUP:
                writer.write_table(_table(pa, schema, held))
                held = []
        if held:
            writer.write_table(_table(pa, schema, held))


def _type(pa: Any, name: str) -> Any:
    if name == "hash":
        return pa.binary(32)
    if name == "lane":
        return pa.int32()
    return pa.int64() if name in _WHOLE else pa.string()


def _table(pa: Any, schema: Any, rows: list[Row]) -> Any:
    columns = list(zip(*rows, strict=True))
    return pa.table(
        [pa.array(one, type=field.type) for one, field in zip(columns, schema, strict=True)],
        schema=schema,
    )


def read_span(path: Path) -> Span:
    """Read which rows an archive holds.

    Raises
    ------
    BadInput
        When it is none.
    """
    pa, pq = parquet()
    try:
        found = pq.read_schema(path)
        said = json.loads((found.metadata or {})[KEY])
        if said["version"] != VERSION:
            raise BadInput(
                Fault("an archive made by a newer Clew", "that one, or newer", file=str(path))
            )
        if tuple(found.names) != EVENT_COLUMNS:
            raise KeyError("columns")
        return Span(
            str(said["line"]), int(said["from_seq"]), int(said["upto_seq"]),
            bytes.fromhex(said["before_hash"]), bytes.fromhex(said["upto_hash"]),
        )  # fmt: skip
    except FileNotFoundError:
        raise BadInput(Fault("no such archive", file=str(path))) from None
    except (
        OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError, pa.ArrowException,
    ):  # fmt: skip
        raise BadInput(
            Fault("no archive of a ledger", "what clew ledger archive wrote", file=str(path))
        ) from None


def read_rows(path: Path) -> Iterator[Row]:
    """Read an archive's rows in their order, a part at a time.

    Raises
    ------
    BadInput
        When the file is damaged.
    """
    pa, pq = parquet()
    try:
        with pq.ParquetFile(path) as file:
            for batch in file.iter_batches(batch_size=IN_GROUP):
                columns = [batch.column(name).to_pylist() for name in EVENT_COLUMNS]
                yield from zip(*columns, strict=True)
    except (OSError, ValueError, KeyError, pa.ArrowException) as error:
        raise BadInput(
            Fault("the archive is damaged", file=str(path), value=str(error)[:80])
        ) from None


def check_rows(path: Path, span: Span) -> tuple[Finding, ...]:
    """Walk the chain that an archive holds: nothing is found where it is as it was kept.

    Parameters
    ----------
    path : Path
        The archive.
    span : Span
        Where its chain must begin and end.
    """
    audit, _ = walk_chain(span.line, read_rows(path), span.bounds())
    return audit.findings
