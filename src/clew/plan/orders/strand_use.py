"""What a run takes of a dye lot: metres a ball and a cone, what is spoilt, how all spread."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from clew.ball.from_mill import lot_for, strand_of
from clew.languages import say
from clew.line.layout_from_mill import layout_of
from clew.plan.orders.second_by_knots import knot_share
from clew.plan.pace import pace_of

if TYPE_CHECKING:
    from clew.mill.model import Mill

DOUBTS = {
    "count_mean": say("the mean count of the dye lot"),
    "shrink": say("the shrink of the run"),
    "winders": say("how unlike winders are in length a turn"),
    "break_rate": say("the mean rate of breaks on the cones"),
    "cone_mass": say("the mass from cone to cone"),
    "cone_count": say("the count from cone to cone"),
    "spoilt": say("what the line spoils"),
    "knots": say("which balls knots turn to second quality"),
    "part_balls": say("the part balls at the run's start and end"),
}
"""What makes it unsure how many balls cones give, in words."""


@dataclass(frozen=True, slots=True)
class StrandUse:
    """What a run of one ball takes of one dye lot, on the line that takes most.

    All metres of strand are metres before steam. What acts on the whole run alike is a standard
    deviation of a natural logarithm.

    Attributes
    ----------
    line_name : str
        The line, of those that may make it, that takes most.
    lanes : int
        Its lanes.
    ball_m, waste_m : float
        Strand in a ball, and wasted for it [m].
    cone_m : float
        Strand on a cone, less what its tie takes [m].
    cone_mass_cv, cone_count_cv : float
        Spread from cone to cone in mass and in count [1].
    count_mean_cv, shrink_cv, winders_cv, break_rate_cv : float
        Doubts that the whole run shares, each on its balls [1].
    spoilt_frac, knots_frac : float
        Shares of balls that the line spoils, and of the others that knots turn to second quality
        [1].
    spoilt_variance, knots_variance : float
        Variance of their numbers over balls wound [balls].
    balls_per_h : float
        Balls in an hour of the fastest of the lines, of any quality [1/h].
    cone_mass_g : float
        Mean mass of a cone [g].
    """

    line_name: str
    lanes: int
    ball_m: float
    waste_m: float
    cone_m: float
    cone_mass_cv: float
    cone_count_cv: float
    count_mean_cv: float
    shrink_cv: float
    winders_cv: float
    break_rate_cv: float
    spoilt_frac: float
    knots_frac: float
    spoilt_variance: float
    knots_variance: float
    balls_per_h: float
    cone_mass_g: float

    @property
    def first_frac(self) -> float:
        """Share of first-quality balls among those wound [1]."""
        return (1.0 - self.spoilt_frac) * (1.0 - self.knots_frac)

    @property
    def balls_on_a_cone(self) -> float:
        """Balls of any quality that a mean cone gives [balls]."""
        return self.cone_m / (self.ball_m + self.waste_m)

    @property
    def shared_cv(self) -> float:
        """What the whole run shares, all together [1]."""
        return math.hypot(self.count_mean_cv, self.shrink_cv, self.winders_cv, self.break_rate_cv)

    @property
    def cone_cv(self) -> float:
        """Spread of the length of a cone [1]."""
        return math.hypot(self.cone_mass_cv, self.cone_count_cv)

    def wound_for(self, balls: float) -> float:
        """Balls wound on average for so many of first quality, the change left out [balls]."""
        return balls / self.first_frac

    def doubts(self, cones: int) -> dict[str, float]:
        """Shares of the variance of first-quality balls from so many cones, by what makes it."""
        per_cone, first = self.balls_on_a_cone, self.first_frac
        wound = max(cones * per_cone - min(self.lanes, cones), 1.0)
        run = (first * wound) ** 2
        parts = {
            "count_mean": run * self.count_mean_cv**2,
            "shrink": run * self.shrink_cv**2,
            "winders": run * self.winders_cv**2,
            "break_rate": run * self.break_rate_cv**2,
            "cone_mass": cones * (first * per_cone * self.cone_mass_cv) ** 2,
            "cone_count": cones * (first * per_cone * self.cone_count_cv) ** 2,
            "spoilt": wound * self.spoilt_variance,
            "knots": wound * self.knots_variance,
            "part_balls": first**2 * min(self.lanes, cones) / 6.0,
        }
        total = sum(parts.values())
        return {name: part / total if total else 0.0 for name, part in parts.items()}


def strand_use(
    mill: Mill, ball_name: str, lot_name: str, lines: Sequence[str], *, seed: int = 1
) -> StrandUse:
    """Read off a mill what a run takes of a dye lot.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name, lot_name : str
        The ball, and the dye lot; an empty lot is one yet to be dyed, of the nominal count.
    lines : sequence of str
        Lines that may make it; the one whose cones give the fewest first-quality balls counts.
    seed : int
        Seed of the simulated shifts.

    Returns
    -------
    StrandUse
        Metres, shares, spreads.

    Raises
    ------
    BadInput
        When a name is not in the mill, or a line cannot make the ball.

    Notes
    -----
    Source: DERIVED. Turns are fixed, so a ball takes the same length after steam whatever the
    cone; before steam that is longer by 1/(1 - shrink). A cone is wound to a mass, so its length
    is mass over count: spread of cone mass and of count from cone to cone act on it, and the doubt
    in the lot's mean count and in the run's shrink act on all cones alike. Count within a cone,
    regain, finish and tension move the mass of a ball, not how many a cone gives. Winders unlike
    in length a turn average out over the lanes. What the line spoils and wastes is that of the
    ball in nominal yarn (`clew.plan.pace`).
    """
    ball = mill.find_ball(ball_name)
    yarn = mill.find_yarn(ball.yarn)
    dye_lot = lot_for(mill, ball, lot_name) if lot_name else None
    strand = strand_of(yarn, mill.find_blend(yarn.blend), dye_lot)
    spreads = {spread.key: spread.cv for spread in strand.spreads}
    knots = knot_share(mill, ball_name, lot_name)
    tie_m = mill.knots.join_length_m / (1.0 - strand.shrink_frac)
    found = []
    for line_name in lines:
        layout = layout_of(mill, line_name, ball_name, lot_name)
        pace = pace_of(mill, line_name, ball_name, seed=seed)
        measures = pace.answer.measures
        made = max(measures["balls"].mean, 1e-9)
        found.append(
            StrandUse(
                line_name=pace.line_name,
                lanes=layout.lanes,
                ball_m=layout.ball_m,
                waste_m=pace.waste_m_per_ball,
                cone_m=max(layout.cone_m - tie_m, 1e-6),
                cone_mass_cv=yarn.cone_mass_cv,
                cone_count_cv=yarn.count_cone_cv,
                count_mean_cv=spreads["count_mean"],
                shrink_cv=spreads["shrink"],
                winders_cv=ball.turn_length_cv / math.sqrt(layout.lanes),
                break_rate_cv=knots.rate_sd / max(1.0 - knots.frac, 1e-9),
                spoilt_frac=min(max(1.0 - pace.first_frac, 0.0), 1.0 - 1e-9),
                knots_frac=min(knots.frac, 1.0 - 1e-9),
                spoilt_variance=measures["second_balls"].sd ** 2 / made,
                knots_variance=knots.ball_variance,
                balls_per_h=pace.balls_per_h,
                cone_mass_g=yarn.cone_mass_g,
            )
        )
    # a line with more lanes begins and ends with more part balls
    return min(found, key=lambda one: (one.first_frac * one.balls_on_a_cone, -one.lanes))
