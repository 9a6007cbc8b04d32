"""Steam and drying of a yarn on a line, answered: water, regain, heat, money, warnings."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.line.heat.crossing import crossing
from clew.line.heat.dryer import Dried, dried
from clew.line.heat.exit_doubt import ExitDoubt, exit_doubt
from clew.line.heat.heat_words import Warned, warnings_of
from clew.line.heat.steamer import Steamed, steamed
from clew.line.heat.terms import HeatDoubts, HeatTerms

_LEAST_FACTOR, _MOST_FACTOR = 0.01, 50.0


@dataclass(frozen=True, slots=True)
class HeatMoney:
    """What steam and drying take.

    Attributes
    ----------
    steam_kw, dryer_kw : float
        Heat delivered to steamer and dryer [kW].
    steam_kwh_per_kg, dryer_kwh_per_kg : float
        The same on yarn as it comes [kWh/kg].
    kwh_per_kg_water : float or None
        Heat of the dryer on the water it drives off; none where it drives off none [kWh/kg].
    fuel_kwh_per_kg : float
        Fuel for both on yarn as it comes [kWh/kg].
    money_per_kg, money_per_h : float or None
        What that costs; none where no price was stated [money/kg], [money/h].
    """

    steam_kw: float
    dryer_kw: float
    steam_kwh_per_kg: float
    dryer_kwh_per_kg: float
    kwh_per_kg_water: float | None
    fuel_kwh_per_kg: float
    money_per_kg: float | None
    money_per_h: float | None

    @property
    def steam_money_per_h(self) -> float | None:
        """The steamer's part of the money, by its part of the heat [money/h]."""
        whole = self.steam_kw + max(0.0, self.dryer_kw)
        return None if self.money_per_h is None else self.money_per_h * self.steam_kw / whole

    @property
    def dryer_money_per_h(self) -> float | None:
        """The dryer's part of the money [money/h]."""
        steam = self.steam_money_per_h
        return None if self.money_per_h is None or steam is None else self.money_per_h - steam


@dataclass(frozen=True, slots=True)
class HeatBalance:
    """Steam and drying of a yarn on a line, but for how sure that is.

    Attributes
    ----------
    terms : HeatTerms
        What was asked.
    steamed : Steamed
        The steamer.
    dried : Dried
        The dryer.
    regain_end_wanted_frac : float
        Regain at the dryer's end that cools to the one wanted [1].
    needed_s : tuple of float
        Time at constant and at falling rate to that regain [s]; infinite where the air of the
        dryer never gives it.
    money : HeatMoney
        Heat and what it costs.
    warnings : tuple of Warned
        What should be looked at.
    """

    terms: HeatTerms
    steamed: Steamed
    dried: Dried
    regain_end_wanted_frac: float
    needed_s: tuple[float, float]
    money: HeatMoney
    warnings: tuple[Warned, ...]

    @property
    def dry_enough(self) -> bool:
        """Whether the yarn comes out no damper than wanted."""
        return self.dried.regain_cooled_frac <= self.terms.regain_wanted_frac


@dataclass(frozen=True, slots=True)
class HeatAnswer(HeatBalance):
    """Steam and drying of a yarn on a line.

    Attributes
    ----------
    doubt : ExitDoubt
        How unsure the regain after the dryer is.
    """

    doubt: ExitDoubt


def heat_answer(
    terms: HeatTerms, doubts: HeatDoubts | None = None, *, draws: int = 200, seed: int = 1
) -> HeatAnswer:
    """Answer steam and drying of a yarn on a line.

    Parameters
    ----------
    terms : HeatTerms
        Yarn and line.
    doubts : HeatDoubts, optional
        How unsure the inputs are.
    draws : int
        Draws for the interval of the regain.
    seed : int
        Their seed.

    Returns
    -------
    HeatAnswer
        Steam, water, times, regain with its interval, heat, money, warnings.

    Raises
    ------
    BadInput
        When the line's steam or air cannot be.
    """
    found = heat_balance(terms)
    doubt = exit_doubt(terms, doubts, draws=draws, seed=seed)
    return HeatAnswer(**{one.name: getattr(found, one.name) for one in fields(found)}, doubt=doubt)


def heat_balance(terms: HeatTerms) -> HeatBalance:
    """Answer steam and drying of a yarn on a line, but for how sure that is.

    Parameters
    ----------
    terms : HeatTerms
        Yarn and line.

    Returns
    -------
    HeatBalance
        Steam, water, times, regain, heat, money, warnings.

    Raises
    ------
    BadInput
        When the line's steam or air cannot be.

    Notes
    -----
    The time needed holds the dryer's air as it is found. What the yarn loses as it cools is taken
    as found too, so the regain wanted at the dryer's end is the one wanted and that loss.
    """
    steam = steamed(terms)
    out = dried(terms, steam.regain_frac, steam.zone_c)
    wanted = terms.regain_wanted_frac + out.regain_after_frac - out.regain_cooled_frac
    needed = (
        (0.0, 0.0)
        if wanted >= out.regain_before_frac
        else out.law.time_s(out.regain_before_frac, wanted)
    )
    return HeatBalance(
        terms=terms,
        steamed=steam,
        dried=out,
        regain_end_wanted_frac=wanted,
        needed_s=needed,
        money=_money(terms, steam, out),
        warnings=warnings_of(terms, steam, out, sum(needed)),
    )


def calibrated(terms: HeatTerms, regain_end_frac: float) -> float:
    """Find the drying factor that makes a line's dryer give a regain that was weighed.

    Parameters
    ----------
    terms : HeatTerms
        Yarn and line as they ran; its drying factor is left out of account.
    regain_end_frac : float
        Regain weighed at the dryer's end, while hot [1].

    Returns
    -------
    float
        Drying factor [1].

    Raises
    ------
    BadInput
        When no drying factor gives that regain: it is not below the one at the dryer's mouth, or
        not above that in balance with the air.

    Notes
    -----
    Whole line solved for the factor, so that what flashes off and the air's own humidity agree
    with the regain that was weighed. Source: DERIVED.
    """
    steam = steamed(terms)

    def damper(log_factor: float) -> float:
        there = replace(terms, drying_factor=math.exp(log_factor))
        out = dried(there, steam.regain_frac, steam.zone_c)
        return out.regain_after_frac - regain_end_frac

    low, high = math.log(_LEAST_FACTOR), math.log(_MOST_FACTOR)
    slowest, fastest = damper(low) + regain_end_frac, damper(high) + regain_end_frac
    if not fastest < regain_end_frac < slowest:
        raise BadInput(
            Fault(
                say("a weighed regain that no drying rate gives here"),
                say(
                    "between {low:.3g} % and {high:.3g} %, at the dryer's end",
                    low=100 * fastest,
                    high=100 * slowest,
                ),
                key="measured_regain",
                value=f"{100 * regain_end_frac:.4g} %",
            )
        )
    return math.exp(crossing(damper, low, high, 1e-7))


def _money(terms: HeatTerms, steam: Steamed, out: Dried) -> HeatMoney:
    yarn = terms.yarn_kg_per_h
    dryer = out.heat.total_kw
    fuel_kw = (steam.heat_kw + max(0.0, dryer)) / terms.heat_efficiency_frac
    price = terms.fuel_per_kwh
    water = out.heat.evaporated_kg_per_h
    return HeatMoney(
        steam_kw=steam.heat_kw,
        dryer_kw=dryer,
        steam_kwh_per_kg=steam.heat_kw / yarn,
        dryer_kwh_per_kg=dryer / yarn,
        kwh_per_kg_water=dryer / water if water > 1e-9 else None,
        fuel_kwh_per_kg=fuel_kw / yarn,
        money_per_kg=None if price is None else price * fuel_kw / yarn,
        money_per_h=None if price is None else price * fuel_kw,
    )
