"""Numbers that a person gives to the strand room, refused where they cannot be meant."""

from __future__ import annotations

import math

from clew.faults import BadInput, Fault
from clew.languages import joined, say


def _refusal(value: float, key: str, expected: str, unit: str) -> BadInput:
    shown = f"{value:g} {unit}".strip()
    return BadInput(
        Fault(say("a value that cannot be meant"), expected=expected, key=key, value=shown)
    )


def more_than_zero(value: float, key: str, unit: str = "") -> float:
    """Take a finite number above 0.

    Parameters
    ----------
    value : float
        The number [unit].
    key : str
        What it is, in the words of the message.
    unit : str
        Its unit, for the message.

    Returns
    -------
    float
        The number [unit].

    Raises
    ------
    BadInput
        When it is 0, negative, infinite or not a number.
    """
    if not 0.0 < value < math.inf:
        raise _refusal(value, key, say("more than 0"), unit)
    return float(value)


def zero_or_more(value: float, key: str, unit: str = "") -> float:
    """Take a finite number of 0 or more.

    Parameters
    ----------
    value : float
        The number [unit].
    key : str
        What it is, in the words of the message.
    unit : str
        Its unit, for the message.

    Returns
    -------
    float
        The number [unit].

    Raises
    ------
    BadInput
        When it is negative, infinite or not a number.
    """
    if not 0.0 <= value < math.inf:
        raise _refusal(value, key, say("0 or more"), unit)
    return float(value)


def fraction(value: float, key: str, hint: str = "") -> float:
    """Take a fraction from 0 to below 1.

    Parameters
    ----------
    value : float
        The fraction [1].
    key : str
        What it is, in the words of the message.
    hint : str
        What the person may have meant instead, added to what was expected.

    Returns
    -------
    float
        The fraction [1].

    Raises
    ------
    BadInput
        When it is negative, 1 or more, or not a number.
    """
    if not 0.0 <= value < 1.0:
        expected = joined("; ", filter(None, (say("a fraction from 0 to below 1"), hint)))
        raise _refusal(value, key, expected, "")
    return float(value)


def level_between(level: float) -> float:
    """Take the level of an interval, between 0 and 1.

    Parameters
    ----------
    level : float
        Share that the interval is to hold, or its confidence [1].

    Returns
    -------
    float
        The level [1].

    Raises
    ------
    BadInput
        When it is 0 or less, 1 or more, or not a number.
    """
    if not 0.0 < level < 1.0:
        raise BadInput(
            Fault("a level lies between 0 and 1", "such as 0.95", key="level", value=f"{level:g}")
        )
    return float(level)


def whole_number(value: int, key: str, *, low: int = 1) -> int:
    """Take a whole number that is not below a limit.

    Parameters
    ----------
    value : int
        The number [1].
    key : str
        What it is, in the words of the message.
    low : int
        The smallest that can be meant [1].

    Returns
    -------
    int
        The number [1].

    Raises
    ------
    BadInput
        When it is below the limit or not whole.
    """
    if not math.isfinite(value) or value != int(value) or value < low:
        raise _refusal(value, key, say("a whole number of {low} or more", low=low), "")
    return int(value)
