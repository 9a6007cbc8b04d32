"""A watched folder: files as they grow, moved when finished, a bad one in nobody's way."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import pytest

from clew.faults import BadInput
from clew.ledger.events.reading import Sender
from clew.ledger.ingest.watch import LOCK, FolderWatch, Seen, the_only_one, watch_folder
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import chain_records
from clew.ledger.store.trouble import CannotKeep

SENDER = Sender("file", line="Line 1", zone="Europe/London")
HEAD = "at,lane,kind,counts\n"
START_S = 1_800_000_000.0


class Hand:
    """A folder, a watch on it, and a clock that is turned by hand."""

    def __init__(self, ledger: Ledger, folder: Path) -> None:
        self.ledger, self.folder, self.now_s = ledger, folder, START_S
        self.watch = self.begin()

    def begin(self) -> FolderWatch:
        return FolderWatch(
            self.ledger, self.folder, SENDER, settle_s=60.0, clock=lambda: self.now_s
        )

    def write(self, name: str, text: str, *, more: bool = False) -> Path:
        path = self.folder / name
        with path.open("a" if more else "w") as file:
            file.write(text)
        os.utime(path, (self.now_s, self.now_s))
        return path

    def round(self, after_s: float = 1.0) -> list[Seen]:
        self.now_s += after_s
        return list(self.watch.round())

    def kept(self) -> int:
        return len(list(chain_records(self.ledger, "Line 1")))


@pytest.fixture
def hand(ledger: Ledger, tmp_path: Path) -> Hand:
    folder = tmp_path / "incoming"
    folder.mkdir()
    return Hand(ledger, folder)


def row(second: int) -> str:
    return f"2026-03-02T10:00:{second:02d},1,turns,{second}\n"


def test_a_file_is_taken_as_it_grows_and_moved_when_it_stands_still(hand: Hand) -> None:
    hand.write("a.csv", HEAD + row(1) + row(2)[:9])
    assert [one.taken.kept for one in hand.round() if one.taken] == [1]
    assert hand.round() == []
    hand.write("a.csv", row(2)[9:] + row(3), more=True)
    assert [one.taken.kept for one in hand.round() if one.taken] == [2]
    assert hand.round(50.0) == []
    (moved,) = hand.round(10.0)
    assert moved.moved_to == hand.folder / "taken" / "a.csv"
    assert sorted(one.name for one in hand.folder.iterdir()) == ["taken"]
    assert hand.kept() == 3


def test_a_last_line_without_its_end_is_waited_for_and_then_taken(hand: Hand) -> None:
    hand.write("a.csv", HEAD + row(1) + row(2).rstrip("\n"))
    hand.round()
    hand.round(100.0)
    assert hand.kept() == 1
    assert (hand.folder / "a.csv").exists()
    (moved,) = hand.round(300.0)
    assert moved.moved_to is not None
    assert hand.kept() == 2


def test_what_is_not_whole_yet_is_left_alone(hand: Hand) -> None:
    for name in ("a.csv.part", "a.csv.tmp", ".a.csv", "a.txt"):
        hand.write(name, HEAD + row(1))
    (hand.folder / "b.csv").mkdir()
    hand.round()
    assert hand.round(1e6) == []
    assert hand.kept() == 0
    assert len(list(hand.folder.iterdir())) == 5


def test_files_are_taken_by_name(hand: Hand) -> None:
    hand.write("b.csv", HEAD + row(2))
    hand.write("a.csv", HEAD + row(1))
    hand.write("c.jsonl", '{"kind":"turns","lane":1,"counts":3,"at":"2026-03-02T10:00:03Z"}\n')
    assert [one.path.name for one in hand.round()] == ["a.csv", "b.csv", "c.jsonl"]


def test_one_bad_file_stops_no_other(hand: Hand) -> None:
    hand.write("a.csv", "what,is,this\n1,2,3\n")
    hand.write("b.csv", HEAD + row(1) + "bad row\n")
    seen = hand.round()
    assert [(one.path.name, one.trouble) for one in seen] == [("b.csv", "")]
    seen = hand.round(61.0)
    assert [one.path.name for one in seen] == ["a.csv", "b.csv"]
    assert "no column of events" in seen[0].trouble
    aside = hand.folder / "quarantine"
    assert seen[0].moved_to == aside / "a.csv"
    assert "no column of events" in (aside / "a.csv.reason.txt").read_text()
    assert "1 cells; expected 4" in (aside / "b.csv").read_text()
    assert hand.round(61.0) == []


def test_a_name_that_was_there_before_writes_over_nothing(hand: Hand) -> None:
    for second in (1, 2, 3):
        hand.write("a.csv", HEAD + row(second))
        hand.round()
        hand.round(61.0)
    taken = sorted((hand.folder / "taken").iterdir())
    assert [one.name for one in taken] == ["a-2.csv", "a-3.csv", "a.csv"]
    assert hand.kept() == 3


def test_a_writer_that_kept_a_moved_file_open_loses_nothing(hand: Hand) -> None:
    path = hand.write("a.csv", HEAD + row(1))
    with path.open("a") as writer:
        hand.round()
        hand.round(61.0)
        writer.write(row(2))
        writer.flush()
        os.utime(hand.folder / "taken" / "a.csv", (hand.now_s, hand.now_s))
        (late,) = hand.round()
    assert late.path == hand.folder / "taken" / "a.csv"
    assert late.taken is not None
    assert (late.taken.kept, late.taken.already) == (1, 0)
    assert hand.kept() == 2


def test_a_row_written_between_reading_and_moving_is_not_lost(
    hand: Hand, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = hand.write("a.csv", HEAD + row(1))
    hand.round()
    append, written = hand.ledger.append, []

    def meanwhile(messages: Any, **terms: Any) -> Any:
        if not path.exists() and not written:  # just renamed
            written.append(hand.write("taken/a.csv", row(2), more=True))
        return append(messages, **terms)

    monkeypatch.setattr(hand.ledger, "append", meanwhile)
    assert hand.round(61.0)[0].moved_to == hand.folder / "taken" / "a.csv"
    hand.round()
    assert hand.kept() == 2


def test_a_watch_that_begins_again_takes_nothing_twice(hand: Hand) -> None:
    hand.write("a.csv", HEAD + row(1))
    hand.round()
    hand.round(61.0)
    hand.write("b.csv", HEAD + row(2))
    hand.round()
    hand.watch = hand.begin()
    assert hand.round() == []
    hand.write("b.csv", row(3), more=True)
    hand.write("taken/a.csv", row(4), more=True)
    assert [(one.path.name, one.taken and one.taken.kept) for one in hand.round()] == [
        ("b.csv", 1),
        ("a.csv", 1),
    ]
    assert hand.kept() == 4


def test_a_ledger_that_cannot_write_is_tried_again(
    hand: Hand, monkeypatch: pytest.MonkeyPatch
) -> None:
    hand.write("a.csv", HEAD + row(1))
    append, said = hand.ledger.append, []
    rounds = 0

    def full(*_: object, **__: object) -> None:
        raise CannotKeep("the disk that holds the ledger is full", for_good=True)

    def stopped(wait_s: float) -> bool:
        nonlocal rounds
        if wait_s == 0.0:
            return False
        rounds += 1
        if rounds == 2:
            monkeypatch.setattr(hand.ledger, "append", append)
        return rounds == 3

    monkeypatch.setattr(hand.ledger, "append", full)
    seen: list[Seen] = []
    watch_folder(
        hand.ledger, hand.folder, SENDER, tell=seen.append, stopped=stopped,
        in_trouble=lambda trouble: said.append(trouble.reason),
    )  # fmt: skip
    assert len(said) == 2
    assert "full" in said[0]
    assert [one.taken.kept for one in seen if one.taken] == [1]


def test_it_stops_between_two_batches(hand: Hand) -> None:
    hand.write("a.csv", HEAD + "".join(row(second) for second in range(30)))
    asked = 0

    def stopped(_: float) -> bool:
        nonlocal asked
        asked += 1
        return asked == 2

    watch_folder(
        hand.ledger, hand.folder, SENDER, tell=lambda _: None, stopped=stopped,
        in_trouble=lambda _: None, batch=10,
    )  # fmt: skip
    assert hand.kept() == 20
    hand.round()
    assert hand.kept() == 30


def test_two_watches_do_not_work_on_one_folder(tmp_path: Path) -> None:
    twice = pytest.raises(BadInput, match="another clew ledger watch")
    with the_only_one(tmp_path), twice, the_only_one(tmp_path):
        pass
    with the_only_one(tmp_path):
        assert (tmp_path / LOCK).exists()
    with pytest.raises(BadInput, match="no such folder"), the_only_one(tmp_path / "none"):
        pass


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_the_command_ends_at_a_signal(mill_dir: Path, number: int) -> None:
    """A real process: it takes what lies there, and ends with exit code 0 when it is told to."""
    command = [sys.executable, "-m", "clew.cli", "ledger", "watch", "--mill", str(mill_dir)]
    (mill_dir / "incoming").mkdir()
    (mill_dir / "incoming" / "a.csv").write_text(HEAD + row(1))
    environment = {key: value for key, value in os.environ.items() if key != "CLEW_LEDGER"}
    environment["PYTHONUNBUFFERED"] = "1"
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=environment
    ) as process:
        assert process.stdout is not None
        lines: list[str] = []
        seen = threading.Event()

        def listen() -> None:
            assert process.stdout is not None
            for line in process.stdout:
                lines.append(line)
                if "1 kept" in line:
                    seen.set()

        listener = threading.Thread(target=listen)
        listener.start()
        arrived = seen.wait(60.0)
        time.sleep(0.1)
        process.send_signal(number)
        code = process.wait(60.0)
        listener.join(60.0)
    assert arrived, lines
    assert code == 0, lines
