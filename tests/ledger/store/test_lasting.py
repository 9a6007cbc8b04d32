"""A server that does not wait for its disk is named wherever the ledger is looked after."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from tests.services.postgres import Cluster, binaries, running_cluster

from clew.cli.main import main
from clew.ledger.store.lasting import what_would_be_lost
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.opening import VARIABLE, open_ledger

LOOSE = "fsync = off and full_page_writes = off"


@pytest.fixture
def mill_dir(tmp_path: Path) -> Path:
    from clew.mill import write_demo

    write_demo(tmp_path / "mill")
    return tmp_path / "mill"


def test_a_file_always_waits_for_its_disk(tmp_path: Path) -> None:
    ledger = open_ledger(sqlite_url(tmp_path / "mill.db"))
    assert what_would_be_lost(ledger) == ""
    ledger.close()


@pytest.fixture
def of_tests(postgres: Cluster, postgres_template: str, request: pytest.FixtureRequest) -> str:
    """A ledger on the server of these tests, which was told not to wait."""
    name = "clew_lasting"
    postgres.say(f"CREATE DATABASE {name} TEMPLATE {postgres_template}")
    request.addfinalizer(lambda: postgres.say(f"DROP DATABASE {name} WITH (FORCE)"))
    return postgres.url(name)


@pytest.mark.services
def test_a_server_that_does_not_wait_is_named(
    of_tests: str, mill_dir: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ledger = Ledger(of_tests)
    assert LOOSE in what_would_be_lost(ledger)
    ledger.close()
    monkeypatch.setenv(VARIABLE, of_tests)
    for verb, code in (("verify", 0), ("migrate", 0)):
        said = CliRunner().invoke(main, ["ledger", verb, "--mill", str(mill_dir)])
        assert said.exit_code == code, said.output
        assert said.stderr.count(LOOSE) == 1
        assert LOOSE not in said.stdout


@pytest.mark.services
def test_opening_the_workbench_names_it_too(
    of_tests: str, mill_dir: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[Any] = []
    monkeypatch.setattr("clew.web.serve.serve", lambda *what: opened.append(what))
    monkeypatch.setenv(VARIABLE, of_tests)
    said = CliRunner().invoke(main, ["serve", "--mill", str(mill_dir)])
    assert (said.exit_code, said.stderr.count(LOOSE), len(opened)) == (0, 1, 1)
    # a server that is away is the pages' to say, and hinders no opening
    monkeypatch.setenv(VARIABLE, "postgresql://nobody@127.0.0.1:1/none")
    said = CliRunner().invoke(main, ["serve", "--mill", str(mill_dir)])
    assert (said.exit_code, said.stderr, len(opened)) == (0, "", 2)


@pytest.fixture
def waiting() -> Iterator[Cluster]:
    if binaries() is None:
        pytest.skip("PostgreSQL's server is not installed")
    with running_cluster(sync=True) as cluster:
        yield cluster


@pytest.mark.services
def test_a_server_that_waits_is_not(waiting: Cluster) -> None:
    with closing(Ledger(waiting.url())) as ledger:
        assert what_would_be_lost(ledger) == ""
