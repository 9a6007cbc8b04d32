"""`clew weigh scale tare`: which tare to use, how sure it is, how many more to weigh."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import Quantity, as_json
from clew.cli.output import print_json, print_rows
from clew.faults import BadInput, Fault
from clew.quantities import FRACTION, MASS, number

if TYPE_CHECKING:
    from clew.checks.instruments.tare import TareDoubt, UnusedDryTare

_SHARE = 0.001
"""Of the declared mass; common practice, no published source."""


@click.command()
@click.argument("tares", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--division", type=Quantity(MASS), required=True, help="Smallest step of the scale.")
@click.option("--declared", type=Quantity(MASS), help="Declared mass of the ball.")
@click.option(
    "--share",
    type=Quantity(FRACTION),
    default=_SHARE,
    help='Largest doubt of the mean tare, of the declared mass; "0.1 %" if not given.',
)
@click.option("--limit", type=Quantity(MASS), help="The same as a mass.")
@click.option(
    "--confidence", type=Quantity(FRACTION), default=0.95, help='Of the doubt; "95 %" if not given.'
)
@click.option("--used-dry", is_flag=True, help="The tares come from balls of the sample.")
@as_json
def tare(
    tares: Path,
    division: float,
    declared: float | None,
    share: float,
    limit: float | None,
    confidence: float,
    used_dry: bool,
    as_json: bool,
) -> None:
    """Tare from TARES, a CSV file with tare_g: core, band and bag of one ball a row.

    In the order they were weighed. Exit code 1: more must be weighed.
    """
    from clew.checks.instruments.tare import range_ratio, tare_doubt, tares_to_open, unused_dry_tare
    from clew.checks.packages.rule import OFFICE
    from clew.cli.weigh.instrument_file import read_tares

    weighed, errors = read_tares(tares)
    if used_dry:
        if errors is None:
            raise BadInput(
                Fault("no package errors beside the tares", "a column error_g", file=str(tares))
            )
        tares_to_open(range_ratio(errors, weighed))
    if limit is not None and declared is not None:
        raise BadInput(Fault("a limit and a declared mass", "one of them", key="--limit"))
    if limit is None and declared is None:
        raise BadInput(
            Fault("nothing to hold the doubt against", "--declared or --limit", key="--declared")
        )
    most = limit if limit is not None else share * (declared or 0.0)
    rule = unused_dry_tare(weighed, division)
    doubt = tare_doubt(weighed, limit_g=most, confidence=confidence, division_g=division)
    if as_json:
        print_json(_plain(rule, doubt, OFFICE))
    else:
        _print(rule, doubt, OFFICE)
    if rule.more or not doubt.enough:
        raise SystemExit(1)


def _plain(rule: UnusedDryTare, doubt: TareDoubt, office: str) -> dict[str, object]:
    return {
        "handbook_tare_g": rule.tare_g,
        "handbook_used": rule.used,
        "handbook_more": rule.more,
        "handbook_words": rule.words,
        "weighed": doubt.weighed,
        "mean_g": doubt.mean_g,
        "sd_g": doubt.sd_g,
        "mean_doubt_g": doubt.mean_doubt_g,
        "ball_doubt_g": doubt.ball_doubt_g,
        "confidence_frac": doubt.confidence,
        "limit_g": doubt.limit_g,
        "needed": doubt.needed,
        "enough": doubt.enough,
        "for": office,
    }


def _print(rule: UnusedDryTare, doubt: TareDoubt, office: str) -> None:
    if rule.tare_g is None:
        click.echo(f"Weigh {rule.more} more before the handbook's tare stands.")
    else:
        click.echo(f"Tare {number(rule.tare_g, 4)} g, from {rule.used} tares.")
    sure, limit = number(100 * doubt.confidence, 3), f"{number(doubt.limit_g, 3)} g"
    if doubt.enough:
        click.echo(f"The mean of all {doubt.weighed} is sure to ±{_g(doubt.mean_doubt_g)}: enough.")
    elif doubt.needed is None:
        click.echo(f"No number of tares on this scale brings their mean within ±{limit}.")
    else:
        click.echo(
            f"The mean of all {doubt.weighed} is sure to ±{_g(doubt.mean_doubt_g)} only; weigh "
            f"about {doubt.needed} in all for ±{limit}."
        )
    print_rows(
        [
            ("mean of all", _g(doubt.mean_g)),
            ("standard deviation", _g(doubt.sd_g)),
            (f"doubt of the mean, {sure} %", f"±{_g(doubt.mean_doubt_g)}; all balls share it"),
            (f"doubt of one ball, {sure} %", f"±{_g(doubt.ball_doubt_g)} of its net mass"),
            ("unused dry tare", rule.words),
        ]
    )
    click.echo("Source: NIST HB 133, 2026 ed., 2.3, READ (two, then five); doubts by Student's t.")
    click.echo("No doubt is taken to be below half a division.")
    click.echo(f"{office[0].upper()}{office[1:]}.")


def _g(value: float) -> str:
    return f"{number(value, 3)} g"
