"""`clew weigh components`: what varies, and what moved since yesterday."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import as_json
from clew.cli.output import print_json, print_table
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.checks.components.components import Components, Method
    from clew.checks.components.shift_change import ShiftChange
    from clew.checks.weighings import Column, Weighings

USUAL = ("lot", "cone", "winder")
SOURCES = ("lot", "cone", "lane", "winder", "group")


def read_value(
    path: Path, value: str, factors: tuple[str, ...], *, all_of_them: bool = True
) -> tuple[Weighings, Column, str, str]:
    """Read a file for one value: the balls, the values, the unit, and at what condition.

    Parameters
    ----------
    path : Path
        The file.
    value : str
        "mass" or "length".
    factors : tuple of str
        Columns of names that are wanted.
    all_of_them : bool
        Whether each of them must be there.

    Returns
    -------
    Weighings, array of float, str, str
        The balls, their values, the unit, and a sentence on the condition.

    Raises
    ------
    BadInput
        If the file cannot be read, or has none of the values.
    """
    from clew.checks.condition import net_mass
    from clew.checks.reel_length import stated_length
    from clew.ledger.intake.weighings import read_weighings

    need = factors if all_of_them else ()
    if value == "mass":
        balls = read_weighings(path, need=("mass_g", *need), only=("mass_g", *factors))
        mass_g, condition = net_mass(balls)
        return balls, mass_g, "g", condition
    columns = ("length_m", "tension_cn", *factors)
    balls = read_weighings(path, need=("length_m", *need), only=columns)
    length_m, words, cautions = stated_length(balls)
    return balls, length_m, "m", " ".join((words, *cautions))


@click.command("components")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--factors",
    help="Sources to tell apart, with commas between: lot, cone, lane, winder, group; left out, "
    "those of lot, cone and winder that the file names.",
)
@click.option("--value", type=click.Choice(["mass", "length"]), default="mass", show_default=True)
@click.option("--compare", type=click.Path(path_type=Path), help="Yesterday's file: what moved.")
@click.option(
    "--method",
    type=click.Choice(["reml", "anova"]),
    default="reml",
    show_default=True,
    help="Restricted likelihood, or moments (for balanced tables).",
)
@as_json
def components(
    file: Path, factors: str | None, value: str, compare: Path | None, method: Method, as_json: bool
) -> None:
    """What varies: dye lot, cone, lane, winder and the ball itself.

    FILE is a CSV file, a row a ball, with mass_g or length_m and the columns of --factors.
    """
    from clew.checks.components.components import components as find
    from clew.checks.components.components_plain import components_plain
    from clew.checks.components.shift_change import shift_change
    from clew.checks.components.shift_change_plain import shift_change_plain

    named = factors is not None
    wanted = USUAL if factors is None else _wanted(factors)
    balls, measured, unit, condition = read_value(file, value, wanted, all_of_them=named)
    wanted = tuple(name for name in wanted if name in balls.factors)
    found = find(measured, balls.factors, wanted, name=value, unit=unit, method=method)
    moved: ShiftChange | None = None
    if compare is not None:
        before, measured_before, _, _ = read_value(compare, value, wanted, all_of_them=named)
        moved = shift_change(before, balls, measured_before, measured, wanted=wanted, unit=unit)
    if as_json:
        plain = components_plain(found) | {"condition": condition}
        if moved is not None:
            plain["change"] = shift_change_plain(moved, unit)
        print_json(plain)
        return
    for line in (*found.words, *((*moved.words,) if moved is not None else ())):
        click.echo(line)
    click.echo()
    _print(found)
    if moved is not None:
        _print_change(moved, unit)
    for caution in (*found.cautions, *(moved.cautions if moved is not None else ())):
        click.echo(f"Note: {caution.replace('told as within', 'told as the ball itself')}.")
    click.echo(condition)
    click.echo(
        "By restricted maximum likelihood; intervals 95 % by its profile."
        if method == "reml"
        else "By moments, as in the analysis of variance; no intervals."
    )


def _wanted(text: str) -> tuple[str, ...]:
    names = tuple(one.strip() for one in text.split(",") if one.strip())
    wrong = [name for name in names if name not in SOURCES]
    if wrong or not names or len(set(names)) < len(names):
        raise BadInput(
            Fault(
                "sources that cannot be used",
                expected=f"some of {', '.join(SOURCES)}, each once, with commas between",
                key="--factors",
                value=repr(text),
            )
        )
    return names


def _print(found: Components) -> None:
    unit = found.unit
    rows = []
    for one in found.parts:
        interval = "–"
        if one.low_sd is not None:
            high = "no end" if one.high_sd is None else f"{one.high_sd:.2f} {unit}"
            interval = f"{one.low_sd:.2f} to {high}"
        rows.append(
            [
                "ball itself" if one.source == "within" else one.source,
                str(one.levels),
                f"{one.variance:.3f}",
                f"{one.sd:.2f} {unit}",
                interval,
                f"{100 * one.share_frac:.0f} %",
            ]
        )
    print_table(["source", "levels", f"variance {unit}²", "sd", "95 % of the sd", "share"], rows)
    click.echo(
        f"\nMean of {found.balls} balls {found.mean:.2f} {unit}, standard error "
        f"{found.mean_se:.2f} {unit}."
    )
    if found.left_out:
        click.echo(f"{found.left_out} balls left out: no {found.value} or a source not named.")
    for told in found.effects:
        if told.factor in ("winder", "lane", "lot") and len(told.names) <= 64:
            click.echo()
            print_table(
                [told.factor, "balls", "off the mean", "standard error"],
                [
                    [
                        name,
                        f"{balls:.0f}",
                        _signed(effect, unit),
                        f"{se:.2f} {unit}",
                    ]
                    for name, balls, effect, se in zip(
                        told.names, told.balls, told.effect, told.se, strict=True
                    )
                ],
            )
    click.echo()


def _signed(value: float, unit: str) -> str:
    """Write a move to a hundredth; none is written +0.00."""
    return f"{round(value, 2) + 0.0:+.2f} {unit}"


def _print_change(moved: ShiftChange, unit: str) -> None:
    rows = [
        [one.name, _signed(one.change, unit), f"{one.low:+.2f} to {one.high:+.2f} {unit}"]
        for one in moved.parts
    ]
    rows.append(["together", _signed(moved.change, unit), ""])
    print_table(["since yesterday", "change", "95 %"], rows)
    click.echo()
