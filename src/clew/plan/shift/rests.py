"""When each hand rests: one after another, evenly over the shift, as the line is walked with."""

from __future__ import annotations

from dataclasses import dataclass

from clew.line.layout import Layout


@dataclass(frozen=True, slots=True)
class Rest:
    """One rest of one hand.

    Attributes
    ----------
    hand : int
        Which hand, from 1.
    from_s, upto_s : float
        When it begins and ends, from the shift's start [s].
    """

    hand: int
    from_s: float
    upto_s: float


def rests_of(layout: Layout) -> tuple[Rest, ...]:
    """List the rests of a crew.

    Parameters
    ----------
    layout : Layout
        The line, its hands, the shift.

    Returns
    -------
    tuple of Rest
        In the order of time. A hand who serves at that moment rests when he is done.

    Notes
    -----
    The same moments as in the simulated shift, so that the balls expected rest on them: rest k of b
    is centred on k/(b + 1) of the shift, and hands go one after another. Source: DERIVED.
    """
    if layout.break_s <= 0.0:
        return ()
    last_s = layout.shift_s - layout.break_s
    found = []
    for place in range(layout.breaks):
        middle_s = layout.shift_s * (place + 1) / (layout.breaks + 1)
        for who in range(layout.hands):
            from_s = middle_s + (who - 0.5 * (layout.hands - 1)) * layout.break_s
            from_s = min(max(from_s, 0.0), last_s)
            found.append(Rest(who + 1, from_s, from_s + layout.break_s))
    return tuple(sorted(found, key=lambda one: (one.from_s, one.hand)))
