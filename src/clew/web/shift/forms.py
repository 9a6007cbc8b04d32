"""Places of the drawn line in its two forms, a wide and a narrow one."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Form:
    """Places of a form of the drawing, from left to right, in its own units.

    Attributes
    ----------
    key : str
        Its name.
    width, top, row : float
        Width, height over the first lane, and height of a lane.
    creel_aisle, winder_aisle, aside : float
        Where hands stand, and how far each keeps to his own side.
    cone, cone_step : float
        The cone that runs, and from one tied cone to the next, towards the aisle.
    feed, belt_from, belt_to : float
        Feed rollers and ends of the belt.
    buffer, buffer_wide, buffer_high : float
        Left end and size of the buffer.
    winder, ball_least, ball_most : float
        Middle of the winder, and radii of an empty mandrel and a full ball.
    number, words : float
        Where a winder's number and its words stand.
    text, small : float
        Size of the words, and of the lesser ones.
    below : bool
        Whether the words stand under the lane, not beside it.
    """

    key: str
    width: float
    top: float
    row: float
    creel_aisle: float
    cone: float
    cone_step: float
    feed: float
    belt_from: float
    belt_to: float
    buffer: float
    buffer_wide: float
    buffer_high: float
    winder: float
    ball_least: float
    ball_most: float
    winder_aisle: float
    aside: float
    number: float
    words: float
    text: float
    small: float
    below: bool


WIDE = Form(
    key="wide", width=1000, top=36, row=76, creel_aisle=24, cone=130, cone_step=22, feed=166,
    belt_from=186, belt_to=504, buffer=526, buffer_wide=62, buffer_high=48, winder=642,
    ball_least=9, ball_most=30, winder_aisle=706, aside=8, number=754, words=786,
    text=19, small=16.5, below=False,
)  # fmt: skip
NARROW = Form(
    key="narrow", width=400, top=30, row=98, creel_aisle=15, cone=70, cone_step=11, feed=88,
    belt_from=98, belt_to=226, buffer=240, buffer_wide=46, buffer_high=40, winder=328,
    ball_least=7, ball_most=25, winder_aisle=380, aside=4, number=34, words=58,
    text=16, small=15.6, below=True,
)  # fmt: skip
