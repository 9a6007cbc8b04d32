"""Which chart sees a shift soonest for so many false alarms a week: the lead's wish, answered.

Every kind of chart is first set so that it gives exactly the false alarms allowed; only then is it
asked how soon it sees the shift. So the charts are compared at the same price.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from scipy.optimize import brentq

from clew.checks.charts.choose_terms import Candidate, Choice, Wish, point_sd_g
from clew.checks.charts.run_length_chain import check_between
from clew.checks.charts.run_length_cones import (
    MOST_DRAWN,
    SEED,
    ConeRun,
    cone_cusum,
    cone_ewma,
    cone_shewhart,
)
from clew.checks.charts.run_length_ewma import ewma_width_for
from clew.checks.charts.set_to_alarms import (
    SIMPLEST,
    Kind,
    mean_later,
    mean_run,
    set_to,
    shifted_chain,
)
from clew.faults import BadInput, Fault

LEAST_GROUPS = 10.0
MOST_GROUPS = 1e6
ALIKE = 1.01
_MOST_SHIFT = 12.0


def choose_chart(wish: Wish, groups: Sequence[int] = (1, 3, 5), *, seed: int = SEED) -> Choice:
    """Compare charts and group sizes for a wish.

    Parameters
    ----------
    wish : Wish
        What is asked for.
    groups : sequence of int
        Group sizes to compare, 1 to 100, at most twelve.
    seed : int
        Seed of the balls drawn where cones are shared.

    Returns
    -------
    Choice
        The best chart and the others.

    Raises
    ------
    BadInput
        When a value is out of range, or no group size leaves ten groups to a false alarm.

    Notes
    -----
    The variance of a group mean is cone² Σp² + ball²/n, p the share of each cone in it. Groups are
    taken as independent of each other: that needs each to come from other cones than the last. Only
    such charts are chosen from; `cones` tells the false alarms of one that is not. Source: DERIVED.
    """
    sizes = _checked(wish, groups)
    if wish.balls_a_cone is not None and wish.interval_balls is None and wish.cone_sd_g > 0.0:
        # one mean a cone is the smallest group that is independent of the next
        sizes = sorted({*sizes, min(wish.balls_a_cone, 100)})
    table: list[Candidate] = []
    left_out: list[str] = []
    for size in sizes:
        interval = wish.interval_balls or size
        quiet = wish.balls_a_week / interval / wish.false_alarms_a_week
        if size > interval:
            left_out.append(f"groups of {size}: larger than the {interval} balls between groups")
        elif quiet < LEAST_GROUPS:
            left_out.append(f"groups of {size}: only {quiet:.3g} groups to a false alarm")
        elif quiet > MOST_GROUPS:
            left_out.append(f"groups of {size}: more than a million groups to a false alarm")
        else:
            table += [_candidate(wish, kind, size, interval, quiet) for kind in SIMPLEST]
    if not table:
        raise BadInput(
            Fault(
                "no chart to compare",
                f"{LEAST_GROUPS:g} to a million groups weighed between false alarms",
                key="groups",
                value="; ".join(left_out),
            )
        )
    table.sort(key=lambda one: (one.balls_mean, SIMPLEST.index(one.chart), one.group_size))
    apart = [one for one in table if one.apart] or table
    alike = [one for one in apart if one.balls_mean <= ALIKE * apart[0].balls_mean]
    best = min(
        alike, key=lambda one: (SIMPLEST.index(one.chart), one.weighed_a_week, one.balls_mean)
    )
    kinds = {best.chart}
    others = []
    for one in apart:
        if one.chart not in kinds:
            kinds.add(one.chart)
            others.append(one)
    can = best.apart and best.balls_mean <= wish.within_balls
    sharing = next((one for one in table if not one.apart), None)
    return Choice(
        wish=wish,
        best=best,
        others=tuple(others),
        table=tuple(table),
        can=can,
        seen_g=_seen_g(wish, best),
        false_alarms_needed=None if can or not best.apart else _alarms_needed(wish, best),
        sharing=sharing,
        cones=None if sharing is None else _cone_run(wish, sharing, seed),
        left_out=tuple(left_out),
    )


def _checked(wish: Wish, groups: Sequence[int]) -> list[int]:
    check_between("balls_a_week", wish.balls_a_week, 1.0, 1e8, "balls made a week")
    check_between("false_alarms_a_week", wish.false_alarms_a_week, 1e-4, 1e4, "false alarms a week")
    check_between("shift_g", wish.shift_g, 1e-6, 1e6, "a shift in g")
    check_between("within_balls", wish.within_balls, 1.0, 1e7, "balls made")
    check_between("ball_sd_g", wish.ball_sd_g, 1e-6, 1e6, "a standard deviation in g")
    check_between("cone_sd_g", wish.cone_sd_g, 0.0, 1e6, "a standard deviation in g")
    check_between("cones_a_group", wish.cones_a_group, 1, 100, "cones")
    if wish.balls_a_cone is not None:
        check_between("balls_a_cone", wish.balls_a_cone, 1, 1000, "balls from one cone")
    if wish.interval_balls is not None:
        check_between("interval_balls", wish.interval_balls, 1, 1_000_000, "balls made")
    check_between("groups", len(set(groups)), 1, 12, "a list of group sizes, long")
    for size in groups:
        check_between("groups", size, 1, 100, "balls a group")
    return sorted(set(groups))


def _candidate(wish: Wish, kind: Kind, size: int, interval: int, quiet: float) -> Candidate:
    sd = point_sd_g(wish, size)
    shift = min(wish.shift_g / sd, _MOST_SHIFT)
    terms = set_to(kind, quiet, shift)
    chain = shifted_chain(kind, terms, shift)
    wished = math.floor(wish.within_balls / interval + 1e-9)
    # past the nine-in-ten point by far a call is certain; no need to follow it there
    ninety = chain.quantile(0.9)
    seen = 1.0 if wished > 50 * ninety else max(1.0 - float(chain.silence(wished)[-1]), 0.0)
    return Candidate(
        chart=kind,
        group_size=size,
        interval_balls=interval,
        point_sd_g=sd,
        shift_sd=shift,
        quiet_groups=quiet,
        terms=terms,
        balls_mean=interval * mean_run(kind, terms, shift),
        balls_ninety=float(interval * ninety),
        balls_mean_later=interval * mean_later(kind, terms, shift),
        chance_within=seen,
        weighed_a_week=wish.balls_a_week * size / interval,
        apart=wish.cone_sd_g == 0.0 or _apart(wish.balls_a_cone or 1, size, interval),
    )


def _apart(balls_a_cone: int, size: int, interval: int) -> bool:
    """Whether no two groups in a row can share a cone.

    Too far apart for it; or whole cones lie between their starts, and each begins with a cone.
    """
    return balls_a_cone <= interval - size + 1 or interval % balls_a_cone == 0


def _crossing(excess: Callable[[float], float], low: float, high: float) -> float | None:
    if excess(low) * excess(high) > 0.0:
        return None
    return float(brentq(excess, low, high, xtol=1e-6))


def _seen_g(wish: Wish, best: Candidate) -> float | None:
    """Shift that the chart, as it is set, sees within the balls wished on average."""
    goal = wish.within_balls / best.interval_balls

    def excess(shift: float) -> float:
        return mean_run(best.chart, best.terms, shift) - goal

    shift = _crossing(excess, 0.0, _MOST_SHIFT)
    return None if shift is None else shift * best.point_sd_g


def _alarms_needed(wish: Wish, best: Candidate) -> float | None:
    """False alarms a week at which this kind with this group has the wish."""
    goal = wish.within_balls / best.interval_balls

    def excess(log_quiet: float) -> float:
        quiet = math.exp(log_quiet)
        terms = dict(best.terms)
        if best.chart == "ewma":
            terms["width"] = ewma_width_for(quiet, terms["weight"])
        else:
            terms = set_to(best.chart, quiet, best.shift_sd)
        return mean_run(best.chart, terms, best.shift_sd) - goal

    found = _crossing(excess, math.log(LEAST_GROUPS), math.log(best.quiet_groups))
    if found is None:
        return None
    return wish.balls_a_week / best.interval_balls / math.exp(found)


def _cone_run(wish: Wish, one: Candidate, seed: int) -> ConeRun | None:
    """What the false alarms become when groups in a row share a cone."""
    balls = wish.balls_a_cone or 1
    points = max(2, round(balls / one.interval_balls))
    if one.chart == "xbar-rules" or wish.cones_a_group > 1 or one.quiet_groups > MOST_DRAWN:
        return None
    if balls < one.interval_balls:
        return None  # neighbours share a part of a cone only
    rho = min(wish.cone_sd_g**2 / one.point_sd_g**2, 0.99)
    terms = one.terms
    if one.chart == "xbar":
        return cone_shewhart(terms["width"], balls_a_cone=points, rho=rho)
    if one.chart == "ewma":
        return cone_ewma(terms["weight"], terms["width"], balls_a_cone=points, rho=rho, seed=seed)
    return cone_cusum(terms["k"], terms["h"], balls_a_cone=points, rho=rho, seed=seed)
