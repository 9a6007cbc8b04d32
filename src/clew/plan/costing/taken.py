"""What is taken where the one who asks does not say: the run's balls, its change, its packing."""

from __future__ import annotations

import datetime
import statistics
from collections import defaultdict

from clew.ball.from_mill import lot_for, run_size_of
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.model import Mill
from clew.plan.costing.figures import BallFigures
from clew.plan.packing.cost import pack_cost
from clew.plan.runs import PlannedRun
from clew.plan.sequence.change import ChangeBook, LineNow
from clew.plan.sequence.timed_run import Change, MoneyPart

MOST_COLOURS = 12
"""So many colours of a yarn are looked at for its mean change."""


def taken_run_balls(
    mill: Mill, figures: BallFigures, asked: int | None
) -> tuple[int, tuple[str, ...]]:
    """First-quality balls of a run, and where that comes from.

    Parameters
    ----------
    mill : Mill
        The mill.
    figures : BallFigures
        The ball.
    asked : int or None
        As asked for.

    Returns
    -------
    int, tuple of str
        As asked; or the median of the mill's orders for the ball; or what the cones at hand give.

    Raises
    ------
    BadInput
        When a run without balls is asked for.
    """
    if asked is not None:
        if asked < 1:
            raise BadInput(
                Fault(say("a run without balls"), say("1 or more"), key="balls", value=str(asked))
            )
        return asked, ()
    orders = [
        one.balls for one in mill.order if one.ball.casefold() == figures.ball_name.casefold()
    ]
    if orders:
        balls = max(round(statistics.median(orders)), 1)
        return balls, (
            say("A run is {balls} balls, the median of the mill's orders for it.", balls=balls),
        )
    ball = mill.find_ball(figures.ball_name)
    lot = lot_for(mill, ball, figures.lot_name) if figures.lot_name else None
    balls = run_size_of(mill, ball, lot, figures.line_name).balls
    if lot is not None and lot.cones:
        return balls, (
            say(
                "A run is {balls} balls, what the lot's cones in stock give: no order asks for the "
                "ball.",
                balls=balls,
            ),
        )
    return balls, (
        say(
            "A run is {balls} balls, what one creel of cones give: no order asks for the ball.",
            balls=balls,
        ),
    )


def taken_change(mill: Mill, figures: BallFigures) -> tuple[Change | None, tuple[str, ...]]:
    """Take the mean change of colour that a run of the ball begins with.

    Parameters
    ----------
    mill : Mill
        The mill.
    figures : BallFigures
        The ball, its dye lot and its line.

    Returns
    -------
    Change or None, tuple of str
        The mean over the other colours of the yarn, before the dye lot or, without one, before
        each; none where there is nothing to change from.

    Notes
    -----
    Each by `clew.plan.sequence.change`, the ball the same before and after. Source: DERIVED.
    """
    yarn = mill.find_yarn(mill.find_ball(figures.ball_name).yarn).name.casefold()
    lots = [
        (colour.name, next(lot.lot for lot in colour.dye_lot if lot.yarn.casefold() == yarn))
        for colour in mill.colour
        if any(lot.yarn.casefold() == yarn for lot in colour.dye_lot)
    ][:MOST_COLOURS]
    afters = lots
    if figures.lot_name:
        colour, lot = mill.find_dye_lot(figures.lot_name)
        afters = [(colour.name, lot.lot)]
    book = ChangeBook(mill)
    changes = [
        book.between(
            figures.line_name,
            LineNow(figures.ball_name, before),
            _run(figures.ball_name, yarn, colour_name, after),
        )
        for colour_name, after in afters
        for other, before in lots
        if other != colour_name
    ]
    if not changes:
        return None, (say("No change of colour is counted: the mill file has no second colour."),)
    words = say(
        "Each run begins with a change of colour, the mean of {n} in the mill file.", n=len(changes)
    )
    return mean_change(changes), (words,)


def mean_change(changes: list[Change]) -> Change:
    """Average changes, part by part.

    Parameters
    ----------
    changes : list of Change
        One or more; the first says its kind.

    Returns
    -------
    Change
        Their mean.
    """
    sums: dict[str, float] = defaultdict(float)
    words: dict[str, str] = {}
    for change in changes:
        for part in change.parts:
            sums[part.key] += part.money
            words.setdefault(part.key, part.words)
    number = len(changes)

    def mean(name: str) -> float:
        return sum(float(getattr(one, name)) for one in changes) / number

    return Change(
        kind=changes[0].kind,
        stand_s=mean("stand_s"),
        clean_s=mean("clean_s"),
        de00=mean("de00"),
        lightness_rise=mean("lightness_rise"),
        strand_m=mean("strand_m"),
        waste_kg=mean("waste_kg"),
        second_balls=mean("second_balls"),
        parts=tuple(MoneyPart(key, words[key], money / number) for key, money in sums.items()),
    )


def _run(ball_name: str, yarn_name: str, colour_name: str, lot_name: str) -> PlannedRun:
    return PlannedRun(
        name="",
        order_number="",
        customer="",
        ball_name=ball_name,
        yarn_name=yarn_name,
        colour_name=colour_name,
        lot_name=lot_name,
        balls=1,
        wound_balls=1.0,
        cones=1,
        due=datetime.date.max,
        priority=0.0,
        lines=(),
    )


def pack_parts(mill: Mill, ball_name: str) -> tuple[MoneyPart, ...]:
    """Packing of one first-quality ball: bag, case, pallet and the hands for them.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name : str
        The ball.

    Returns
    -------
    tuple of MoneyPart
        As `clew.plan.packing.cost.pack_cost` says, freight left out: it is paid beyond the gate.
    """
    return tuple(
        MoneyPart(f"pack_{part.key}", part.words, part.money)
        for part in pack_cost(mill, ball_name)
        if part.key != "freight"
    )
