"""`clew weigh scale allowed`: whether the rule sets allow this scale for a declaration."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from clew.checks.packages.plan import RULE_KEYS
from clew.cli.options import Quantity, as_json
from clew.cli.output import print_json, print_table
from clew.faults import BadInput, Fault
from clew.quantities import MASS, number

if TYPE_CHECKING:
    from clew.checks.instruments.rule_limits import ScaleAllowed
    from clew.checks.packages.plan import Plan

_RULES = tuple(key for key in RULE_KEYS if key != "us-thread-states")
"""The thread laws ask nothing of the scale."""
_ALSO = {
    "oiml-r87": "What R 87 itself asks of the instrument was not read: the European fifth is taken "
    "over for it.",
    "de-2020": "Germany's fifth stands in FPackV, Annex 7, 1 b (READ); the largest verification "
    "interval it names beside it (0.5 g for balls of 25 g to below 150 g) is not held here.",
}
"""What is said of a rule set beside the tables."""

_ANY_LOT = 1000
"""What may be missing from a ball does not depend on the lot."""


@click.command()
@click.option("--declared", type=Quantity(MASS), required=True, help="Declared mass of the ball.")
@click.option("--division", type=Quantity(MASS), help="Smallest step the scale shows.")
@click.option("--error", type=Quantity(MASS), help="Largest error found with test weights.")
@click.option("--uncertainty", type=Quantity(MASS), help="Expanded, as `scale budget` gives it.")
@click.option("--capacity", type=Quantity(MASS), help="Most the scale weighs.")
@click.option("--tare", type=Quantity(MASS), default=0.0, help="Core, band and bag of a ball.")
@click.option(
    "--class",
    "scale_class",
    type=click.Choice(["II", "III"]),
    default="III",
    show_default=True,
    help="Accuracy class of the scale.",
)
@click.option(
    "--rule", "rules", type=click.Choice(_RULES), multiple=True, help="Only these rule sets."
)
@click.option("--deficiency", type=Quantity(MASS), help="What may be missing, not from the tables.")
@click.option(
    "--mill",
    "mill_folder",
    type=click.Path(path_type=Path),
    envvar="CLEW_MILL",
    help="Folder of the mill, for its own copy of the tables.",
)
@as_json
def allowed(
    declared: float,
    division: float | None,
    error: float | None,
    uncertainty: float | None,
    capacity: float | None,
    tare: float,
    scale_class: Literal["II", "III"],
    rules: tuple[str, ...],
    deficiency: float | None,
    mill_folder: Path | None,
    as_json: bool,
) -> None:
    """Say whether a scale may be used for balls of a declared mass.

    Exit code 1: at least one of the rule sets asked for does not allow it.
    """
    from clew.checks.packages.rule import OFFICE
    from clew.checks.packages.rule_sets import plan_of
    from clew.mill.net_content import read_tables

    if division is None and error is None and uncertainty is None:
        raise BadInput(
            Fault("nothing is known of the scale", "--division, --error or --uncertainty")
        )
    if division is not None and division <= 0.0:
        raise BadInput(Fault("no division", "more than 0", key="--division"))
    if declared <= 0.0:
        raise BadInput(Fault("no declared mass", "more than 0", key="--declared"))
    if deficiency is not None and deficiency <= 0.0:
        raise BadInput(Fault("no deficiency", "more than 0", key="--deficiency"))
    tables = read_tables(mill_folder)
    asked = rules or tuple(
        rule for rule in _RULES if rule != "us-category-a" or division is not None
    )
    found: list[tuple[str, float, ScaleAllowed, Plan | None]] = []
    for rule in dict.fromkeys(asked):
        plan = None if deficiency is not None else plan_of(rule, "mass", declared, _ANY_LOT, tables)
        short = plan.deficiency if plan is not None else float(deficiency or 0.0)
        if not math.isfinite(short):
            raise BadInput(Fault("no deficiency in its tables", key=rule, value=f"{declared:g} g"))
        held = _hold(
            rule, short, division, error, uncertainty, capacity, declared + tare, scale_class
        )
        found.append((rule, short, held, plan))
    if as_json:
        print_json(_plain(declared, found, OFFICE))
    else:
        _print(declared, found, OFFICE)
    if not all(held.allowed for _, _, held, _ in found):
        raise SystemExit(1)


def _hold(
    rule: str,
    deficiency: float,
    division: float | None,
    error: float | None,
    uncertainty: float | None,
    capacity: float | None,
    load: float,
    scale_class: Literal["II", "III"],
) -> ScaleAllowed:
    from clew.checks.instruments.rule_limits import average_system, us_handbook

    if rule != "us-category-a":
        return average_system(
            deficiency, error_g=error, expanded_g=uncertainty, division_g=division
        )
    if division is None:
        raise BadInput(Fault("no division", "the scale's smallest step", key="--division"))
    return us_handbook(
        deficiency,
        division,
        load_g=load,
        capacity_g=capacity,
        scale_class=scale_class,
        error_g=error,
    )


def _marks(plan: Plan | None) -> tuple[list[str], bool]:
    if plan is None:
        return ["entered by hand"], True
    also = [_ALSO[plan.rule]] if plan.rule in _ALSO else []
    return [*plan.marks, *also], plan.confirmed


def _plain(
    declared: float, found: list[tuple[str, float, ScaleAllowed, Plan | None]], office: str
) -> dict[str, Any]:
    return {
        "declared_g": declared,
        "allowed": all(held.allowed for _, _, held, _ in found),
        "complete": all(held.complete for _, _, held, _ in found),
        "rules": {
            rule: {
                "deficiency_g": deficiency,
                "allowed": held.allowed,
                "complete": held.complete,
                "confirmed": _marks(plan)[1],
                "marks": _marks(plan)[0],
                "requirements": [
                    {
                        "key": one.key,
                        "found": one.found,
                        "limit": one.limit,
                        "met": one.met,
                        "words": one.words,
                        "source": one.source,
                    }
                    for one in held.requirements
                ],
            }
            for rule, deficiency, held, plan in found
        },
        "for": office,
    }


def _print(
    declared: float, found: list[tuple[str, float, ScaleAllowed, Plan | None]], office: str
) -> None:
    for rule, _, held, plan in found:
        broken = [one.words for one in held.requirements if one.met is False]
        ball = f"{number(declared)} g balls under {rule}"
        unsure = "" if _marks(plan)[1] else " Table not checked against the source."
        if broken:
            click.echo(f"This scale may NOT be used for {ball}: {'; '.join(broken)}.{unsure}")
        elif held.complete:
            click.echo(f"This scale may be used for {ball}.{unsure}")
        else:
            click.echo(f"As far as it is known, this scale may be used for {ball}.{unsure}")
    print_table(
        ["asked", "by", "met"],
        [
            [one.words, rule, {True: "yes", False: "NO", None: "not known"}[one.met]]
            for rule, _, held, _ in found
            for one in held.requirements
        ],
    )
    for source in dict.fromkeys(one.source for _, _, held, _ in found for one in held.requirements):
        click.echo(f"Source: {source}")
    for rule, *_ in found:
        if rule in _ALSO:
            click.echo(f"Note: {_ALSO[rule]}")
    click.echo(f"{office[0].upper()}{office[1:]}.")
