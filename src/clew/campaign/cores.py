"""Points worked out on this machine's cores, in threads.

Threads and not processes: compiled kernels release the interpreter, so threads fill the cores, and
they start at once where a process would load and compile everything again. A function that holds
the interpreter gives the same results, but no sooner.
"""

from __future__ import annotations

import itertools
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from typing import TypeVar

from clew.campaign.stop import Stop

_LOOK_S = 0.1
"""How often a request to stop is looked for."""

Point = TypeVar("Point")
Result = TypeVar("Result")


def core_count() -> int:
    """Count the cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def on_cores(
    function: Callable[[Point], Result],
    points: Sequence[Point],
    left: Sequence[int],
    workers: int,
    stop: Stop,
) -> Iterator[list[tuple[int, Result]]]:
    """Work points out in threads and give them as they are finished.

    Parameters
    ----------
    function : callable
        What is swept.
    points : sequence
        All points.
    left : sequence of int
        Numbers of the points to work out, ascending.
    workers : int
        Threads.
    stop : Stop
        Once it is asked for no point is begun; those at work are finished and given.

    Yields
    ------
    list of (int, result)
        Points that were finished since the last, by number.

    Raises
    ------
    Exception
        What the function raised, at the first point in order that it raised at; the points at
        work are finished and given before.
    """
    if min(workers, len(left)) <= 1:
        for index in left:
            if stop.asked:
                return
            yield [(index, at_point(function, points[index], index))]
    else:
        yield from _in_threads(function, points, left, min(workers, len(left)), stop)


def _in_threads(
    function: Callable[[Point], Result],
    points: Sequence[Point],
    left: Sequence[int],
    workers: int,
    stop: Stop,
) -> Iterator[list[tuple[int, Result]]]:
    ahead = iter(left)
    running: dict[Future[Result], int] = {}
    failed: dict[int, BaseException] = {}
    pool = ThreadPoolExecutor(workers, thread_name_prefix="clew-sweep")
    try:
        while True:
            if stop.asked:
                _cancel(running, 0)
            elif failed:
                # Earlier points are at work already and may fail too: the first in order is told.
                _cancel(running, min(failed))
            else:
                for index in itertools.islice(ahead, 2 * workers - len(running)):
                    running[pool.submit(at_point, function, points[index], index)] = index
            if not running:
                break
            done, _ = wait(running, timeout=_LOOK_S, return_when=FIRST_COMPLETED)
            finished = _collect(done, running, failed)
            if finished:
                yield finished
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
    if failed:
        raise failed[min(failed)]


def at_point(function: Callable[[Point], Result], point: Point, index: int) -> Result:
    """Work one point out; an error says at which.

    Parameters
    ----------
    function : callable
        What is swept.
    point : object
        The point.
    index : int
        Its number.

    Returns
    -------
    object
        The function's result.
    """
    try:
        return function(point)
    except Exception as error:
        error.add_note(f"at point {index}: {point!r}")
        raise


def _collect(
    done: Iterable[Future[Result]],
    running: dict[Future[Result], int],
    failed: dict[int, BaseException],
) -> list[tuple[int, Result]]:
    """Take what is finished out of what is running, in order, and set what failed aside."""
    finished = []
    for future in done:
        index = running.pop(future)
        error = future.exception()
        if error is None:
            finished.append((index, future.result()))
        else:
            failed[index] = error
    return sorted(finished, key=lambda one: one[0])


def _cancel(running: dict[Future[Result], int], past: int) -> None:
    """Take back what has not begun, of the points after one."""
    for future, index in list(running.items()):
        if index >= past and future.cancel():
            del running[future]
