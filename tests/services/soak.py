"""The long form of the crash test: hundreds of kills on every path and both databases.

`make soak`, or `python -m tests.services.soak --kills 200 --paths direct,file`.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.services.crash import HEAD, Figures, Killer, Way
from tests.services.crash_programs import FileWay, HttpWay, MqttWay
from tests.services.crash_ways import DirectWay
from tests.services.postgres import Cluster, running_cluster

from clew.ledger.store.ledger import sqlite_url
from clew.ledger.store.opening import open_ledger

WAYS: dict[str, Callable[[str], Way]] = {
    "direct": DirectWay,
    "file": FileWay,
    "http": HttpWay,
    "mqtt": MqttWay,
}
DATABASES = ("sqlite", "postgresql")


@contextmanager
def fresh(database: str, name: str) -> Iterator[tuple[str, Cluster | None]]:
    """Address of a new ledger whose commits wait for the disk, and its server."""
    if database == "sqlite":
        with tempfile.TemporaryDirectory(prefix="clew-soak-") as folder:
            url = sqlite_url(Path(folder) / "mill.db")
            open_ledger(url).close()
            yield url, None
        return
    with running_cluster(sync=True) as cluster, cluster.database(f"soak_{name}") as url:
        open_ledger(url).close()
        yield url, cluster


def main() -> int:
    """Kill, compare, print a table; 1 where anything was lost, doubled or broken."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=200, help="on each path and database")
    parser.add_argument("--paths", default=",".join(WAYS), help="which paths")
    parser.add_argument("--databases", default=",".join(DATABASES), help="which databases")
    parser.add_argument("--seed", type=int, default=2026, help="of the moments")
    parser.add_argument("--minutes", type=float, default=1e6, help="no longer, on each of them")
    asked = parser.parse_args()
    print(HEAD, flush=True)
    sound = True
    for path in asked.paths.split(","):
        for database in asked.databases.split(","):
            with fresh(database, path) as (url, cluster):
                figures = Killer(
                    WAYS[path](url), url, Figures(path, database, asked.seed), cluster
                ).run(asked.kills, most_s=60.0 * asked.minutes)
            print(figures.row(), flush=True)
            for what in ("lost", "doubled", "unknown", "chain"):
                for one in getattr(figures, what)[:5]:
                    print(f"  {what}: {one}", flush=True)
            sound = sound and figures.sound
    return 0 if sound else 1


if __name__ == "__main__":
    sys.exit(main())
