"""Answers that take seconds: a few are worked out at once, and the others wait outside.

What waits holds no thread of the server, so that the pages of the floor never wait for the office.
"""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from functools import partial, wraps
from typing import Any, ParamSpec, TypeVar

import anyio
import anyio.to_thread
from starlette.exceptions import HTTPException

Said = ParamSpec("Said")
Answer = TypeVar("Answer")

MOST_WAITING = 24
"""Who would wait behind so many is told to come again."""
_AGAIN_S = 10


class FewAtOnce:
    """A room in which few answers are worked out at once.

    Parameters
    ----------
    at_once : int
        How many.
    most_waiting : int
        How many wait at most.
    """

    def __init__(self, at_once: int, most_waiting: int = MOST_WAITING) -> None:
        self._few = anyio.CapacityLimiter(at_once)
        self._most = at_once + most_waiting
        self._here = 0

    def __call__(
        self, answer: Callable[Said, Answer]
    ) -> Callable[Said, Coroutine[Any, Any, Answer]]:
        """Have an address answered in this room; refuses with 503 while too many wait."""

        @wraps(answer)
        async def waits(*args: Said.args, **asked: Said.kwargs) -> Answer:
            if self._here >= self._most:
                raise HTTPException(
                    503, "Too many ask at once; ask again in a moment",
                    headers={"Retry-After": str(_AGAIN_S)},
                )  # fmt: skip
            self._here += 1  # only the server's loop counts here, so nothing comes between
            try:
                worked_out = partial(answer, *args, **asked)
                return await anyio.to_thread.run_sync(worked_out, limiter=self._few)
            finally:
                self._here -= 1

        return waits
