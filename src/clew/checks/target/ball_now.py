"""A ball of a mill file as its winders are set now."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from clew.ball.from_mill import Terms
    from clew.ball.turns import TurnsAnswer
    from clew.mill.balls import Ball
    from clew.mill.lines import Line
    from clew.mill.model import Mill


@dataclass(frozen=True, slots=True)
class OfMill:
    """A ball of a mill file, wound as it is now.

    Attributes
    ----------
    mill, ball : Mill, Ball
        The mill, and the ball in it.
    terms : Terms
        Its strand, promise and winding.
    answer : TurnsAnswer
        What its winders are set to.
    line : Line or None
        The line; none where none was named.
    """

    mill: Mill
    ball: Ball
    terms: Terms
    answer: TurnsAnswer
    line: Line | None = None


def wound_now(mill: Mill, ball_name: str, dye_lot: str, line_name: str = "") -> OfMill:
    """Take a ball of a mill, and what its winders are set to now.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name, dye_lot, line_name : str
        Ball, dye lot and line; empty for the yarn as spun and for no one line.

    Returns
    -------
    OfMill
        The ball as it is wound.

    Raises
    ------
    BadInput
        When one of them is not in the mill file.
    """
    from clew.ball.from_mill import terms_of
    from clew.ball.turns import set_turns

    terms = terms_of(mill, ball_name, dye_lot, line_name)
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    line = mill.find_line(line_name) if line_name else None
    return OfMill(mill, mill.find_ball(ball_name), terms, answer, line)
