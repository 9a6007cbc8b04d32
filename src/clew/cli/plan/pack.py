"""`clew plan pack`: which bag, case and pallet a ball goes in."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import as_json, ball_argument, checked_mill, mill_folder
from clew.cli.output import print_json, print_table
from clew.faults import BadInput, Fault
from clew.quantities import LENGTH, read_quantity

if TYPE_CHECKING:
    from clew.mill.model import Mill
    from clew.mill.pack_rules import CaseSize
    from clew.plan.packing.answer import PackAnswer
    from clew.plan.packing.option import Option

_EXPECTED = 'a case of the mill\'s, or room inside such as "590x390x390 mm"'


@click.command()
@ball_argument
@click.option("--case", "case_text", default="", help="Only this case, by name or by room inside.")
@click.option("--balls-per-bag", type=int, default=None, help="Only bags of so many balls.")
@click.option("--free", is_flag=True, help="A case made to size as well, of the least board.")
@mill_folder
@as_json
def pack(
    ball_name: str,
    case_text: str,
    balls_per_bag: int | None,
    free: bool,
    mill_folder: Path,
    as_json: bool,
) -> None:
    """Say how a ball is packed at least cost, and what the present habit costs beside it.

    Every bag and case of the mill's is filled and stood on its pallet, within what room, mass and
    the mill's heaviest lift allow; the lift of the case is judged. Exit code 1: nothing fits.
    """
    from clew.plan.packing.answer import pack_answer
    from clew.plan.packing.plain import plain_pack
    from clew.plan.packing.words import pack_words

    mill = checked_mill(mill_folder)
    case = _case(mill, case_text) if case_text else None
    answer = pack_answer(mill, ball_name, balls_per_bag=balls_per_bag, case=case, free=free)
    if as_json:
        pallet = mill.pack.pallet
        print_json(plain_pack(answer, deck_mm=pallet.deck_mm, most_height_mm=pallet.most_height_mm))
    else:
        for line in pack_words(answer):
            click.echo(line)
        _tables(answer)
    made = answer.free
    if answer.best is None and (made is None or made.option is None or made.conflicts):
        raise SystemExit(1)


def _case(mill: Mill, text: str) -> CaseSize:
    from clew.mill.pack_rules import CaseSize
    from clew.plan.packing.answer import LONGEST_CASE_MM
    from clew.plan.packing.cost import case_named

    named = case_named(mill, text)
    if named is not None:
        return named
    bad = BadInput(Fault("no such case", _EXPECTED, key="--case", value=text[:40]))
    found = re.fullmatch(r"\s*([\d.]+)\s*[x×]\s*([\d.]+)\s*[x×]\s*([\d.]+)\s*([a-z]+)\s*", text)
    if found is None:
        raise bad
    *sides, unit = found.groups()
    try:
        length, width, height = (
            round(1000.0 * read_quantity(f"{side} {unit}", LENGTH), 6) for side in sides
        )
    except BadInput:
        raise bad from None
    if not all(10.0 <= side <= LONGEST_CASE_MM for side in (length, width, height)):
        raise bad
    return CaseSize.model_construct(
        name=f"{length:g}x{width:g}x{height:g}",
        inner_length_mm=length,
        inner_width_mm=width,
        inner_height_mm=height,
        board_mm=float(CaseSize.model_fields["board_mm"].default),
        tare_mass_g=float(CaseSize.model_fields["tare_mass_g"].default),
        price=0.0,
        most_mass_g=None,
    )


def _tables(answer: PackAnswer) -> None:
    listed = list(answer.options)
    if not listed:
        return
    click.echo()
    head = ["case", "balls a bag", "bags a case", "if large", "fit", "cases a pallet", "kg a case"]
    print_table([*head, "lift index", "a ball"], [_row(one) for one in listed])
    best = listed[0]
    click.echo()
    print_table(
        ["of the best", "balls", "net kg", "gross kg", "m3"],
        [
            [
                name,
                str(one.balls),
                f"{one.net_g / 1000.0:.2f}",
                f"{one.gross_g / 1000.0:.2f}",
                f"{one.volume_m3:.4f}",
            ]
            for name, one in (("bag", best.bag), ("case", best.full_case), ("pallet", best.pallet))
        ],
    )
    click.echo()
    parts = [[part.words, f"{part.money:.4f}"] for part in best.parts]
    print_table([f"cost of a ball, {answer.currency}", ""], [*parts, ["all", f"{best.cost:.4f}"]])


def _row(option: Option) -> list[str]:
    index = option.lift.index
    return [
        option.case.name,
        str(option.balls_per_bag),
        str(option.bags_per_case),
        str(option.room.if_large),
        option.fit,
        str(option.cases_per_pallet),
        f"{option.lift.load_kg:.1f}",
        "none" if index is None else f"{index:.2f}",
        f"{option.cost:.4f}" if option.priced else f"{option.cost:.4f} + case",
    ]
