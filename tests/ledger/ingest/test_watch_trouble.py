"""A watched folder when something goes wrong at the worst moment: nothing is passed over."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

from clew.ledger.events.reading import Sender
from clew.ledger.ingest.files import HEAD_BYTES, take_file
from clew.ledger.ingest.watch import FolderWatch
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import chain_records
from clew.ledger.store.trouble import CannotKeep

SENDER = Sender("file", line="Line 1", zone="Europe/London")
HEAD = "at,lane,kind,counts\n"
START_S = 1_800_000_000.0


def row(second: int) -> str:
    return f"2026-03-02T06:{second // 60:02d}:{second % 60:02d},1,turns,{second}\n"


def counts(ledger: Ledger) -> list[float]:
    return sorted(one.fields()["counts"] for one in chain_records(ledger, "Line 1"))


class Moved:
    """A file that was taken and moved, whose writer has kept it open."""

    def __init__(self, ledger: Ledger, folder: Path) -> None:
        self.now_s, path = START_S, folder / "a.csv"
        path.write_text(HEAD + row(1))
        os.utime(path, (START_S, START_S))
        self.watch = FolderWatch(ledger, folder, SENDER, settle_s=60.0, clock=lambda: self.now_s)
        self.round()
        self.round(61.0)
        self.path = folder / "taken" / "a.csv"
        assert self.path.exists()

    def write(self, text: str) -> None:
        with self.path.open("a") as file:
            file.write(text)
        os.utime(self.path, (self.now_s, self.now_s))

    def round(self, after_s: float = 1.0) -> None:
        self.now_s += after_s
        list(self.watch.round())


@pytest.fixture
def moved(ledger: Ledger, tmp_path: Path) -> Moved:
    return Moved(ledger, tmp_path)


def test_what_a_full_ledger_refused_of_a_moved_file_is_taken_later(
    ledger: Ledger, moved: Moved, monkeypatch: pytest.MonkeyPatch
) -> None:
    moved.write(row(2))

    def full(*_: Any, **__: Any) -> None:
        raise CannotKeep("the disk that holds the ledger is full", for_good=True)

    with monkeypatch.context() as patch:
        patch.setattr(ledger, "append", full)
        with pytest.raises(CannotKeep):
            moved.round()
    moved.round()
    assert counts(ledger) == [1.0, 2.0]


def test_a_last_line_without_its_end_in_a_moved_file_is_taken_once_it_stands(
    ledger: Ledger, moved: Moved
) -> None:
    moved.write(row(2).rstrip("\n"))
    moved.round()
    assert counts(ledger) == [1.0]
    moved.round(61.0)
    assert counts(ledger) == [1.0, 2.0]
    moved.round()
    moved.round(61.0)
    assert counts(ledger) == [1.0, 2.0]


def test_a_file_written_anew_with_another_end_and_grown_is_read_from_the_top(
    ledger: Ledger, tmp_path: Path
) -> None:
    path = tmp_path / "night.csv"
    same = "".join(row(one) for one in range(200))
    assert len(same) > HEAD_BYTES
    path.write_text(HEAD + same + row(300))
    take_file(ledger, path, SENDER)
    path.write_text(HEAD + same + row(400) + row(500))
    taken = take_file(ledger, path, SENDER)
    assert (taken.kept, taken.already, taken.from_line) == (2, 200, 2)
    assert counts(ledger)[-3:] == [300.0, 400.0, 500.0]
