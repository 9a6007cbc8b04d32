"""What was worked out for Band and need not be again while its file stays as it is."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

T = TypeVar("T")


class Kept(Generic[T]):
    """The answers to the last few questions.

    Parameters
    ----------
    most : int
        How many are kept.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._lock = Lock()
        self._kept: OrderedDict[Hashable, T] = OrderedDict()

    def of(self, question: Hashable, work_out: Callable[[], T]) -> T:
        """Give an answer, worked out only when the question is new.

        Parameters
        ----------
        question : hashable
            Everything the answer depends on.
        work_out : callable
            Finds the answer; what it raises is not kept.

        Returns
        -------
        T
            The answer.
        """
        with self._lock:
            if question in self._kept:
                self._kept.move_to_end(question)
                return self._kept[question]
        found = work_out()
        with self._lock:
            self._kept[question] = found
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return found
