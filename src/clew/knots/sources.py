"""The four sources of joins, all turned to metres of yarn as it lies in the ball."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import say

LEAST_DISPERSION = 0.05
"""Below it nearly all breaks of a mill would sit on a few cones: look at those cones instead."""


SOURCE_WORDS = {
    "breaks": say("breaks re-tied at spinning"),
    "cone_ties": say("ties from cone to cone"),
    "line_breaks": say("breaks on the line"),
    "colour_ties": say("ties from colour to colour"),
}
"""What each source is called, wherever it is spoken of."""


@dataclass(frozen=True, slots=True)
class Sources:
    """Where joins come from, per metre **after steam** (the basis of the ball).

    Attributes
    ----------
    breaks_per_m : float
        Breaks re-tied on the cone, mean over cones [1/m].
    dispersion : float
        Gamma shape of the break rate from cone to cone [1]; infinite: every cone has the mean rate.
    cone_length_m : float
        Mean length of a cone [m]; infinite: no cone ties.
    cone_cv : float
        Spread of that length, a fraction of the mean [1].
    line_breaks_per_m : float
        Breaks on the line, re-tied there [1/m].
    colour_ties_per_m : float
        Ties from one colour to the next [1/m]; they stand a run apart, so that a ball shorter than
        a run meets one or none.
    """

    breaks_per_m: float = 0.0
    dispersion: float = math.inf
    cone_length_m: float = math.inf
    cone_cv: float = 0.0
    line_breaks_per_m: float = 0.0
    colour_ties_per_m: float = 0.0

    @property
    def intensities_per_m(self) -> dict[str, float]:
        """Mean joins per metre of ball, by source."""
        return {
            "breaks": self.breaks_per_m,
            "cone_ties": 1.0 / self.cone_length_m,
            "line_breaks": self.line_breaks_per_m,
            "colour_ties": self.colour_ties_per_m,
        }

    @property
    def scattered_per_m(self) -> float:
        """Mean joins per metre that fall anywhere, whatever the cone [1/m]."""
        even = self.breaks_per_m if math.isinf(self.dispersion) else 0.0
        return even + self.line_breaks_per_m


def _bad(key: str, value: float, expected: str) -> Fault:
    return Fault(say("out of range"), expected=expected, key=key, value=f"{value:g}")


def _faults(rates: dict[str, float], shrink_frac: float) -> list[Fault]:
    found = [
        _bad(key, rate, say("a rate from 0 to 10000 per km"))
        for key, rate in rates.items()
        if not 0.0 <= rate <= 1e4
    ]
    if not 0.0 <= shrink_frac <= 0.9:
        found.append(_bad("shrink_frac", shrink_frac, say("a shrink from 0 to 90 %")))
    return found


def sources_after_steam(
    *,
    breaks_per_km: float = 0.0,
    dispersion: float = math.inf,
    cone_length_m: float = math.inf,
    cone_cv: float = 0.0,
    line_breaks_per_km: float = 0.0,
    colour_ties_per_km: float = 0.0,
    shrink_frac: float = 0.0,
) -> Sources:
    """Turn each source to the basis of the ball.

    Parameters
    ----------
    breaks_per_km : float
        Breaks re-tied on the cone, per km **before** steam [1/km].
    dispersion : float
        Gamma shape of the break rate from cone to cone; infinite for none [1].
    cone_length_m : float
        Mean length of a cone **before** steam; infinite for no cone ties [m].
    cone_cv : float
        Spread of cone length as a fraction of the mean [1].
    line_breaks_per_km : float
        Breaks on the line, per km **after** steam [1/km].
    colour_ties_per_km : float
        Ties from colour to colour, per km **after** steam [1/km].
    shrink_frac : float
        Share of length lost in steam; 0 when everything is stated on one basis [1].

    Returns
    -------
    Sources
        Everything per metre after steam.

    Raises
    ------
    BadInput
        With every value that is out of range.

    Notes
    -----
    A cone of C metres gives C(1 - S) metres of ball yarn and its knots stay on it, so a rate per
    metre before steam becomes rate / (1 - S). Source: conservation of knots, DERIVED.
    """
    faults = _faults(
        {
            "breaks_per_km": breaks_per_km,
            "line_breaks_per_km": line_breaks_per_km,
            "colour_ties_per_km": colour_ties_per_km,
        },
        shrink_frac,
    )
    if not dispersion >= LEAST_DISPERSION:
        faults.append(
            _bad(
                "dispersion",
                dispersion,
                say("a shape of {least:g} or more", least=LEAST_DISPERSION),
            )
        )
    if not cone_length_m > 0.0:
        faults.append(_bad("cone_length_m", cone_length_m, say("a length above 0 m")))
    if not 0.0 <= cone_cv <= 1.0:
        faults.append(_bad("cone_cv", cone_cv, say("a spread from 0 to 100 %")))
    if faults:
        raise BadInput(faults)
    kept = 1.0 - shrink_frac
    return Sources(
        breaks_per_m=breaks_per_km / 1000.0 / kept,
        dispersion=dispersion,
        cone_length_m=cone_length_m * kept,
        cone_cv=cone_cv,
        line_breaks_per_m=line_breaks_per_km / 1000.0,
        colour_ties_per_m=colour_ties_per_km / 1000.0,
    )
