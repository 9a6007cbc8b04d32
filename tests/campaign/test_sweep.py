"""The sweep: the same results in the same order, whatever number of threads runs it."""

from __future__ import annotations

import functools
import threading
from pathlib import Path

import pytest
from swept_functions import Setting, breaks_down, plain_sum, refuses_threes, scaled, summary

from clew.campaign.checkpoint import Checkpoint
from clew.campaign.grid import Axis, Grid
from clew.campaign.sweep import SweepInterrupted, sweep
from clew.faults import BadInput

POINTS = tuple(Setting(1.0 + step / 7.0, step % 3) for step in range(50))
EXPECTED = tuple(summary(point) for point in POINTS)


@pytest.mark.parametrize("workers", [1, 2, 4, None])
def test_results_come_in_the_order_of_the_points(workers: int | None) -> None:
    assert sweep(summary, POINTS, workers=workers) == EXPECTED


def test_results_keep_their_order_when_the_first_points_take_longest() -> None:
    points = tuple(Setting(float(step), 1, nap_s=0.04 / (1 + step)) for step in range(12))
    assert sweep(summary, points, workers=4) == tuple(summary(point) for point in points)


def test_points_may_be_plain_and_given_one_by_one() -> None:
    grid = Grid((Axis("a", (1, 2)), Axis("b", (0.5, 0.25))))
    assert sweep(plain_sum, iter(grid.points())) == tuple(map(plain_sum, grid.points()))
    assert sweep(plain_sum, []) == ()


def test_a_function_with_something_fixed_can_be_swept() -> None:
    assert sweep(functools.partial(scaled, factor=3.0), (1.0, 2.0)) == (
        {"scaled": 3.0},
        {"scaled": 6.0},
    )


@pytest.mark.parametrize("workers", [1, 3])
def test_as_many_threads_work_as_were_asked_for(workers: int) -> None:
    names = set()
    together = threading.Barrier(workers, timeout=20.0)

    def meets(_point: int) -> int:
        together.wait()
        names.add(threading.current_thread().name)
        return 0

    sweep(meets, range(3 * workers), workers=workers)
    assert len(names) == workers


@pytest.mark.parametrize("workers", [1, 2, 4])
def test_progress_starts_at_nothing_and_ends_at_all(workers: int) -> None:
    told: list[tuple[int, int]] = []
    sweep(summary, POINTS, workers=workers, progress=lambda done, total: told.append((done, total)))
    assert told[0] == (0, len(POINTS))
    assert told[-1] == (len(POINTS), len(POINTS))
    assert told == sorted(set(told))


@pytest.mark.parametrize("workers", [1, 2, 4])
def test_the_first_fault_in_order_is_told_whoever_meets_one_first(workers: int) -> None:
    with pytest.raises(BadInput, match=r"number: is a three \(got 3\)"):
        sweep(refuses_threes, range(1, 20), workers=workers)


@pytest.mark.parametrize("workers", [1, 2])
def test_an_error_says_at_which_point(workers: int) -> None:
    with pytest.raises(ZeroDivisionError) as error:
        sweep(breaks_down, (5, 6), workers=workers)
    assert error.value.__notes__ == ["at point 0: 5"]


def test_points_finished_before_a_fault_are_kept(tmp_path: Path) -> None:
    checkpoint = Checkpoint[dict[str, int]](tmp_path / "sweep.jsonl")
    with pytest.raises(BadInput):
        sweep(refuses_threes, (1, 2, 3), workers=2, checkpoint=checkpoint)
    with checkpoint.opened(refuses_threes, (1, 2, 3)) as kept:
        assert kept.finished == {0: {"number": 1}, 1: {"number": 2}}


@pytest.mark.parametrize("workers", [0, -1])
def test_no_worker_at_all_is_refused(workers: int) -> None:
    with pytest.raises(BadInput, match="workers: too few"):
        sweep(summary, POINTS, workers=workers)


def test_workers_beside_a_cluster_are_refused() -> None:
    with pytest.raises(BadInput, match="workers: given beside a cluster"):
        sweep(summary, POINTS, workers=2, cluster="tcp://127.0.0.1:1")


@pytest.mark.parametrize("kept", [True, False])
def test_an_interruption_says_what_is_done_and_how_to_go_on(tmp_path: Path, kept: bool) -> None:
    path = tmp_path / "sweep.jsonl"
    checkpoint = Checkpoint.of(type(EXPECTED[0]), path) if kept else None

    def stop(done: int, total: int) -> None:
        if done == 20:
            raise KeyboardInterrupt

    with pytest.raises(SweepInterrupted) as stopped:
        sweep(summary, POINTS, workers=1, checkpoint=checkpoint, progress=stop)
    assert "20 of 50 points done" in str(stopped.value)
    assert (str(path) in str(stopped.value)) is kept
    assert ("nothing was kept" in str(stopped.value)) is not kept
    assert sweep(summary, POINTS, checkpoint=checkpoint) == EXPECTED
