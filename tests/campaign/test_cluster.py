"""A real scheduler and two workers: the same results as on the cores, also when one is killed."""

from __future__ import annotations

import functools
import importlib
import json
import pickle
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, nullcontext
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner
from swept_functions import (
    Setting,
    Summary,
    breaks_down,
    ends_its_process,
    refuses_threes,
    scaled,
    summary,
)

from clew.campaign import at_worker
from clew.campaign.checkpoint import Checkpoint
from clew.campaign.cluster import on_cluster
from clew.campaign.stop import Stop
from clew.campaign.sweep import SweepInterrupted, sweep
from clew.faults import BadInput

from .conftest import calls_by_point, calls_by_process

line_sweep = importlib.import_module("clew.cli.line.sweep")

pytest.importorskip("distributed")

HOST = "127.0.0.1"


@dataclass(frozen=True)
class Cluster:
    address: str
    scheduler: subprocess.Popen[bytes]
    workers: tuple[subprocess.Popen[bytes], ...]


@pytest.fixture
def cluster(
    tmp_path: Path, elsewhere: dict[str, str], request: pytest.FixtureRequest
) -> Iterator[Cluster]:
    """Start a scheduler and two workers on ports that are free, and end them.

    A parameter is how many workers may die at one point before it is given up; dask's own is 3.
    """
    losses = str(getattr(request, "param", 3))
    contact = tmp_path / "scheduler.json"
    common = ["--scheduler-file", str(contact), "--host", HOST, "--no-dashboard"]
    settings_of_dask = {
        "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": losses,
        "DASK_TEMPORARY_DIRECTORY": str(tmp_path),
    }
    with ExitStack() as ended, (tmp_path / "dask.log").open("wb") as log:

        def start(*arguments: str) -> subprocess.Popen[bytes]:
            program = subprocess.Popen(
                [sys.executable, "-m", "dask", *arguments, *common],
                env=elsewhere | settings_of_dask,
                cwd=tmp_path,
                stdout=log,
                stderr=log,
            )
            ended.callback(program.wait)
            ended.callback(program.kill)
            return program

        scheduler = start("scheduler", "--port", "0")
        workers = tuple(start("worker", "--nthreads", "1", "--no-nanny") for _ in range(2))
        until = time.monotonic() + 60.0
        while not contact.exists() or not contact.read_bytes().strip():
            assert scheduler.poll() is None and time.monotonic() < until, (
                tmp_path / "dask.log"
            ).read_text()
            time.sleep(0.02)
        address = json.loads(contact.read_bytes())["address"]
        wait_for_workers(address, 2)
        yield Cluster(address, scheduler, workers)


def wait_for_workers(address: str, workers: int) -> None:
    from distributed import Client

    with Client(address, timeout=30.0, set_as_default=False) as client:
        client.wait_for_workers(workers, timeout=30.0)


def settings(points: int, calls: Path | None = None, nap_s: float = 0.0) -> tuple[Setting, ...]:
    folder = "" if calls is None else str(calls)
    return tuple(Setting(1.0 + step / 7.0, step % 3, folder, nap_s) for step in range(points))


def expected(points: int) -> tuple[Summary, ...]:
    return sweep(summary, settings(points), workers=2)


def test_a_worker_killed_in_the_middle_changes_nothing(cluster: Cluster, calls: Path) -> None:
    told: list[int] = []
    killed = cluster.workers[0]

    def kill_one(done: int, total: int) -> None:
        told.append(done)
        if done >= 15 and killed.poll() is None:
            killed.kill()
            killed.wait()

    found = sweep(summary, settings(60, calls, 0.03), cluster=cluster.address, progress=kill_one)
    assert repr(found) == repr(expected(60))
    assert killed.returncode == -signal.SIGKILL
    assert told[0] == 0
    assert told[-1] == 60
    assert told == sorted(told)
    # Both had a part in it, and the one left took over what was the other's.
    by_process = calls_by_process(calls)
    assert set(by_process) == {worker.pid for worker in cluster.workers}
    assert by_process[cluster.workers[1].pid] > by_process[killed.pid] > 0


def test_points_finished_but_not_fetched_when_their_worker_died_are_worked_out_again(
    cluster: Cluster, calls: Path
) -> None:
    killed = cluster.workers[0]

    def kill_late(done: int, total: int) -> None:
        if done >= 5 and killed.poll() is None:
            time.sleep(0.5)  # Points finish at both workers while none is fetched.
            killed.kill()
            killed.wait()
            time.sleep(0.5)  # The scheduler tells that the killed worker's are lost.

    found = sweep(summary, settings(60, calls, 0.02), cluster=cluster.address, progress=kill_late)
    assert repr(found) == repr(expected(60))
    assert max(calls_by_point(calls).values()) > 1


def test_a_sweep_stopped_on_the_cluster_goes_on_on_the_cores(
    cluster: Cluster, calls: Path, tmp_path: Path
) -> None:
    path = tmp_path / "sweep.jsonl"
    checkpoint = Checkpoint.of(Summary, path, seed=7)
    points = settings(60, calls, 0.02)

    def stop(done: int, total: int) -> None:
        if done >= 15:
            raise KeyboardInterrupt

    with pytest.raises(SweepInterrupted, match="of 60 points done") as stopped:
        sweep(summary, points, cluster=cluster.address, checkpoint=checkpoint, progress=stop)
    assert 15 <= stopped.value.done < 60
    with checkpoint.opened(summary, points) as book:
        kept = {(points[index].feed_m_per_s, points[index].hands) for index in book.finished}
    assert len(kept) == stopped.value.done
    assert sweep(summary, points, workers=2, checkpoint=checkpoint) == expected(60)
    called = calls_by_point(calls)
    assert {called[point] for point in kept} == {1}


def test_what_goes_wrong_at_a_worker_is_told_here(cluster: Cluster, tmp_path: Path) -> None:
    address = cluster.address
    with pytest.raises(BadInput, match=r"number: is a three \(got 3\)") as bad:
        sweep(refuses_threes, range(1, 20), cluster=address)
    assert bad.value.faults[0].key == "number"
    with pytest.raises(ZeroDivisionError, match="no way with 5") as error:
        sweep(breaks_down, (5, 6), cluster=address)
    assert error.value.__notes__ == ["at point 0: 5"]
    tripled = sweep(functools.partial(scaled, factor=3.0), (1.0, 0.1), cluster=address)
    assert tripled == ({"scaled": 3.0}, {"scaled": 0.1 * 3.0})
    with pytest.raises(TypeError, match="top of a module"):
        sweep(lambda point: point, (1,), cluster=address)

    # Last, for it ends the scheduler: what was finished before is kept.
    checkpoint = Checkpoint.of(Summary, tmp_path / "sweep.jsonl", seed=7)

    def end_scheduler(done: int, total: int) -> None:
        if done >= 5:
            cluster.scheduler.kill()

    points = settings(40, nap_s=0.02)
    with pytest.raises(BadInput, match="the scheduler went away during the sweep"):
        sweep(summary, points, cluster=address, checkpoint=checkpoint, progress=end_scheduler)
    with checkpoint.opened(summary, points) as book:
        assert 5 <= len(book.finished) < 40


@pytest.mark.parametrize("cluster", [0], indirect=True)
def test_a_point_that_ends_its_workers_is_given_up(cluster: Cluster) -> None:
    with pytest.raises(BadInput, match="point 0 was at work at each of several workers that died"):
        sweep(ends_its_process, (1,), cluster=cluster.address)


def test_a_cluster_without_a_worker_is_a_plain_fault(cluster: Cluster) -> None:
    for worker in cluster.workers:
        worker.kill()
        worker.wait()
    with pytest.raises(BadInput, match="the scheduler has no worker") as bad:
        list(on_cluster(cluster.address, summary, settings(3), range(3), Stop(), patience_s=0.5))
    assert f"dask worker {cluster.address}" in bad.value.faults[0].expected


def test_an_address_where_nobody_listens_is_a_plain_fault() -> None:
    with socket.socket() as taken:
        taken.bind((HOST, 0))
        address = f"tcp://{HOST}:{taken.getsockname()[1]}"
        with pytest.raises(BadInput, match=r"no scheduler was reached within 0\.5 s") as bad:
            list(on_cluster(address, summary, settings(3), range(3), Stop(), patience_s=0.5))
    assert bad.value.faults[0].value == address
    assert "\n" not in str(bad.value)


@pytest.mark.parametrize(
    "address", ["localhost", "localhost:8786", "tcp://localhost", "http://a:1"]
)
def test_what_is_no_address_is_a_plain_fault(address: str) -> None:
    with pytest.raises(BadInput, match="is no scheduler's address"):
        sweep(summary, settings(1), cluster=address)


def test_without_dask_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(BadInput) as bad:
        sweep(summary, settings(1), cluster="tcp://127.0.0.1:8786")
    assert bad.value.faults[0].expected == 'pip install "clew[cluster]"'


def test_a_worker_installed_otherwise_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    parcel = pickle.dumps((0, Setting(1.0, 1)))
    ours = at_worker.versions()
    assert {"clew", "numpy", "numba"} <= {name for name, version in ours if version}
    assert at_worker.work(pickle.dumps(summary), ours, parcel).result == summary(Setting(1.0, 1))
    theirs = tuple((name, "0.0.1" if name == "numpy" else version) for name, version in ours)
    monkeypatch.setattr(at_worker, "versions", lambda: theirs)
    answer = at_worker.work(pickle.dumps(summary), ours, parcel)
    assert answer.result is None
    assert answer.faults[0].value == f"numpy 0.0.1, not {dict(ours)['numpy']}"


def test_a_worker_that_cannot_find_the_function_says_so() -> None:
    elsewhere = pickle.dumps(summary).replace(b"swept_functions", b"swept_functionz")
    answer = at_worker.work(elsewhere, at_worker.versions(), pickle.dumps((0, Setting(1.0, 1))))
    assert answer.faults[0].what == "a worker cannot find what is swept"
    assert "swept_functionz" in answer.faults[0].value


def test_a_sweep_over_a_line_is_the_same_when_a_worker_is_killed(
    cluster: Cluster, mill_dir: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    line = ["--line", "Line 1", "--ball", "Querl 200", "--replications", "20", "--seed", "7"]
    axes = ["--over", "hands=1..4", "--over", "buffer=300 m..1200 m/15"]
    arguments = ["--mill", str(mill_dir), *line, *axes, "--json"]
    killed = cluster.workers[0]

    def kill_one(done: int, _total: int) -> None:
        if done >= 10 and killed.poll() is None:
            assert done < 60
            killed.kill()
            killed.wait()

    here = CliRunner().invoke(line_sweep.sweep, arguments)
    monkeypatch.setattr(line_sweep, "sweep_progress", lambda _words: nullcontext(kill_one))
    there = CliRunner().invoke(line_sweep.sweep, [*arguments, "--cluster", cluster.address])
    assert there.exit_code == 0, there.output
    assert killed.returncode == -signal.SIGKILL
    assert len(json.loads(there.stdout)["points"]) == 60
    assert there.stdout == here.stdout
