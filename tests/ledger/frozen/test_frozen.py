"""The ledger file that this version wrote opens, is sound and reads, in this version and later."""

from __future__ import annotations

import json
import shutil
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text
from tests.ledger.frozen.make import FILE, HERE, LINES, SAID, START_US, messages, write

from clew.ledger.audit.anchors import read_anchor
from clew.ledger.audit.verify import verify
from clew.ledger.events.kinds import KINDS
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.migrate import migrate, newest_step, step_of
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import chain_records, records_naming


@pytest.fixture
def said() -> dict[str, Any]:
    found: dict[str, Any] = json.loads((HERE / SAID).read_text(encoding="utf-8"))
    return found


@pytest.fixture
def frozen(tmp_path: Path) -> Any:
    """A copy of the file, brought up to this program's step."""
    path = tmp_path / FILE
    shutil.copyfile(HERE / FILE, path)
    raw = Ledger(sqlite_url(path))
    migrate(raw)
    raw.close()
    ledger = open_ledger(sqlite_url(path), make=False)
    yield ledger
    ledger.close()


def test_it_is_sound_and_passes_through_the_anchors_of_then(
    frozen: Ledger, said: dict[str, Any]
) -> None:
    audit = verify(frozen, [read_anchor(one) for one in said["anchors"].values()])
    assert audit.sound, audit.words()
    assert [one.seen for one in audit.anchors] == ["passes"] * 3
    assert {one.line: one.rows for one in audit.lines} == said["rows"]
    assert step_of(frozen) == newest_step()


def test_every_record_reads_as_it_was_told(frozen: Ledger) -> None:
    told: dict[str, list[Any]] = {}
    for one in messages():
        told.setdefault(one.line, []).append(
            (one.at_us, one.kind, one.source, one.key, one.author, one.lane, one.ball, one.run,
             one.cone, one.lot, one.package, one.token, dict(one.body))
        )  # fmt: skip
    for line, expected in told.items():
        assert [
            (one.at_us, one.kind, one.source, one.key, one.author, one.lane, one.ball, one.run,
             one.cone, one.lot, one.package, one.token, one.fields())
            for one in chain_records(frozen, line)
        ] == expected  # fmt: skip


def test_it_holds_many_kinds_and_oddities(frozen: Ledger) -> None:
    records = [one for line in ("", *LINES) for one in chain_records(frozen, line)]
    kinds = Counter(one.kind for one in records)
    assert len(kinds) >= 25
    assert set(kinds) <= set(KINDS)
    flags = {flag for one in records for flag in one.flag_words()}
    assert flags == {"late", "mass_g out of range"}
    assert [one.kind for one in records_naming(frozen, "token", "T-4")] == [
        "doff", "weighing", "banded",
    ]  # fmt: skip
    with frozen.reading() as connection:
        for table in ("person", "refused", "file_read"):
            assert connection.scalar(text(f"SELECT count(*) FROM {table}")) == 1


def test_it_goes_on_from_where_it_stood(frozen: Ledger) -> None:
    again = frozen.append(messages())
    assert {one.outcome for one in again} == {"already"}
    assert verify(frozen).sound


def test_what_is_written_today_has_the_hashes_of_then(tmp_path: Path, said: dict[str, Any]) -> None:
    assert write(tmp_path / "today.db")["anchors"] == said["anchors"]
    assert messages()[-1].at_us == START_US
