"""What bag, case and pallet weigh and how much room they take on the way."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.plan.packing.ball_block import BallBlock, Box


@dataclass(frozen=True, slots=True)
class Shipped:
    """Masses and volume of one unit.

    Attributes
    ----------
    balls : int
        Balls in it.
    declared_g : float
        What their bands say [g].
    yarn_g : float
        Their yarn as a scale shows it [g].
    net_g : float
        That with the bands [g].
    gross_g : float
        With all that is round them [g].
    volume_m3 : float
        Its outside [m3].
    """

    balls: int
    declared_g: float
    yarn_g: float
    net_g: float
    gross_g: float
    volume_m3: float


def shipped(block: BallBlock, balls: int, tare_g: float, outside_mm: Box) -> Shipped:
    """Weigh a unit: its balls, and all that is round them.

    Parameters
    ----------
    block : BallBlock
        One ball.
    balls : int
        Balls in the unit.
    tare_g : float
        Film, cases, pallet round them [g].
    outside_mm : tuple of float
        Its outside [mm].

    Returns
    -------
    Shipped
        Declared, net and gross mass, volume.
    """
    net = balls * block.mass_g
    return Shipped(
        balls=balls,
        declared_g=balls * block.declared_mass_g,
        yarn_g=balls * block.yarn_mass_g,
        net_g=net,
        gross_g=net + tare_g,
        volume_m3=math.prod(outside_mm) / 1e9,
    )
