"""Money on the pages of knots: small sums in the small coin, two figures and no more."""

from __future__ import annotations

import math

from clew.languages import figure, say

_COINS = {"GBP": ("£", "p"), "EUR": ("€", say("cent")), "USD": ("$", "¢")}
"""Sign of a currency and of its hundredth part."""


def coin(currency: str) -> str:
    """Name the coin small sums are said in: the hundredth part where it has a name."""
    return _COINS[currency][1] if currency in _COINS else currency


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
        return say("without bound")
    if currency in _COINS and abs(value) >= 1.0:
        return whole_sum(value, currency)
    said = _two_figures(coins(abs(value), currency))
    minus = "−" if value < 0.0 and said != "0" else ""
    if currency == "EUR":
        return say("{sum} cent", sum=figure(minus + said))
    coins_said = f"{said}{_COINS[currency][1]}" if currency in _COINS else f"{said} {currency}"
    return figure(minus + coins_said)


def whole_sum(value: float, currency: str) -> str:
    """Say a sum to the hundredth part [money], such as ``£184.00``."""
    minus = "−" if value <= -0.005 else ""
    said = f"{abs(value):.2f}"
    text = f"{_COINS[currency][0]}{said}" if currency in _COINS else f"{said} {currency}"
    return figure(minus + text)


def _two_figures(value: float) -> str:
    if value < 1e-3:
        return "0"
    places = max(1 - math.floor(math.log10(float(f"{value:.1e}"))), 0)
    return f"{value:.{places}f}"
