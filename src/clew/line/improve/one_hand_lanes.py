"""How many lanes one hand can serve before a stated share of their output is lost."""

from __future__ import annotations

from dataclasses import dataclass, replace

from clew.faults import BadInput, Fault
from clew.line.improve.closed import lanes_in_step, random_loss_frac
from clew.line.improve.money import watch_money
from clew.line.improve.paired import Progress, Tried, side_by_side
from clew.line.layout import Layout, checked_layout
from clew.line.simulate.answer import Estimate

MOST_LANES = 64
"""Most lanes that a layout has."""
LOST_FRAC = 0.05
"""Share of the lanes' output that may be lost, unless told [1]."""


@dataclass(frozen=True, slots=True)
class LanesRow:
    """One number of lanes under one hand.

    Attributes
    ----------
    lanes : int
        Lanes.
    balls : Estimate
        Full balls of a shift [1].
    lost_frac : Estimate
        Share of what so many single lanes, each with its own hand and his rests, would make [1].
    busy_frac, wait_frac : Estimate
        Shares of the hand's time in which he serves or walks, and of the winders' in which a full
        ball waits [1].
    random_lost_frac : float
        The loss by the formula of random stops, without buffers [1].
    """

    lanes: int
    balls: Estimate
    lost_frac: Estimate
    busy_frac: Estimate
    wait_frac: Estimate
    random_lost_frac: float


@dataclass(frozen=True, slots=True)
class OneHand:
    """What one hand can serve.

    Attributes
    ----------
    may_lose_frac : float
        Share of the output that may be lost [1].
    rows : tuple of LanesRow
        For 1, 2, ... lanes.
    lanes : int
        Most lanes whose mean loss is no more than that.
    surely, perhaps : int
        Most lanes whose whole interval is, and of whose interval a part is.
    in_step, at_random : float or int
        Lanes by the formulas: balls in step behind the hand, and calls at random.
    open_end : bool
        Whether the longest row tried still loses no more: then more may do too.
    replications, seed : int
        Shifts drawn, and from what.
    """

    may_lose_frac: float
    rows: tuple[LanesRow, ...]
    lanes: int
    surely: int
    perhaps: int
    in_step: float
    at_random: int
    open_end: bool
    replications: int
    seed: int


def lanes_of_one_hand(
    layout: Layout,
    *,
    may_lose_frac: float = LOST_FRAC,
    most_lanes: int | None = None,
    replications: int = 200,
    seed: int = 1,
    cores: int | None = None,
    progress: Progress | None = None,
) -> OneHand:
    """Find how many lanes one hand can serve.

    Parameters
    ----------
    layout : Layout
        The line; its own lanes and hands are not looked at.
    may_lose_frac : float
        Share of the output that may be lost [1].
    most_lanes : int or None
        Where to stop, 1 to 64; None for a little past what the formulas say.
    replications, seed : int
        How many shifts, 2 or more, and what chance depends on.
    cores : int or None
        Threads to run on; None for all cores. The answer is the same on any number.
    progress : callable or None
        Told the shifts done, of all rows together, and their number.

    Returns
    -------
    OneHand
        Every number of lanes up to the end, and the most that will do.

    Raises
    ------
    BadInput
        When the layout, the share, the seed or a number cannot be.

    Notes
    -----
    The single lane that a row is set against has the same rests of its own hand. Rests are a part
    of the loss all the same: what stood full while the one hand rested is doffed lane after lane,
    and the last to be doffed waits longest.
    """
    checked_layout(layout)
    faults = []
    if not 0.0 < may_lose_frac < 1.0:
        expected = "more than 0, less than 100 %"
        faults.append(
            Fault(
                "a loss that cannot be meant",
                expected,
                key="may_lose_frac",
                value=f"{may_lose_frac:g}",
            )
        )
    if most_lanes is not None and not 1 <= most_lanes <= MOST_LANES:
        faults.append(
            Fault(
                "lanes beyond a line", f"1 to {MOST_LANES}", key="most_lanes", value=f"{most_lanes}"
            )
        )
    if faults:
        raise BadInput(faults)
    in_step = lanes_in_step(layout)
    last = min(MOST_LANES, int(in_step) + 3) if most_lanes is None else most_lanes
    watch = watch_money(None)
    found = side_by_side(
        [Tried(replace(layout, lanes=lanes, hands=1), watch) for lanes in range(1, last + 1)],
        replications=replications,
        seed=seed,
        cores=cores,
        progress=progress,
    )
    rows = tuple(
        LanesRow(
            lanes=place + 1,
            balls=found.estimate(place, "balls"),
            lost_frac=_lost(found.mean_over(place, 0, "balls", 1.0 / (place + 1))),
            busy_frac=found.estimate(place, "busy"),
            wait_frac=found.estimate(place, "waits"),
            random_lost_frac=random_loss_frac(layout, place + 1),
        )
        for place in range(last)
    )

    def most(*losses: float) -> int:
        beyond = [place for place, loss in enumerate(losses) if not loss <= may_lose_frac]
        return beyond[0] if beyond else len(losses)

    lanes = most(*(row.lost_frac.mean for row in rows))
    return OneHand(
        may_lose_frac=may_lose_frac,
        rows=rows,
        lanes=lanes,
        surely=most(*(row.lost_frac.high for row in rows)),
        perhaps=most(*(row.lost_frac.low for row in rows)),
        in_step=in_step,
        at_random=most(*(random_loss_frac(layout, one) for one in range(1, MOST_LANES + 1))),
        open_end=lanes == last,
        replications=replications,
        seed=seed,
    )


def _lost(kept: Estimate) -> Estimate:
    return Estimate(1.0 - kept.mean, 1.0 - kept.high, 1.0 - kept.low, kept.sd)
