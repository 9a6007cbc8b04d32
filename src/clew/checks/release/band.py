"""Does the band say what was declared: mass and length, in words a market asks for.

The whole of a band's text and layout is not judged here; only that its net content is the one the
lot was tested for.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from clew.checks.packages.plan import RuleKey
from clew.checks.release.finding import Finding, Mend
from clew.faults import BadInput
from clew.languages import first_upper, say
from clew.quantities import LENGTH, MASS, read_quantity

_NUMBER = re.compile(
    r"(?<![\w.,])(\d+(?:[.,]\d+)?)\s*(kg|g|oz|lb|lbs|m|yd|yds|yards?)\b", re.IGNORECASE
)
_THOUSANDS = re.compile(r"\d{1,3},\d{3}")
_UNITS = {"yds": "yd", "yard": "yd", "yards": "yd", "lbs": "lb"}
_NEAR_FRAC = 0.01
_SAME_FRAC = 1e-4
_TWO_OUNCES_G = 56.699
_US: tuple[RuleKey, ...] = ("us-category-a", "us-thread-states")


def said_on_band(text: Sequence[str]) -> tuple[tuple[float, ...], tuple[float, ...], bool]:
    """Find the masses and lengths on a band.

    Parameters
    ----------
    text : sequence of str
        Lines of the band.

    Returns
    -------
    (tuple of float, tuple of float, bool)
        Masses [g], lengths [m], and whether a length stands in yards.
    """
    masses: list[float] = []
    lengths: list[float] = []
    yards = False
    for number, unit in _NUMBER.findall(" ; ".join(text)):
        name = _UNITS.get(unit.casefold(), unit.casefold())
        plain = number.replace(",", "" if _THOUSANDS.fullmatch(number) else ".")
        written = f"{plain} {name}"
        kind, into = (LENGTH, lengths) if name in ("m", "yd") else (MASS, masses)
        try:
            into.append(read_quantity(written, kind))
        except BadInput:
            continue
        yards = yards or name == "yd"
    return tuple(masses), tuple(lengths), yards


def band_finding(
    text: Sequence[str],
    declared_mass_g: float | None,
    declared_length_m: float | None,
    rules: Sequence[RuleKey],
) -> Finding | None:
    """Lay the band beside the declaration.

    Parameters
    ----------
    text : sequence of str
        Lines of the band; empty when the mill file has none.
    declared_mass_g : float or None
        Declared mass [g].
    declared_length_m : float or None
        Declared length [m].
    rules : sequence of str
        Rule sets the lot is judged by.

    Returns
    -------
    Finding or None
        What was found; None where there is no band to look at.

    Notes
    -----
    A number on the band may be rounded: within 1 % of the declaration it is the same (the house's
    choice). That a ball below two ounces shows its length in yards is the law of four US states on
    hand-knitting yarn (READ, see the rule set).
    """
    if not text:
        return None
    masses, lengths, yards = said_on_band(text)
    wrong: list[str] = []
    if declared_mass_g is not None:
        wrong += _wrong(masses, declared_mass_g, "mass", "g")
    if declared_length_m is not None:
        wrong += _wrong(lengths, declared_length_m, "length", "m")
    small = declared_mass_g is not None and declared_mass_g < _TWO_OUNCES_G
    if small and not yards and any(rule in _US for rule in rules):
        wrong.append(say("a ball below two ounces shows its length in yards in four US states"))
    shown = "; ".join(text)
    if not wrong:
        says = [say("The band says what was declared: {shown}.", shown=shown)]
        if any(rule in _US for rule in rules):
            says += _larger(masses, declared_mass_g, "g") + _larger(lengths, declared_length_m, "m")
        return Finding("band", say("Band"), True, True, tuple(says))
    words = tuple(say("{what}.", what=first_upper(one)) for one in wrong)
    return Finding(
        "band",
        say("Band"),
        False,
        True,
        words,
        (Mend(say("print the bands anew and band the lot again")),),
    )


def _larger(found: Sequence[float], declared: float | None, unit: str) -> list[str]:
    """Tell of a second figure that says more than the one the lot is judged by."""
    most = max(found, default=0.0)
    if declared is None or most <= declared * (1.0 + _SAME_FRAC):
        return []
    return [
        say(
            "It also says {most:.5g} {unit}; in the United States the larger of two "
            "declarations is tested, and here {declared:g} {unit} was.",
            most=most,
            unit=unit,
            declared=declared,
        )
    ]


def _wrong(found: Sequence[float], declared: float, what: str, unit: str) -> list[str]:
    if not found:
        if what == "mass":
            return [say("the band names no mass; {declared:g} g is declared", declared=declared)]
        return [say("the band names no length; {declared:g} m is declared", declared=declared)]
    off = [one for one in found if abs(one - declared) > _NEAR_FRAC * declared]
    return [
        say(
            "the band says {said:.4g} {unit}, {declared:g} {unit} is declared",
            said=one,
            unit=unit,
            declared=declared,
        )
        for one in off
    ]
