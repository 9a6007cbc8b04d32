"""A ball pressed flat: what thickness stays, how broad and how long it then is.

The plates flatten the hollow first; a round turns into two flats joined by half-rounds, as the
plates leave it. Nothing is squeezed out and nothing packs closer: the packed volume stays.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.languages import say

Lengths = float | NDArray[np.float64]
"""One length or many that go together."""


@dataclass(frozen=True, slots=True)
class Press:
    """How a ball is pressed to shape.

    Attributes
    ----------
    plate_gap_mm : float
        Gap of the plates when shut [mm]; it sets the thickness.
    side_gap_mm : float or None
        Gap between side plates [mm], not below the plate gap; None where the sides are free.

    Raises
    ------
    BadInput
        If a gap is not a length, or the sides stand closer than the plates.
    """

    plate_gap_mm: float
    side_gap_mm: float | None = None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.plate_gap_mm) and self.plate_gap_mm > 0.0):
            raise BadInput(_fault("plate_gap_mm", self.plate_gap_mm, say("a gap above 0 mm")))
        side = self.side_gap_mm
        if side is not None and not (math.isfinite(side) and side >= self.plate_gap_mm):
            expected = say(
                "the plate gap of {plate_gap_mm:g} mm or more", plate_gap_mm=self.plate_gap_mm
            )
            raise BadInput(_fault("side_gap_mm", side, expected))


class Pressed(NamedTuple):
    """A pressed ball, in the plates' own directions; each entry as long as what was put in.

    Attributes
    ----------
    thickness_mm : float or array
        Between the plates [mm].
    breadth_mm : float or array
        Across, in the plane of the plates [mm].
    length_mm : float or array
        Along the bore [mm].
    bore_mm : float or array
        Height of the hollow that is left [mm].
    """

    thickness_mm: Lengths
    breadth_mm: Lengths
    length_mm: Lengths
    bore_mm: Lengths


def press_ball(
    diameter_mm: Lengths, width_mm: Lengths, bore_mm: Lengths, set_frac: Lengths, press: Press
) -> Pressed:
    """Size of a ball after pressing and springing back.

    Parameters
    ----------
    diameter_mm : float or array of float, shape (n,)
        Outside of the relaxed ball [mm].
    width_mm : float or array of float, shape (n,)
        Along its bore [mm].
    bore_mm : float or array of float, shape (n,)
        Its bore [mm], below the diameter.
    set_frac : float or array of float, shape (n,)
        Share of the flattening that stays when the plates open [-], 0 to 1.
    press : Press
        The plates.

    Returns
    -------
    Pressed
        Thickness, breadth, length and what is left of the hollow.

    Notes
    -----
    t = G + (D - G)(1 - set) for a gap G below D. The girth pi D does not stretch, so the free
    breadth is t + pi (D - t)/2; side plates narrow it with the same set. The hollow gives way
    first: its height falls by as much as the thickness, down to 0, its girth kept. Net
    cross-section times length stays, so while the hollow is open the length does not change.
    Source: DERIVED; the set is assumed.
    """
    set_frac = np.asarray(set_frac, dtype=float)
    gap = np.minimum(press.plate_gap_mm, diameter_mm)
    thickness = gap + (diameter_mm - gap) * (1.0 - set_frac)
    flattened = diameter_mm - thickness
    breadth = thickness + 0.5 * math.pi * flattened
    if press.side_gap_mm is not None:
        side = np.minimum(press.side_gap_mm, breadth)
        breadth = np.maximum(side + (breadth - side) * (1.0 - set_frac), thickness)
    hollow = np.maximum(0.0, bore_mm - flattened)
    # as wide as the ball between its walls, which keep their thickness: the girth kept, or narrowed
    hollow_breadth = breadth - (thickness - hollow)
    before = 0.25 * math.pi * (np.square(diameter_mm) - np.square(bore_mm))
    after = _flat_round(thickness, breadth) - _flat_round(hollow, hollow_breadth)
    return Pressed(thickness, breadth, width_mm * before / after, hollow)


def _flat_round(height: Lengths, breadth: Lengths) -> Lengths:
    """Area of two flats joined by half-rounds."""
    return 0.25 * math.pi * np.square(height) + height * (breadth - height)


def _fault(key: str, value: float, expected: str) -> Fault:
    return Fault(say("out of range"), expected=expected, key=key, value=str(value))
