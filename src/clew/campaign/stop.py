"""Ctrl-C as a request: it is heard between points, so that no finished point is lost to it."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType


class Stop:
    """Whether a stop was asked for.

    Attributes
    ----------
    asked : bool
        True from the first Ctrl-C on.
    """

    def __init__(self) -> None:
        self.asked = False

    def hear(self, _signal: int, _frame: FrameType | None) -> None:
        """Note the first Ctrl-C; one more is an interruption as usual.

        Raises
        ------
        KeyboardInterrupt
            When a stop was asked for before.
        """
        if self.asked:
            raise KeyboardInterrupt
        self.asked = True


@contextmanager
def stop_by_hand() -> Iterator[Stop]:
    """Hear Ctrl-C as a request to stop, where it would be an interruption otherwise.

    Yields
    ------
    Stop
        Whether it was asked for. Outside the main thread, and where the program deals with Ctrl-C
        in its own way, it never is.
    """
    stop = Stop()
    ours = (
        threading.current_thread() is threading.main_thread()
        and signal.getsignal(signal.SIGINT) is signal.default_int_handler
    )
    if ours:
        signal.signal(signal.SIGINT, stop.hear)
    try:
        yield stop
    finally:
        if ours:
            signal.signal(signal.SIGINT, signal.default_int_handler)
