"""A fresh ledger for each test, on SQLite and on PostgreSQL."""

from __future__ import annotations

import itertools
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.services.postgres import postgres, postgres_template

from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.opening import open_ledger

__all__ = ["postgres", "postgres_template"]

DATABASES = ["sqlite", pytest.param("postgresql", marks=pytest.mark.services)]
_number = itertools.count(1)


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A file with the ledger's tables in it, to copy."""
    path = tmp_path_factory.mktemp("ledger") / "template.db"
    open_ledger(sqlite_url(path)).close()
    return path


@pytest.fixture(params=DATABASES)
def ledger_url(request: pytest.FixtureRequest) -> Iterator[str]:
    """Address of a new ledger with its tables made: once in a file, once on a server."""
    if request.param == "sqlite":
        path: Path = request.getfixturevalue("tmp_path") / "mill.db"
        shutil.copy(request.getfixturevalue("sqlite_template"), path)
        yield sqlite_url(path)
        return
    cluster = request.getfixturevalue("postgres")
    template = request.getfixturevalue("postgres_template")
    with cluster.database(f"clew_{next(_number)}", template) as url:
        yield url


@pytest.fixture
def ledger(ledger_url: str) -> Iterator[Ledger]:
    """That ledger, open."""
    opened = open_ledger(ledger_url)
    yield opened
    opened.close()
