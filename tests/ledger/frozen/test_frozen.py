"""The ledgers that earlier editions wrote open, are sound and read, in this version and later."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from click.testing import CliRunner
from sqlalchemy import text
from starlette.testclient import TestClient
from tests.ledger.conftest import DATABASES
from tests.ledger.frozen.make import EDITIONS, HERE, LINES, START_US, messages, write

from clew.cli.main import main
from clew.ledger.audit.anchors import read_anchor
from clew.ledger.audit.verify import verify
from clew.ledger.events.kinds import KINDS
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.migrate import migrate, newest_step, step_of
from clew.ledger.store.opening import VARIABLE, open_ledger
from clew.ledger.store.reading import chain_records, records_naming
from clew.mill import write_demo
from clew.web.app import create_app

TABLES = ("chain", "event", "archive", "person", "refused", "file_read")


@pytest.fixture(params=EDITIONS)
def edition(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def said(edition: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((HERE / f"{edition}.json").read_text(encoding="utf-8"))
    return found


def laid(edition: str, url: str, step: str) -> None:
    """Lay a frozen file's rows, as they stand, into tables of its own step on another database."""
    raw = Ledger(url)
    migrate(raw, step)
    with closing(sqlite3.connect(HERE / f"{edition}.db")) as file, raw.writing() as connection:
        for table in TABLES:
            rows = file.execute(f"SELECT * FROM {table}")
            names = [one[0] for one in rows.description]
            into = f"INSERT INTO {table} VALUES ({', '.join(f':{name}' for name in names)})"
            for row in rows:
                connection.execute(text(into), dict(zip(names, row, strict=True)))
    raw.close()


@pytest.fixture(params=DATABASES)
def kept(
    request: pytest.FixtureRequest, tmp_path: Path, edition: str, said: dict[str, Any]
) -> Iterator[str]:
    """Address of the ledger as that edition left it, in its file or on a server."""
    if request.param == "sqlite":
        path = tmp_path / "mill.db"
        shutil.copyfile(HERE / f"{edition}.db", path)
        yield sqlite_url(path)
        return
    cluster = request.getfixturevalue("postgres")
    with cluster.database(f"clew_frozen_{edition}") as url:
        laid(edition, url, said["step"])
        yield url


@pytest.fixture
def frozen(kept: str) -> Iterator[Ledger]:
    """That ledger, brought up to this program's step."""
    raw = Ledger(kept)
    migrate(raw)
    raw.close()
    ledger = open_ledger(kept, make=False)
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


def test_every_record_reads_as_it_was_told(frozen: Ledger, edition: str) -> None:
    told: dict[str, list[Any]] = {}
    for one in messages(edition):
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


def test_it_goes_on_from_where_it_stood(frozen: Ledger, edition: str) -> None:
    again = frozen.append(messages(edition))
    assert {one.outcome for one in again} == {"already"}
    assert verify(frozen).sound


def test_what_is_written_today_has_the_hashes_of_then(
    tmp_path: Path, said: dict[str, Any], edition: str
) -> None:
    assert write(tmp_path / "today.db", edition)["anchors"] == said["anchors"]
    assert messages(EDITIONS[0])[-1].at_us == START_US


def test_the_newest_edition_holds_every_table_and_all_that_records_say() -> None:
    """When a table or a field is added and no edition was frozen with it, this fails."""
    newest = EDITIONS[-1]
    step = json.loads((HERE / f"{newest}.json").read_text(encoding="utf-8"))["step"]
    assert step == newest_step()
    with closing(sqlite3.connect(HERE / f"{newest}.db")) as file:
        tables = {name for (name,) in file.execute("SELECT name FROM sqlite_master")}
        bodies = file.execute("SELECT kind, body FROM event").fetchall()
    assert set(TABLES) <= tables
    cases = [json.loads(body) for kind, body in bodies if kind == "case closed"]
    assert set().union(*cases) == {one.name for one in KINDS["case closed"].fields}


@pytest.fixture
def mill_dir(tmp_path: Path, kept: str, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The demo mill with that ledger as its own, not brought up yet."""
    write_demo(tmp_path / "mill")
    monkeypatch.setenv(VARIABLE, kept)
    return tmp_path / "mill"


def test_the_commands_of_today_bring_it_up_and_read_it(mill_dir: Path) -> None:
    def clew(*arguments: str) -> str:
        done = CliRunner().invoke(main, [*arguments, "--mill", str(mill_dir)])
        assert done.exit_code == 0, (arguments, done.output, done.exception)
        return done.stdout

    assert f"step {newest_step()}" in clew("ledger", "migrate")
    assert "Sound: 6" in clew("ledger", "verify")
    assert "winder 1 runs heavy" in clew("ledger", "log", "--line", "Line 1")
    report = clew("run", "report", "--line", "Line 1", "--shift", "2026-03-29T08:05")
    assert "3 balls taken off, 1 pulled out of first quality" in report
    assert "A. Lead" in clew("ledger", "log", "--line", "Färbung Süd")
    traced = clew("lot", "trace", "--token", "T-4")
    assert "it is Line 1 lane 1 ball 0, 105 g" in traced
    assert "P-1: possible, shipped to Wolle & Mehr, pallet PL-1" in traced
    assert "P-1: sure, shipped to Wolle & Mehr" in clew("lot", "trace", "--pallet", "PL-1")


@pytest.mark.parametrize("edition", EDITIONS[:1], indirect=True)
def test_the_pages_of_today_read_it(mill_dir: Path) -> None:
    assert CliRunner().invoke(main, ["ledger", "migrate", "--mill", str(mill_dir)]).exit_code == 0
    app = create_app(mill_dir)
    with TestClient(app, base_url="http://127.0.0.1") as client:
        for address, words in (
            ("/run?line=Line+1", "R-1 ended 2026-03-29"),
            ("/run/hand?line=Line+1", "Line 1"),
            ("/trace?what=cone&name=C-1", "Cone C-1"),
            ("/trace?what=pallet&name=PL-1", "Shipped to Wolle &amp; Mehr"),
            ("/trace?what=case&name=P-1", "Dye lot SL-207: release"),
            ("/lots?" + urlencode({"ball": "Querl 100", "lot": "SL-207"}), "SL-207"),
        ):
            answer = client.get(address)
            assert answer.status_code == 200, (address, answer.text[:2000])
            assert words in " ".join(answer.text.split()), (address, words)
