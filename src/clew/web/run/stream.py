"""The stream by which a page hears that something was recorded: server-sent events.

Only the last place of each chain is sent; the page asks for what it shows. So a reader that was
away misses nothing, and a reader that is slow holds nobody up.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import StreamingResponse

from clew.faults import BadInput
from clew.ledger.store.trouble import CannotKeep

LOOK_S = 0.2
"""How often it is looked whether something was recorded, by this process or another [s]."""
TROUBLE_S = 2.0
"""The same while the ledger cannot be read [s]."""
STILL_HERE_S = 5.0
"""How often a quiet stream says that it is there [s]."""
LONGEST_S = 3600.0
"""A stream ends after so long, and the page opens another [s]."""
ASK_AGAIN_S = 20.0
"""How often it is asked whether the reader's session or token still stands [s]."""
_GONE_S = 1.0
"""How often it is looked whether a quiet stream's reader is still there [s]."""

Heads = Callable[[], dict[str, int]]


class HeadWatch:
    """The last places of all chains, looked at by one for all who read.

    Twenty tablets on the floor are no more work for the database than one: it is asked in a thread
    of its own while anybody reads, and not at all while nobody does.

    Parameters
    ----------
    heads : callable
        Reads every chain's last place.
    closing : callable
        Says whether the workbench is being stopped.

    Attributes
    ----------
    readers : int
        How many read now.
    """

    def __init__(self, heads: Heads, closing: Callable[[], bool] = lambda: False) -> None:
        self._heads, self.closing = heads, closing
        self.readers = 0
        self._said = ""
        self._number = 0
        self._changed = asyncio.Event()
        self._looking: asyncio.Task[None] | None = None

    @contextmanager
    def reading(self) -> Iterator[None]:
        """Be one of the readers; the first begins the looking, the last ends it."""
        self.readers += 1
        if self._looking is None or self._looking.done():
            self._said, self._changed = "", asyncio.Event()
            self._looking = asyncio.get_running_loop().create_task(self._look())
        try:
            yield
        finally:
            self.readers -= 1
            if not self.readers and self._looking is not None:
                self._looking.cancel()
                self._looking = None

    async def after(self, number: int, wait_s: float) -> tuple[int, str]:
        """Wait for something to say after what a reader heard last.

        Parameters
        ----------
        number : int
            Number of what it heard last; 0 for nothing yet.
        wait_s : float
            How long at most [s].

        Returns
        -------
        (int, str)
            Number and event; the old number and an empty text where there is nothing new.
        """
        if self._looking is not None and self._looking.done():
            self._looking.result()  # a fault of our own ends every stream, and is told
        if not self._said or self._number == number:
            with suppress(TimeoutError):
                await asyncio.wait_for(self._changed.wait(), wait_s)
        if self._said and self._number != number:
            return self._number, self._said
        return number, ""

    async def _look(self) -> None:
        own = ThreadPoolExecutor(1, thread_name_prefix="heads")
        loop = asyncio.get_running_loop()
        try:
            while True:
                try:
                    found = await loop.run_in_executor(own, self._heads)
                    said, wait_s = f"event: heads\ndata: {json.dumps(found)}\n\n", LOOK_S
                except (CannotKeep, BadInput) as trouble:
                    why = trouble.reason if isinstance(trouble, CannotKeep) else str(trouble)
                    said, wait_s = f"event: trouble\ndata: {json.dumps(why)}\n\n", TROUBLE_S
                if said != self._said:
                    self._tell(said)
                await asyncio.sleep(wait_s)
        finally:
            own.shutdown(wait=False, cancel_futures=True)
            self._changed.set()

    def _tell(self, said: str) -> None:
        self._said, self._number = said, self._number + 1
        self._changed.set()
        self._changed = asyncio.Event()


def stream_of(request: Request, watch: HeadWatch) -> StreamingResponse:
    """Answer with a stream of heads.

    Parameters
    ----------
    request : Request
        What was asked.
    watch : HeadWatch
        Looks at the chains for all who read.

    Returns
    -------
    StreamingResponse
        ``event: heads`` with each chain's last place whenever one has changed, ``event: trouble``
        with a reason while the ledger cannot be read, ``event: here`` now and then.
    """
    return StreamingResponse(
        _events(request, watch),
        media_type="text/event-stream",
        headers={"Cache-Control": "no-store", "X-Accel-Buffering": "no"},
    )


async def _events(request: Request, watch: HeadWatch) -> AsyncIterator[str]:
    clock = asyncio.get_running_loop().time
    ends_s, said_s, asked_s, number = clock() + LONGEST_S, clock(), clock(), 0
    yield "retry: 2000\n\n"
    with watch.reading():
        while clock() < ends_s and not watch.closing() and not await request.is_disconnected():
            if clock() - asked_s >= ASK_AGAIN_S:
                asked_s = clock()
                if not await run_in_threadpool(request.state.still):
                    return
            number, said = await watch.after(number, _GONE_S)
            if not said and clock() - said_s >= STILL_HERE_S:
                said = "event: here\ndata: {}\n\n"
            if said:
                said_s = clock()
                yield said
