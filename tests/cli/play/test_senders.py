"""Each way keeps what was not acknowledged, and sends it again under the same key."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest

from clew.cli.play.senders import AT_ONCE, SCALE_COLUMNS, IntoFolder, OverHttp, OverMqtt
from clew.faults import BadInput


class Clock:
    """A clock that is put on by hand."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


def messages(count: int) -> list[dict[str, Any]]:
    return [{"kind": "turns", "source": "winder-1", "key": str(n)} for n in range(count)]


def test_what_is_acknowledged_is_forgotten(stub: Any) -> None:
    way = OverHttp(stub.url, token="open")
    way.take(messages(AT_ONCE + 5))
    way.pump()
    assert way.waiting() == 5
    way.pump()
    assert way.waiting() == 0
    assert [len(one) for one in stub.posts] == [AT_ONCE, 5]
    assert [key for _, key in stub.kept] == [str(n) for n in range(AT_ONCE + 5)]
    assert stub.headers[0]["Authorization"] == "Bearer open"
    way.close()


@pytest.mark.parametrize("status", [0, 401, 404, 413, 429, 500, 503])
def test_what_is_not_acknowledged_is_sent_again_later(stub: Any, status: int) -> None:
    clock = Clock()
    way = OverHttp(stub.url, clock=clock)
    stub.answers = [status, status]
    way.take(messages(3))
    way.pump()
    assert way.waiting() == 3
    assert way.trouble
    way.pump()  # not at once again
    assert len(stub.answers) == 1
    for _ in range(3):
        clock.now_s += 10.0
        way.pump()
    assert way.waiting() == 0
    assert way.trouble == ""
    assert way.refused == []
    assert len(stub.kept) == 3
    way.close()


def test_nobody_there_is_a_trouble_that_passes(stub: Any) -> None:
    clock = Clock()
    way = OverHttp("http://127.0.0.1:9", clock=clock)
    way.take(messages(1))
    way.pump()
    assert way.waiting() == 1
    assert way.trouble
    way.port = int(stub.url.rpartition(":")[2])
    clock.now_s += 10.0
    way.pump()
    assert way.waiting() == 0
    way.close()


def test_a_refused_message_is_told_and_holds_no_other_back(stub: Any) -> None:
    stub.refuse = {"1"}
    way = OverHttp(stub.url)
    way.take(messages(3))
    way.pump()
    assert way.waiting() == 0
    assert len(stub.kept) == 2
    assert len(way.refused) == 1
    assert way.refused[0].startswith("turns 1: ")
    way.close()


@pytest.mark.parametrize("status", [400, 415])
def test_a_batch_that_cannot_be_read_is_not_sent_for_ever(stub: Any, status: int) -> None:
    stub.answers = [status]
    way = OverHttp(stub.url)
    way.take(messages(2))
    way.pump()
    assert way.waiting() == 0
    assert len(way.refused) == 2
    way.close()


@pytest.mark.parametrize("url", ["ftp://here", "http://", ""])
def test_no_address_is_refused(url: str) -> None:
    with pytest.raises(BadInput, match="no address"):
        OverHttp(url)


@pytest.mark.parametrize("address", ["http://here:1883", "mqtt://"])
def test_no_broker_is_refused(address: str) -> None:
    with pytest.raises(BadInput, match="no broker"):
        OverMqtt(address, name="play")


def weighing(number: int) -> dict[str, Any]:
    return {
        "at": "2026-11-25T12:00:00Z", "line": "Line 1", "kind": "weighing", "source": "scale",
        "key": str(number), "lane": 2, "ball": number, "lot": "SL-207", "mass_g": 101.5,
        "scale": "row end", "of no column": 1,
    }  # fmt: skip


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_a_file_grows_by_whole_lines(tmp_path: Path) -> None:
    way = IntoFolder(tmp_path / "incoming", "scale.csv")
    way.take([weighing(1)])
    assert way.waiting() == 1
    way.pump()
    way.take([weighing(2), weighing(3)])
    way.close()
    assert way.waiting() == 0
    found = rows(way.path)
    assert [one["key"] for one in found] == ["1", "2", "3"]
    assert tuple(found[0]) == SCALE_COLUMNS
    assert way.path.read_bytes().endswith(b"\r\n")


def test_a_file_that_was_taken_away_is_followed_by_a_next_one(tmp_path: Path) -> None:
    way = IntoFolder(tmp_path, "scale.csv")
    way.take([weighing(1)])
    way.pump()
    way.path.rename(tmp_path / "taken.csv")
    way.take([weighing(2)])
    way.pump()
    assert way.path == tmp_path / "scale-2.csv"
    assert [one["key"] for one in rows(way.path)] == ["2"]


def test_nothing_to_write_makes_no_file(tmp_path: Path) -> None:
    way = IntoFolder(tmp_path, "scale.csv")
    way.pump()
    assert list(tmp_path.iterdir()) == []
