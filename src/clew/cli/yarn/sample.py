"""`clew yarn even`, `thickness` and `output`: how even, how thick, how much an hour."""

from __future__ import annotations

import click

from clew.cli.options import Count, Quantity, as_json
from clew.cli.output import print_json, print_rows
from clew.quantities import FRACTION, LENGTH, SPEED, number, show


@click.command()
@click.option("--cone-cv", type=Quantity(FRACTION), required=True, help="Count, cone to cone.")
@click.option("--within-cv", type=Quantity(FRACTION), default=0.0, help="Count within a cone.")
@click.option("--length-cv", type=Quantity(FRACTION), default=0.0, help="Length of a ball.")
@click.option("--moisture-cv", type=Quantity(FRACTION), default=0.0, help="Moisture.")
@click.option("--cones", type=click.IntRange(1, 100_000), default=1, help="Cones sampled.")
@click.option("--balls", type=click.IntRange(1, 100_000), default=10, help="Balls of each cone.")
@click.option("--wanted", type=Quantity(FRACTION), help="Standard error wanted of the lot's mean.")
@as_json
def even(
    cone_cv: float,
    within_cv: float,
    length_cv: float,
    moisture_cv: float,
    cones: int,
    balls: int,
    wanted: float | None,
    as_json: bool,
) -> None:
    """What a sample of balls is worth.

    Balls of one cone share its deviation: ten of them are not ten samples.
    """
    from clew.strand.evenness import (
        ball_mass_spread,
        cones_for_standard_error,
        effective_sample_size,
        standard_error_frac,
    )

    spread = ball_mass_spread(
        cone_cv, within_cv_frac=within_cv, length_cv_frac=length_cv, moisture_cv_frac=moisture_cv
    )
    between, within = spread.between_cones_cv_frac, spread.within_cone_cv_frac
    error = standard_error_frac(between, within, cones, balls)
    worth = effective_sample_size(cones, balls, spread.intraclass)
    needed = None
    if wanted is not None:
        needed = cones_for_standard_error(between, within, wanted, balls_per_cone=balls)
    if as_json:
        print_json(
            {
                "ball_mass_cv_frac": spread.cv_frac,
                "intraclass": spread.intraclass,
                "standard_error_frac": error,
                "effective_balls": worth,
                "cones_needed": needed,
            }
        )
        return
    rows = [
        ("mass of one ball", f"CV {show(spread.cv_frac, FRACTION, digits=3)}"),
        ("of that variance", f"{show(spread.intraclass, FRACTION, digits=2)} from cone to cone"),
        (
            f"{cones} x {balls} balls",
            f"worth {number(worth, 3)} balls of different cones; "
            f"the mean known to {show(error, FRACTION, digits=3)} (one standard error)",
        ),
    ]
    if needed is not None:
        rows.append(("for the error wanted", f"{needed} cones, {balls} balls of each"))
    print_rows(rows)


@click.command()
@click.option("--count", type=Count(), required=True, help='Count, such as "500 tex".')
@click.option("--blend", required=True, help='Shares of the dry mass: "55 wool, 45 acrylic".')
@click.option(
    "--packing", type=Quantity(FRACTION), default="60 %", show_default=True, help="Fibre in yarn."
)
@click.option("--fibre", type=Count(), help='Count of one fibre, such as "3.3 dtex".')
@click.option("--fibre-length", type=Quantity(LENGTH), help='Of one fibre, such as "90 mm".')
@click.option(
    "--length", type=Quantity(LENGTH), default="200 m", show_default=True, help="Of a ball."
)
@as_json
def thickness(
    count: float,
    blend: str,
    packing: float,
    fibre: float | None,
    fibre_length: float | None,
    length: float,
    as_json: bool,
) -> None:
    """How thick a yarn is, and how even it can be at best.

    With a fibre's count and length, the least variation that fibres laid at random allow: a lower
    limit, real yarn is several times that.
    """
    from clew.strand.blend import read_blend
    from clew.strand.diameter import blend_density_kg_m3, yarn_diameter_mm
    from clew.strand.fibres import fibre_density_kg_m3
    from clew.strand.irregularity import (
        fibres_in_section,
        limit_cv_at_length_frac,
        limit_irregularity_frac,
    )

    parts = read_blend(blend)
    shares = [share for _, share in parts]
    density = blend_density_kg_m3(shares, [fibre_density_kg_m3(key) for key, _ in parts])
    diameter = yarn_diameter_mm(count, density, packing)
    plain = {"diameter_mm": diameter, "fibre_density_kg_m3": density, "packing_frac": packing}
    rows = [
        ("diameter", f"{number(diameter, 3)} mm at {show(packing, FRACTION)} of fibre"),
        ("fibre", f"{number(density, 4)} kg/m3"),
    ]
    if fibre is not None:
        inside = fibres_in_section(count, fibre * 10.0)
        at_point = limit_irregularity_frac(inside)
        plain |= {"fibres_in_section": inside, "limit_cv_frac": at_point}
        rows.append(("fibres in the section", number(inside, 4)))
        rows.append(("least CV at a point", show(at_point, FRACTION, digits=3)))
        if fibre_length is not None:
            over = limit_cv_at_length_frac(at_point, length, fibre_length)
            plain["limit_cv_at_length_frac"] = over
            rows.append((f"least CV over {show(length, LENGTH)}", show(over, FRACTION, digits=2)))
    if as_json:
        print_json(plain)
        return
    print_rows(rows)


@click.command()
@click.option("--speed", type=Quantity(SPEED), required=True, help='Such as "300 m/min".')
@click.option("--count", type=Count(), required=True, help='Count, such as "500 tex".')
@click.option("--lanes", type=click.IntRange(1, 1000), default=1, help="Lanes or drums at once.")
@click.option("--efficiency", type=Quantity(FRACTION), default="100 %", show_default=True)
@click.option("--waste", type=Quantity(FRACTION), default=0.0, help="Share thrown away.")
@as_json
def output(
    speed: float, count: float, lanes: int, efficiency: float, waste: float, as_json: bool
) -> None:
    """How much yarn an hour."""
    from clew.strand.production import output_kg_per_h

    found = output_kg_per_h(speed, count, drums=lanes, efficiency_frac=efficiency, waste_frac=waste)
    if as_json:
        print_json({"output_kg_per_h": found})
        return
    print_rows([("output", f"{number(found, 4)} kg an hour")])
