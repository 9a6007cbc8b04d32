"""A ball as the box it takes up, and what it weighs when it is packed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from clew.ball.from_mill import terms_of
from clew.ball.size.of_ball import size_of
from clew.ball.size.shape import BallShape, Range
from clew.ball.turns import set_turns
from clew.mill.model import Mill

Level = Literal["low", "middle", "high"]
"""Which end of what a size may be: every side at its least, in the middle, at its most."""
LEVELS: tuple[Level, ...] = ("low", "middle", "high")
Box = tuple[float, float, float]
"""Three sides at right angles [mm]."""


@dataclass(frozen=True, slots=True)
class BallBlock:
    """The box round one ball.

    Attributes
    ----------
    length_mm, breadth_mm, height_mm : Range
        Its sides [mm]: along the former bore, across, and between the plates. A ball that is not
        pressed is as broad as it is high, and as long as it is wide on the mandrel.
    pressed, measured : bool
        Whether it is pressed; whether its size rests on measured balls.
    yarn_mass_g : float
        Its yarn as a scale shows it, at the regain it leaves with [g].
    mass_g : float
        That with the band and all else that is sold with it [g].
    declared_mass_g : float
        What the band says [g].
    """

    length_mm: Range
    breadth_mm: Range
    height_mm: Range
    pressed: bool
    measured: bool
    yarn_mass_g: float
    mass_g: float
    declared_mass_g: float

    def at(self, level: Level) -> Box:
        """Sides at one end of what they may be, or in the middle [mm]."""
        return (
            side_at(self.length_mm, level),
            side_at(self.breadth_mm, level),
            side_at(self.height_mm, level),
        )


def side_at(side: Range, level: Level) -> float:
    """Read a side off its range; the middle is the measured value, or halfway where none is."""
    if level == "low":
        return side.low
    if level == "high":
        return side.high
    return 0.5 * (side.low + side.high) if side.central is None else side.central


def block_of_shape(
    shape: BallShape, yarn_mass_g: float, tare_g: float, declared_g: float
) -> BallBlock:
    """Put a box round a ball at rest, or pressed where it is pressed.

    Parameters
    ----------
    shape : BallShape
        Its size from the winder to the band.
    yarn_mass_g, tare_g, declared_g : float
        Its yarn as weighed, what goes with it, and its declared mass [g].

    Returns
    -------
    BallBlock
        Ranges as the shape has them.
    """
    flat, rest = shape.pressed, shape.relaxed
    sides = (
        (rest.width_mm, rest.diameter_mm, rest.diameter_mm)
        if flat is None
        else (flat.length_mm, flat.breadth_mm, flat.thickness_mm)
    )
    return BallBlock(
        *sides,
        pressed=flat is not None,
        measured=shape.measured,
        yarn_mass_g=yarn_mass_g,
        mass_g=yarn_mass_g + tare_g,
        declared_mass_g=declared_g,
    )


def block_of(mill: Mill, ball_name: str) -> BallBlock:
    """Box and mass of a mill's ball, of the yarn as nominal, wound to its target.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name : str
        The ball.

    Returns
    -------
    BallBlock
        The box that a bag must hold.

    Raises
    ------
    BadInput
        When there is no such ball.
    """
    ball, terms = mill.find_ball(ball_name), terms_of(mill, ball_name)
    turns = set_turns(terms.strand, terms.promise, terms.winding)
    shape = size_of(ball, terms.strand, terms.winding, turns.build)
    return block_of_shape(shape, turns.as_weighed_g, ball.tare_mass_g or 0.0, ball.declared_mass_g)
