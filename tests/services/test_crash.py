"""Killed in mid-work, on every path and both databases: nothing acknowledged is lost.

The short form; `make soak` runs the same with hundreds of kills.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.services.crash import WINDOW, Figures, Killer
from tests.services.crash_programs import FileWay, HttpWay, MqttWay
from tests.services.crash_ways import DirectWay
from tests.services.mosquitto import MISSING as NO_BROKER
from tests.services.mosquitto import binary
from tests.services.postgres import MISSING, Cluster, binaries, running_cluster

from clew.ledger.store.ledger import sqlite_url
from clew.ledger.store.opening import open_ledger

pytestmark = pytest.mark.services
KILLS = 4
BOTH = pytest.mark.parametrize("place", ["sqlite", "postgresql"], indirect=True)
ONE = pytest.mark.parametrize(
    "place", ["sqlite", pytest.param("postgresql", marks=pytest.mark.long)], indirect=True
)
"""What keeps a record is the same for every way in; `make long` kills the server under all."""


@pytest.fixture(scope="module")
def synced() -> Iterator[Cluster]:
    """A server whose commits wait for the disk, and that may be killed."""
    if binaries() is None:
        pytest.skip(MISSING)
    with running_cluster(sync=True) as cluster:
        yield cluster


@pytest.fixture
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[str, Cluster | None]]:
    """Address of a ledger that is synced, and its server where it has one."""
    if request.param == "sqlite":
        url = sqlite_url(tmp_path / "mill.db")
        open_ledger(url).close()
        yield url, None
        return
    cluster = request.getfixturevalue("synced")
    with cluster.database(f"crash_{request.node.originalname}") as url:
        open_ledger(url).close()
        yield url, cluster


def check(figures: Figures) -> None:
    """Nothing lost, nothing doubled, and the killing did happen under load."""
    assert figures.lost == []
    assert figures.doubled == []
    assert figures.unknown == []
    assert figures.chain == []
    assert figures.kills == KILLS
    assert figures.rows == figures.sent == figures.acknowledged >= WINDOW


@BOTH
def test_append(place: tuple[str, Cluster | None]) -> None:
    url, cluster = place
    check(Killer(DirectWay(url), url, Figures("direct", url[:6], seed=11), cluster).run(KILLS))


@ONE
def test_files(place: tuple[str, Cluster | None]) -> None:
    url, cluster = place
    check(Killer(FileWay(url), url, Figures("file", url[:6], seed=12), cluster).run(KILLS))


@BOTH
def test_http(place: tuple[str, Cluster | None]) -> None:
    url, cluster = place
    way = HttpWay(url)
    check(Killer(way, url, Figures("http", url[:6], seed=13), cluster).run(KILLS))
    assert way.answers <= {200, 503}


@ONE
@pytest.mark.skipif(binary() is None, reason=NO_BROKER)
def test_mqtt(place: tuple[str, Cluster | None]) -> None:
    url, cluster = place
    check(Killer(MqttWay(url), url, Figures("mqtt", url[:6], seed=14), cluster).run(KILLS))


def test_a_liar_is_found(tmp_path: Path) -> None:
    """One that acknowledges before it has kept loses what it said it had."""
    url = sqlite_url(tmp_path / "mill.db")
    open_ledger(url).close()
    killer = Killer(DirectWay(url, early=True), url, Figures("direct", "sqlite", seed=11))
    killer.finish_s = 1.0
    figures = killer.run(KILLS)
    assert figures.lost
    assert not figures.sound
