"""`clew yarn`: count, plies, moisture and commercial mass, bulk, class."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import Count, Quantity, as_json
from clew.cli.output import print_json, print_rows
from clew.cli.yarn.sample import even, output, thickness
from clew.faults import BadInput, Fault
from clew.quantities import (
    FRACTION,
    GAIN,
    LENGTH,
    MASS,
    TEMPERATURE,
    TIME,
    number,
    show,
    show_count,
)

if TYPE_CHECKING:
    from clew.strand.notation import Order


@click.group()
def yarn() -> None:
    """What the yarn is: count, plies, moisture, bulk, class."""


def _number(text: str, name: str) -> float:
    try:
        return float(text)
    except ValueError:
        expected = "a number such as 30"
        if "/" in text:
            expected += f'; for a plied yarn: clew yarn ply "{text} Nm"'
        raise BadInput(Fault("not a number", expected, key=name, value=repr(text))) from None


@yarn.command()
@click.argument("words", nargs=-1, required=True, metavar="VALUE UNIT TO")
@as_json
def convert(words: tuple[str, ...], as_json: bool) -> None:
    """Convert a count: clew yarn convert 30 tex Ne."""
    from clew.quantities import convert_count, count_system

    parts = " ".join(words).split()
    if len(parts) != 3:
        raise BadInput(
            Fault(
                "a count and the system to turn it into",
                expected="three words, such as 30 tex Ne",
                value=repr(" ".join(words)),
            )
        )
    value, unit, to_unit = parts
    found = convert_count(_number(value, "VALUE"), unit, to_unit)
    target = count_system(to_unit)
    if as_json:
        print_json({"value": found, "unit": target.name})
        return
    click.echo(
        f"{value} {count_system(unit).name} = {number(found, 6)} {target.name}  ({target.title})"
    )


@yarn.command()
@click.argument("components", nargs=-1, required=True)
@click.option(
    "--take-up",
    type=Quantity(FRACTION),
    default=0.0,
    help='Length lost to the plying twist, such as "3 %".',
)
@click.option(
    "--resultant",
    is_flag=True,
    help="The number at a slash counts the folded yarn (spun silk), not one end.",
)
@click.option(
    "--order",
    type=click.Choice(["ends-first", "count-first"]),
    help='Which number stands first at a slash, where both could be the ends: "2/8 Nm".',
)
@as_json
def ply(
    components: tuple[str, ...], take_up: float, resultant: bool, order: Order | None, as_json: bool
) -> None:
    """Count of a plied yarn.

    Its ends one by one, "20 tex" "30 tex", or as it is written: "2/28 Nm".
    """
    from clew.quantities import read_count
    from clew.strand.notation import read_plied
    from clew.strand.plies import resultant_count

    if len(components) == 1:
        plied = read_plied(
            components[0],
            take_up_frac=take_up,
            counts="resultant" if resultant else None,
            order=order,
        )
        total, ends = plied.resultant_tex, plied.plies
    else:
        total = resultant_count(
            [read_count(text) for text in components], "tex", take_up_frac=take_up
        )
        ends = len(components)
    if as_json:
        print_json(
            {"count_tex": total, "plies": ends, "take_up_frac": take_up, "count_nm": 1000.0 / total}
        )
        return
    print_rows(
        [
            (
                "count",
                f"{show_count(total)} = {show_count(total, 'Nm')} = {show_count(total, 'Ne')}",
            ),
            ("ends", str(ends)),
            ("take-up", show(take_up, FRACTION)),
        ]
    )


@yarn.command()
@click.option(
    "--mass", type=Quantity(MASS), required=True, help='Net mass as weighed, such as "100 kg".'
)
@click.option("--regain", type=Quantity(GAIN), help="Water on DRY mass, as measured.")
@click.option("--moisture-content", type=Quantity(FRACTION), help="Water on WET mass, as measured.")
@click.option(
    "--blend", required=True, help='Shares by dry mass, such as "67 polyester, 33 cotton".'
)
@click.option(
    "--table",
    default="eu-1007-2011",
    show_default=True,
    help="Table of agreed allowances (or astm-d1909).",
)
@click.option(
    "--label-shares", is_flag=True, help="The shares are those of a label, on conditioned mass."
)
@click.option(
    "--cleaning-loss", type=Quantity(FRACTION), default=0.0, help="Loss of dry mass in cleaning."
)
@as_json
def commercial(
    mass: float,
    regain: float | None,
    moisture_content: float | None,
    blend: str,
    table: str,
    label_shares: bool,
    cleaning_loss: float,
    as_json: bool,
) -> None:
    """Commercial mass of a lot.

    The invoice mass, from its moisture, its blend and the agreed allowances.
    """
    from clew.strand.allowances import blend_allowance
    from clew.strand.blend import read_blend
    from clew.strand.fibres import fibre
    from clew.strand.moisture import MoistureContent, Regain, commercial_mass

    if (regain is None) == (moisture_content is None):
        raise BadInput(
            Fault(
                "moisture is given once",
                expected="--regain (on dry mass) or --moisture-content (on wet mass), one of them",
                key="--regain / --moisture-content",
            )
        )
    moisture = Regain(regain) if regain is not None else MoistureContent(moisture_content or 0.0)
    agreed = blend_allowance(
        read_blend(blend), table, shares_on="conditioned" if label_shares else "dry"
    )
    found = commercial_mass(mass / 1000.0, moisture, agreed.frac, cleaning_loss_frac=cleaning_loss)
    if as_json:
        print_json(
            asdict(found)
            | {
                "table": agreed.table,
                "shares_on": agreed.shares_on,
                "allowances_from_memory": list(agreed.from_memory),
            }
        )
        return
    kilograms = {"unit": "kg", "digits": 6}
    rows = [
        ("net mass", show(mass, MASS, unit="kg", digits=6)),
        ("regain", show(found.regain_frac, GAIN)),
        ("dry mass", show(found.dry_mass_kg * 1000, MASS, **kilograms)),  # type: ignore[arg-type]  # two keys of two types
        ("agreed allowance", f"{show(found.allowance_frac, GAIN)} of dry mass, {agreed.table}"),
        ("commercial mass", show(found.commercial_mass_kg * 1000, MASS, **kilograms)),  # type: ignore[arg-type]  # two keys of two types
        ("difference", show(found.difference_frac, GAIN, digits=3)),
    ]
    if agreed.from_memory:
        names = ", ".join(fibre(key).title for key in agreed.from_memory)
        rows.append(
            (
                "note",
                f"the allowance of {names} was recalled, not read: check your copy of the table",
            )
        )
    print_rows(rows)


@yarn.command()
@click.option("--count", type=Count(), required=True, help='Count as spun, such as "400 tex".')
@click.option(
    "--shrink", type=Quantity(FRACTION), required=True, help='Shortening in steam, such as "20 %".'
)
@click.option("--shrink-sd", type=Quantity(FRACTION), help="Its standard deviation, in points.")
@click.option(
    "--count-cv", type=Quantity(FRACTION), default=0.0, help="Spread of the count as a share of it."
)
@click.option(
    "--finish-loss", type=Quantity(FRACTION), default=0.0, help="Finish lost in steam, of dry mass."
)
@click.option("--regain-in", type=Quantity(GAIN), help="Regain when the count was measured.")
@click.option("--regain-out", type=Quantity(GAIN), help="Regain after the dryer; both or none.")
@as_json
def bulk(
    count: float,
    shrink: float,
    shrink_sd: float | None,
    count_cv: float,
    finish_loss: float,
    regain_in: float | None,
    regain_out: float | None,
    as_json: bool,
) -> None:
    """What a yarn will be when it has been steamed.

    Without regains its water is taken not to change.
    """
    from clew.strand.bulk import steamed, steamed_spread

    if (regain_in is None) != (regain_out is None):
        given = "--regain-in" if regain_out is None else "--regain-out"
        raise BadInput(
            Fault(
                "one regain without the other",
                expected="both, or neither: the water is then taken not to change",
                key="--regain-in and --regain-out",
                value=f"only {given}",
            )
        )
    regain_in, regain_out = regain_in or 0.0, regain_out or 0.0
    found = steamed(
        count,
        shrink,
        finish_loss_frac=finish_loss,
        regain_in_frac=regain_in,
        regain_out_frac=regain_out,
    )
    plain: dict[str, object] = dict(asdict(found))
    length_m = found.length_m_per_100g
    rows = [
        ("steamed count", f"{show_count(found.count_tex)} = {show_count(found.count_tex, 'Nm')}"),
        (
            "length in 100 g",
            f"{show(length_m, LENGTH)} = {show(length_m, LENGTH, 'yard')}",
        ),
        ("overfeed", show(found.overfeed_frac, GAIN)),
        ("take-off speed", f"{number(found.take_up_ratio)} of the feed speed"),
    ]
    if shrink_sd is not None or count_cv:
        spread = steamed_spread(
            count,
            shrink,
            shrink_sd_frac=shrink_sd or 0.0,
            count_cv_frac=count_cv,
            finish_loss_frac=finish_loss,
            regain_in_frac=regain_in,
            regain_out_frac=regain_out,
        )
        plain["count_tex_interval"] = [spread.low_tex, spread.high_tex]
        plain["shrink_share_frac"], plain["count_share_frac"] = (
            spread.shrink_share,
            spread.count_share,
        )
        rows.append(
            ("95 % of runs", f"{show_count(spread.low_tex)} to {show_count(spread.high_tex)}")
        )
    if as_json:
        print_json(plain)
        return
    print_rows(rows)


@yarn.command("class")
@click.option(
    "--mass", type=Quantity(MASS), required=True, help='Mass of the ball, such as "100 g".'
)
@click.option(
    "--length", type=Quantity(LENGTH), required=True, help='Its length, such as "220 yd".'
)
@as_json
def class_(mass: float, length: float, as_json: bool) -> None:
    """Suggest the weight class, 0 to 7.

    A voluntary guideline, from mass and length alone.
    """
    from clew.strand.weight_class import suggest_class

    if mass <= 0 or length <= 0:
        raise BadInput(
            Fault("a ball without mass or length", expected="both above 0", key="--mass / --length")
        )
    found = suggest_class(1000.0 * mass / length)
    if as_json:
        print_json(asdict(found))
        return
    print_rows(
        [
            ("class", f"{found.category}, {found.words}"),
            (
                "count",
                f"{show_count(found.count_tex)}, {show(found.length_m_per_100g, LENGTH)} in 100 g",
            ),
            ("standing", found.note),
        ]
    )


@yarn.command()
@click.argument("trials", type=click.Path(path_type=Path))
@click.option(
    "--time", "time_s", type=Quantity(TIME), required=True, help='Time in steam, such as "45 s".'
)
@click.option("--temperature", type=Quantity(TEMPERATURE), required=True, help='Such as "100 °C".')
@as_json
def shrink(trials: Path, time_s: float, temperature: float, as_json: bool) -> None:
    """Shrink by your own steaming trials.

    TRIALS is a CSV file with the columns time, temperature, shrink, with units in every row:
    45 s, 100 °C, 19.5 %. Nothing is said beyond what was tried.
    """
    from clew.ledger.intake.tables import read_columns
    from clew.strand.shrink_curve import fit_shrink

    columns = read_columns(trials, {"time": TIME, "temperature": TEMPERATURE, "shrink": FRACTION})
    curve = fit_shrink(columns["time"], columns["temperature"], columns["shrink"])
    found, trials_count = curve.at(time_s, temperature), len(columns["time"])
    low, high = found.low_frac, found.high_frac
    if as_json:
        print_json(
            {
                "shrink_frac": found.shrink_frac,
                "shrink_frac_interval": [found.low_frac, found.high_frac],
                "trials": len(columns["time"]),
            }
        )
        return
    print_rows(
        [
            ("shrink", show(found.shrink_frac, FRACTION, digits=3)),
            (
                "95 % band of the curve",
                f"{show(low, FRACTION, digits=3)} to {show(high, FRACTION, digits=3)}",
            ),
            (
                "from",
                f"{trials_count} trials of your own; steam kinetics have no published source",
            ),
        ]
    )


for verb in (even, thickness, output):
    yarn.add_command(verb)
