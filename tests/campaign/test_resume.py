"""A sweep that is killed or stopped goes on where it was, and ends as if nothing had happened."""

from __future__ import annotations

import json
import signal
import time
from collections.abc import Callable
from pathlib import Path
from subprocess import Popen

import pytest
from sweep_program import SEED, settings
from swept_functions import Summary, summary

from clew.campaign.checkpoint import Checkpoint
from clew.campaign.records import plain
from clew.campaign.sweep import sweep

from .conftest import StartProgram, calls_by_point

EXPECTED = tuple(summary(setting) for setting in settings())


def wait_for_lines(path: Path, lines: int, program: Popen[str]) -> None:
    """Wait until a checkpoint has so many lines."""
    until = time.monotonic() + 60.0
    while not path.exists() or path.read_bytes().count(b"\n") < lines:
        assert program.poll() is None, program.communicate()
        assert time.monotonic() < until
        time.sleep(0.005)


def kept_points(path: Path) -> set[tuple[float, int]]:
    whole = path.read_bytes().split(b"\n")[1:-1]
    points = settings()
    found = [points[json.loads(line)["point"]] for line in whole]
    return {(point.feed_m_per_s, point.hands) for point in found}


@pytest.mark.parametrize("workers", [1, 2])
def test_after_kill_9_nothing_finished_is_lost_or_done_again(
    tmp_path: Path, calls: Path, start_program: StartProgram, workers: int
) -> None:
    path = tmp_path / "sweep.jsonl"
    called_once_kept: list[dict[tuple[float, int], int]] = []
    for lines in (6, 14):
        with start_program(calls, path, "--workers", workers) as program:
            wait_for_lines(path, lines, program)
            program.kill()
        assert program.returncode == -signal.SIGKILL
        called = calls_by_point(calls)
        kept = kept_points(path)
        assert lines - 1 <= len(kept) < len(EXPECTED)
        called_once_kept.append({point: called[point] for point in kept})

    points = settings(str(calls), 0.05)
    checkpoint = Checkpoint.of(Summary, path, seed=SEED)
    assert sweep(summary, points, workers=2, checkpoint=checkpoint) == EXPECTED
    called = calls_by_point(calls)
    assert len(called) == len(EXPECTED)
    for before in called_once_kept:
        assert {point: called[point] for point in before} == before
    # A kill costs the points at work, one a thread, and those finished but not yet on the disk.
    assert called.total() <= len(EXPECTED) + 2 * 2 * workers


def test_ctrl_c_keeps_the_points_at_work_and_says_how_to_go_on(
    tmp_path: Path, calls: Path, start_program: StartProgram
) -> None:
    path = tmp_path / "sweep.jsonl"
    with start_program(calls, path) as program:
        wait_for_lines(path, 6, program)
        program.send_signal(signal.SIGINT)
        printed, said = program.communicate(timeout=60)
    assert program.returncode == 130
    assert printed == ""
    kept = kept_points(path)
    assert said == (
        f"clew: stopped with {len(kept)} of {len(EXPECTED)} points done; they are kept in {path}: "
        "give the same command again to go on\n"
    )
    # What had begun was finished and kept: no call was in vain.
    assert set(calls_by_point(calls)) == kept
    with start_program(calls, path) as program:
        printed, said = program.communicate(timeout=60)
    assert program.returncode == 0
    assert said == ""
    assert json.loads(printed) == json.loads(json.dumps([plain(one) for one in EXPECTED]))
    assert set(calls_by_point(calls).values()) == {1}


@pytest.fixture
def terminal() -> Callable[[Popen[str], int], str]:
    """Read what a program writes to a terminal until it ends."""
    import os

    def read(program: Popen[str], end: int) -> str:
        found = b""
        while True:
            try:
                part = os.read(end, 65536)
            except OSError:
                break
            if not part:
                break
            found += part
        program.wait(timeout=60)
        return found.decode()

    return read


def test_a_bar_is_drawn_on_a_terminal_and_results_stay_clean(
    tmp_path: Path,
    calls: Path,
    start_program: StartProgram,
    terminal: Callable[[Popen[str], int], str],
) -> None:
    import os

    ours, theirs = os.openpty()
    try:
        with start_program(
            calls, tmp_path / "sweep.jsonl", "--nap", 0.02, stderr=theirs
        ) as program:
            os.close(theirs)
            said = terminal(program, ours)
            assert program.stdout is not None
            printed = program.stdout.read()
    finally:
        os.close(ours)
    assert "Sweeping" in said
    assert "/40" in said
    assert len(json.loads(printed)) == len(EXPECTED)
