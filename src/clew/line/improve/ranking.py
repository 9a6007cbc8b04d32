"""What one improvement is worth: each tried alone, on the same shifts as the line as it is."""

from __future__ import annotations

from dataclasses import dataclass

from clew.line.improve.changes import Change, ChangeSizes, LeftOut, changes_for
from clew.line.improve.money import ShiftPrices, checked_prices, watch_money
from clew.line.improve.paired import Progress, SideBySide, Tried, side_by_side
from clew.line.layout import Layout, checked_layout
from clew.line.simulate.answer import CONFIDENCE, Estimate


@dataclass(frozen=True, slots=True)
class Worth:
    """What one improvement is worth in a shift.

    Attributes
    ----------
    key, label : str
        As `clew.line.improve.changes.Change` has them.
    layout : Layout
        The line with it.
    balls, first_balls, second_balls : Estimate
        More full balls, of them first-quality and second-quality [1].
    money : Estimate or None
        More money left over; None without prices [money].
    cost_per_ball : Estimate or None
        More cost of a first-quality ball; None without prices [money/ball].
    told : bool
        Whether what the ranking goes by can be told from nothing.
    variance_reduction : float
        How many times fewer shifts it took for being the same ones [1].
    """

    key: str
    label: str
    layout: Layout
    balls: Estimate
    first_balls: Estimate
    second_balls: Estimate
    money: Estimate | None
    cost_per_ball: Estimate | None
    told: bool
    variance_reduction: float

    @property
    def ranked_by(self) -> Estimate:
        """Money where there are prices, first-quality balls where not."""
        return self.first_balls if self.money is None else self.money


@dataclass(frozen=True, slots=True)
class AsItIs:
    """A shift of the line as it is.

    Attributes
    ----------
    balls, first_balls, second_balls : Estimate
        Full balls, of them first-quality and second-quality [1].
    busy_frac, wait_frac : Estimate
        Shares of the hands' time in which they serve or walk, and of the winders' in which a full
        ball waits [1].
    money, cost_per_ball : Estimate or None
        Money left over, and cost of a first-quality ball; None without prices.
    """

    balls: Estimate
    first_balls: Estimate
    second_balls: Estimate
    busy_frac: Estimate
    wait_frac: Estimate
    money: Estimate | None
    cost_per_ball: Estimate | None


@dataclass(frozen=True, slots=True)
class Ranking:
    """What one improvement is worth, the best first.

    Attributes
    ----------
    layout : Layout
        The line as it is.
    prices : ShiftPrices or None
        What a shift pays and is paid.
    base : AsItIs
        A shift of it.
    worths : tuple of Worth
        By money, or by first-quality balls without prices, most first.
    left_out : tuple of LeftOut
        Improvements that this line cannot have.
    replications, seed : int
        Shifts drawn, and from what.
    confidence : float
        Chance that one interval of `worths` holds the truth, set so that those of one column all
        do together 95 times in 100 [1].
    """

    layout: Layout
    prices: ShiftPrices | None
    base: AsItIs
    worths: tuple[Worth, ...]
    left_out: tuple[LeftOut, ...]
    replications: int
    seed: int
    confidence: float


def what_to_change(
    layout: Layout,
    prices: ShiftPrices | None = None,
    *,
    replications: int = 200,
    seed: int = 1,
    cores: int | None = None,
    progress: Progress | None = None,
    sizes: ChangeSizes | None = None,
    fastest_feed_m_per_s: float | None = None,
) -> Ranking:
    """Rank what one improvement of a line is worth in a shift.

    Parameters
    ----------
    layout : Layout
        The line as it is.
    prices : ShiftPrices or None
        What a shift pays and is paid; None to rank by first-quality balls.
    replications, seed : int
        How many shifts, 2 or more, and what chance depends on.
    cores : int or None
        Threads to run on; None for all cores. The answer is the same on any number.
    progress : callable or None
        Told the shifts done, of all lines together, and their number.
    sizes : ChangeSizes or None
        How large each improvement is; None for the usual.
    fastest_feed_m_per_s : float or None
        What the feed rollers can; None where not stated [m/s].

    Returns
    -------
    Ranking
        Each improvement's worth with its interval, and those that cannot be tried.

    Raises
    ------
    BadInput
        When the layout, a price, a size, the seed or the number cannot be.

    Notes
    -----
    The line as it is runs once, and every improvement is set against the same shifts. Since the
    best of many is looked for, each interval is widened so that all of a column hold together 95
    times in 100 (Bonferroni). A stand-in is paid for the hours that the hands of the line as it is
    really rest in these shifts. Source: DERIVED from `clew.line.improve.paired`.
    """
    checked_layout(layout)
    if prices is not None:
        checked_prices(prices)
    changes, left_out = changes_for(layout, sizes, fastest_feed_m_per_s)
    watch = watch_money(prices)
    tried = [Tried(one, watch) for one in (layout, *(change.layout for change in changes))]
    found = side_by_side(
        tried, replications=replications, seed=seed, cores=cores, progress=progress
    )
    confidence = together(len(changes))
    worths = [
        _worth(found, place, one, prices is not None, confidence)
        for place, one in enumerate(changes, 1)
    ]
    return Ranking(
        layout=layout,
        prices=prices,
        base=_as_it_is(found, prices is not None),
        worths=tuple(sorted(worths, key=lambda one: -one.ranked_by.mean)),
        left_out=left_out,
        replications=replications,
        seed=seed,
        confidence=confidence,
    )


def together(number: int) -> float:
    """Confidence of each of so many intervals that all hold together as one would alone [1]."""
    return 1.0 - (1.0 - CONFIDENCE) / max(number, 1)


def told(one: Estimate) -> bool:
    """Whether an interval leaves nothing out of the question."""
    return not one.low <= 0.0 <= one.high


def _worth(found: SideBySide, place: int, change: Change, priced: bool, confidence: float) -> Worth:
    def more(name: str, base_adds: tuple[str, float] | None = None) -> Estimate:
        return found.difference(place, 0, name, confidence, base_adds=base_adds)

    money = more("contribution", ("rests", -1.0) if change.rests_paid else None) if priced else None
    by = "contribution" if priced else "first_balls"
    first = more("first_balls")
    return Worth(
        key=change.key,
        label=change.label,
        layout=found.layouts[place],
        balls=more("balls"),
        first_balls=first,
        second_balls=more("second_balls"),
        money=money,
        cost_per_ball=found.ratio_difference(
            place,
            0,
            "cost",
            "first_balls",
            confidence,
            base_adds="rests" if change.rests_paid else None,
        )
        if priced
        else None,
        told=told(first if money is None else money),
        variance_reduction=found.variance_reduction(place, 0, by),
    )


def _as_it_is(found: SideBySide, priced: bool) -> AsItIs:
    return AsItIs(
        balls=found.estimate(0, "balls"),
        first_balls=found.estimate(0, "first_balls"),
        second_balls=found.estimate(0, "second_balls"),
        busy_frac=found.estimate(0, "busy"),
        wait_frac=found.estimate(0, "waits"),
        money=found.estimate(0, "contribution") if priced else None,
        cost_per_ball=found.ratio(0, "cost", "first_balls") if priced else None,
    )
