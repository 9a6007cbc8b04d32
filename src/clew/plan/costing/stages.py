"""The sum itself: stage by stage from the cone to the pallet, each loss at what was spent on it."""

from __future__ import annotations

from dataclasses import dataclass

from clew.languages import say
from clew.plan.costing.figures import BallFigures
from clew.plan.sequence.timed_run import Change, MoneyPart


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of a ball's way.

    Attributes
    ----------
    key, words : str
        Its stable key, and what it is.
    yield_frac : float
        What goes on as first quality, share of what came [1].
    parts : tuple of MoneyPart
        What it adds to a first-quality ball.
    """

    key: str
    words: str
    yield_frac: float
    parts: tuple[MoneyPart, ...]

    @property
    def money(self) -> float:
        """What the stage adds [money]."""
        return sum(part.money for part in self.parts)


def stages_of(
    figures: BallFigures, run_balls: int, change: Change | None, pack: tuple[MoneyPart, ...]
) -> tuple[Stage, ...]:
    """Add up what a first-quality ball costs.

    Parameters
    ----------
    figures : BallFigures
        What it rests on.
    run_balls : int
        First-quality balls of a run.
    change : Change or None
        The change before it.
    pack : tuple of MoneyPart
        Packing, for a first-quality ball.

    Returns
    -------
    tuple of Stage
        Cone, line, knots, changes, packed.

    Notes
    -----
    With f the line's first-quality share, y + s + w = 1 the knots' first, second and waste shares
    of strand, W = 1/(f y) balls are wound for one: w W of them are dropped, s W and (1 - f)/f of
    them second-quality. Source: DERIVED.
    """
    return (
        _cone(figures),
        _line(figures),
        _knots(figures),
        _changes(figures, run_balls, change),
        Stage(
            "packed",
            say("band, bag, case, pallet"),
            1.0,
            (MoneyPart("band", say("the band"), figures.band), *pack),
        ),
    )


def _cone(figures: BallFigures) -> Stage:
    per_g = figures.kg_per_g * figures.yarn_per_kg
    parts = (
        MoneyPart("yarn", say("yarn in the declared ball"), figures.declared_g * per_g),
        MoneyPart("giveaway", say("giveaway: set above the declaration"), figures.over_g * per_g),
        MoneyPart(
            "whole_turn", say("giveaway: the last turn made whole"), figures.whole_turn_g * per_g
        ),
    )
    return Stage("cone", say("yarn off the cone"), 1.0, parts)


def _second_parts(
    figures: BallFigures, balls: float, key: str, which: str, fetch: str
) -> tuple[MoneyPart, ...]:
    """What so many second-quality balls cost with their bands, and apart from it what they fetch.

    Two parts, since their difference may look like a gain where balls are spoilt.
    """
    spent = MoneyPart(key, which, balls * (figures.cost_of_strand + figures.band))
    if figures.second_fetches == 0.0:
        return (spent,)
    fetched = MoneyPart(f"{key}_fetch", fetch, 0.0 - balls * figures.second_fetches)
    return spent, fetched


def _line(figures: BallFigures) -> Stage:
    spoilt = (1.0 - figures.line_first_frac) / figures.line_first_frac
    waste = figures.line_waste_kg * (figures.yarn_per_kg + figures.waste_per_kg)
    parts = (
        MoneyPart("line_waste", say("strand wasted at the line"), waste),
        MoneyPart("hands", say("hands at the line"), figures.hands),
        MoneyPart("steam", say("steam"), figures.steam_kwh * figures.fuel_per_kwh),
        MoneyPart("drying", say("drying"), figures.dryer_kwh * figures.fuel_per_kwh),
        MoneyPart("power", say("motors and fans"), figures.power_kwh * figures.power_per_kwh),
        MoneyPart("overhead", say("the line's hour"), figures.overhead),
        *_second_parts(
            figures,
            spoilt,
            "line_second",
            say("balls the line spoils"),
            say("spoilt balls fetch, off the cost"),
        ),
    )
    strand = figures.ball_kg / (figures.ball_kg + figures.line_waste_kg)
    return Stage("line", say("steam, drying, winding"), strand * figures.line_first_frac, parts)


def _knots(figures: BallFigures) -> Stage:
    wound = figures.wound_per_first
    dropped = figures.cost_of_strand + figures.ball_kg * figures.waste_per_kg
    waste = figures.knot_waste_frac * wound * dropped
    second = figures.knot_second_frac * wound
    parted = figures.partings * figures.parting_each
    parts = (
        MoneyPart("knot_waste", say("strand cut out for joins"), waste),
        *_second_parts(
            figures,
            second,
            "knot_second",
            say("balls with too many joins"),
            say("those balls fetch, off the cost"),
        ),
        MoneyPart("partings", say("partings of the strand"), wound * parted),
    )
    return Stage("knots", say("joins"), figures.knot_first_frac, parts)


def _changes(figures: BallFigures, run_balls: int, change: Change | None) -> Stage:
    words = say("changes and first balls")
    if change is None:
        each = figures.first_balls * figures.weigh_each
        weighed = MoneyPart("first_balls", say("first balls weighed and reeled"), each / run_balls)
        return Stage("changes", words, 1.0, (weighed,))
    # a plan counts a mixed ball at the price foregone; here it is what was spent, as for any other
    parts = [
        MoneyPart(_change_key(part.key), part.words, part.money / run_balls)
        for part in change.parts
        if part.key != "mixed_balls"
    ]
    mixed = change.second_balls / run_balls
    parts += _second_parts(
        figures,
        mixed,
        "change_mixed_balls",
        say("mixed balls of a change"),
        say("mixed balls fetch, off the cost"),
    )
    # by the yarn off the cone, so that the yields multiply to what leaves of it
    a_ball = figures.ball_kg + figures.line_waste_kg
    run_kg = run_balls * figures.wound_per_first * a_ball
    lost_kg = change.second_balls * a_ball + change.waste_kg
    return Stage("changes", words, run_kg / (run_kg + lost_kg), tuple(parts))


def _change_key(key: str) -> str:
    return key if key == "first_balls" else f"change_{key}"
