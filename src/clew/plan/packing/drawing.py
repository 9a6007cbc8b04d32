"""What is drawn of a packing: rectangles in millimetres, nothing of any screen or paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from clew.languages import figure, say, say_many
from clew.plan.packing.layer import Layer
from clew.plan.packing.option import Option
from clew.quantities import LENGTH, UnitSystem, in_unit

Kind = Literal["bag", "case", "deck"]
_LEAST_SEEN_MM = 0.5
"""A strip of a box narrower than this is not drawn."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """One rectangle.

    Attributes
    ----------
    x_mm, y_mm, width_mm, height_mm : float
        Its corner and sides, y upwards [mm].
    kind : {"bag", "case", "deck"}
        What it stands for.
    turned : bool
        Whether it lies turned by a quarter.
    """

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    kind: Kind
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Drawing:
    """One picture.

    Attributes
    ----------
    key : str
        ``case_layer_1`` and on, ``case_side``, ``pallet_layer``, ``pallet_next``, ``pallet_side``.
    words : str
        What it shows.
    width_mm, height_mm : float
        Its frame: the room in the case, the deck, or the height allowed [mm].
    rects : tuple of Drawn
        What lies in it.
    """

    key: str
    words: str
    width_mm: float
    height_mm: float
    rects: tuple[Drawn, ...]


def drawings_of(
    option: Option, *, deck_mm: float, most_height_mm: float, units: UnitSystem = "metric"
) -> tuple[Drawing, ...]:
    """Draw a case from above and from the side, and a pallet likewise.

    Parameters
    ----------
    option : Option
        What is packed how.
    deck_mm, most_height_mm : float
        Height of the pallet's deck, and how high it may stand [mm].
    units : {"metric", "yard"}
        Whether its words tell millimetres or inches.

    Returns
    -------
    tuple of Drawing
        A case layer of each kind, the case's side, two pallet layers, the pallet's side.
    """
    return (*_case(option, units), *_pallet(option, deck_mm, most_height_mm, units))


def _size(size_mm: float, units: UnitSystem) -> str:
    if units == "metric":
        return figure(f"{size_mm:.0f} mm")
    return figure(f"{in_unit(size_mm / 1000.0, LENGTH, 'in'):.1f} in")


def _seen(layer: Layer, kind: Kind, most: int) -> tuple[Drawn, ...]:
    ordered = sorted(layer.placed, key=lambda one: (one.y_mm, one.x_mm))[:most]
    return tuple(
        Drawn(one.x_mm, one.y_mm, one.length_mm, one.width_mm, kind, one.turned) for one in ordered
    )


def _from_front(seen: tuple[Drawn, ...], low_mm: float, high_mm: float) -> list[Drawn]:
    """What of a layer is seen from the side at y = 0: what stands in front hides what is behind."""
    drawn: list[Drawn] = []
    for one in sorted(seen, key=lambda box: (box.y_mm, box.x_mm)):
        open_mm = [(one.x_mm, one.x_mm + one.width_mm)]
        for before in drawn:
            left, right = before.x_mm, before.x_mm + before.width_mm
            open_mm = [
                part
                for start, end in open_mm
                for part in ((start, min(end, left)), (max(start, right), end))
                if part[1] - part[0] > _LEAST_SEEN_MM
            ]
        drawn += [
            Drawn(start, low_mm, end - start, high_mm, one.kind, one.turned)
            for start, end in open_mm
        ]
    return drawn


def _case(option: Option, units: UnitSystem) -> list[Drawing]:
    fit, left = option.room.middle, option.bags_per_case
    drawn: list[Drawing] = []
    side: list[Drawn] = []
    seen: set[tuple[float, int]] = set()
    at = 0.0
    across = fit.layers[0].layer.length_mm if fit.layers else 0.0
    for one in fit.layers:
        number = min(left, one.layer.number)
        if not number:
            break
        side += _from_front(_seen(one.layer, "bag", number), at, one.thickness_mm)
        if (one.thickness_mm, number) not in seen:
            seen.add((one.thickness_mm, number))
            count = len(seen)
            drawn.append(
                Drawing(
                    f"case_layer_{count}",
                    say_many(
                        "{n} bag in a layer {size} thick",
                        "{n} bags in a layer {size} thick",
                        number,
                        size=_size(one.thickness_mm, units),
                    ),
                    one.layer.length_mm,
                    one.layer.width_mm,
                    _seen(one.layer, "bag", number),
                )
            )
        at += one.thickness_mm
        left -= number
    words = (
        say("layers stacked along the case's length"),
        say("layers stacked along the case's width"),
        say("layers stacked along the case's height"),
    )[fit.along]
    return [*drawn, Drawing("case_side", words, across, fit.inner_mm[fit.along], tuple(side))]


def _pallet(
    option: Option, deck_mm: float, most_height_mm: float, units: UnitSystem
) -> list[Drawing]:
    load, layer = option.load, option.load.layer
    high = (load.height_mm - deck_mm) / load.layers if load.layers else 0.0
    count = layer.number
    turned = layer.mirrored()
    side = [Drawn(0.0, 0.0, layer.length_mm, deck_mm, "deck")]
    top = deck_mm
    left = min(option.cases_per_pallet, load.number)
    for row in range(load.layers):
        number = min(left, count)
        if number < 1:
            break
        top = deck_mm + (row + 1) * high
        laid = turned if row % 2 and load.crossed else layer
        side += _from_front(_seen(laid, "case", number), deck_mm + row * high, high)
        left -= number
    drawn = [
        Drawing(
            "pallet_layer",
            say_many("{n} cases in a layer", "{n} cases in a layer", count),
            layer.length_mm,
            layer.width_mm,
            _seen(layer, "case", count),
        )
    ]
    if load.crossed and load.layers > 1:
        words = say("the next layer, turned by half a turn")
        drawn.append(
            Drawing(
                "pallet_next", words, layer.length_mm, layer.width_mm, _seen(turned, "case", count)
            )
        )
    words = say("{size} high with the pallet", size=_size(top, units))
    return [
        *drawn,
        Drawing("pallet_side", words, layer.length_mm, most_height_mm, tuple(side)),
    ]
