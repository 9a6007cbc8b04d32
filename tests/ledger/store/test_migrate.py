"""The tables are made, brought up and taken back, with records in them, on both databases."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import Column, MetaData, Table, Text, inspect
from tests.services import own_check

from clew.faults import BadInput
from clew.ledger.events.message import Message
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.migrate import migrate, newest_step, step_of
from clew.ledger.store.opening import open_ledger, url_of
from clew.ledger.store.schema import CHAIN, EVENT, EVENT_COLUMNS, METADATA

AT = 1_767_225_600_000_000


def steps() -> list[str]:
    """All steps, the oldest first."""
    from alembic.script import ScriptDirectory

    from clew.ledger.store.migrate import _config

    script = ScriptDirectory.from_config(_config())
    return [one.revision for one in script.walk_revisions()][::-1]


def tables(ledger: Ledger) -> set[str]:
    with ledger.reading() as connection:
        return set(inspect(connection).get_table_names()) - {"alembic_version"}


def differences(ledger: Ledger, metadata: MetaData) -> list[object]:
    with ledger.reading() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        return list(compare_metadata(context, metadata))


def fill(ledger: Ledger) -> None:
    ledger.append([
        Message(line, "weighing", AT + n, "s", f"{n}", lane=1, body={"mass_g": 200.0 + n})
        for n in range(20) for line in ("north", "south")
    ])  # fmt: skip


def test_the_steps_make_what_the_program_reads(ledger: Ledger) -> None:
    assert differences(ledger, METADATA) == []


def test_a_difference_is_found(ledger: Ledger) -> None:
    """That the check above can fail."""
    other = MetaData()
    for table in METADATA.tables.values():
        table.to_metadata(other)
    Table("one_more", other, Column("x", Text))
    assert len(differences(ledger, other)) == 1


def test_indexes_over_filled_rows_are_there_with_their_condition(ledger: Ledger) -> None:
    """Comparing does not look at an index's condition; so it is asked for."""
    query = (
        "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL"
        if ledger.dialect == "sqlite"
        else "SELECT indexname, indexdef FROM pg_indexes WHERE tablename = 'event'"
    )
    found = {name: str(sql).casefold() for name, sql in own_check.ask(ledger.url, query)}
    for name in ("run", "cone", "lot", "package", "token"):
        condition = found[f"event_by_{name}"].partition(" where ")[2].replace("::text", "")
        assert condition.strip("()").replace("(", "") == f"{name} <> ''"


def test_columns_stand_in_the_order_of_a_record(ledger: Ledger) -> None:
    assert tuple(EVENT.columns.keys()) == EVENT_COLUMNS
    with ledger.reading() as connection:
        names = [column["name"] for column in inspect(connection).get_columns("event")]
    assert tuple(names) == EVENT_COLUMNS


def test_up_is_where_it_stands_and_again_changes_nothing(ledger: Ledger) -> None:
    fill(ledger)
    before = own_check.rows_of(ledger.url)
    assert step_of(ledger) == newest_step() == steps()[-1]
    migrate(ledger)
    assert step_of(ledger) == newest_step()
    assert own_check.rows_of(ledger.url) == before


def test_each_step_down_and_up_again_keeps_the_records(ledger: Ledger) -> None:
    """Down to the first step and back, one at a time; every step that has the tables has all."""
    fill(ledger)
    before = own_check.rows_of(ledger.url)
    for step in steps()[-2::-1]:
        migrate(ledger, step)
        assert step_of(ledger) == step
        assert own_check.rows_of(ledger.url) == before
    for step in steps():
        migrate(ledger, step)
        assert step_of(ledger) == step
        assert own_check.rows_of(ledger.url) == before
    assert own_check.chain_faults(ledger.url) == []
    assert ledger.append([Message("north", "feed on", AT, "s", "new", lane=1)])[0].seq == 21
    assert differences(ledger, METADATA) == []


def test_down_to_nothing_and_up_from_nothing(ledger: Ledger) -> None:
    fill(ledger)
    migrate(ledger, "base")
    assert step_of(ledger) == ""
    assert tables(ledger) == set()
    migrate(ledger)
    assert tables(ledger) == set(METADATA.tables)
    assert own_check.rows_of(ledger.url) == []
    fill(ledger)
    assert own_check.chain_faults(ledger.url) == []
    with ledger.reading() as connection:
        assert connection.execute(CHAIN.select()).first() is not None


@pytest.mark.parametrize("step", ["9999", "nonsense", "", "-1"])
def test_no_such_step(ledger: Ledger, step: str) -> None:
    with pytest.raises(BadInput, match="no such step"):
        migrate(ledger, step)
    assert step_of(ledger) == newest_step()


def set_step(ledger: Ledger, step: str) -> None:
    with ledger.writing() as connection:
        connection.exec_driver_sql(f"UPDATE alembic_version SET version_num = '{step}'")


def test_a_ledger_of_a_newer_clew_is_refused(ledger: Ledger) -> None:
    set_step(ledger, "9999")
    with pytest.raises(BadInput, match="9999"):
        open_ledger(ledger.url)
    with pytest.raises(BadInput, match="newer Clew"):
        migrate(ledger)
    assert step_of(ledger) == "9999"


def test_an_older_ledger_is_told_how_to_come_up(ledger: Ledger) -> None:
    set_step(ledger, "0000")
    with pytest.raises(BadInput, match="clew ledger migrate"):
        open_ledger(ledger.url)


def test_opening_makes_the_tables_where_there_are_none(ledger: Ledger) -> None:
    migrate(ledger, "base")
    with pytest.raises(BadInput, match="there is no ledger yet"):
        open_ledger(ledger.url, make=False)
    opened = open_ledger(ledger.url)
    assert step_of(opened) == newest_step()
    opened.close()


@pytest.fixture
def nowhere(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Path]:
    monkeypatch.delenv("CLEW_LEDGER", raising=False)
    yield tmp_path


def test_where_a_mill_s_ledger_is(nowhere: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert url_of(nowhere) == sqlite_url(nowhere / "mill.db")
    assert url_of(nowhere, "postgresql://h/d") == "postgresql://h/d"
    monkeypatch.setenv("CLEW_LEDGER", "sqlite:////tmp/x.db")
    assert url_of(nowhere, "postgresql://h/d") == "sqlite:////tmp/x.db"


def test_a_file_that_is_not_there(nowhere: Path) -> None:
    with pytest.raises(BadInput, match="there is no ledger yet"):
        open_ledger(sqlite_url(nowhere / "mill.db"), make=False)
    assert list(nowhere.iterdir()) == []
    with pytest.raises(BadInput, match="no such folder"):
        open_ledger(sqlite_url(nowhere / "none" / "mill.db"))


@pytest.mark.parametrize(
    "url",
    ["", "mill.db", "sqlite://", "sqlite:///:memory:", "mysql://h/d", "http://h", "://", "a:b"],
)
def test_no_address_of_a_ledger(url: str, nowhere: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(nowhere)
    with pytest.raises(BadInput, match="no address of a ledger"):
        open_ledger(url)
    assert list(nowhere.iterdir()) == []


def test_a_password_is_never_shown(nowhere: Path) -> None:
    assert "s3cret" not in Ledger("postgresql://ada:s3cret@h/d").url
    with pytest.raises(BadInput) as bad:
        Ledger("mysql://ada:s3cret@h/d")
    assert "s3cret" not in str(bad.value)
