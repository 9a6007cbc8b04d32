"""The balance of a ball whose hoops go slack: one-dimensional finite elements, compiled.

Each lap is an element between two borders. Its hoop stress follows its hoop strain with one modulus
in tension and a far smaller one when slack; its radial pressure follows its squeeze along the
stiffening law of the pack and cannot pull. Both laws rise, so the stored energy is convex and there
is one balance; Newton's method finds it, with the slope along each step watched.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

_PULL = 1e-6
"""Radial stiffness of a gap between laps, as a share of c0: holds loose laps in their place."""
_ROUNDS = 80
"""Most Newton steps for one balance; 3 to 15 are usual."""
_HALVINGS = 40
"""Most halvings of one step."""
PRESSURE_CAP = 50.0
"""Pressure above which the radial law runs straight, over the largest winding stress."""

Body = tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]
"""Borders of the laps, their hoop strain at no movement, the law."""


@njit(cache=True)
def _full_law(law: NDArray[np.float64]) -> NDArray[np.float64]:
    """Add to the law the squeeze at its cap, from dP/d(squeeze) = c0 + c1 P + c2 P2."""
    c0, c1, c2, cap = law[2], law[3], law[4], law[5]
    slant = cap / (2.0 * c0 + c1 * cap)
    root = c1 * c1 - 4.0 * c0 * c2
    if root > 1e-12 * (c1 * c1 + 4.0 * c0 * c2):
        omega = math.sqrt(root)
        squeeze = 2.0 / omega * math.atanh(omega * slant)
    elif root < 0.0:
        omega = math.sqrt(-root)
        squeeze = 2.0 / omega * math.atan(omega * slant)
    else:
        squeeze = 2.0 * slant
    full = np.empty(7)
    full[:6] = law
    full[6] = squeeze
    return full


@njit(cache=True)
def _pressure_of(squeeze: float, law: NDArray[np.float64]) -> tuple[float, float]:
    """Pressure and its slope at a squeeze; a straight line above the cap keeps it finite."""
    c0, c1, c2, cap, cap_squeeze = law[2], law[3], law[4], law[5], law[6]
    if squeeze < 0.0:
        return _PULL * c0 * squeeze, _PULL * c0
    if squeeze > cap_squeeze:
        slope = c0 + cap * (c1 + cap * c2)
        return cap + slope * (squeeze - cap_squeeze), slope
    root = c1 * c1 - 4.0 * c0 * c2
    if root > 1e-12 * (c1 * c1 + 4.0 * c0 * c2):
        omega = math.sqrt(root)
        slant = math.tanh(0.5 * omega * squeeze) / omega
    elif root < 0.0:
        omega = math.sqrt(-root)
        slant = math.tan(0.5 * omega * squeeze) / omega
    else:
        slant = 0.5 * squeeze
    pressure = 2.0 * c0 * slant / (1.0 - c1 * slant)
    return pressure, c0 + pressure * (c1 + pressure * c2)


@njit(cache=True)
def _forces(
    laps: int,
    newest: int,
    shift: NDArray[np.float64],
    body: Body,
    room: NDArray[np.float64],
) -> None:
    """Out-of-balance forces at the borders and their slopes (symmetric, one off-diagonal)."""
    radii, base, law = body
    hoop, slack = law[0], law[1]
    force, main, side = room[0], room[1], room[2]
    for i in range(laps + 1):
        force[i] = 0.0
        main[i] = 0.0
    for j in range(laps):
        thick = radii[j + 1] - radii[j]
        middle = 0.5 * (radii[j + 1] + radii[j])
        # The newest lap was laid while it grew: on the mean it has followed half of the movement.
        follow = 0.5 if j == newest else 1.0
        strain = base[j] + follow * 0.5 * (shift[j] + shift[j + 1]) / middle
        modulus = hoop if strain > 0.0 else slack
        pull = 0.5 * thick * modulus * strain
        pressure, radial = _pressure_of((shift[j] - shift[j + 1]) / thick, law)
        push = middle * pressure
        force[j] += pull + push
        force[j + 1] += pull - push
        along = follow * 0.25 * thick * modulus / middle
        across = middle * radial / thick
        main[j] += along + across
        main[j + 1] += along + across
        side[j] = along - across


@njit(cache=True)
def _newton_move(laps: int, start: int, room: NDArray[np.float64]) -> float:
    """Newton's step from forces and slopes, by elimination; gives the slope along it."""
    force, main, side = room[0], room[1], room[2]
    move, carry = room[3], room[5]
    carry[start] = side[start] / main[start]
    move[start] = -force[start] / main[start]
    for i in range(start + 1, laps + 1):
        pivot = main[i] - side[i - 1] * carry[i - 1]
        if i < laps:
            carry[i] = side[i] / pivot
        move[i] = (-force[i] - side[i - 1] * move[i - 1]) / pivot
    for i in range(laps - 1, start - 1, -1):
        move[i] -= carry[i] * move[i + 1]
    if start == 1:
        move[0] = 0.0
    slope = 0.0
    for i in range(start, laps + 1):
        slope += force[i] * move[i]
    return slope


@njit(cache=True)
def _balance(
    laps: int,
    shift: NDArray[np.float64],
    body: Body,
    task: tuple[int, int, float],
    room: NDArray[np.float64],
) -> bool:
    """Move the borders until forces balance; tell if they do.

    The task is the newest lap (-1 for none), the first border that may move, and the force that
    counts as none.
    """
    newest, start, goal = task
    force, move, trial = room[0], room[3], room[4]
    _forces(laps, newest, shift, body, room)
    for _ in range(_ROUNDS):
        worst = 0.0
        for i in range(start, laps + 1):
            worst = max(worst, abs(force[i]))
        if worst <= goal:
            return True
        slope = _newton_move(laps, start, room)
        length = 1.0
        for _ in range(_HALVINGS):
            for i in range(laps + 1):
                trial[i] = shift[i] + length * move[i]
            _forces(laps, newest, trial, body, room)
            ahead = 0.0
            for i in range(start, laps + 1):
                ahead += force[i] * move[i]
            # The energy is convex: while it falls ahead, or is all but level, the step is good.
            if ahead <= 0.1 * abs(slope):
                break
            length *= 0.5
        for i in range(laps + 1):
            shift[i] = trial[i]
    return False


@njit(cache=True)
def wind_laps(
    radii_mm: NDArray[np.float64],
    winding_stress_kpa: NDArray[np.float64],
    law: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], bool]:
    """Lay lap on lap on a rigid mandrel, letting laps go slack as they may.

    Parameters
    ----------
    radii_mm : array of float, shape (n + 1,)
        Borders of the laps from core to surface [mm].
    winding_stress_kpa : array of float, shape (n,)
        Winding stress of each lap [kPa].
    law : array of float, shape (6,)
        Hoop modulus in tension and when slack, c0, c1, c2 of the radial modulus, and the pressure
        above which the radial law runs straight [kPa].

    Returns
    -------
    tuple
        Movement of each border [mm]; hoop strain of each lap at no movement [-]; whether every
        balance was found.
    """
    laps = radii_mm.shape[0] - 1
    shift = np.zeros(laps + 1)
    base = np.zeros(laps)
    room = np.zeros((6, laps + 1))
    body = (radii_mm, base, _full_law(law))
    largest = winding_stress_kpa.max()
    found = True
    for j in range(laps):
        middle = 0.5 * (radii_mm[j] + radii_mm[j + 1])
        wound = winding_stress_kpa[j] / law[0]
        laid = shift[j]
        shift[j + 1] = laid
        base[j] = wound - 0.5 * laid / middle
        goal = 1e-7 * largest * (radii_mm[j + 1] - radii_mm[j])
        found = _balance(j + 1, shift, body, (j, 1, goal), room) and found
        followed = 0.5 * (0.5 * (shift[j] + shift[j + 1]) - laid) / middle
        base[j] = wound + followed - 0.5 * (shift[j] + shift[j + 1]) / middle
    return shift, base, found


@njit(cache=True)
def withdraw_mandrel(
    radii_mm: NDArray[np.float64],
    shift_mm: NDArray[np.float64],
    base: NDArray[np.float64],
    law: NDArray[np.float64],
) -> tuple[NDArray[np.float64], bool, bool]:
    """Let the bore go free, and stop it where it closes.

    Parameters
    ----------
    radii_mm : array of float, shape (n + 1,)
        Borders of the laps [mm].
    shift_mm : array of float, shape (n + 1,)
        Movement of each border to start from [mm].
    base : array of float, shape (n,)
        Hoop strain of each lap at no movement [-].
    law : array of float, shape (6,)
        Hoop modulus in tension and when slack, c0, c1, c2 of the radial modulus, and the pressure
        above which the radial law runs straight [kPa].

    Returns
    -------
    tuple
        Movement of each border [mm]; whether the balance was found; whether the bore closed.
    """
    laps = radii_mm.shape[0] - 1
    shift = shift_mm.copy()
    room = np.zeros((6, laps + 1))
    body = (radii_mm, base, _full_law(law))
    goal = 1e-9 * law[5] / PRESSURE_CAP * radii_mm[0]
    found = _balance(laps, shift, body, (-1, 0, goal), room)
    closed = radii_mm[0] + shift[0] < 0.0
    if closed:
        shift[0] = -radii_mm[0]
        found = _balance(laps, shift, body, (-1, 1, goal), room)
    return shift, found, closed


@njit(cache=True)
def lap_stresses(
    radii_mm: NDArray[np.float64],
    shift_mm: NDArray[np.float64],
    base: NDArray[np.float64],
    law: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Hoop stress and radial pressure of every lap at given movements of its borders.

    Parameters
    ----------
    radii_mm : array of float, shape (n + 1,)
        Borders of the laps [mm].
    shift_mm : array of float, shape (n + 1,)
        Movement of each border [mm].
    base : array of float, shape (n,)
        Hoop strain of each lap at no movement [-].
    law : array of float, shape (6,)
        Hoop modulus in tension and when slack, c0, c1, c2 of the radial modulus, and the pressure
        above which the radial law runs straight [kPa].

    Returns
    -------
    tuple of array of float, shape (n,)
        Hoop stress and radial pressure [kPa].
    """
    laps = radii_mm.shape[0] - 1
    full = _full_law(law)
    hoop = np.empty(laps)
    pressure = np.empty(laps)
    for j in range(laps):
        middle = 0.5 * (radii_mm[j + 1] + radii_mm[j])
        strain = base[j] + 0.5 * (shift_mm[j] + shift_mm[j + 1]) / middle
        hoop[j] = strain * (full[0] if strain > 0.0 else full[1])
        squeeze = (shift_mm[j] - shift_mm[j + 1]) / (radii_mm[j + 1] - radii_mm[j])
        found, _ = _pressure_of(squeeze, full)
        pressure[j] = max(found, 0.0)
    return hoop, pressure
