"""`clew knots law`: how many joins land in a ball."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from clew.cli.knots.terms import knot_law_options, placed_option
from clew.cli.options import as_json, in_units
from clew.cli.output import print_json, print_rows, print_table
from clew.faults import BadInput
from clew.quantities import LENGTH, PER_LENGTH, UnitSystem, show

if TYPE_CHECKING:
    from clew.knots.from_mill import KnotTerms
    from clew.knots.law import KnotLaw
    from clew.knots.monte_carlo import DrawnKnots

_ROW_CHANCE = 1e-6


@click.command()
@knot_law_options
@click.option("--ball-number", type=click.IntRange(1), help="Which ball since a cone's start.")
@click.option(
    "--check",
    "drawn",
    type=click.IntRange(100, 1_000_000),
    help="Also draw so many balls at random.",
)
@click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, help="Seed of those balls."
)
@in_units
@as_json
def law(
    terms: KnotTerms,
    ball_number: int | None,
    drawn: int | None,
    seed: int,
    units: UnitSystem | None,
    as_json: bool,
) -> None:
    """How many joins land in a ball.

    Name a ball of the mill file (--ball), or say everything by hand. Cones and their breaks are
    stated before steam, the ball and what happens on the line after it; --shrink, or the mill file,
    takes one to the other.
    """
    from clew.knots.law import knot_law
    from clew.knots.law_plain import plain_law
    from clew.knots.monte_carlo import draw_balls

    sources, ball_length = terms.sources, terms.rule.ball_length_m
    min_piece = terms.rule.min_piece_m
    try:
        found = knot_law(sources, ball_length, ball_number=ball_number)
    except BadInput as bad:
        raise BadInput([placed_option(fault) for fault in bad.faults]) from None
    balls = (
        None
        if drawn is None
        else draw_balls(sources, ball_length, balls=drawn, seed=seed, ball_number=ball_number)
    )
    if as_json:
        print_json(
            {"ball": terms.ball_name, "dye_lot": terms.lot_name}
            | plain_law(found, min_piece, terms.shrink_frac)
            | _drawn_plain(balls, min_piece)
        )
    else:
        system = units or terms.units
        _tell(found, min_piece, balls, system)
        if terms.breaks_at_most_per_m > 0.0:
            click.echo(_none_counted_words(terms, system))


def _none_counted_words(terms: KnotTerms, system: UnitSystem) -> str:
    """What a count of no break leaves open, before steam as breaks are stated."""
    from clew.knots.rates import poisson_interval

    per_m = terms.breaks_at_most_per_m * (1.0 - terms.shrink_frac)
    counted_m = poisson_interval(0.0)[1] / per_m
    counted = show(counted_m, LENGTH, system, unit="km" if system == "metric" else "")
    rate = show(1000.0 * per_m, PER_LENGTH, system, digits=2)
    more = terms.breaks_at_most_per_m * terms.rule.ball_length_m
    return (
        f"No break in {counted} counted: at most {rate} (95 %), "
        f"so at most {more:.2g} more joins a ball."
    )


def _drawn_plain(balls: DrawnKnots | None, min_piece_m: float) -> dict[str, Any]:
    if balls is None:
        return {}
    return {
        "drawn": {
            "balls": balls.joins.size,
            "seed": balls.seed,
            "pmf": balls.share.tolist(),
            "mean": float(balls.joins.mean()),
            "p_piece_under_min": float((balls.shortest_m < min_piece_m).mean()),
            "shortest_piece_mean_m": float(balls.shortest_m.mean()),
        }
    }


def _tell(found: KnotLaw, min_piece_m: float, balls: DrawnKnots | None, system: UnitSystem) -> None:
    from clew.knots.pieces import within_limit
    from clew.knots.sources import SOURCE_WORDS

    where = (
        "anywhere on the strand"
        if found.ball_number is None
        else f"ball {found.ball_number} after a cone's start"
    )
    click.echo(
        f"{show(found.ball_length_m, LENGTH, system, digits=6)}, {where}: "
        f"{found.mean:.4g} joins a ball, "
        f"{found.mean_pieces:.4g} pieces."
    )
    print_rows(
        (SOURCE_WORDS[name], f"{mean:.4g} a ball")
        for name, mean in found.mean_by_source.items()
        if mean > 0.0
    )
    head = [
        "joins",
        "balls",
        "more than that",
        f"within, pieces ≥ {show(min_piece_m, LENGTH, system)}",
    ]
    share = None if balls is None else balls.share
    if share is not None and balls is not None:
        head.append(f"of {balls.joins.size} drawn")
    rows = []
    for k in range(found.pmf.size):
        if k and found.more_than(k - 1) < _ROW_CHANCE:
            break
        within = within_limit(found.pmf, found.ball_length_m, k, min_piece_m)
        row = [str(k), _percent(found.pmf[k]), _percent(found.more_than(k)), _percent(within)]
        if share is not None:
            row.append(_percent(share[k] if k < share.size else 0.0))
        rows.append(row)
    print_table(head, rows)


def _percent(chance: float) -> str:
    return f"{100.0 * chance:.4f} %"
