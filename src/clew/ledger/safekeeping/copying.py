"""Copying every table from one ledger into another of the same step, whatever database each is."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, MetaData, Table, func, insert, inspect, select, text

STEP_TABLE = "alembic_version"
AT_ONCE = 2_000
"""Rows copied at once."""


def tables_of(connection: Connection) -> list[Table]:
    """Name a ledger's tables, each after those that it refers to, as they stand in it."""
    found = MetaData()
    found.reflect(bind=connection)
    return [one for one in found.sorted_tables if one.name != STEP_TABLE]


def has_tables(connection: Connection) -> bool:
    """Say whether a database has any table at all."""
    return bool(inspect(connection).get_table_names())


def count_rows(connection: Connection, tables: list[Table]) -> dict[str, int]:
    """Count the rows of each table."""
    return {
        one.name: int(connection.scalar(select(func.count()).select_from(one)) or 0)
        for one in tables
    }


def copy_tables(source: Connection, target: Connection) -> dict[str, int]:
    """Copy all rows of all tables.

    Parameters
    ----------
    source : sqlalchemy.Connection
        Inside a transaction that sees one state.
    target : sqlalchemy.Connection
        Inside a transaction; the same tables, empty.

    Returns
    -------
    dict of str to int
        Rows copied, by table.
    """
    copied: dict[str, int] = {}
    for table in tables_of(target):
        order = list(table.primary_key.columns)
        found = source.execution_options(yield_per=AT_ONCE).execute(select(table).order_by(*order))
        copied[table.name] = 0
        for part in found.partitions(AT_ONCE):
            rows: list[dict[str, Any]] = [dict(row) for row in map(_mapping, part)]
            target.execute(insert(table), rows)
            copied[table.name] += len(rows)
        if target.dialect.name == "postgresql":
            _go_on_counting(target, table)
    return copied


def _mapping(row: Any) -> Any:
    return row._mapping


def _go_on_counting(target: Connection, table: Table) -> None:
    """Have numbers that PostgreSQL gives itself begin behind those that were copied."""
    for column in table.primary_key.columns:
        values = {"of": f'"{table.name}"', "column": column.name}
        counter = target.scalar(text("SELECT pg_get_serial_sequence(:of, :column)"), values)
        if counter is not None:
            newest = target.scalar(select(func.max(column)))
            if newest is not None:
                target.execute(
                    text("SELECT setval(:counter, :newest)"),
                    {"counter": counter, "newest": int(newest)},
                )
