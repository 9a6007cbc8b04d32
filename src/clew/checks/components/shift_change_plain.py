"""The answer of `shift_change` as plain values for programs."""

from __future__ import annotations

from typing import Any

from clew.checks.components.shift_change import ShiftChange


def shift_change_plain(moved: ShiftChange, unit: str) -> dict[str, Any]:
    """Arrange a change of shifts as plain values with stable keys.

    Parameters
    ----------
    moved : ShiftChange
        The change.
    unit : str
        Unit of the value, for the keys.

    Returns
    -------
    dict
        Means, the change and its parts.
    """
    return {
        f"before_{unit}": moved.before,
        f"after_{unit}": moved.after,
        f"change_{unit}": moved.change,
        "balls_before": moved.balls_before,
        "balls_after": moved.balls_after,
        "parts": [
            {
                "name": one.name,
                f"change_{unit}": one.change,
                f"low_{unit}": one.low,
                f"high_{unit}": one.high,
                f"own_change_{unit}": one.own_change,
            }
            for one in moved.parts
        ],
        "cautions": list(moved.cautions),
        "words": list(moved.words),
    }
