"""`clew knots answer`: what to say to a buyer whose ball came back with so many joins."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.knots.terms import knot_terms_options, placed_option
from clew.cli.options import Quantity, as_json, in_units
from clew.cli.output import print_json, print_table, write_whole
from clew.faults import BadInput, Fault
from clew.quantities import LENGTH, UnitSystem, number, show

if TYPE_CHECKING:
    from clew.knots.answer import BuyerAnswer
    from clew.knots.from_mill import KnotTerms

_COUNTS_SHOWN = 4


@click.command()
@click.option(
    "--joins", type=int, help="Knots (or splices) in the ball; as many as --at if left out."
)
@click.option(
    "--at",
    "positions",
    type=Quantity(LENGTH),
    multiple=True,
    help='Where one of them is, from either end, such as "12 m"; once for each.',
)
@knot_terms_options
@click.option("--letter", "letter_only", is_flag=True, help="Print the draft of a letter only.")
@click.option("--out", type=click.Path(path_type=Path), help="Write the draft to this file.")
@click.option("--check", is_flag=True, help="Exit code 1 when it is not a first-quality ball.")
@in_units
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="Seed of draws.")
@as_json
def answer(
    joins: int | None,
    positions: tuple[float, ...],
    terms: KnotTerms,
    letter_only: bool,
    out: Path | None,
    check: bool,
    units: UnitSystem | None,
    seed: int,
    as_json: bool,
) -> None:
    """What to say to a buyer whose ball came back with so many knots.

    How usual that is, what the knots probably were, whether it is a first-quality ball, what it
    says of spinning, and a draft of the letter.
    """
    from clew.knots.answer import answer_buyer
    from clew.knots.answer_plain import answer_as_plain
    from clew.knots.answer_terms import full_answer, returned_ball
    from clew.knots.letter import letter_paragraphs

    if joins is None and not positions:
        raise BadInput(Fault("no joins", "--joins N, or --at for each", key="--joins"))
    if joins == 0 and not positions:
        raise BadInput(
            Fault(
                f"a ball without a {terms.joined_by} needs no answer",
                "1 or more",
                key="--joins",
                value="0",
            )
        )
    units = units or terms.units
    ball = returned_ball(terms, len(positions) if joins is None else joins, positions, seed=seed)
    try:
        quick = letter_only and not as_json
        found = answer_buyer(ball) if quick else full_answer(terms, ball)
    except BadInput as bad:
        raise BadInput([_placed(fault) for fault in bad.faults]) from None
    letter = letter_paragraphs(
        found,
        ball_name=terms.ball_name,
        lot_name=terms.lot_name,
        joined_by=terms.joined_by,
        units=units,
    )
    if out is not None:
        write_whole(out, ("\n\n".join(letter) + "\n").encode())
    if as_json:
        print_json(answer_as_plain(found) | {"currency": terms.currency, "letter": letter})
    elif letter_only:
        click.echo("\n\n".join(letter))
    else:
        _tell(found, terms, units)
    if check and found.first_quality is False:
        raise click.exceptions.Exit(1)


def _placed(fault: Fault) -> Fault:
    if fault.key.startswith("position"):
        return Fault(fault.what, fault.expected, key="--at", value=fault.value)
    return placed_option(fault)


def _tell(found: BuyerAnswer, terms: KnotTerms, units: UnitSystem) -> None:
    from clew.knots.answer_grade_words import first_sentence
    from clew.knots.answer_price_words import prevention_sentence
    from clew.knots.answer_words import (
        cone_sentence,
        spinning_sentences,
        split_sentence,
        usual_sentence,
    )

    sentences = [
        usual_sentence(found, units, terms.joined_by),
        first_sentence(found, units, terms.joined_by),
        split_sentence(found, terms.joined_by),
        cone_sentence(found),
        *spinning_sentences(found, terms.joined_by),
        prevention_sentence(found, terms.currency),
    ]
    for sentence in filter(None, sentences):
        click.echo(sentence)
    _print_chances(found)
    _print_pieces(found, units, terms.joined_by)
    _print_kinds(found)
    _print_places(found, units, terms.joined_by)


def _print_chances(found: BuyerAnswer) -> None:
    rows = [
        ("just so many, of all balls", found.exactly, 10_000.0),
        ("so many or more, of all balls", found.at_least, 10_000.0),
        ("just so many, of first-quality", found.exactly_of_first, 10_000.0),
        ("so many or more, of first-quality", found.at_least_of_first, 10_000.0),
        ("wound with just so many, a year", found.exactly_a_year, 1.0),
        ("sold as first-quality, a year", found.sold_a_year, 1.0),
    ]
    print_table(
        ["balls in 10 000, or a year", "low", "figure", "high"],
        [
            [name, *(number(factor * one, 3) for one in (band.low, band.value, band.high))]
            for name, band, factor in rows
            if band is not None
        ],
    )


def _print_pieces(found: BuyerAnswer, units: UnitSystem, joined_by: str) -> None:
    if found.shortest_m is None:
        return
    shortest = show(found.shortest_m, LENGTH, units, digits=3)
    if found.as_short is None:
        click.echo(f"Shortest piece known of: {shortest}; not every {joined_by} was placed.")
    else:
        click.echo(
            f"Shortest piece: {shortest}; so many {joined_by}s leave one as short "
            f"in {number(100.0 * found.as_short, 3)} % of balls."
        )


def _print_kinds(found: BuyerAnswer) -> None:
    from clew.knots.answer_words import SHORT_WORDS

    split = found.split
    if split is None or not split.joins:
        return
    shown = range(min(split.joins + 1, _COUNTS_SHOWN))
    more = ["more"] if split.joins >= _COUNTS_SHOWN else []
    rows = []
    for kind, chances in split.chances.items():
        row = [SHORT_WORDS[kind], number(split.expected[kind], 3)]
        row += [_percent(chances[k]) for k in shown]
        rows.append(row + [_percent(chances[_COUNTS_SHOWN:].sum()) for _ in more])
    head = ["what they were", "mean", "none", *(f"{k} of them" for k in shown if k), *more]
    print_table(head, rows)


def _percent(chance: float) -> str:
    return f"{100.0 * chance:.1f} %"


def _print_places(found: BuyerAnswer, units: UnitSystem, joined_by: str) -> None:
    from clew.knots.answer_words import SHORT_WORDS

    split = found.split
    if split is None or not split.placed:
        return
    print_table(
        [f"{joined_by} at", *SHORT_WORDS.values()],
        [
            [show(place, LENGTH, units), *(_percent(one) for one in kinds.values())]
            for place, kinds in zip(sorted(found.ball.positions_m), split.by_join, strict=True)
        ],
    )
