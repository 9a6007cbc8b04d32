"""Which balls to draw: spread over winders, over the time of the lot, and over cones.

A handful off the last case tells of the last half hour of one winder. Here every winder gives its
share, its time is cut into as many equal stretches as balls are asked of it, and one ball is drawn
by chance in each; where cones are named, one is not drawn from twice while others are left.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.strand.given import whole_number

Codes = NDArray[np.integer]


def shares_by_winder(sizes: Sequence[int], n: int) -> list[int]:
    """Part the balls to draw among winders in proportion to what each wound.

    Parameters
    ----------
    sizes : sequence of int
        Balls of the lot by winder.
    n : int
        Balls to draw in all.

    Returns
    -------
    list of int
        Balls to draw by winder: proportion rounded down, the rest to the largest remainders.

    Raises
    ------
    BadInput
        When more are asked for than there are.
    """
    counts = [whole_number(size, "balls of a winder", low=0) for size in sizes]
    n = whole_number(n, "balls to draw")
    total = sum(counts)
    if n > total:
        raise BadInput(
            Fault("more balls to draw than the lot has", f"at most {total}", value=str(n))
        )
    given = [n * count // total for count in counts]
    left = sorted(range(len(counts)), key=lambda one: (-(n * counts[one] % total), one))
    for one in left[: n - sum(given)]:
        given[one] += 1
    return given


def draw_balls(
    winder: Sequence[int] | Codes,
    n: int,
    rng: np.random.Generator,
    *,
    cone: Sequence[int] | Codes | None = None,
) -> Codes:
    """Draw balls of a lot by chance, spread over winders, time and cones.

    Parameters
    ----------
    winder : sequence of int
        Winder of every ball of the lot, in the order of time.
    n : int
        Balls to draw.
    rng : numpy Generator
        Where chance comes from; the same seed draws the same balls.
    cone : sequence of int or None
        Cone of every ball, where it is known.

    Returns
    -------
    array of int64, shape (n,)
        Places in the lot, counted from 0, in the order of time.

    Raises
    ------
    BadInput
        When the lot has no such number of balls.
    """
    winders = np.asarray(winder, dtype=np.int64)
    cones = None if cone is None else np.asarray(cone, dtype=np.int64)
    if cones is not None and cones.shape != winders.shape:
        raise BadInput(Fault("cones that do not go with the balls", "a cone for every ball"))
    names = np.unique(winders)
    places = [np.flatnonzero(winders == name) for name in names]
    asked = shares_by_winder([len(one) for one in places], n)
    drawn: list[int] = []
    seen: set[int] = set()
    for own, count in zip(places, asked, strict=True):
        for stretch in np.array_split(own, count) if count else ():
            choice = stretch
            if cones is not None:
                fresh = stretch[[int(cones[place]) not in seen for place in stretch]]
                choice = fresh if len(fresh) else stretch
            place = int(rng.choice(choice))
            drawn.append(place)
            if cones is not None:
                seen.add(int(cones[place]))
    return np.sort(np.array(drawn, dtype=np.int64))
