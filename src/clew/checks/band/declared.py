"""Declared mass and length in both systems, never more than is declared; how high the figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal

from clew.faults import BadInput, Fault
from clew.mill.bands import BandMarket

OUNCE_G = Decimal("28.349523125")
YARD_M = Decimal("0.9144")
_POUND_OUNCES = 16
_NOISE = Decimal("1e-9")
"""A declaration written as "3.5 oz" is kept in grams; so much may be lost on the way [1]."""

_IN_MM = 25.4
_US_PANEL_IN2: tuple[tuple[float, float], ...] = (
    (5.0, 1 / 16), (25.0, 1 / 8), (100.0, 3 / 16), (400.0, 1 / 4), (float("inf"), 1 / 2)
)  # fmt: skip
_EU_FIGURES: tuple[tuple[float, float], ...] = (
    (50.0, 2.0), (200.0, 3.0), (1000.0, 4.0), (float("inf"), 6.0)
)  # fmt: skip
PANEL_FRAC = 0.4
"""Of a round package's side, what counts as its front [1]. Source: 16 CFR 500.21(a)(2). READ."""

E_MARK_MM = 3.0
"""Least height of the e [mm]. Source: SI 2006/659 regulation 2. READ."""
E_LEAST_G, E_MOST_G = 5.0, 10_000.0
"""Nominal quantities that may carry the e [g]. Source: the Irish NSAI on the e-mark. READ."""


@dataclass(frozen=True, slots=True)
class Declared:
    """A quantity in both systems.

    Attributes
    ----------
    metric, inch_pound : str
        With their units, such as ``100 g`` and ``3.52 oz``.
    metric_amount, inch_pound_amount : float
        What each says, in grams or metres.
    """

    metric: str
    inch_pound: str
    metric_amount: float
    inch_pound_amount: float


def mass_declared(mass_g: float) -> Declared:
    """Say a declared mass in grams and in ounces or pounds, neither more than declared.

    Parameters
    ----------
    mass_g : float
        Declared mass [g].

    Returns
    -------
    Declared
        Metric as declared, up to 6 figures; the other rounded down to three figures.

    Raises
    ------
    BadInput
        When it is not more than 0.

    Notes
    -----
    Rounding down keeps the metric figure the larger of the two, which is the one tested.
    Source: "in no case shall rounded net contents declarations overstate a quantity", NIST fact
    sheet on labelling, READ as quoted in 2002; three figures, and a last nought after the point
    may go: 16 CFR 500.19(b), READ; ounces below a pound: MEMORY. The factor is the exact one, of
    which the rule's 28.3495 g is six figures.
    """
    grams = _amount(mass_g, "mass")
    pounds = grams / OUNCE_G / _POUND_OUNCES
    if pounds * (1 + _NOISE) >= 1:
        amount, unit, factor = _down(pounds), "lb", OUNCE_G * _POUND_OUNCES
    else:
        amount, unit, factor = _down(grams / OUNCE_G), "oz", OUNCE_G
    shown, unit_g = (grams, "g") if grams < 1000 else (grams / 1000, "kg")
    metric = _down(shown, 6)
    return Declared(
        f"{_plain(metric)} {unit_g}",
        f"{_plain(amount)} {unit}",
        float(metric if unit_g == "g" else metric * 1000),
        float(amount * factor),
    )


def length_declared(length_m: float) -> Declared:
    """Say a declared length in metres and in yards, neither more than declared.

    Parameters
    ----------
    length_m : float
        Declared length [m].

    Returns
    -------
    Declared
        Metric as declared, up to 6 figures; yards rounded down to three figures.

    Raises
    ------
    BadInput
        When it is not more than 0.

    Notes
    -----
    Source: as `mass_declared`; 1 yd = 0.9144 m exactly, 16 CFR 500.19(a), READ.
    """
    metres = _amount(length_m, "length")
    metric, yards = _down(metres, 6), _down(metres / YARD_M)
    return Declared(
        f"{_plain(metric)} m", f"{_plain(yards)} yd", float(metric), float(yards * YARD_M)
    )


def _amount(value: float, what: str) -> Decimal:
    if not 0.0 < value < 1e9:
        raise BadInput(Fault(f"no declared {what}", "more than 0", value=f"{value:g}"))
    return Decimal(repr(float(value)))


def _down(value: Decimal, figures: int = 3) -> Decimal:
    """Cut to so many figures, but for noise."""
    value = value * (1 + _NOISE)
    step = Decimal(1).scaleb(value.adjusted() - figures + 1)
    return min(value, value.quantize(step, rounding=ROUND_DOWN))


def _plain(value: Decimal) -> str:
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def eu_figure_height_mm(mass_g: float) -> float:
    """Give the least height of the figures of a nominal mass in the EU and the UK.

    Parameters
    ----------
    mass_g : float
        Nominal mass [g].

    Returns
    -------
    float
        2, 3, 4 or 6 [mm]: up to 50 g, 200 g, 1000 g, above.

    Notes
    -----
    Source: Directive 76/211/EEC, Annex I, 3.1, in its national forms, READ: Germany, FPackV,
    section 38(2); Austria, FPVO 1993, section 11(1).
    """
    return next(height for most, height in _EU_FIGURES if mass_g <= most)


def us_figure_height_mm(panel_cm2: float) -> float:
    """Give the least height of the net quantity's letters in the United States.

    Parameters
    ----------
    panel_cm2 : float
        Area of the front of the package [cm2].

    Returns
    -------
    float
        From 1/16 in to 1/2 in, in [mm].

    Notes
    -----
    Source: 16 CFR 500.21(b): the first step READ, the steps at 5, 25, 100 and 400 in2 MEMORY. That
    yarn falls under a state's like rule and not under part 500 itself: MEMORY.
    """
    area_in2 = panel_cm2 / (_IN_MM / 10.0) ** 2
    return _IN_MM * next(height for most, height in _US_PANEL_IN2 if area_in2 <= most + 1e-9)


def figure_height_mm(
    mass_g: float, markets: Sequence[BandMarket], round_mm: float, along_mm: float
) -> float:
    """Give the least height of the figures for all markets of a ball.

    Parameters
    ----------
    mass_g : float
        Nominal mass [g].
    markets : sequence of str
        Where it is sold.
    round_mm, along_mm : float
        The ball's girth and length [mm].

    Returns
    -------
    float
        The largest asked for [mm].
    """
    heights = [0.0]
    if "eu" in markets or "uk" in markets:
        heights.append(eu_figure_height_mm(mass_g))
    if "us" in markets:
        heights.append(us_figure_height_mm(PANEL_FRAC * round_mm * along_mm / 100.0))
    return max(heights)
