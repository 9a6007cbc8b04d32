"""Two Bernoulli machines with a buffer: each cycle works or not, by chance."""

from __future__ import annotations

import math

from clew.faults import BadInput
from clew.line.interference.line_checks import check_chance
from clew.line.interference.stopped import check_number

MOST_BUFFER = 100_000
"""Places past which a buffer may be called endless."""


def bernoulli_line_a_cycle(*, first_works: float, second_works: float, buffer: int) -> float:
    """Pieces a cycle of two machines that work in a cycle with a given chance.

    Parameters
    ----------
    first_works, second_works : float
        Chance to work in a cycle, above 0 and at most 1 [1].
    buffer : int
        Places between them, 1 or more; the place at the second machine counts.

    Returns
    -------
    float
        Pieces that leave a cycle [1].

    Raises
    ------
    BadInput
        With every value that is out of range.

    Notes
    -----
    p2 (1 - Q), Q the chance that the buffer is empty; with a = p1 (1 - p2) / (p2 (1 - p1)) it is
    (1 - p1)(1 - a) / (1 - (p1/p2) a^N), and (1 - p)/(N + 1 - p) for equal machines. A full buffer
    whose second machine does not work blocks the first before it works. Source: Li & Meerkov,
    Production Systems Engineering, formula MEMORY, held by the chain.
    """
    faults = [
        *check_chance("first_works", first_works),
        *check_chance("second_works", second_works),
        *check_number("buffer", buffer, MOST_BUFFER),
    ]
    if faults:
        raise BadInput(faults)
    return second_works * (1.0 - _empty(first_works, second_works, buffer))


def _empty(p1: float, p2: float, buffer: int) -> float:
    """Chance that the buffer is empty: levels 1 ... N go as powers of a."""
    if p1 == 1.0:
        return 0.0
    if p2 == 1.0:
        return 1.0 - p1
    log_a = math.log(p1) + math.log1p(-p2) - math.log(p2) - math.log1p(-p1)
    if abs(log_a) * buffer < 1e-9:
        return (1.0 - p1) / (buffer + 1.0 - p1)
    # Both sides over the larger power of a, so that neither overflows.
    scale = -max(log_a, 0.0) * buffer
    above = (1.0 - p1) * -math.expm1(log_a) * math.exp(scale)
    return above / (math.exp(scale) - p1 / p2 * math.exp(scale + log_a * buffer))
