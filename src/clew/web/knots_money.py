"""Money on the pages of knots: small sums in the small coin, two figures and no more."""

from __future__ import annotations

import math

_COINS = {"GBP": ("£", "p"), "EUR": ("€", " cent"), "USD": ("$", "¢")}
"""Sign of a currency and of its hundredth part."""


def coin(currency: str) -> str:
    """Name the coin small sums are said in: the hundredth part where it has a name."""
    return _COINS[currency][1].strip() if currency in _COINS else currency


def coins(value: float, currency: str) -> float:
    """Turn a sum into the coin that `coin` names.

    Parameters
    ----------
    value : float
        The sum [money].
    currency : str
        Its currency.

    Returns
    -------
    float
        The sum in hundredths, or as it is where they have no name.
    """
    return 100.0 * value if currency in _COINS else value


def small_sum(value: float, currency: str) -> str:
    """Say a small sum.

    Parameters
    ----------
    value : float
        The sum [money].
    currency : str
        Its currency.

    Returns
    -------
    str
        Two figures, such as ``0.28p``, ``26p`` or ``£1.20``.
    """
    if not math.isfinite(value):
        return "without bound"
    if currency in _COINS and abs(value) >= 1.0:
        return whole_sum(value, currency)
    said = _two_figures(coins(abs(value), currency))
    minus = "−" if value < 0.0 and said != "0" else ""
    return minus + (f"{said}{_COINS[currency][1]}" if currency in _COINS else f"{said} {currency}")


def whole_sum(value: float, currency: str) -> str:
    """Say a sum to the hundredth part [money], such as ``£184.00``."""
    minus = "−" if value <= -0.005 else ""
    said = f"{abs(value):.2f}"
    text = f"{_COINS[currency][0]}{said}" if currency in _COINS else f"{said} {currency}"
    return minus + text


def _two_figures(value: float) -> str:
    if value < 1e-3:
        return "0"
    places = max(1 - math.floor(math.log10(float(f"{value:.1e}"))), 0)
    return f"{value:.{places}f}"
