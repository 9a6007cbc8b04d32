"""`clew knots cut`: where to start each ball on a strand whose joins are known."""

from __future__ import annotations

from pathlib import Path
from sys import intern
from typing import TYPE_CHECKING

import click

from clew.cli.options import Quantity, as_json
from clew.cli.output import print_json, print_rows, print_table
from clew.faults import BadInput, Fault
from clew.ledger.intake.tables import MOST_FAULTS, placed, stream_rows
from clew.quantities import LENGTH, UnitSystem, read_quantity, show

if TYPE_CHECKING:
    from clew.knots.cutting import CuttingAnswer, CuttingPlan, FirstRule
    from clew.knots.knot_map import KnotMap

_SHOWN_GAPS = 20
_COLUMNS = {"position": True, "kind": True}
_MOST_JOINS = 2_000_000
"""Rows of a map that are read: five joins a km on 400 000 km, some ten seconds."""


@click.command()
@click.argument("map_file", metavar="MAP.csv", type=click.Path(path_type=Path))
@click.option("--ball-length", type=Quantity(LENGTH), required=True, help="Length of a ball.")
@click.option("--strand-length", type=Quantity(LENGTH), required=True, help="Length of the strand.")
@click.option("--join-length", type=Quantity(LENGTH), required=True, help="What a join takes.")
@click.option("--limit", type=click.IntRange(0), required=True, help="Most joins, first-quality.")
@click.option(
    "--min-piece",
    type=Quantity(LENGTH),
    default=0.0,
    help="Shortest piece of a first-quality ball, end pieces included; none if not given.",
)
@click.option("--price-first", type=float, required=True, help="Money for a first-quality ball.")
@click.option("--price-second", type=float, required=True, help="Money for a second-quality ball.")
@click.option(
    "--waste-per-m",
    type=float,
    default=0.0,
    show_default=True,
    help="Handling of a dropped metre; the yarn itself is paid for either way.",
)
@click.option(
    "--parting",
    type=float,
    default=0.0,
    show_default=True,
    help="Cost of a gap before a ball: one parting more than winding straight on.",
)
@click.option(
    "--units",
    type=click.Choice(["metric", "yard"]),
    default="metric",
    show_default=True,
    help="Units of printed tables.",
)
@as_json
def cut(
    map_file: Path,
    ball_length: float,
    strand_length: float,
    join_length: float,
    limit: int,
    min_piece: float,
    price_first: float,
    price_second: float,
    waste_per_m: float,
    parting: float,
    units: UnitSystem,
    as_json: bool,
) -> None:
    """Best starts of the balls on the strand of MAP.csv.

    MAP.csv has a column `position` (from the head of the strand, with its unit: 123.4 m) and a
    column `kind` (a word: tie, re-tie, splice).
    """
    from clew.knots.cutting import CutPrices, FirstRule, plan_cuts
    from clew.knots.policy.words import CAUTION

    knots = _read_map(map_file, strand_length)
    rule = FirstRule(ball_length, limit, min_piece, join_length)
    answer = plan_cuts(knots, rule, CutPrices(price_first, price_second, waste_per_m, parting))
    if as_json:
        print_json(_plain(answer, knots))
        return
    click.echo(_verdict(answer, units))
    print_table(
        ["way", "value", "first-q.", "second-q.", "waste", "partings"],
        [
            _row("best plan", answer.best, units),
            _row("straight through", answer.straight, units),
            _row("part at each offence", answer.part_every, units),
        ],
    )
    _print_gaps(answer.best, rule, knots, units)
    for note in knots.notes:
        click.echo(f"Note: {note}")
    click.echo(CAUTION)


def _read_map(path: Path, strand_length_m: float) -> KnotMap:
    """Read a knot map from a file, with every faulty row named by its line."""
    from array import array

    import numpy as np

    from clew.knots.knot_map import knot_map, whole_nm

    whole_nm(strand_length_m, "--strand-length", positive=True)
    faults: list[Fault] = []
    # Numbers in arrays and each word once: a map of millions of rows stays small.
    lines, positions, kinds = array("q"), array("d"), list[str]()
    for line, (position, kind) in stream_rows(path, _COLUMNS, faults, most_rows=_MOST_JOINS):
        try:
            positions.append(read_quantity(position, LENGTH))
        except BadInput as bad:
            faults.append(placed(bad.faults[0], path, line, "position"))
            continue
        lines.append(line)
        kinds.append(intern(kind))
    if faults:
        raise BadInput([_said_as_comma(one) for one in faults[:MOST_FAULTS]])
    try:
        return knot_map(np.array(positions, dtype=np.float64), strand_length_m, kinds, lines=lines)
    except BadInput as bad:
        raise BadInput([placed(one, path, one.line or 1, one.key) for one in bad.faults]) from None


def _said_as_comma(fault: Fault) -> Fault:
    """Say of a cell too many what it mostly is: a comma in a number."""
    if fault.what != "more cells than columns":
        return fault
    expected = "position, kind; a point and not a comma in a number"
    return Fault(fault.what, expected, fault.file, fault.line, value=fault.value)


def _plan_plain(plan: CuttingPlan) -> dict[str, object]:
    return {
        "value": plan.value,
        "first": plan.first,
        "second": plan.second,
        "waste_m": plan.waste_m,
        "partings": plan.partings,
    }


def _plain(answer: CuttingAnswer, knots: KnotMap) -> dict[str, object]:
    return _plan_plain(answer.best) | {
        "starts_m": answer.best.starts_m.tolist(),
        "first_quality": answer.best.is_first.tolist(),
        "straight_through": _plan_plain(answer.straight),
        "part_at_every_offending_join": _plan_plain(answer.part_every),
        "joins": len(knots.kinds),
        "strand_m": knots.strand_m,
        "notes": list(knots.notes),
    }


def _verdict(answer: CuttingAnswer, units: UnitSystem) -> str:
    best, more = answer.best, answer.best.value - answer.straight.value
    balls = best.first + best.second
    if balls == 0:
        return "No ball can be wound: the ball is longer than the strand."
    if more <= 1e-9 * max(1.0, abs(best.value)):
        return f"Wind straight through: no plan brings more than {best.value:.2f}."
    often = "once" if best.partings == 1 else f"{best.partings} times"
    dropped = show(best.waste_m, LENGTH, units)
    return (
        f"Part {often} and drop {dropped}, tail included: "
        f"{best.first} of {balls} balls are first-quality, "
        f"{more:.2f} more than winding straight through."
    )


def _row(way: str, plan: CuttingPlan, units: UnitSystem) -> list[str]:
    return [
        way,
        f"{plan.value:.2f}",
        str(plan.first),
        str(plan.second),
        show(plan.waste_m, LENGTH, units),
        str(plan.partings),
    ]


def _print_gaps(plan: CuttingPlan, rule: FirstRule, knots: KnotMap, units: UnitSystem) -> None:
    """Say what to drop, gap by gap, so that a hand can follow."""
    gaps: list[tuple[int, float, float]] = []
    end = 0.0
    for number, start in enumerate(plan.starts_m.tolist()):
        if start - end > 1e-6:
            gaps.append((number, end, start))
        end = start + rule.ball_length_m
    if gaps:
        print_table(
            ["drop", "from", "to", "long"],
            [
                [
                    f"after ball {balls}" if balls else "at the head",
                    *(show(place, LENGTH, units, digits=7) for place in (low, high)),
                    show(high - low, LENGTH, units),
                ]
                for balls, low, high in gaps[:_SHOWN_GAPS]
            ],
        )
    if len(gaps) > _SHOWN_GAPS:
        click.echo(f"  and {len(gaps) - _SHOWN_GAPS} more; --json lists every start.")
    if knots.strand_m - end > 1e-6 and plan.starts_m.size:
        print_rows([("tail to drop", show(knots.strand_m - end, LENGTH, units))])
