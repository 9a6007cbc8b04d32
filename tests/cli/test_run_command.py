"""`clew run`: start, set, live and end, their words, their keys, and what is refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import Result
from tests.ledger.state.told import ZONE, at_us, say, shift_messages

from clew.cli.run.live import live
from clew.cli.run.recording import read_at
from clew.faults import BadInput
from clew.ledger.events.moments import show_local
from clew.ledger.store.ledger import sqlite_url
from clew.ledger.store.opening import VARIABLE, open_ledger

Run = Callable[..., Result]
BY = ("--by", "Ines")
START = ("run", "start", "Querl", "100", "--lot", "SL-207", *BY)


@pytest.fixture(autouse=True)
def own_ledger(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(VARIABLE, raising=False)


@pytest.fixture
def run(clew: Run, mill_dir: Path) -> Run:
    def run(*arguments: object) -> Result:
        return clew(*arguments, "--mill", mill_dir)

    return run


@pytest.fixture
def plain(run: Run) -> Callable[..., dict[str, Any]]:
    def plain(*arguments: object) -> dict[str, Any]:
        result = run(*arguments, "--json")
        assert result.exit_code == 0, result.output
        found = json.loads(result.stdout)
        assert isinstance(found, dict)
        return found

    return plain


def refused(result: Result, says: str) -> None:
    assert result.exit_code == 2, result.output
    assert says in result.output
    assert "Traceback" not in result.output


def test_a_run_from_start_to_end(run: Run, mill_dir: Path) -> None:
    started = run(*START)
    assert started.exit_code == 0, started.output
    first, second, head, *rows = started.stdout.splitlines()
    name = first.partition(" ")[0]
    assert first.startswith(f"{name} is started on Line 1: Querl 100 of Sloe SL-207, ")
    assert second.startswith("Aim at 101.1 g; call the lead below ")
    assert head.split() == ["winder", "lane", "set", "counts"] and len(rows) == 6
    assert (mill_dir / "mill.db").exists()
    changed = run("run", "set", "--winder", "4=773", "--target", "100.5 g", "--why", "4 heavy", *BY)
    assert changed.exit_code == 0, changed.output
    assert changed.stdout.splitlines()[:3] == [
        f"{name}:", "  winder 4: 773 counts, was 786", "  target: 100.5 g, was 101.12",
    ]  # fmt: skip
    now = run("run", "live")
    assert now.exit_code == 0, now.output
    assert f"Run {name} since " in now.stdout and "Nobody has looked the line over" in now.stdout
    ended = run("run", "end", "--why", "lot wound", *BY)
    assert ended.stdout.startswith(f"{name} on Line 1 has ended, ")
    assert "no run is in progress; " + name in run("run", "live").stdout
    again = run(*START)
    assert again.stdout.startswith(name[:-1] + "2 is started")


def test_json_has_stable_keys(plain: Callable[..., dict[str, Any]]) -> None:
    started = plain(*START, "--trial", "--order", "1041")
    assert set(started) == {
        "run", "line", "lot", "seq", "at", "by", "ball_name", "turns", "counts", "target_g",
        "call_low_g", "call_high_g", "card", "trial", "order",
    }  # fmt: skip
    assert started["trial"] is True and started["seq"] == 1 and len(started["card"]) == 8
    changed = plain("run", "set", "--feed", "290 m/min", "--why", "slower", *BY)
    assert changed["feed_m_per_s"] == pytest.approx(290 / 60) and changed["run"] == started["run"]
    now = plain("run", "live")
    assert now["run"]["run"] == started["run"] and now["run"]["changes"] == 1
    assert now["anchor"]["seq"] == 2 and len(now["anchor"]["hash"]) == 64
    ended = plain("run", "end", "--why", "lot wound", "--note", "two cones left", *BY)
    assert (ended["doffed"], ended["pulled"], ended["note"]) == (0, 0, "two cones left")


def test_what_cannot_be_done_says_why_in_one_line(run: Run) -> None:
    refused(run("run", "live"), "there is no ledger yet")
    refused(run("run", "end", "--why", "x", *BY), "no run is in progress on Line 1")
    refused(run("run", "set", "--turns", "700", "--why", "x", *BY), "no run is in progress")
    refused(run(*START[:4], "--lot", "ZZ-1", *BY), "no such dye lot")
    refused(run(*START[:4], "--lot", "BR-091", *BY), "--lot: BR-091 is Dunnow")
    refused(run(*START, "--order", "77"), "--order: no such order")
    refused(run(*START, "--line", "Line 9"), "no such line")
    refused(run(*START, "--at", "yesterday"), "--at: no moment")
    refused(run("run", "start", "Nothing", "--lot", "SL-207", *BY), "no such ball")
    refused(run(*START[:-2]), "--by")
    assert run(*START).exit_code == 0
    refused(run(*START), "--line: L1-")
    refused(run("run", "set", "--why", "x", *BY), "nothing changed")
    refused(run("run", "set", "--winder", "4", "--why", "x", *BY), "--winder: no winder with its")
    refused(run("run", "set", "--winder", "9=5", "--why", "x", *BY), "--winder: no such winder")
    refused(run("run", "live", "--watch", "--json"), "--watch: not together with --json")
    refused(run("run", "live", "--at", "2199-01-01T00:00"), "--at: a moment to come")


def test_a_ledger_that_cannot_be_written_says_so(run: Run, mill_dir: Path) -> None:
    assert run(*START).exit_code == 0
    (mill_dir / "mill.db").write_bytes(b"not a database at all" * 100)
    result = run("run", "end", "--why", "x", *BY)
    assert result.exit_code == 2
    assert "clew: the ledger cannot keep anything: the ledger's file is damaged" in result.output


def test_a_mill_with_a_ledger_of_its_own_address(
    run: Run, mill_dir: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv(VARIABLE, sqlite_url(tmp_path / "other.db"))
    assert run(*START).exit_code == 0
    assert (tmp_path / "other.db").exists() and not (mill_dir / "mill.db").exists()


@pytest.fixture
def morning(mill_dir: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A mill whose ledger holds a morning, with the ledger's clock standing at its end."""
    assert open_ledger.__kwdefaults__ is not None
    monkeypatch.setitem(open_ledger.__kwdefaults__, "clock", lambda: at_us("06:02:00"))
    ledger = open_ledger(sqlite_url(mill_dir / "mill.db"))
    wrong = say("tie", "05:52:00", lane=4, cone="C-999", lot="SL-211")
    ledger.append(sorted([*shift_messages(), wrong], key=lambda one: one.at_us))
    ledger.close()
    return mill_dir


def test_a_moment_that_is_past_is_shown(run: Run, morning: Path) -> None:
    found = run("run", "live", "--at", "2026-11-25T05:53")
    assert found.exit_code == 0, found.output
    lines = found.stdout.splitlines()
    assert lines[0] == "2026-11-25 05:53:00, Ostrel Mill"
    assert lines[1].startswith("1 alarm wants a hand at once")
    assert (
        "AT ONCE Lane 4: cone C-999 is of dye lot SL-211, the run is SL-207: "
        "stop the lane, pull the balls since 05:52." in found.stdout
    )
    assert lines[-1].startswith("The record stands at Line 1 · ")


def test_watching_goes_on_until_it_is_ended(
    run: Run, morning: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    waited = iter([None, None, KeyboardInterrupt])

    def sleep(_time_s: float) -> None:
        stop = next(waited)
        if stop is not None:
            raise stop

    monkeypatch.setattr("clew.cli.run.live.time.sleep", sleep)
    found = run("run", "live", "--watch")
    assert found.exit_code == 0, found.output
    assert found.stdout.count("2026-11-25 06:02:00, Ostrel Mill") == 3


def test_a_time_of_day_is_the_last_one() -> None:
    now = at_us("06:02:00")
    assert show_local(read_at("05:41", ZONE, now), ZONE) == "2026-11-25 05:41:00"
    assert show_local(read_at("5:41:30", ZONE, now), ZONE) == "2026-11-25 05:41:30"
    assert show_local(read_at("22:10", ZONE, now), ZONE) == "2026-11-24 22:10:00"
    assert read_at("", ZONE, now) == now
    for wrong in ("25:00", "5", "2026-11-25T07:00"):
        with pytest.raises(BadInput):
            read_at(wrong, ZONE, now)


def test_every_option_has_its_help() -> None:
    assert isinstance(live, click.Command)
    assert all(getattr(one, "help", None) for one in live.params)
