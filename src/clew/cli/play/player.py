"""Plays a script: each message goes its way when it is due, until all is told and acknowledged."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from clew.cli.play.pace import Pace
from clew.cli.play.senders import Way
from clew.cli.play.unruly import Sending

TICK_S = 0.05
BY_SCALE = frozenset(("weighing",))


@dataclass(frozen=True, slots=True)
class Ways:
    """Which way what goes.

    Attributes
    ----------
    hands : Way
        What a hand enters, and all that has no way of its own.
    machines : Way or None
        What machines tell.
    scale : Way or None
        What the scale tells.
    """

    hands: Way
    machines: Way | None = None
    scale: Way | None = None

    def way_of(self, message: Mapping[str, object]) -> Way:
        """Say which way a message goes: hands over HTTP, the scale by file, machines by broker."""
        if message["kind"] in BY_SCALE and self.scale is not None:
            return self.scale
        if "author" not in message and self.machines is not None:
            return self.machines
        return self.hands

    def all(self) -> tuple[Way, ...]:
        """Give the ways there are."""
        return tuple(one for one in (self.hands, self.machines, self.scale) if one is not None)


@dataclass(slots=True)
class Standing:
    """How far a play is.

    Attributes
    ----------
    sent : int
        Sendings that were handed to a way.
    of : int
        Sendings there are.
    shift_s : float
        The moment of the shift [s].
    waiting : int
        Sendings not acknowledged yet.
    trouble : str
        What a way complains of; empty for nothing.
    """

    sent: int
    of: int
    shift_s: float
    waiting: int
    trouble: str


def play(
    sendings: Sequence[Sending],
    ways: Ways,
    pace: Pace,
    *,
    patience_s: float = 30.0,
    clock: Callable[[], float] = time.monotonic,
    sleep: Callable[[float], None] = time.sleep,
) -> Iterator[Standing]:
    """Send what is due, again and again.

    Parameters
    ----------
    sendings : sequence of Sending
        In the order of sending.
    ways : Ways
        Where to.
    pace : Pace
        When.
    patience_s : float
        How long acknowledgements are waited for at the end [s].
    clock, sleep : callable
        A clock that only goes on [s], and waiting.

    Yields
    ------
    Standing
        After every round.
    """
    begun_s = clock()
    place, ended_s, shift_s = 0, 0.0, 0.0
    while True:
        past_s = clock() - begun_s
        while place < len(sendings) and pace.due_s(sendings[place].send_s) <= past_s:
            one = sendings[place]
            ways.way_of(one.message).take((one.message,))
            shift_s = one.send_s
            place += 1
        for way in ways.all():
            way.pump()
        waiting = sum(way.waiting() for way in ways.all())
        trouble = next((way.trouble for way in ways.all() if way.trouble), "")
        yield Standing(place, len(sendings), shift_s, waiting, trouble)
        if place == len(sendings):
            if not waiting:
                return
            ended_s = ended_s or clock()
            if clock() - ended_s > patience_s:
                return
        if waiting and not trouble:
            sleep(0.0)
        elif place < len(sendings):
            due_s = pace.due_s(sendings[place].send_s) - (clock() - begun_s)
            sleep(min(max(due_s, 0.0), TICK_S))
        else:
            sleep(TICK_S)
