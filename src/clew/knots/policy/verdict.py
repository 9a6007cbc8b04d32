"""What a comparison of policies says to the line: which rule to use, and what it is worth."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.knots.policy.compare import Estimate, PolicyComparison, Way
from clew.quantities import LENGTH, PER_LENGTH, UnitSystem, in_unit, show


@dataclass(frozen=True, slots=True)
class Money:
    """How money is said, and the lengths it is said beside.

    Attributes
    ----------
    currency : str
        Such as ``GBP``; empty where none was named.
    year_km : float
        Strand a year [km]; 0 where that is not known.
    units : {"metric", "yard"}
        Units of lengths: money is said a kilometre, or a thousand yards.
    """

    currency: str = ""
    year_km: float = 0.0
    units: UnitSystem = "metric"

    def per_length(self, per_km: float) -> float:
        """Turn money a km to the length it is said for."""
        unit = PER_LENGTH.metric if self.units == "metric" else PER_LENGTH.yard
        return in_unit(per_km, PER_LENGTH, unit)

    @property
    def length(self) -> str:
        """The length that money is said for."""
        return "km" if self.units == "metric" else "1000 yd"

    def rate(self, estimate: Estimate, sign: float = 1.0) -> str:
        """Say an estimate with its band and currency, turned round by a negative sign."""
        mean, *ends = (
            sign * self.per_length(one) for one in (estimate.mean, estimate.low, estimate.high)
        )
        low, high = sorted(ends)
        return f"{mean:.3f} ({low:.3f} to {high:.3f}){self._name} a {self.length}"

    def a_year(self, estimate: Estimate) -> str:
        """Say its size a year, after a comma; nothing where the strand a year is not known."""
        if not self.year_km:
            return ""
        return f", {abs(estimate.mean) * self.year_km:.0f}{self._name} a year"

    @property
    def _name(self) -> str:
        return f" {self.currency}" if self.currency else ""


def verdict(found: PolicyComparison, money: Money) -> str:
    """Say which rule to use.

    Parameters
    ----------
    found : PolicyComparison
        Policies side by side.
    money : Money
        How money and lengths are said.

    Returns
    -------
    str
        A sentence or two. The short rule is the one with nothing ahead.

    Notes
    -----
    A way is taken for better only where the whole 95 % band of its difference, strand by strand,
    lies above zero. Solving the strand in sight is nothing for a hand; what it would bring is said
    where looking ahead by hand brings nothing. The best of several is chosen by the same numbers
    it is then given with, and so looks a little too good. Source: common
    practice, no published source.
    """
    short = found.way("thumb").over_straight.low > 0.0
    base = "the short rule" if short else "winding straight through"
    ahead = [way for way in found.ways if way.look_ahead_m > 0.0 and way.name != "offline"]
    by_hand = [way for way in ahead if way.name == "thumb"]
    best = _surest(by_hand, short)
    if best is not None:
        gain = _gain(best, short)
        return (
            f"Look ahead: {_sight(best, money.units)} bring {money.rate(gain)} more than {base}"
            f"{money.a_year(gain)}."
        )
    advice = "Use the short rule" if short else "Wind straight through"
    if not by_hand:
        return f"{advice}." if short else f"{advice}: the short rule brings nothing sure here."
    far = max(by_hand, key=lambda way: way.look_ahead_m)
    none = all(_gain(way, short).mean <= 0.0 for way in by_hand)
    nothing = "nothing more" if none else "nothing sure"
    said = f"{advice}; {_sight(far, money.units)} bring {nothing} here"
    best = _surest([way for way in ahead if way.name == "rolling"], short)
    if best is None:
        return f"{said}."
    gain = _gain(best, short)
    return (
        f"{said} by hand. Solving {_sight(best, money.units)} would bring {money.rate(gain)} "
        f"more than {base}{money.a_year(gain)}."
    )


def sentences(found: PolicyComparison, money: Money) -> list[str]:
    """Say what a hand should do with each length in sight, and what that is worth.

    Parameters
    ----------
    found : PolicyComparison
        Policies side by side.
    money : Money
        How money is said.

    Returns
    -------
    list of str
        Lines; what is said of the rule above it stands two in.
    """
    lines = []
    for way in found.ways:
        if way.name == "thumb":
            lines += [found.for_a_hand(way.look_ahead_m, money.units), _worth(way, money)]
            lines += _given_up(way, money)
    every = found.way("part_every").over_straight
    if every.high < 0.0:
        lines.append(
            f"Parting at every offence brings {money.rate(every, -1.0)} less than winding "
            "straight through."
        )
    hidden = found.way("thumb").hidden_frac
    if hidden > 0.0:
        lines.append(
            f"Of the balls sold as first-quality {100.0 * hidden:.2f} % break the rule by "
            "joins that were not seen."
        )
    return lines


def _gain(way: Way, short: bool) -> Estimate:
    return way.over_short if short else way.over_straight


def _surest(ways: list[Way], short: bool) -> Way | None:
    """The way that brings most of those that surely bring something; the nearest of equal ones."""
    sure = [way for way in ways if _gain(way, short).low > 0.0]
    return max(sure, key=lambda way: _gain(way, short).mean, default=None)


def _sight(way: Way, units: UnitSystem) -> str:
    digits = 3 if way.look_ahead_m < 1000.0 else 4
    return f"{show(way.look_ahead_m, LENGTH, units, digits=digits)} in sight"


def _worth(way: Way, money: Money) -> str:
    over = way.over_straight
    if over.mean == over.low == over.high == 0.0:
        return "  It is winding straight through."
    if over.low <= 0.0 <= over.high:
        return (
            f"  Not surely different from winding straight through: {money.rate(over)}; "
            "more or longer strands tell."
        )
    sign = math.copysign(1.0, over.mean)
    verb = "more" if sign > 0.0 else "less"
    return f"  {money.rate(over, sign)} {verb} than winding straight through{money.a_year(over)}."


def _given_up(way: Way, money: Money) -> list[str]:
    """What the rule gives up for being simple, where that is sure."""
    lacks = way.below_solved
    if lacks is None or lacks.low <= 0.0:
        return []
    return [
        f"  Solving the strand in sight brings {money.rate(lacks)} more still{money.a_year(lacks)}."
    ]
