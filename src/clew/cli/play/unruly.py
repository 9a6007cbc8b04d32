"""What a bad network and busy hands make of true messages: late, doubled, out of order, missing."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

How = Literal["in time", "late", "again", "swapped"]

LATE_S = 240.0
"""Mean delay of a late message [s]: assumed."""
AGAIN_S = 20.0
"""Mean time until a doubled message is sent again [s]: assumed."""
NEVER_LOST = frozenset(
    ("run start", "run set", "run end", "colour", "cone loaded", "cone off", "check", "handover",
     "at the tablet", "stop", "go on", "case closed", "pallet closed")
)  # fmt: skip
"""What is entered on a tablet that waits for its acknowledgement: late, perhaps, but not lost."""


@dataclass(frozen=True, slots=True)
class Sending:
    """One message as it is sent once.

    Attributes
    ----------
    send_s : float
        When it is sent, on the clock of the shift [s].
    how : str
        What befell it.
    message : dict
        The flat message; a doubled one is the same, key and all.
    """

    send_s: float
    how: How
    message: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Unruly:
    """All that is sent, and what is not.

    Attributes
    ----------
    sendings : tuple of Sending
        In the order of sending.
    lost : tuple of dict
        Messages that are never sent.
    """

    sendings: tuple[Sending, ...]
    lost: tuple[dict[str, Any], ...]

    def counts(self) -> dict[str, int]:
        """Count what befell the messages."""
        found = {"in time": 0, "late": 0, "again": 0, "swapped": 0}
        for one in self.sendings:
            found[one.how] += 1
        return {**found, "lost": len(self.lost)}


def unruly(
    messages: Sequence[dict[str, Any]], at_s: Sequence[float], *, seed: int, share: float
) -> Unruly:
    """Spoil the sending of true messages; each keeps its own key.

    Parameters
    ----------
    messages : sequence of dict
        True messages, in the order of time.
    at_s : sequence of float
        When each happened [s].
    seed : int
        Which spoiling.
    share : float
        Of the messages: so many are late, as many are doubled, as many change places with the
        next, and as many are lost, but for those that no tablet gives up [1].

    Returns
    -------
    Unruly
        What is sent when.

    Raises
    ------
    ValueError
        When the share is not within 0 to 0.25.
    """
    if not 0.0 <= share <= 0.25:
        raise ValueError(f"a share of {share}; 0 to 0.25")
    rng = random.Random(f"{seed} unruly")
    sendings: list[Sending] = []
    lost: list[dict[str, Any]] = []
    for place, (message, moment_s) in enumerate(zip(messages, at_s, strict=True)):
        drawn, delay = rng.random(), rng.expovariate(1.0)
        if drawn < share:
            sendings.append(Sending(moment_s + LATE_S * delay, "late", message))
        elif drawn < 2.0 * share:
            sendings.append(Sending(moment_s, "in time", message))
            sendings.append(Sending(moment_s + AGAIN_S * delay, "again", message))
        elif drawn < 3.0 * share and place + 1 < len(messages):
            # A hair after the next one's moment: it comes second.
            sendings.append(Sending(at_s[place + 1] + 1e-3, "swapped", message))
        elif 3.0 * share <= drawn < 4.0 * share and message["kind"] not in NEVER_LOST:
            lost.append(message)
        else:
            sendings.append(Sending(moment_s, "in time", message))
    sendings.sort(key=lambda one: one.send_s)
    return Unruly(tuple(sendings), tuple(lost))
