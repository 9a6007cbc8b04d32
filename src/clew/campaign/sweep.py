"""The sweep: a pure function at every point, whatever runs it, and the results in order."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Sequence
from contextlib import AbstractContextManager, closing, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from clew.campaign.cores import core_count, on_cores
from clew.campaign.stop import Stop, stop_by_hand
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.campaign.checkpoint import Checkpoint, OpenCheckpoint

Point = TypeVar("Point")
Result = TypeVar("Result")

Progress = Callable[[int, int], None]
"""Told how many points are done, of how many."""


class SweepInterrupted(KeyboardInterrupt):
    """A sweep that was stopped by hand, with what it had done.

    Attributes
    ----------
    done, total : int
        Points done, of how many.
    file : Path or None
        Where they are kept.
    """

    def __init__(self, done: int, total: int, file: Path | None) -> None:
        self.done = done
        self.total = total
        self.file = file
        kept = (
            "nothing was kept: give a checkpoint file to be able to go on"
            if file is None
            else f"they are kept in {file}: give the same command again to go on"
        )
        super().__init__(f"stopped with {done} of {total} points done; {kept}")


def sweep(
    function: Callable[[Point], Result],
    points: Iterable[Point],
    *,
    workers: int | None = None,
    cluster: str | None = None,
    checkpoint: Checkpoint[Result] | None = None,
    progress: Progress | None = None,
) -> tuple[Result, ...]:
    """Work a function out at every point.

    Parameters
    ----------
    function : callable
        A pure function of one point, at the top of a module, or a ``functools.partial`` of one.
        It depends on its point alone (a seed is part of the point or fixed by the partial), so
        that its results are the same wherever and in whatever order they are worked out.
    points : iterable
        The points: dataclasses or plain values.
    workers : int or None
        Threads on this machine; as many as there are cores when left out.
    cluster : str or None
        Address of a dask scheduler, such as ``tcp://host:8786``; its workers then do the work.
    checkpoint : Checkpoint or None
        Where finished points are kept, and taken from.
    progress : callable or None
        Called with points done and points in all, at the start and whenever more are done.

    Returns
    -------
    tuple
        One result a point, in the order of the points.

    Raises
    ------
    BadInput
        When the number of workers is below 1 or given beside a cluster, the checkpoint is not of
        this sweep, or the cluster cannot be used.
    SweepInterrupted
        When it was stopped by hand.
    """
    if workers is not None and workers < 1:
        raise BadInput(Fault("too few", "1 or more", key="workers", value=str(workers)))
    if workers is not None and cluster is not None:
        raise BadInput(
            Fault("given beside a cluster", "one of the two: a cluster has its own", key="workers")
        )
    listed = tuple(points)
    book: AbstractContextManager[OpenCheckpoint[Result] | None] = (
        nullcontext() if checkpoint is None else checkpoint.opened(function, listed)
    )
    with book as kept, stop_by_hand() as stop:
        found: dict[int, Result] = {} if kept is None else dict(kept.finished)
        try:
            if progress is not None:
                progress(len(found), len(listed))
            left = [index for index in range(len(listed)) if index not in found]
            with closing(_batches(function, listed, left, workers, cluster, stop)) as batches:
                for batch in batches:
                    if kept is not None:
                        kept.add(batch)
                    found.update(batch)
                    if progress is not None:
                        progress(len(found), len(listed))
        except KeyboardInterrupt:
            # A second Ctrl-C, or one that the caller's progress raised: whatever is done counts.
            pass
        if len(found) < len(listed):
            file = None if checkpoint is None else checkpoint.path
            raise SweepInterrupted(len(found), len(listed), file)
    return tuple(found[index] for index in range(len(listed)))


def _batches(
    function: Callable[[Any], Result],
    points: Sequence[Any],
    left: Sequence[int],
    workers: int | None,
    cluster: str | None,
    stop: Stop,
) -> Generator[list[tuple[int, Result]], None, None]:
    if not left:
        return
    if cluster is None:
        yield from on_cores(function, points, left, workers or core_count(), stop)
    else:
        from clew.campaign.cluster import on_cluster

        yield from on_cluster(cluster, function, points, left, stop)
