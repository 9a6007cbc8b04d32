"""`clew line heat`: what steam and dryer do to the yarn, and what they cost."""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.line.heat_terms import heat_terms_options
from clew.cli.options import Quantity, as_json, checked_mill
from clew.cli.output import print_json, print_rows
from clew.quantities import GAIN
from clew.quantities.show import number

if TYPE_CHECKING:
    from clew.line.heat.answer import HeatAnswer
    from clew.line.heat.terms import HeatDoubts, HeatTerms

_AFTER_A_TRIAL_CV = 0.1
_FELT_K = 0.5
"""Superheat below this is none: neither thermometer nor yarn tells it [K]."""


@click.command()
@heat_terms_options
@click.option(
    "--measured-regain",
    type=Quantity(GAIN),
    default=None,
    help="Regain weighed hot at the dryer's end: finds the drying factor from it.",
)
@click.option(
    "--draws",
    type=click.IntRange(20, 20_000),
    default=200,
    show_default=True,
    help="Draws for the interval of the regain.",
)
@click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, help="Seed of those draws."
)
@as_json
def heat(
    terms: HeatTerms,
    mill_folder: Path,
    line_name: str,
    ball_name: str,
    lot_name: str,
    measured_regain: float | None,
    draws: int,
    seed: int,
    as_json: bool,
) -> None:
    """What steam and dryer do to the yarn, and what they cost.

    Name a ball and its line of the mill file, or say everything by hand. Exit code 1: the yarn
    comes out damper than wanted.
    """
    from clew.line.heat.answer import calibrated, heat_answer
    from clew.line.heat.from_mill import heat_doubts
    from clew.line.heat.heat_plain import plain_heat
    from clew.line.heat.terms import HeatDoubts

    doubts: HeatDoubts = (
        heat_doubts(checked_mill(mill_folder), line_name) if ball_name else HeatDoubts()
    )
    if measured_regain is not None:
        terms = replace(terms, drying_factor=calibrated(terms, measured_regain))
        doubts = replace(doubts, drying_factor_cv=_AFTER_A_TRIAL_CV)
    answer = heat_answer(terms, doubts, draws=draws, seed=seed)
    if as_json:
        print_json(plain_heat(answer) | {"calibrated": measured_regain is not None})
    else:
        _tell(answer, lot_name, measured_regain)
    sys.exit(0 if answer.dry_enough else 1)


def _percent(frac: float) -> str:
    return f"{number(100.0 * frac, 3)} %"


def _tell(answer: HeatAnswer, lot_name: str, measured_regain: float | None) -> None:
    from clew.line.heat.heat_words import CAUTIONS
    from clew.line.heat.verdict import dryness_verdict, largest_doubts, sure_of_it

    terms, steam, out, doubt = answer.terms, answer.steamed, answer.dried, answer.doubt
    if measured_regain is not None:
        click.echo(
            f"A regain of {_percent(measured_regain)} at the dryer's end is a drying factor of "
            f"{number(terms.drying_factor, 3)}."
        )
    about = f"{terms.ball_name}, {lot_name or 'as spun'}: " if terms.ball_name else ""
    verdict = dryness_verdict(answer)
    click.echo(
        f"{about}{verdict[0].lower() + verdict[1:] if about else verdict}. "
        f"{_percent(out.regain_cooled_frac)} regain once cooled "
        f"({_percent(doubt.cooled_low_frac)} to {_percent(doubt.cooled_high_frac)}), "
        f"{_percent(terms.regain_wanted_frac)} wanted."
    )
    most = largest_doubts(doubt)
    click.echo(f"{sure_of_it(doubt)}{f'; {most}' if most else ''}.")
    for one in answer.warnings:
        click.echo(f"Look: {one.text}")
    click.echo("")
    print_rows(_steam_rows(answer), title="Steam")
    print_rows(_dryer_rows(answer), title="Dryer")
    print_rows(_money_rows(answer), title="Heat")
    click.echo("")
    for caution in CAUTIONS:
        click.echo(caution)
    if terms.supply_gauge_kpa is None:
        click.echo("No supply pressure was stated: superheat behind the nozzle is not judged.")
    elif steam.expanded is not None:
        click.echo(
            f"The supply is taken as {number(terms.supply_gauge_kpa)} kPa on the gauge, "
            f"{number(terms.supply_gauge_kpa + terms.air_kpa)} kPa absolute."
        )


def _steam_rows(answer: HeatAnswer) -> list[tuple[str, str]]:
    terms, steam = answer.terms, answer.steamed
    demand, per_kg = steam.demand, steam.condensed.condensate_kg_per_kg
    return [
        (
            "condensed on the yarn",
            f"{number(1000 * per_kg / (1 + terms.regain_in_frac), 2)} g a kg of yarn, "
            f"{number(1000 * per_kg, 2)} g a kg of dry fibre",
        ),
        (
            "steam drawn",
            f"{number(demand.total_kg_per_h, 2)} kg/h: {number(demand.wet_kg_per_h, 2)} for the "
            f"yarn, {number(demand.losses_kg_per_h, 2)} stated losses "
            f"({number(demand.multiple, 2)} times the least)",
        ),
        (
            "superheat",
            "none" if steam.superheat_k < _FELT_K else f"{number(steam.superheat_k, 2)} K",
        ),
        (
            "dwell",
            f"{number(steam.dwell_s, 2)} s; full bulk takes {number(steam.full_dwell_s, 2)} s",
        ),
        (
            "regain",
            f"{_percent(terms.regain_in_frac)} as it comes, {_percent(steam.regain_frac)} in steam",
        ),
    ]


def _dryer_rows(answer: HeatAnswer) -> list[tuple[str, str]]:
    terms, out, doubt = answer.terms, answer.dried, answer.doubt
    constant, falling = answer.needed_s
    needed = (
        "never in this air"
        if math.isinf(falling)
        else f"{constant + falling:.0f} s ({constant:.0f} constant, {falling:.0f} falling)"
    )
    return [
        (
            "regain",
            f"{_percent(out.regain_before_frac)} at its mouth, {_percent(out.regain_after_frac)} "
            f"at its end ({_percent(doubt.end_low_frac)} to {_percent(doubt.end_high_frac)})",
        ),
        ("water", f"{number(out.heat.evaporated_kg_per_h, 2)} kg/h"),
        ("time needed", f"{needed}; the belt gives {number(terms.dryer_dwell_s, 3)} s"),
        (
            "air",
            f"{number(terms.dryer_c, 3)} °C, {number(1000 * out.air.humidity_kg_per_kg, 2)} g/kg, "
            f"wet bulb {number(out.wet_bulb_c, 3)} °C",
        ),
        (
            "critical regain",
            f"{_percent(out.law.critical_frac)}; in balance with the air "
            f"{_percent(out.law.balance_frac)}",
        ),
    ]


def _money_rows(answer: HeatAnswer) -> list[tuple[str, str]]:
    from clew.web.knots.money import small_sum

    money, heat_of, terms = answer.money, answer.dried.heat, answer.terms
    fuel_kw = money.fuel_kwh_per_kg * terms.yarn_kg_per_h
    lost_kw = fuel_kw - money.steam_kw - money.dryer_kw
    rows = [
        (
            "steamer",
            f"{number(money.steam_kw, 3)} kW, {number(money.steam_kwh_per_kg, 2)} kWh a kg of yarn",
        ),
        (
            "dryer",
            f"{number(money.dryer_kw, 3)} kW, {number(money.dryer_kwh_per_kg, 2)} kWh a kg of yarn",
        ),
        (
            "of which",
            f"water {number(heat_of.water_kw, 3)}, fresh air {number(heat_of.air_kw, 3)}, "
            f"yarn {number(heat_of.yarn_kw, 2)}, stated {number(heat_of.fixed_kw, 3)} kW",
        ),
    ]
    if money.kwh_per_kg_water is not None:
        rows.append(("dryer, by water", f"{number(money.kwh_per_kg_water, 2)} kWh a kg of water"))
    rows += [
        (
            "lost",
            f"{number(lost_kw, 3)} kW in boiler and heater, at an efficiency of "
            f"{number(100 * terms.heat_efficiency_frac, 3)} %",
        ),
        ("fuel", f"{number(fuel_kw, 3)} kW, {number(money.fuel_kwh_per_kg, 2)} kWh a kg of yarn"),
    ]
    if money.money_per_kg is not None and money.money_per_h is not None:
        a_tonne, an_hour = (
            small_sum(value, terms.currency) if terms.currency else number(value, 3)
            for value in (1000 * money.money_per_kg, money.money_per_h)
        )
        rows.append(("its money", f"{a_tonne} a tonne of yarn, {an_hour} an hour"))
    return rows
