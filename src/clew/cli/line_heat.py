"""`clew line heat`: what steam and dryer do to the yarn, and what they cost."""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.line_heat_terms import heat_terms_options
from clew.cli.options import Quantity, as_json, checked_mill
from clew.cli.output import print_json, print_rows
from clew.quantities import GAIN
from clew.quantities.show import number

if TYPE_CHECKING:
    from clew.line.heat.answer import HeatAnswer
    from clew.line.heat.terms import HeatDoubts, HeatTerms

_AFTER_A_TRIAL_CV = 0.1


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
    lot_name: str,  # noqa: ARG001 - stands in the terms already
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
        _tell(answer, measured_regain)
    sys.exit(0 if answer.dry_enough else 1)


def _percent(frac: float) -> str:
    return f"{number(100.0 * frac, 3)} %"


def _tell(answer: HeatAnswer, measured_regain: float | None) -> None:
    from clew.line.heat.heat_words import CAUTIONS

    terms, steam, out, doubt = answer.terms, answer.steamed, answer.dried, answer.doubt
    if measured_regain is not None:
        click.echo(
            f"A regain of {_percent(measured_regain)} at the dryer's end is a drying factor of "
            f"{number(terms.drying_factor, 3)}."
        )
    verdict = "The dryer manages" if answer.dry_enough else "The dryer is short"
    click.echo(
        f"{verdict}: {_percent(out.regain_cooled_frac)} regain once cooled "
        f"({_percent(doubt.cooled_low_frac)} to {_percent(doubt.cooled_high_frac)}), "
        f"{_percent(terms.regain_wanted_frac)} wanted."
    )
    if doubt.largest:
        click.echo(
            f"Damper than that in {_percent(doubt.too_damp_share)} of what may be so; most of the "
            f"doubt is {doubt.largest}."
        )
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
            f"{number(1000 * per_kg / (1 + terms.regain_in_frac), 3)} g a kg of yarn, "
            f"{number(1000 * per_kg, 3)} g a kg of dry fibre",
        ),
        (
            "steam drawn",
            f"{number(demand.total_kg_per_h, 3)} kg/h: {number(demand.wet_kg_per_h, 3)} for the "
            f"yarn, {number(demand.losses_kg_per_h, 3)} stated losses "
            f"({number(demand.multiple, 2)} times the least)",
        ),
        ("superheat", f"{number(steam.superheat_k, 2)} K"),
        (
            "dwell",
            f"{number(steam.dwell_s, 3)} s; full bulk takes {number(steam.full_dwell_s, 3)} s",
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
        else f"{number(constant + falling, 3)} s ({number(constant, 3)} constant, "
        f"{number(falling, 3)} falling)"
    )
    return [
        (
            "regain",
            f"{_percent(out.regain_before_frac)} at its mouth, {_percent(out.regain_after_frac)} "
            f"at its end ({_percent(doubt.end_low_frac)} to {_percent(doubt.end_high_frac)})",
        ),
        ("water", f"{number(out.heat.evaporated_kg_per_h, 3)} kg/h"),
        ("time needed", f"{needed}; the belt gives {number(terms.dryer_dwell_s, 3)} s"),
        (
            "air",
            f"{number(terms.dryer_c, 3)} °C, {number(1000 * out.air.humidity_kg_per_kg, 3)} g/kg, "
            f"wet bulb {number(out.wet_bulb_c, 3)} °C",
        ),
        (
            "critical regain",
            f"{_percent(out.law.critical_frac)}; in balance with the air "
            f"{_percent(out.law.balance_frac)}",
        ),
    ]


def _money_rows(answer: HeatAnswer) -> list[tuple[str, str]]:
    money, heat_of, currency = answer.money, answer.dried.heat, answer.terms.currency
    rows = [
        (
            "steamer",
            f"{number(money.steam_kw, 3)} kW, {number(money.steam_kwh_per_kg, 3)} kWh a kg of yarn",
        ),
        (
            "dryer",
            f"{number(money.dryer_kw, 3)} kW, {number(money.dryer_kwh_per_kg, 3)} kWh a kg of yarn",
        ),
        (
            "of which",
            f"water {number(heat_of.water_kw, 3)}, fresh air {number(heat_of.air_kw, 3)}, "
            f"yarn {number(heat_of.yarn_kw, 3)}, stated {number(heat_of.fixed_kw, 3)} kW",
        ),
    ]
    if money.kwh_per_kg_water is not None:
        rows.append(("dryer, by water", f"{number(money.kwh_per_kg_water, 3)} kWh a kg of water"))
    rows.append(("fuel", f"{number(money.fuel_kwh_per_kg, 3)} kWh a kg of yarn"))
    if money.money_per_kg is not None and money.money_per_h is not None:
        rows.append(
            (
                "its money",
                f"{currency} {number(1000 * money.money_per_kg, 3)} a tonne of yarn, "
                f"{number(money.money_per_h, 3)} an hour".strip(),
            )
        )
    return rows
