"""What the cost of a ball rests on: yarn, hours, losses, prices, each from its own room."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from clew.ball.from_mill import terms_of
from clew.ball.turns import TurnsAnswer, laid_length_for, set_turns
from clew.faults import BadInput, Fault
from clew.knots.cutting import CutPrices
from clew.knots.from_mill import knot_terms
from clew.knots.price import Band, LimitQuestion, price_of_limits
from clew.languages import say
from clew.line.heat.answer import HeatMoney, heat_balance
from clew.line.heat.from_mill import heat_terms
from clew.line.improve.money import ShiftPrices, shift_cost, shift_prices_of
from clew.line.simulate.measures import MEASURES
from clew.mill.model import Mill
from clew.plan.pace import Pace, pace_of

_STRAND_M = 5e5
"""Strand drawn to price knots, as `clew knots price` draws it [m]."""
_LEAST_BALLS = 300
_LEAST_FIRST_FRAC = 1e-6
QUANTILE = 1.959964
"""97.5 % point of the normal distribution."""


@dataclass(frozen=True, slots=True)
class BallFigures:
    """What one ball takes, and what that is priced at, before anything is added up.

    "Wound" is a ball's worth of strand at the winder, whatever becomes of it.

    Attributes
    ----------
    ball_name, lot_name, line_name, currency : str
        What it is about; an empty lot is the yarn as nominal.
    declared_g, over_g, whole_turn_g : float
        Declared mass, what the mean ball is set above it, and what the last turn made whole adds
        to that [g].
    kg_per_g : float
        Yarn as it comes on cones for a gram of the promise [kg/g].
    line_waste_kg : float
        Yarn as it comes, wasted at the line for a wound ball [kg].
    yarn_per_kg, waste_per_kg : float
        Yarn as it comes, and to be rid of it [money/kg].
    hands, overhead, band : float
        Of a wound ball: hands for its time, the line's hour, the band of a full ball [money].
    steam_kwh, dryer_kwh, power_kwh : float
        Fuel for steam and for drying, and power, for a wound ball [kWh].
    fuel_per_kwh, power_per_kwh : float
        Their prices; 0 where not stated [money/kWh].
    balls_per_h : float
        Balls wound in an hour [1/h].
    line_first_frac : float
        Full balls that the line does not spoil [1].
    knot_second_frac, knot_waste_frac : float
        Shares of strand that knots turn to second-quality balls and to waste [1].
    partings : float
        Gaps parted for a wound ball [1].
    parting_each, second_fetches : float
        A parting, and what a second-quality ball fetches [money].
    first_balls, weigh_each : float
        First balls weighed in a run, and what one costs with the ball [1], [money].
    price : float or None
        Of a first-quality ball [money].
    made_a_year : int
        First-quality balls a year; 0 where not known.
    mean_g_band : Band
        The run's mean ball, 95 % [g].
    knot_second_band, knot_waste_band : Band
        The shares of strand, 95 % [1].
    pace_cv : float
        Standard deviation of the pace of one shift as a share of it [1].
    shift_h : float
        Length of a shift [h].
    notes : tuple of str
        What could not be counted, and what was assumed.
    """

    ball_name: str
    lot_name: str
    line_name: str
    currency: str
    declared_g: float
    over_g: float
    whole_turn_g: float
    kg_per_g: float
    line_waste_kg: float
    yarn_per_kg: float
    waste_per_kg: float
    hands: float
    overhead: float
    band: float
    steam_kwh: float
    dryer_kwh: float
    power_kwh: float
    fuel_per_kwh: float
    power_per_kwh: float
    balls_per_h: float
    line_first_frac: float
    knot_second_frac: float
    knot_waste_frac: float
    partings: float
    parting_each: float
    second_fetches: float
    first_balls: float
    weigh_each: float
    price: float | None
    made_a_year: int
    mean_g_band: Band
    knot_second_band: Band
    knot_waste_band: Band
    pace_cv: float
    shift_h: float
    notes: tuple[str, ...] = ()

    @property
    def mean_g(self) -> float:
        """The mean ball on the basis of the promise [g]."""
        return self.declared_g + self.over_g + self.whole_turn_g

    @property
    def ball_kg(self) -> float:
        """Yarn as it comes in a mean ball [kg]."""
        return self.mean_g * self.kg_per_g

    @property
    def knot_first_frac(self) -> float:
        """Share of strand that knots leave to first-quality balls [1]."""
        return 1.0 - self.knot_second_frac - self.knot_waste_frac

    @property
    def wound_per_first(self) -> float:
        """Balls wound for one of first quality [1]."""
        return 1.0 / (self.line_first_frac * self.knot_first_frac)

    @property
    def second_per_first(self) -> float:
        """Second-quality balls for one of first quality, changes left out [1]."""
        spoilt = (1.0 - self.line_first_frac) * self.knot_first_frac
        return self.wound_per_first * (self.knot_second_frac + spoilt)

    @property
    def cost_of_strand(self) -> float:
        """What a wound ball costs before its band [money]."""
        yarn = self.ball_kg * self.yarn_per_kg
        waste = self.line_waste_kg * (self.yarn_per_kg + self.waste_per_kg)
        heat = (self.steam_kwh + self.dryer_kwh) * self.fuel_per_kwh
        power = self.power_kwh * self.power_per_kwh
        return yarn + waste + self.hands + self.overhead + heat + power

    def at_pace(self, factor: float) -> BallFigures:
        """The same where the line winds so many times as many balls an hour [1].

        Hands, overhead and power are by the hour; heat is left as it is, for most of it goes with
        the yarn.
        """
        return replace(
            self,
            balls_per_h=self.balls_per_h * factor,
            hands=self.hands / factor,
            overhead=self.overhead / factor,
            power_kwh=self.power_kwh / factor,
        )

    def at_mean(self, mean_g: float) -> BallFigures:
        """The same with another mean ball [g]."""
        return replace(self, over_g=self.over_g + mean_g - self.mean_g)


@lru_cache(maxsize=256)
def ball_figures(
    mill: Mill,
    ball_name: str,
    lot_name: str = "",
    line_name: str = "",
    *,
    seed: int = 1,
    replications: int = 100,
) -> BallFigures:
    """Gather what the cost of a ball rests on.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name, lot_name, line_name : str
        The ball, its dye lot (empty for the yarn as nominal), the line (empty for the only one).
    seed, replications : int
        Seed of chance, and simulated shifts.

    Returns
    -------
    BallFigures
        The figures; asked for again, they are not worked out again.

    Raises
    ------
    BadInput
        When a name is not in the mill file, no shift can be walked, or no ball is first-quality.

    Notes
    -----
    Yarn, waste and hands are those of the simulated shift (`clew.line.improve.money.shift_cost`),
    the mean ball that of `clew.ball.turns.set_turns`, knots those of
    `clew.knots.price.price_of_limits`, heat that of `clew.line.heat.answer.heat_balance` at the
    feed that the simulated shift runs on average, stops in it. Source: DERIVED.
    """
    ball = mill.find_ball(ball_name)
    prices = mill.prices
    notes: list[str] = []
    pace = pace_of(mill, line_name, ball.name, lot_name, seed=seed, replications=replications)
    if pace.first_frac <= 0.0:
        raise _no_first(say("a shift gives no first-quality ball"), f'line "{pace.line_name}"')
    terms = terms_of(mill, ball.name, lot_name, line_name)
    turns = set_turns(terms.strand, terms.promise, terms.winding)
    layout = pace.answer.layout
    wanted_m = max(laid_length_for(terms.strand, terms.promise, terms.winding))
    wanted_g = turns.mass_g * wanted_m / turns.laid_length_m
    tex_kg = layout.count_tex * 1e-6
    steam_kwh, dryer_kwh = _fuel_kwh(mill, pace, notes)
    line = mill.find_line(line_name)
    if line.power_kw is None:
        notes.append(say("Power is not counted: power_kw is not stated for the line."))
    if prices.fuel_per_kwh is None:
        notes.append(say("Heat has no price: fuel_per_kwh is not stated."))
    if prices.power_per_kwh is None:
        notes.append(say("Power has no price: power_per_kwh is not stated."))
    fetched = shift_prices_of(mill, ball.name)
    if fetched is None:
        notes.append(
            say("No price of the ball is stated: second-quality balls are taken to fetch nothing.")
        )
    second, waste, partings, parting_each = _knots(mill, ball.name, lot_name, seed, notes)
    if 1.0 - second.value - waste.value < _LEAST_FIRST_FRAC:
        raise _no_first(
            say("joins leave no ball first-quality"), f'ball "{ball.name}"', "knot_limit"
        )
    return BallFigures(
        ball_name=ball.name,
        lot_name=lot_name,
        line_name=line.name,
        currency=prices.currency,
        declared_g=terms.promise.declared_mass_g,
        over_g=wanted_g - terms.promise.declared_mass_g,
        whole_turn_g=turns.mass_g - wanted_g,
        kg_per_g=layout.ball_m * tex_kg / wanted_g,
        line_waste_kg=pace.waste_m_per_ball * tex_kg,
        yarn_per_kg=prices.yarn_per_kg,
        waste_per_kg=prices.waste_per_kg,
        hands=_of_shift(pace, hand_per_hour=prices.hand_per_hour),
        overhead=_of_shift(pace, line_per_hour=prices.overhead_per_hour),
        band=_of_shift(pace, band_each=prices.band_each),
        steam_kwh=steam_kwh,
        dryer_kwh=dryer_kwh,
        power_kwh=(line.power_kw or 0.0) / pace.balls_per_h,
        fuel_per_kwh=prices.fuel_per_kwh or 0.0,
        power_per_kwh=prices.power_per_kwh or 0.0,
        balls_per_h=pace.balls_per_h,
        line_first_frac=pace.first_frac,
        knot_second_frac=second.value,
        knot_waste_frac=waste.value,
        partings=partings,
        parting_each=parting_each,
        second_fetches=0.0 if fetched is None else fetched.second,
        first_balls=float(mill.checks.first_balls),
        weigh_each=prices.weigh_each,
        price=ball.price,
        made_a_year=ball.made_a_year,
        mean_g_band=_mean_band(turns),
        knot_second_band=second,
        knot_waste_band=waste,
        pace_cv=pace.balls_sd_per_shift / (pace.balls_per_h * pace.shift_s / 3600.0),
        shift_h=pace.shift_s / 3600.0,
        notes=tuple(notes),
    )


def _no_first(what: str, section: str, key: str = "") -> BadInput:
    return BadInput(Fault(what, say("some of first quality"), section=section, key=key))


def _of_shift(
    pace: Pace,
    *,
    hand_per_hour: float = 0.0,
    line_per_hour: float = 0.0,
    band_each: float = 0.0,
) -> float:
    """One thing's part of the cost of a mean shift, for each ball wound in it [money]."""
    prices = ShiftPrices(
        ball=0.0,
        second=0.0,
        yarn_per_kg=0.0,
        hand_per_hour=hand_per_hour,
        band_each=band_each,
        line_per_hour=line_per_hour,
    )
    means = np.array([[pace.answer.measures[name].mean for name in MEASURES]])
    balls = pace.balls_per_h * pace.shift_s / 3600.0
    return float(shift_cost(pace.answer.layout, prices, means)[0]) / balls


def _mean_band(turns: TurnsAnswer) -> Band:
    low, high = turns.mean_mass_g_interval.low, turns.mean_mass_g_interval.high
    return Band(low, turns.mass_g, high)


def _fuel_kwh(mill: Mill, pace: Pace, notes: list[str]) -> tuple[float, float]:
    """Fuel for steam and for drying, for a wound ball [kWh]."""
    layout = pace.answer.layout
    feed = pace.answer.measures["laid_m"].mean / (layout.lanes * layout.shift_s)
    try:
        terms = replace(
            heat_terms(mill, pace.line_name, pace.ball_name, pace.lot_name), feed_m_per_s=feed
        )
        heat: HeatMoney = heat_balance(terms).money
    except BadInput as bad:
        notes.append(say("Steam and drying are not counted: {why}", why=str(bad.faults[0])))
        return 0.0, 0.0
    per_ball = 1.0 / (terms.heat_efficiency_frac * pace.balls_per_h)
    return heat.steam_kw * per_ball, max(heat.dryer_kw, 0.0) * per_ball


def _knots(
    mill: Mill, ball_name: str, lot_name: str, seed: int, notes: list[str]
) -> tuple[Band, Band, float, float]:
    """Shares of strand that go to second quality and to waste, partings for a ball, and a one's."""
    terms = knot_terms(mill, ball_name, lot_name)
    cuts = terms.look_ahead_m is not None and terms.stated_prices is not None
    prices = terms.stated_prices or CutPrices(first=0.0, second=0.0)
    if cuts:
        notes.append(
            say(
                "Joins: cut by the best plan of one who knows the whole strand; one who "
                "sees a little ahead loses more."
            )
        )
    else:
        notes.append(say("Joins: wound straight through; what breaks the rule is second-quality."))
    answer = price_of_limits(
        LimitQuestion(
            sources=terms.sources,
            rule=terms.rule,
            limits=(terms.rule.limit,),
            prices=prices,
            ball_mass_g=terms.ball_mass_g,
            breaks_band=terms.breaks_band,
            join_counts=terms.join_counts,
            habit="best" if cuts else "straight",
            strand_m=max(_STRAND_M, _LEAST_BALLS * terms.rule.ball_length_m),
            seed=seed,
        )
    )
    row = next(one for one in answer.rows if one.limit == terms.rule.limit)
    ball_km = terms.rule.ball_length_m / 1000.0
    return row.second_share, row.waste_frac, row.partings_per_km.value * ball_km, prices.parting
