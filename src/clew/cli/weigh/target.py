"""`clew weigh target`: the least lawful target, and what a gram of spread is worth."""

from __future__ import annotations

from pathlib import Path

import click

from clew.checks.packages.plan import RULE_KEYS
from clew.cli.options import Count, Quantity, as_json
from clew.cli.output import print_json
from clew.cli.weigh.target_given import SpreadG
from clew.quantities import FRACTION, GAIN, LENGTH, MASS


@click.command("target")
@click.argument("data", required=False, type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--rule",
    "rules",
    multiple=True,
    type=click.Choice(RULE_KEYS),
    help="A market; several are joined.",
)
@click.option("--declared", multiple=True, help='"100 g", "200 m"; give both to keep both.')
@click.option("--lot-size", type=int, help="Balls in an inspected lot.")
@click.option("--within-sd", type=SpreadG(), help='Ball to ball: "1.2 g", or "1.0 to 1.5 g".')
@click.option("--cone-sd", type=SpreadG(), help="Cone to cone, in a dye lot.")
@click.option("--winder-sd", type=SpreadG(), help="Winder to winder.")
@click.option("--lot-sd", type=SpreadG(), help="Lot to lot.")
@click.option("--length-sd", type=Quantity(LENGTH), help="Length from ball to ball.")
@click.option("--balls-per-cone", type=click.IntRange(1), help="Balls wound from one cone.")
@click.option("--winders", type=click.IntRange(1), help="Winders a lot comes from.")
@click.option("--first-balls", type=click.IntRange(1),
              help="Balls weighed at the start of each lot, to set its winders by.")  # fmt: skip
@click.option("--mean", type=Quantity(MASS), help="Mean ball now.")
@click.option("--count", type=Count(), help="Count in the ball, which ties length to mass.")
@click.option("--mill", "mill_folder", type=click.Path(path_type=Path), envvar="CLEW_MILL",
              help="Folder of the mill: its balls, prices and winders.")  # fmt: skip
@click.option("--ball", "ball_name", help="Ball of the mill file.")
@click.option("--dye-lot", default="", help="Dye lot of the mill file; its measured count is used.")
@click.option("--risk", type=Quantity(FRACTION),
              help="Most lots that may fail; the mill's own, or 1 %, if not given.")  # fmt: skip
@click.option("--regain-weighed", type=Quantity(GAIN), help="Regain at which the mean is stated.")
@click.option("--regain-inspection", type=Quantity(GAIN), help="Regain an inspection finds.")
@click.option("--regain-inspection-sd", type=Quantity(GAIN),
              help="How inspections differ in it.")  # fmt: skip
@click.option("--mean-doubt", type=Quantity(MASS), default=0.0, help="Doubt of the mean as set.")
@click.option("--tare", type=Quantity(MASS), help="Tare of a ball, where DATA is gross.")
@click.option("--tare-doubt", type=Quantity(MASS), default=0.0, help="Doubt of the tare.")
@click.option("--scale-doubt", type=Quantity(MASS), default=0.0, help="Doubt of the scale.")
@click.option("--reel-doubt", type=Quantity(LENGTH), default=0.0, help="Doubt of the reel.")
@click.option("--price", type=click.FloatRange(min=0.0), help="Yarn per kg, in your own money.")
@click.option("--ball-price", type=click.FloatRange(min=0.0), help="A ball that holds its band.")
@click.option("--short-price", type=click.FloatRange(min=0.0), help="A ball sold as short.")
@click.option("--balls-a-year", type=click.IntRange(1), help="Balls made in a year.")
@click.option("--inspections", type=click.IntRange(5000, 400_000),
              help="Inspections to draw; enough for the risk if not given.")  # fmt: skip
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="Seed.")
@as_json
def target(
    data: Path | None,
    rules: tuple[str, ...],
    declared: tuple[str, ...],
    lot_size: int | None,
    within_sd: tuple[float, float, float] | None,
    cone_sd: tuple[float, float, float] | None,
    winder_sd: tuple[float, float, float] | None,
    lot_sd: tuple[float, float, float] | None,
    length_sd: float | None,
    balls_per_cone: int | None,
    winders: int | None,
    first_balls: int | None,
    mean: float | None,
    count: float | None,
    mill_folder: Path | None,
    ball_name: str | None,
    dye_lot: str,
    risk: float | None,
    regain_weighed: float | None,
    regain_inspection: float | None,
    regain_inspection_sd: float | None,
    mean_doubt: float,
    tare: float | None,
    tare_doubt: float,
    scale_doubt: float,
    reel_doubt: float,
    price: float | None,
    ball_price: float | None,
    short_price: float | None,
    balls_a_year: int | None,
    inspections: int | None,
    seed: int,
    as_json: bool,
) -> None:
    """The least lawful target, and what a gram of spread is worth.

    DATA is a file of weighed balls, a row a ball, with mass_g and any of lot, cone, winder and
    length_m; without it the spread comes from options or from the mill file.
    """
    from clew.checks.target.answer_plain import answered, plain_answer
    from clew.checks.target.given import Given
    from clew.checks.target.target import check_risk
    from clew.cli.weigh.target_terms import question_asked
    from clew.cli.weigh.target_words import tell

    if risk is not None:
        check_risk(risk)
    given = Given(
        rules=rules,
        declared=declared,
        lot_size=lot_size,
        sds={"lot": lot_sd, "cone": cone_sd, "winder": winder_sd, "within": within_sd},
        length_sd_m=length_sd,
        balls_per_cone=balls_per_cone,
        winders=winders,
        first_balls=first_balls,
        mean_g=mean,
        count_tex=count,
        mean_doubt_g=mean_doubt,
        regain_weighed=regain_weighed,
        regain_seen=regain_inspection,
        regain_seen_sd=regain_inspection_sd,
        tare_doubt_g=tare_doubt,
        scale_doubt_g=scale_doubt,
        reel_doubt_m=reel_doubt,
        tare_g=tare,
        risk=risk,
        price_per_kg=price,
        ball_price=ball_price,
        short_price=short_price,
        balls_a_year=balls_a_year,
    )
    question = question_asked(given, data, mill_folder, ball_name, dye_lot)
    found = answered(question, inspections=inspections, seed=seed)
    if as_json:
        print_json(plain_answer(found))
    else:
        tell(found)
