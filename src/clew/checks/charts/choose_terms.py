"""What the lead asks of a chart, the charts compared, and the choice."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.checks.charts.run_length_cones import ConeRun
from clew.checks.charts.run_length_ewma import ewma_limit
from clew.checks.charts.set_to_alarms import Kind


@dataclass(frozen=True, slots=True)
class Wish:
    """What the lead asks for.

    Attributes
    ----------
    balls_a_week : float
        Balls made a week by what the chart watches (a winder, a line).
    false_alarms_a_week : float
        False alarms allowed, on average.
    shift_g : float
        Shift of the mean to be seen.
    within_balls : float
        Within so many balls made after it, on average.
    ball_sd_g : float
        Standard deviation of balls of one cone.
    cone_sd_g : float
        Standard deviation between cones.
    cones_a_group : int
        Cones that the balls of a group come from at a time; no more than the balls.
    interval_balls : int or None
        A group is weighed every so many balls made; None when every ball is weighed.
    balls_a_cone : int or None
        Balls that one cone gives in a row; None when each group comes from other cones.
    """

    balls_a_week: float
    false_alarms_a_week: float
    shift_g: float
    within_balls: float
    ball_sd_g: float
    cone_sd_g: float = 0.0
    cones_a_group: int = 1
    interval_balls: int | None = None
    balls_a_cone: int | None = None


@dataclass(frozen=True, slots=True)
class Candidate:
    """One chart, set to the false alarms allowed.

    Attributes
    ----------
    chart : {"xbar", "xbar-rules", "ewma", "cusum"}
        Its kind.
    group_size, interval_balls : int
        Balls a group, and balls made from one group to the next.
    point_sd_g : float
        Standard deviation of a plotted group mean.
    shift_sd : float
        The shift in those.
    quiet_groups : float
        Groups to a false alarm, on average.
    terms : dict of str to float
        `width` (xbar), `scale` (xbar-rules), `weight` and `width` (ewma), `k` and `h` (cusum), in
        sd of a plotted point.
    balls_mean : float
        Balls made from the shift to the call, on average, the chart started afresh.
    balls_ninety : float
        Within so many nine times in ten.
    balls_mean_later : float
        On average when the shift comes after the chart has long been quiet.
    chance_within : float
        Chance of a call within the balls wished.
    weighed_a_week : float
        Balls to weigh a week.
    apart : bool
        Whether each group comes from other cones than the last, so that its false alarms are those
        allowed.
    """

    chart: Kind
    group_size: int
    interval_balls: int
    point_sd_g: float
    shift_sd: float
    quiet_groups: float
    terms: dict[str, float]
    balls_mean: float
    balls_ninety: float
    balls_mean_later: float
    chance_within: float
    weighed_a_week: float
    apart: bool


@dataclass(frozen=True, slots=True)
class Choice:
    """The chart that does it best, and what else there is.

    Attributes
    ----------
    wish : Wish
        What was asked.
    best : Candidate
        The soonest on average of those that keep the false alarms although balls of one cone are
        alike; of charts alike to a hundredth the simplest.
    others : tuple of Candidate
        The best of each other kind, soonest first.
    table : tuple of Candidate
        All charts compared, soonest first.
    can : bool
        Whether the best sees the shift within the balls wished, on average, and keeps the false
        alarms. Equality can.
    seen_g : float or None
        The shift that the best chart does see within the balls wished; None when it needs more
        balls for one group.
    false_alarms_needed : float or None
        False alarms a week at which the wish can be had with this kind and group; None when it can
        be had as it is, or not at all.
    sharing : Candidate or None
        The soonest chart of those whose groups in a row share a cone, when there is one.
    cones : ConeRun or None
        False-alarm run of `sharing`, in groups; None when it is not worked out (rules, several
        cones a group, or too long a run).
    left_out : tuple of str
        Group sizes that could not be compared, with the reason.
    """

    wish: Wish
    best: Candidate
    others: tuple[Candidate, ...]
    table: tuple[Candidate, ...]
    can: bool
    seen_g: float | None
    false_alarms_needed: float | None
    sharing: Candidate | None
    cones: ConeRun | None
    left_out: tuple[str, ...]


def point_sd_g(wish: Wish, size: int) -> float:
    """Standard deviation of the mean of a group of so many balls [g]."""
    alike = 1.0 / min(wish.cones_a_group, size)
    one_by_one = wish.balls_a_cone
    if one_by_one is not None and wish.cones_a_group == 1 and size > one_by_one:
        whole, rest = divmod(size, one_by_one)  # the group begins with a cone
        alike = (whole * one_by_one**2 + rest**2) / size**2
    return math.sqrt(wish.cone_sd_g**2 * alike + wish.ball_sd_g**2 / size)


def limits_g(one: Candidate) -> dict[str, float]:
    """Where a chart's limits lie, in grams from the target.

    Parameters
    ----------
    one : Candidate
        The chart.

    Returns
    -------
    dict of str to float
        `limit_g` of xbar, ewma and the outer limit of xbar-rules; `k_g` and `h_g` of a CUSUM [g].
    """
    terms, sd = one.terms, one.point_sd_g
    if one.chart == "cusum":
        return {"k_g": terms["k"] * sd, "h_g": terms["h"] * sd}
    if one.chart == "ewma":
        return {"limit_g": ewma_limit(terms["weight"], terms["width"]) * sd}
    if one.chart == "xbar":
        return {"limit_g": terms["width"] * sd}
    return {"limit_g": 3.0 * terms["scale"] * sd}
