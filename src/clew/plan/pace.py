"""How fast a line makes a ball: balls an hour, simulated, with the doubt of a single shift."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import ShiftAnswer, shift_answer
from clew.mill.model import Mill

REPLICATIONS = 100
"""Simulated shifts behind a pace, where nothing else is asked."""


@dataclass(frozen=True, slots=True)
class Pace:
    """The pace of one ball on one line.

    Attributes
    ----------
    line_name, ball_name, lot_name : str
        What is made where; an empty lot is the yarn as nominal.
    shift_s : float
        Length of the shifts it was taken from [s].
    hands : int
        The crew.
    balls_per_h : float
        Balls in an hour of the shift, rests and stops in it [1/h].
    balls_per_h_low, balls_per_h_high : float
        Where 90 of 100 single shifts lie [1/h].
    balls_sd_per_shift : float
        Standard deviation of one shift's balls [balls].
    first_frac : float
        Balls that the line itself does not spoil, share of all; knots are not in it [1].
    waste_m_per_ball : float
        Strand wasted at the line for each ball, before steam [m].
    seed, replications : int
        The shifts simulated.
    answer : ShiftAnswer
        All that the simulation says.
    """

    line_name: str
    ball_name: str
    lot_name: str
    shift_s: float
    hands: int
    balls_per_h: float
    balls_per_h_low: float
    balls_per_h_high: float
    balls_sd_per_shift: float
    first_frac: float
    waste_m_per_ball: float
    seed: int
    replications: int
    answer: ShiftAnswer

    def run_s(self, balls: float) -> float:
        """Time in which so many balls of any quality are wound on average [s]."""
        return 3600.0 * balls / self.balls_per_h


def pace_of(
    mill: Mill,
    line_name: str,
    ball_name: str,
    lot_name: str = "",
    *,
    hands: int | None = None,
    seed: int = 1,
    replications: int = REPLICATIONS,
) -> Pace:
    """Simulate shifts of one ball on one line, and take the pace from them.

    Parameters
    ----------
    mill : Mill
        The mill.
    line_name, ball_name, lot_name : str
        The line (empty for the only one), the ball, the dye lot (empty for the yarn as nominal).
    hands : int, optional
        Hands in place of the line's own crew.
    seed : int
        Seed of the chance.
    replications : int
        Shifts to simulate.

    Returns
    -------
    Pace
        Asked for again with the same terms, it is not simulated again.

    Raises
    ------
    BadInput
        When a name is not in the mill file, or no shift can be walked.
    """
    layout = layout_of(mill, line_name, ball_name, lot_name, hands=hands)
    answer = _answer(layout, replications, seed)
    hours = layout.shift_s / 3600.0
    balls = answer.measures["balls"]
    made = max(balls.mean, 1e-9)
    return Pace(
        line_name=mill.find_line(line_name).name,
        ball_name=mill.find_ball(ball_name).name,
        lot_name=lot_name,
        shift_s=layout.shift_s,
        hands=layout.hands,
        balls_per_h=made / hours,
        balls_per_h_low=answer.balls_range[0] / hours,
        balls_per_h_high=answer.balls_range[1] / hours,
        balls_sd_per_shift=balls.sd,
        first_frac=answer.measures["first_balls"].mean / made,
        waste_m_per_ball=answer.measures["waste_m"].mean / made,
        seed=seed,
        replications=replications,
        answer=answer,
    )


@lru_cache(maxsize=256)
def _answer(layout: Layout, replications: int, seed: int) -> ShiftAnswer:
    return shift_answer(layout, replications=replications, seed=seed)
