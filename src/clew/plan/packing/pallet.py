"""Cases on a pallet: layers, height, mass, no case over the edge."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from clew.mill.pack_rules import Pallet
from clew.plan.packing.ball_block import Box
from clew.plan.packing.layer import Layer, best_layer

Limit = Literal["height", "mass", "no room"]


@dataclass(frozen=True, slots=True)
class PalletLoad:
    """Cases on a pallet.

    Attributes
    ----------
    layer : Layer
        One full layer.
    layers : int
        Layers, the top one perhaps not full.
    number : int
        Cases on the pallet.
    height_mm : float
        How high it stands, its deck in it [mm].
    mass_g : float
        What it weighs, itself in it [g].
    area_frac, room_frac : float
        Share of the deck, and of the room above it up to the height allowed, that is used [-].
    limited_by : {"height", "mass", "no room"}
        What keeps another layer, or another case, off.
    crossed : bool
        Whether every other layer, turned by half a turn, crosses the joints of the one below.
    """

    layer: Layer
    layers: int
    number: int
    height_mm: float
    mass_g: float
    area_frac: float
    room_frac: float
    limited_by: Limit
    crossed: bool


def load_pallet(pallet: Pallet, case_mm: Box, case_g: float) -> PalletLoad:
    """Load a pallet with equal cases, standing upright, none over the edge.

    Parameters
    ----------
    pallet : Pallet
        Deck, height and mass allowed; both with the pallet itself.
    case_mm : tuple of float
        Outside of a case: length, width, height [mm].
    case_g : float
        What a full case weighs [g].

    Returns
    -------
    PalletLoad
        With no case where none fits.

    Source: DERIVED; the layer by `clew.plan.packing.layer.best_layer`.
    """
    length, width, height = case_mm
    layer = best_layer(pallet.length_mm, pallet.width_mm, (length, width))
    room = pallet.most_height_mm - pallet.deck_mm
    by_height = math.floor(room / height + 1e-9) * layer.number
    by_mass = max(0, math.floor((pallet.most_mass_g - pallet.tare_mass_g) / case_g + 1e-9))
    number = min(by_height, by_mass)
    layers = math.ceil(number / layer.number) if layer.number else 0
    limit: Limit = "no room" if by_height == 0 else "height" if by_height <= by_mass else "mass"
    return PalletLoad(
        layer=layer,
        layers=layers,
        number=number,
        height_mm=pallet.deck_mm + layers * height,
        mass_g=pallet.tare_mass_g + number * case_g,
        area_frac=layer.used_frac,
        room_frac=number * length * width * height / (room * pallet.length_mm * pallet.width_mm),
        limited_by=limit,
        crossed=_crosses(layer),
    )


def _crosses(layer: Layer) -> bool:
    """Whether some case of the layer turned by half a turn lies over two of the layer below."""

    def corners(one: Layer) -> set[tuple[float, float, bool]]:
        return {(round(at.x_mm, 3), round(at.y_mm, 3), at.turned) for at in one.placed}

    if layer.number < 2:
        return False
    below, above = corners(_pushed(layer)), corners(_pushed(layer.mirrored()))
    return below != above


def _pushed(layer: Layer) -> Layer:
    """The layer moved into its corner, so that two can be compared."""
    left = min(one.x_mm for one in layer.placed)
    low = min(one.y_mm for one in layer.placed)
    moved = tuple(replace(one, x_mm=one.x_mm - left, y_mm=one.y_mm - low) for one in layer.placed)
    return replace(layer, placed=moved)
