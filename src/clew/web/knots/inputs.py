"""What can be tried on Knots: values of the yarn, the ball's limit, the mill's shortest piece."""

from __future__ import annotations

import math
from collections.abc import Mapping

from clew.faults import Fault
from clew.languages import joined, say
from clew.mill.balls import Ball
from clew.quantities import FRACTION, LENGTH, MASS, PER_LENGTH
from clew.web.asked.entries import MOST_TYPED, Asked, Entry, Slider
from clew.web.asked.whole import whole_typed

OF_YARN = (
    Asked("breaks", "breaks_per_km", say("Breaks on the cone"), PER_LENGTH, 1.0),
    Asked("cone_mass", "cone_mass_g", say("Mass of a cone"), MASS, 0.9),
    Asked("shrink", "shrink_frac", say("Shrink in steam"), FRACTION, 0.4),
)
OF_RULES = (Asked("shortest_piece", "shortest_piece_m", say("Shortest piece"), LENGTH, 1.0),)
ORDER = ("knot_limit", "breaks", "cone_mass", "shortest_piece", "shrink")
"""Order of the inputs on the page, most asked for first."""
KNOTS_KEYS = ("ball", "lot", "seed", *ORDER)
"""Everything that can be asked of a ball's knots."""

MOST_LIMIT = 200


def limit_typed(ball: Ball, typed: Mapping[str, str]) -> tuple[Ball, Entry, tuple[Fault, ...]]:
    """Read the knot limit, which is a whole number and slides by ones.

    Parameters
    ----------
    ball : Ball
        The ball as the mill file has it.
    typed : mapping of str to str
        Texts by key.

    Returns
    -------
    Ball
        The ball with what could be read in place.
    Entry
        The input.
    tuple of Fault
        What is wrong, none when nothing is.
    """
    own = str(ball.knot_limit)
    text = typed.get("knot_limit", "").strip()
    moved = bool(text) and text != own
    limit, fault = ball.knot_limit, None
    if moved:
        limit, fault = whole_typed("knot_limit", text, MOST_LIMIT)
    high = max(6, 2 * ball.knot_limit)
    place = str(ball.knot_limit if fault else min(limit, high))
    entry = Entry(
        key="knot_limit",
        words=say("Knot limit"),
        text=text[:MOST_TYPED] or own,
        mill_text=own,
        fault="" if fault is None else joined(": ", (fault.what, fault.expected)),
        moved=moved,
        slider=Slider("0", str(high), "1", place, ""),
    )
    tried = ball if fault else ball.model_copy(update={"knot_limit": limit})
    return tried, entry, () if fault is None else (fault,)


def joins_allowed(limit: int, join_counts: float) -> int | None:
    """Most joins in a ball under a limit; None where joins do not count at all.

    Parameters
    ----------
    limit : int
        The knot limit.
    join_counts : float
        What a join counts towards it [1].

    Returns
    -------
    int or None
        A join that counts a half lets twice as many pass.
    """
    return None if join_counts == 0.0 else math.floor(limit / join_counts + 1e-9)
