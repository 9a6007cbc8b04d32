"""Points worked out by the workers of a dask.distributed cluster.

Dask does the work of a cluster: it hands the points out, and hands those of a worker that died to
the others. Here a scheduler is reached, given the points, and asked for the results.
"""

from __future__ import annotations

import functools
import logging
import pickle
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING, Any, TypeVar

from clew.campaign.at_worker import Answer, versions, work
from clew.campaign.header import function_name
from clew.campaign.stop import Stop
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from distributed import Client, Future

PATIENCE_S = 10.0
"""How long a scheduler, or the first worker, is waited for."""

RETRIES = 2
"""How often a point is tried again after an error that is not of its input."""

_LOOK_S = 0.5
"""How long a result is waited for before the workers and a request to stop are looked at."""

_AT_ONCE = 500

Point = TypeVar("Point")
Result = TypeVar("Result")


def on_cluster(
    address: str,
    function: Callable[[Point], Result],
    points: Sequence[Point],
    left: Sequence[int],
    stop: Stop,
    *,
    patience_s: float = PATIENCE_S,
) -> Iterator[list[tuple[int, Result]]]:
    """Work points out on a cluster and give them as they are finished.

    Parameters
    ----------
    address : str
        Address of the scheduler: ``tcp://host:port``, or ``tls://host:port``.
    function : callable
        A function at the top of a module that the workers can import too.
    points : sequence
        All points.
    left : sequence of int
        Numbers of the points to work out.
    stop : Stop
        Once it is asked for the points that are not finished are taken back.
    patience_s : float
        How long the scheduler and a first worker are waited for, and later how long the sweep
        goes on without any worker [s].

    Yields
    ------
    list of (int, result)
        Points that were finished since the last, by number.

    Raises
    ------
    BadInput
        When dask.distributed is not installed, the scheduler cannot be reached or goes away, it
        has no worker, or its workers are not installed like this machine; also what the function
        raised.
    Exception
        What else the function raised, at the first point in order that it raised at.
    """
    with _client(address, patience_s) as client:
        pending = _submitted(client, function, points, left)
        settled: SimpleQueue[int] = SimpleQueue()
        for index, future in pending.items():
            future.add_done_callback(functools.partial(_tell, settled, index))
        failed: dict[int, BaseException] = {}
        lost: list[int] = []
        seen_s = time.monotonic()
        try:
            while pending and not stop.asked:
                waiting = _settled(settled) + lost
                lost = _lost(pending, waiting)
                waiting = [index for index in waiting if index not in lost]
                if waiting or _has_workers(client):
                    seen_s = time.monotonic()
                elif time.monotonic() - seen_s > patience_s:
                    raise _no_worker(address)
                finished = []
                for index, answer in _answers(client, address, pending, waiting):
                    if isinstance(answer, BaseException):
                        failed[index] = answer
                    elif answer.faults:
                        failed[index] = BadInput(answer.faults)
                    else:
                        finished.append((index, answer.result))
                if failed:
                    # Earlier points may fail too: the first in order is told, as on the cores.
                    _let_go(client, pending, min(failed))
                if finished:
                    yield sorted(finished, key=lambda one: one[0])
        finally:
            _let_go(client, pending, 0)
    if failed:
        raise failed[min(failed)]


def _submitted(
    client: Client, function: Callable[[Any], Any], points: Sequence[Any], left: Sequence[int]
) -> dict[int, Future[Answer]]:
    """Hand the points to the scheduler, each as bytes, for dask looks into what it can read."""
    function_name(function)
    task = functools.partial(work, pickle.dumps(function), versions())
    parcels = [pickle.dumps((index, points[index])) for index in left]
    futures = client.map(
        task,
        parcels,
        key="clew-sweep",
        pure=False,
        retries=RETRIES,
        batch_size=_AT_ONCE,
    )
    return dict(zip(left, futures, strict=True))


def _answers(
    client: Client, address: str, pending: dict[int, Future[Answer]], waiting: Sequence[int]
) -> Iterator[tuple[int, Answer | BaseException]]:
    """Fetch what the futures hold and let them go, so that no dead worker is asked for it again."""
    from distributed.client import FutureCancelledError
    from distributed.scheduler import KilledWorker

    good = {}
    for index in waiting:
        future = pending.get(index)
        if future is None:
            continue
        if future.status == "error":
            error = future.exception()
            if isinstance(error, KilledWorker):
                error = BadInput(
                    Fault(
                        f"point {index} was at work at each of several workers that died",
                        "workers with the memory it takes; see what they printed",
                        key="cluster",
                        value=address,
                    )
                )
            del pending[index]
            yield index, error
        elif future.status == "cancelled":
            raise _gone(address)
        else:
            good[index] = future
    if not good:
        return
    try:
        answers = client.gather(list(good.values()))
    except (FutureCancelledError, OSError):
        raise _gone(address) from None
    for (index, future), answer in zip(good.items(), answers, strict=True):
        future.release()
        del pending[index]
        yield index, answer


def _tell(settled: SimpleQueue[int], index: int, _future: Future[Answer]) -> None:
    settled.put(index)


def _settled(settled: SimpleQueue[int]) -> list[int]:
    """Wait a little for points that are finished, failed or lost, and take all there are."""
    with suppress(Empty):
        found = [settled.get(timeout=_LOOK_S)]
        while True:
            try:
                found.append(settled.get_nowait())
            except Empty:
                return found
    return []


def _lost(pending: dict[int, Future[Answer]], waiting: Sequence[int]) -> list[int]:
    """Say which finished points died with their worker: the scheduler has them worked out again.

    A future calls back once, so these are looked at until they are finished a second time.
    """
    return [index for index in waiting if index in pending and pending[index].status == "lost"]


def _has_workers(client: Client) -> bool:
    return bool(client.scheduler_info(n_workers=1)["workers"])


def _let_go(client: Client, pending: dict[int, Future[Answer]], past: int) -> None:
    """Take points back from the cluster, from one on."""
    later = [index for index in pending if index >= past]
    if later:
        futures = [pending.pop(index) for index in later]
        # When the scheduler is gone there is nothing to take back.
        with suppress(Exception):
            client.cancel(futures, force=True)


@contextmanager
def _client(address: str, patience_s: float) -> Iterator[Client]:
    """Reach a scheduler that has a worker."""
    if not address.startswith(("tcp://", "tls://")) or not address.rpartition(":")[2].isdigit():
        raise BadInput(
            Fault("is no scheduler's address", "tcp://host:port", key="cluster", value=address)
        )
    try:
        from distributed import Client
    except ImportError:
        raise BadInput(
            Fault(
                "a cluster needs dask.distributed, which is not installed",
                'pip install "clew[cluster]"',
                key="cluster",
            )
        ) from None
    with _quiet():
        try:
            client = Client(address, timeout=patience_s, set_as_default=False, name="clew-sweep")
        except (OSError, ValueError) as error:
            raise BadInput(
                Fault(
                    f"no scheduler was reached within {patience_s:g} s",
                    "the address that dask scheduler prints",
                    key="cluster",
                    value=address,
                )
            ) from error
        try:
            try:
                client.wait_for_workers(1, timeout=patience_s)
            except TimeoutError:
                raise _no_worker(address) from None
            except OSError:
                raise _gone(address) from None
            yield client
        finally:
            with suppress(Exception):
                client.close(timeout=_LOOK_S)


def _no_worker(address: str) -> BadInput:
    return BadInput(
        Fault(
            "the scheduler has no worker",
            f"one or more, started by: dask worker {address}",
            key="cluster",
            value=address,
        )
    )


def _gone(address: str) -> BadInput:
    return BadInput(
        Fault(
            "the scheduler went away during the sweep",
            "one that stays; with a checkpoint, the same command goes on when it is back",
            key="cluster",
            value=address,
        )
    )


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep dask's log off the terminal: what matters of it is said as a fault."""
    before = {name: logging.getLogger(name).level for name in _LOGGERS}
    for name in _LOGGERS:
        logging.getLogger(name).setLevel(logging.CRITICAL)
    try:
        yield
    finally:
        for name, level in before.items():
            logging.getLogger(name).setLevel(level)


_LOGGERS = ("distributed", "distributed.client", "tornado.application")
