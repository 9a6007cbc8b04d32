"""A lane's work in closed form: an estimate at once, set beside what the simulation says."""

from __future__ import annotations

from dataclasses import dataclass

from clew.line.improve.money import ShiftPrices
from clew.line.interference.crew_cost import cheapest, crews
from clew.line.interference.finite_source import exponential_service
from clew.line.interference.synchronous import ideal_machines
from clew.line.layout import Layout

_LEAST_RUN_S = 1e-3


@dataclass(frozen=True, slots=True)
class LaneWork:
    """What one ball of one lane takes.

    Attributes
    ----------
    cycle_s : float
        From one full ball to the next when no hand is waited for [s].
    work_s : float
        A hand's work: its doff, its share of cones, breaks and colour changes, and the way to the
        creel and back for those [s].
    walk_s : float
        A hand's walk to the next lane [s].
    """

    cycle_s: float
    work_s: float
    walk_s: float

    @property
    def run_s(self) -> float:
        """The cycle without the hand's work [s]."""
        return max(self.cycle_s - self.work_s, _LEAST_RUN_S)


@dataclass(frozen=True, slots=True)
class ClosedCrew:
    """Crews by the formula of random stops.

    Attributes
    ----------
    hands : int
        The cheapest of all, however many were simulated.
    balls_per_hour : tuple of float
        Full balls with 1, 2, ... hands [1/h], to a hand a lane.
    open_end : bool
        Whether the formula's own bound on hands cut it off: then it may be more.
    """

    hands: int
    balls_per_hour: tuple[float, ...]
    open_end: bool = False


def lane_work(layout: Layout) -> LaneWork:
    """Work out what one ball of one lane takes.

    Parameters
    ----------
    layout : Layout
        The line.

    Returns
    -------
    LaneWork
        Cycle, work and walk.

    Notes
    -----
    A lane goes at the pace of its feed or of its winder, whichever takes longer over a ball; the
    feed stands at its breaks, the winder at doffs and re-ties. Source: DERIVED.
    """
    km = layout.ball_m / 1000.0
    feed_stands_s = layout.feed_breaks_per_km * km * layout.feed_mend_s
    mends_s = layout.wind_breaks_per_km * km * layout.mend_s
    loads_s = layout.ball_m / layout.cone_m * layout.load_s
    cycle_s = max(
        layout.ball_m / layout.feed_m_per_s + feed_stands_s,
        layout.ball_m / layout.wind_m_per_s + layout.doff_s + mends_s,
    )
    there_and_back_s = 2.0 * layout.across_m / layout.walk_m_per_s
    to_creel = layout.ball_m / layout.cone_m + layout.feed_breaks_per_km * km
    a_colour_s = layout.colour_tie_s + layout.change_s + there_and_back_s
    colours = len(layout.colour_at_s) * a_colour_s
    return LaneWork(
        cycle_s=cycle_s,
        work_s=layout.doff_s
        + feed_stands_s
        + mends_s
        + loads_s
        + to_creel * there_and_back_s
        + colours * cycle_s / layout.shift_s,
        walk_s=layout.spacing_m / layout.walk_m_per_s,
    )


def lanes_in_step(layout: Layout) -> float:
    """Lanes that fill one hand's time, when balls fall into step behind him [1].

    Parameters
    ----------
    layout : Layout
        The line.

    Returns
    -------
    float
        (service + fill) / (service + walk): nobody waits up to so many.

    Notes
    -----
    Source: `clew.line.interference.synchronous`.
    """
    work = lane_work(layout)
    return ideal_machines(fill_s=work.run_s, service_s=work.work_s, walk_s=work.walk_s)


def random_loss_frac(layout: Layout, lanes: int, hands: int = 1) -> float:
    """Share of a lane's output lost when lanes call at random and no buffer helps [1].

    Parameters
    ----------
    layout : Layout
        The line; its lanes and hands are not looked at.
    lanes, hands : int
        Lanes and the hands who serve them.

    Returns
    -------
    float
        Against a lane with a hand of its own.

    Notes
    -----
    Source: `clew.line.interference.finite_source`, walk added to the work.
    """
    work = lane_work(layout)
    service_s = work.work_s + work.walk_s
    row = exponential_service(lanes, hands, run_s=work.run_s, service_s=service_s)
    alone = work.run_s / (work.run_s + service_s)
    return max(1.0 - row.efficiency / alone, 0.0)


def closed_crew(layout: Layout, prices: ShiftPrices) -> ClosedCrew:
    """Find the crew that the formula of random stops calls the cheapest.

    Parameters
    ----------
    layout : Layout
        The line.
    prices : ShiftPrices
        What a shift pays and is paid.

    Returns
    -------
    ClosedCrew
        The cheapest, and balls an hour of each; no buffer, no rest, and no second-quality balls.

    Notes
    -----
    A standing lane loses what the balls it would have wound leave over. By the formula no lane
    waits with a hand a lane, so more hands are never looked at. Source:
    `clew.line.interference.crew_cost`.
    """
    work = lane_work(layout)
    a_ball = prices.ball - prices.band_each
    a_ball -= prices.yarn_per_kg * layout.ball_m * layout.count_tex * 1e-6
    service_s = work.work_s + work.walk_s
    table = crews(
        layout.lanes,
        run_s=work.run_s,
        service_s=service_s,
        cost_hand_per_hour=prices.hand_per_hour,
        cost_waiting_per_hour=max(a_ball, 0.0) * 3600.0 / work.run_s,
    )
    hands = cheapest(table).interference.hands
    return ClosedCrew(
        hands,
        tuple(one.interference.calls_per_hour for one in table),
        open_end=hands == len(table) < layout.lanes,
    )
