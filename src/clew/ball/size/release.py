"""What happens to a ball when it is drawn off its mandrel: the bore closes in, laps go slack.

A strand pulls but does not push. The ball is therefore wound and released with hoops that are stiff
in tension and, once slack, carry only what the loose pack around them carries.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from clew.ball.size.release_kernel import PRESSURE_CAP, lap_stresses, wind_laps, withdraw_mandrel
from clew.ball.size.stress import Pack, RadialModulus, check_wall, stress_by_lap
from clew.faults import BadInput, Fault
from clew.languages import say


@dataclass(frozen=True, slots=True, eq=False)
class WoundLaps:
    """A ball on its rigid mandrel, wound lap by lap with laps that may go slack.

    Attributes
    ----------
    radii_mm : array of float, shape (n + 1,)
        Borders of the computed laps as they were laid [mm].
    shift_mm : array of float, shape (n + 1,)
        Movement of each border since [mm], outwards positive.
    base : array of float, shape (n,)
        Hoop strain of each lap were its borders not moved [-].
    largest_stress_kpa : float
        Largest winding stress [kPa].
    pack : Pack
        What the wound strand is, as a body.
    slack_modulus_kpa : float
        Hoop modulus of a slack lap [kPa].
    hoop_kpa, pressure_kpa : array of float, shape (n,)
        Mean hoop stress and radial pressure of each lap [kPa].
    """

    radii_mm: NDArray[np.float64]
    shift_mm: NDArray[np.float64]
    base: NDArray[np.float64]
    largest_stress_kpa: float
    pack: Pack
    slack_modulus_kpa: float
    hoop_kpa: NDArray[np.float64]
    pressure_kpa: NDArray[np.float64]

    @property
    def slack_frac(self) -> float:
        """Share of the wall whose laps have no tension left [-]."""
        return _slack_share(self.radii_mm, self.hoop_kpa)


@dataclass(frozen=True, slots=True, eq=False)
class Released:
    """A ball off its mandrel.

    Attributes
    ----------
    bore_diameter_mm : float
        Bore after release [mm]; 0 when it has closed.
    outer_diameter_mm : float
        Outside after release [mm].
    slack_frac : float
        Share of the wall whose laps have no tension left [-].
    bore_closed : bool
        True when the bore has closed altogether.
    hoop_kpa, pressure_kpa : array of float, shape (n,)
        Mean hoop stress and radial pressure of each lap [kPa], from core to surface.
    """

    bore_diameter_mm: float
    outer_diameter_mm: float
    slack_frac: float
    bore_closed: bool
    hoop_kpa: NDArray[np.float64]
    pressure_kpa: NDArray[np.float64]


def wind_on_mandrel(
    bore_diameter_mm: float,
    outer_diameter_mm: float,
    winding_stress_kpa: ArrayLike,
    pack: Pack,
    *,
    slack_modulus_kpa: float | None = None,
    laps: int = 120,
) -> WoundLaps:
    """Wind a ball on a rigid mandrel, letting laps go slack under those laid on them.

    Parameters
    ----------
    bore_diameter_mm : float
        Diameter of the mandrel [mm].
    outer_diameter_mm : float
        Diameter of the wound ball [mm].
    winding_stress_kpa : float or array_like of float, shape (m,)
        Winding stress [kPa]: one value, or one for each of m laps of equal thickness.
    pack : Pack
        What the wound strand is, as a body; its Poisson ratio is not used here.
    slack_modulus_kpa : float or None
        Hoop modulus of a slack lap [kPa], above 0 and not above the hoop modulus. None takes the
        radial modulus at no pressure: the strand has buckled and only the loose pack resists.
    laps : int
        Computed laps.

    Returns
    -------
    WoundLaps
        The ball on its mandrel.

    Raises
    ------
    BadInput
        If a value is out of its range.

    Notes
    -----
    Each lap is laid at its winding stress and no pressure; then forces are balanced over all laps
    so far. With slack modulus = hoop modulus this is the wound cylinder of `clew.ball.size.stress`.
    Second order in 1 / laps. Small strains. The slack modulus is assumed: common practice has none,
    no published source. Source: DERIVED.
    """
    bore, outer = 0.5 * bore_diameter_mm, 0.5 * outer_diameter_mm
    check_wall(bore, outer, math.inf, laps)
    slack = slack_modulus_kpa
    if slack is None:
        slack = min(pack.radial.c0_kpa, pack.hoop_modulus_kpa)
    if not 0.0 < slack <= pack.hoop_modulus_kpa:
        raise BadInput(
            Fault(
                say("out of range"),
                expected=say(
                    "above 0 and up to the hoop modulus, {hoop_modulus_kpa:g} kPa",
                    hoop_modulus_kpa=pack.hoop_modulus_kpa,
                ),
                key="slack_modulus_kpa",
                value=str(slack),
            )
        )
    radii = bore * (outer / bore) ** (np.arange(laps + 1) / laps)
    stress = stress_by_lap(0.5 * (radii[1:] + radii[:-1]), bore, outer, winding_stress_kpa)
    largest = float(stress.max())
    law = _law(pack.hoop_modulus_kpa, slack, pack.radial, largest)
    shift, base, found = wind_laps(radii, stress, law)
    _check_found(found)
    hoop, pressure = lap_stresses(radii, shift, base, law)
    return WoundLaps(
        radii_mm=radii,
        shift_mm=shift,
        base=base,
        largest_stress_kpa=largest,
        pack=pack,
        slack_modulus_kpa=slack,
        hoop_kpa=hoop,
        pressure_kpa=pressure,
    )


def withdraw(wound: WoundLaps, *, relaxation_frac: float = 0.0) -> Released:
    """Draw the mandrel out of a wound ball.

    Parameters
    ----------
    wound : WoundLaps
        The ball on its mandrel.
    relaxation_frac : float
        Share of its tension that the strand has lost at rest [-], 0 to below 1.

    Returns
    -------
    Released
        Bore, outside and stress of the free ball.

    Raises
    ------
    BadInput
        If the share is out of its range.

    Notes
    -----
    The stored energy of hoops (modulus in tension times 1 - relaxation, small modulus when slack)
    and of squeezed laps (pressure never below 0) is convex, so the balance is one and is found by
    Newton's method. A free ring of hoops that only pull holds no stress at all, because the hoop
    stress over its wall must sum to nothing: as the slack modulus goes to 0 every lap goes slack.
    Small strains; the bore stops when it is shut. Source: DERIVED.
    """
    if not 0.0 <= relaxation_frac < 1.0:
        raise BadInput(
            Fault(
                say("out of range"),
                expected=say("a share from 0 to below 1"),
                key="relaxation_frac",
                value=str(relaxation_frac),
            )
        )
    hoop_modulus = (1.0 - relaxation_frac) * wound.pack.hoop_modulus_kpa
    slack = min(wound.slack_modulus_kpa, hoop_modulus)
    law = _law(hoop_modulus, slack, wound.pack.radial, wound.largest_stress_kpa)
    radii = wound.radii_mm
    shift, found, closed = withdraw_mandrel(radii, wound.shift_mm, wound.base, law)
    _check_found(found)
    hoop, pressure = lap_stresses(radii, shift, wound.base, law)
    settled = float(shift[-1] - wound.shift_mm[-1])
    return Released(
        bore_diameter_mm=max(0.0, 2.0 * float(radii[0] + shift[0])),
        outer_diameter_mm=2.0 * (float(radii[-1]) + settled),
        slack_frac=_slack_share(radii, hoop),
        bore_closed=bool(closed),
        hoop_kpa=hoop,
        pressure_kpa=pressure,
    )


def _law(
    hoop_modulus: float, slack_modulus: float, radial: RadialModulus, largest_stress: float
) -> NDArray[np.float64]:
    """Lay the moduli out as the compiled loops take them."""
    cap = PRESSURE_CAP * largest_stress
    return np.array([hoop_modulus, slack_modulus, radial.c0_kpa, radial.c1, radial.c2_per_kpa, cap])


def _slack_share(radii: NDArray[np.float64], hoop: NDArray[np.float64]) -> float:
    """Share of the wall without tension, taking hoop stress straight between lap middles."""
    middle = np.concatenate([radii[:1], 0.5 * (radii[1:] + radii[:-1]), radii[-1:]])
    stress = np.concatenate([hoop[:1], hoop, hoop[-1:]])
    low, high = np.minimum(stress[:-1], stress[1:]), np.maximum(stress[:-1], stress[1:])
    rise = np.where(high > low, high - low, 1.0)
    slack = np.where(high <= 0.0, 1.0, np.where(low > 0.0, 0.0, -low / rise))
    return float(slack @ np.diff(middle) / (radii[-1] - radii[0]))


def _check_found(found: bool) -> None:
    if not found:
        raise BadInput(
            Fault(
                say("no balance of forces found for this ball"),
                expected=say("moduli and a winding stress within a million of each other"),
            )
        )
