"""A quarantine file that a hand has worked in: what it broke or left open is not thrown away."""

from __future__ import annotations

from pathlib import Path

import pytest

from clew.ledger.ingest.quarantine import TORN, Quarantine
from clew.ledger.ingest.rows import FoundRow


def put(path: Path, text: str) -> None:
    store = Quarantine(path, b"at,lane,kind")
    store.put(FoundRow(9, 0, 1, True, None, "no moment", text.encode()), "no moment")
    store.sync()
    store.close()


@pytest.mark.parametrize(
    "rest",
    ["5,why,2026-03-02T06:00:00Z,1,doff", '5,"why,x,1,doff\n6,why,y,2,doff\n7,why,z,3,doff\n'],
)
def test_what_ends_in_no_whole_row_is_put_aside(tmp_path: Path, rest: str) -> None:
    path = tmp_path / "night.csv"
    put(path, "a,1,doff")
    before = path.read_text()
    path.write_text(before + rest)
    put(path, "b,1,doff")
    assert path.read_text().startswith(before)
    assert path.read_text().count("\n") == before.count("\n") + 1
    assert path.with_name(path.name + TORN).read_text().strip("\n") == rest.strip("\n")
