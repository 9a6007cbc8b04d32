"""What cases and pallets weigh, net and gross, as the mill packs them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from clew.ledger.shipping.packed import CaseKept
from clew.mill.balls import Ball
from clew.mill.model import Mill
from clew.plan.packing.ball_block import block_of


class Masses:
    """Masses of one mill's packages; each ball is worked out once.

    Parameters
    ----------
    mill : Mill
        The mill; its ``pack`` says what bags, cases and the pallet weigh.

    Notes
    -----
    Net is what the bands declare. Gross is what a scale would show: balls as `clew.plan.packing`
    weighs them, wound to their target and with their bands; a bag for every ``balls_per_bag`` of
    them or part of it; the case; the pallet. Source: DERIVED, a sum. What was weighed on the line
    is not in it.
    """

    def __init__(self, mill: Mill) -> None:
        self._mill = mill
        self._balls = {one.name: one for one in mill.ball}
        self._each_g: dict[str, float] = {}

    def net_g(self, cases: Sequence[CaseKept]) -> float | None:
        """Declared mass of the balls in some cases [g]; None where a ball is not in the mill."""
        total = 0.0
        for one in cases:
            ball = self._balls.get(one.ball_name)
            if ball is None:
                return None
            total += one.balls * ball.declared_mass_g
        return total

    def gross_g(self, cases: Sequence[CaseKept]) -> float | None:
        """Mass of some cases [g]; None where one is not known."""
        each = [self.case_gross_g(one.ball_name, one.balls) for one in cases]
        known = [one for one in each if one is not None]
        return sum(known) if len(known) == len(each) else None

    def pallet_gross_g(self, cases: Sequence[CaseKept]) -> float | None:
        """Mass of a pallet with some cases on it [g]; None where one is not known."""
        gross = self.gross_g(cases)
        return None if gross is None else gross + self._mill.pack.pallet.tare_mass_g

    def case_gross_g(self, ball_name: str, balls: int) -> float | None:
        """Mass of a case [g]; None where the ball's packing names no case of the mill."""
        ball = self._balls.get(ball_name)
        if ball is None:
            return None
        size = next((one for one in self._mill.pack.case if one.name == ball.packing.case), None)
        if size is None:
            return None
        if ball_name not in self._each_g:
            self._each_g[ball_name] = block_of(self._mill, ball_name).mass_g
        bags = math.ceil(balls / ball.packing.balls_per_bag)
        around = bags * self._mill.pack.bag_tare_g + size.tare_mass_g
        return balls * self._each_g[ball_name] + around


def full_case(ball: Ball) -> int:
    """Balls that make a full case."""
    return ball.packing.balls_per_bag * ball.packing.bags_per_case
