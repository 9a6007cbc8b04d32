"""`clew knots price`: what each knot limit costs, in money, yarn, landfill and complaints."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import click

from clew.cli.knots.terms import knot_terms_options, placed_option
from clew.cli.options import Quantity, as_json, in_units
from clew.cli.output import print_json, print_table
from clew.faults import BadInput, Fault
from clew.quantities import LENGTH, MASS, PER_LENGTH, UnitSystem, in_unit, show

if TYPE_CHECKING:
    from clew.knots.from_mill import KnotTerms
    from clew.knots.price import Band, Habit, LimitAnswer, LimitQuestion, LimitRow

_MOST_LISTED = 50
_LEAST_SHOWN = 5e-5
"""Money is printed to four places."""
_HABITS: dict[str, Habit] = {"best": "best", "part-every": "part_every", "straight": "straight"}
_HABIT_WORDS = {
    "best": "Cut by the best plan of one who knows the whole strand beforehand: no cutting costs "
    "less; one who sees only a little ahead pays more.",
    "part_every": "Parted at every offending join, what was wound is dropped.",
    "straight": "Wound straight through; what breaks the rule is second-quality. Exact, not drawn.",
}


def _listed(text: str, option: str, expected: str, read: Callable[[str], Any]) -> tuple[Any, ...]:
    """Read numbers parted by commas; a fault names the option."""
    words = [word.strip() for word in text.split(",")]
    try:
        if len(words) > _MOST_LISTED:
            raise ValueError
        return tuple(read(word) for word in words)
    except ValueError:
        raise BadInput(
            Fault("not such a list", expected, key=option, value=text[:40] or "nothing")
        ) from None


def _limits(text: str) -> tuple[int, ...]:
    """Read "0-4" or "0,1,2"."""
    expected = 'limits such as "0-4" or "0,1,2"'
    first, dash, last = text.partition("-")
    if not dash:
        return _listed(text, "--limits", expected, int)
    ends = _listed(f"{first},{last}", "--limits", expected, int)
    if not 0 <= ends[1] - ends[0] < _MOST_LISTED:
        raise BadInput(Fault("not such a list", expected, key="--limits", value=text[:40]))
    return tuple(range(ends[0], ends[1] + 1))


@click.command()
@knot_terms_options
@click.option("--limits", default="0-4", show_default=True, help='Limits to price: "0-4", "0,1,2".')
@click.option(
    "--habit",
    type=click.Choice(list(_HABITS)),
    default="best",
    show_default=True,
    help="How balls are cut: the best plan, parting at each offence, or straight through.",
)
@click.option(
    "--halved/--no-halved",
    default=True,
    show_default=True,
    help="Also with half the breaks on the cone.",
)
@click.option(
    "--splice-counts",
    type=click.Choice(["0", "0.5", "1"]),
    default=None,
    help="What a splice counts toward the limit; below 1, splices are priced too.",
)
@click.option(
    "--breaks-band", default=None, help='Factors on the break rate, 95 %, such as "0.7,1.4".'
)
@click.option(
    "--complaints",
    default=None,
    help='Complaints per 10 000 balls with 0, 1, 2, ... knots: your own estimate, "1,2,8,30".',
)
@click.option(
    "--made-a-year", type=click.IntRange(0), default=None, help="First-quality balls a year."
)
@click.option("--shelf-multiple", type=float, default=None, help="A shop's price over yours.")
@click.option(
    "--strand-length",
    type=Quantity(LENGTH),
    default=500_000.0,
    help='Length of each of 8 drawn strands; "500 km" if left out.',
)
@click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, help="Seed of those strands."
)
@in_units
@as_json
def price(
    terms: KnotTerms,
    limits: str,
    habit: str,
    halved: bool,
    splice_counts: str | None,
    breaks_band: str | None,
    complaints: str | None,
    made_a_year: int | None,
    shelf_multiple: float | None,
    strand_length: float,
    seed: int,
    units: UnitSystem | None,
    as_json: bool,
) -> None:
    """What each knot limit costs a ball.

    For every limit and for none: the rise of the first-quality price that makes up for it, where
    the strand goes, landfill and complaints.
    """
    from clew.knots.price import LimitQuestion

    if math.isnan(terms.ball_mass_g):
        raise BadInput(Fault("no mass of a ball", 'such as "100 g"', key="--ball-mass"))
    question = LimitQuestion(
        sources=terms.sources,
        rule=terms.rule,
        limits=_limits(limits),
        prices=terms.prices,
        ball_mass_g=terms.ball_mass_g,
        made_a_year=terms.made_a_year if made_a_year is None else made_a_year,
        shelf_multiple=terms.shelf_multiple if shelf_multiple is None else shelf_multiple,
        complaints_per_10000=terms.complaints_per_10000
        if complaints is None
        else _listed(complaints, "--complaints", 'numbers such as "1,2,8,30"', float),
        breaks_band=terms.breaks_band if breaks_band is None else _band_of(breaks_band),
        habit=_HABITS[habit],
        strand_m=strand_length,
        seed=seed,
    )
    counts = terms.splice_counts if splice_counts is None else float(splice_counts)
    answers = _answers(question, terms.joined_by, counts, halved)
    if as_json:
        print_json(_plain(terms, answers))
        return
    for number, (joins, answer) in enumerate(answers):
        if number:
            click.echo()
        _tell(answer, joins, terms.currency, units or terms.units)
    click.echo()
    click.echo(_HABIT_WORDS[question.habit])
    if question.complaints_per_10000:
        click.echo("Complaints rest on the mill's own estimate by knots in a ball.")


def _band_of(text: str) -> tuple[float, float]:
    expected = 'two factors such as "0.7,1.4"'
    found = _listed(text, "--breaks-band", expected, float)
    if len(found) != 2:
        raise BadInput(Fault("not such a list", expected, key="--breaks-band", value=text[:40]))
    return found[0], found[1]


def _answers(
    question: LimitQuestion, joined_by: str, splice_counts: float, halved: bool
) -> list[tuple[str, LimitAnswer]]:
    """Knots and, where they count less, splices; at today's and at half the breaks."""
    from clew.knots.price import price_of_limits

    kinds = {"knot": 1.0, "splice": splice_counts}
    if splice_counts == 1.0:
        del kinds["splice" if joined_by == "knot" else "knot"]
    # As it is joined today comes first.
    order = sorted(kinds, key=lambda joins: joins != joined_by)
    try:
        return [
            (
                joins,
                price_of_limits(replace(question, join_counts=kinds[joins], breaks_left_frac=left)),
            )
            for joins in order
            for left in ((1.0, 0.5) if halved else (1.0,))
        ]
    except BadInput as bad:
        raise BadInput([placed_option(fault) for fault in bad.faults]) from None


def _plain(terms: KnotTerms, answers: list[tuple[str, LimitAnswer]]) -> dict[str, Any]:
    from clew.knots.price_plain import COMPLAINTS_ARE, plain_price

    return {
        "ball": terms.ball_name or None,
        "lot": terms.lot_name or None,
        "currency": terms.currency or None,
        "joined_by": terms.joined_by,
        "complaints_are": COMPLAINTS_ARE,
        "tables": [{"joins": joins} | plain_price(answer) for joins, answer in answers],
    }


def _tell(answer: LimitAnswer, joins: str, currency: str, units: UnitSystem) -> None:
    question = answer.question
    breaks = 1000.0 * question.sources.breaks_per_m * question.breaks_left_frac
    rate = "Today's breaks" if question.breaks_left_frac == 1.0 else "Half the breaks"
    counted = "" if joins == "knot" else f", each counting {question.join_counts:g}"
    often = f"{_per_length(breaks, units):.3g} per {_long(units)}"
    click.echo(f"{rate} ({often} after steam), joined by {joins}s{counted}")
    if question.join_counts == 0.0:
        click.echo("  A join that does not count meets no limit: none costs anything.")
        return
    for line in _verdicts(answer, currency, units):
        click.echo(f"  {line}")
    click.echo()
    money = f" {currency}" if currency else ""
    print_table(
        ["limit", f"cost a ball{money}", "95 % band", f"a {_heavy(units)}", "on the shelf"],
        [
            [
                _name(row),
                _money(row.cost_per_ball.value),
                _ends(row.cost_per_ball),
                _money(row.cost_per_kg.value / _heavies_a_kg(units)),
                _money(row.shelf_change.value),
            ]
            for row in answer.rows
        ],
    )
    click.echo()
    print_table(
        ["limit", "first-q.", "second-q.", "waste", f"partings/{_long(units)}"],
        [
            [
                _name(row),
                _percent(row.yield_frac.value),
                _percent(row.second_share.value),
                _percent(row.waste_frac.value),
                f"{_per_length(row.partings_per_km.value, units):.3f}",
            ]
            for row in answer.rows
        ],
        title="Where the strand goes",
    )
    _tell_known(answer, units)


def _tell_known(answer: LimitAnswer, units: UnitSystem) -> None:
    """Landfill and complaints, where the mill said what they rest on."""
    known = [
        (head, digits, factor, bands)
        for head, digits, factor, bands in (
            (
                f"landfill {_heavy(units)}/year",
                0,
                _heavies_a_kg(units),
                [row.landfill_kg_a_year for row in answer.rows],
            ),
            ("complaints/10000", 2, 1.0, [row.complaints_per_10000 for row in answer.rows]),
        )
        if bands[0] is not None
    ]
    if not known:
        return
    click.echo()
    head = ["limit"]
    for name, *_ in known:
        head += [name, "95 % band"]
    rows = []
    for number, row in enumerate(answer.rows):
        cells = [_name(row)]
        for _, digits, factor, bands in known:
            cells += _with_ends(bands[number], digits, factor)
        rows.append(cells)
    print_table(head, rows)


def _verdicts(answer: LimitAnswer, currency: str, units: UnitSystem) -> list[str]:
    """Say what today's limit costs and what one stricter or looser would change."""
    money = f" {currency}" if currency else ""
    today = answer.doubt.limit
    row = next(row for row in answer.rows if row.limit == today)
    if math.isinf(row.cost_per_ball.value):
        return [f"Under a limit of {today} no ball is first-quality."]
    landfill = row.landfill_kg_a_year
    heavy = (
        f", {landfill.value * _heavies_a_kg(units):.0f} {_heavy(units)} a year" if landfill else ""
    )
    lines = [
        f"A limit of {today} costs {_money(row.cost_per_ball.value)}{money} a ball"
        f"{_in_brackets(row.cost_per_ball)}{_of_which(answer, money, units)}; "
        f"{_percent(row.waste_frac.value)} of the strand goes to landfill{heavy}."
    ]
    for step in answer.steps:
        other = step.stricter if step.looser == today else step.looser
        if other is None or today not in (step.looser, step.stricter):
            continue
        if abs(step.cost_per_ball.value) < _LEAST_SHOWN:
            lines.append(f"A limit of {other} instead of {today} changes nothing that shows.")
            continue
        verb, end = ("costs", " more") if other == step.stricter else ("saves", "")
        lines.append(
            f"A limit of {other} instead of {today} {verb} {_money(step.cost_per_ball.value)}"
            f"{money} a ball{end}{_in_brackets(step.cost_per_ball)}."
        )
    doubt = answer.doubt
    if doubt.breaks or doubt.drawing:
        why = (
            "too little strand was counted: count more of it"
            if doubt.breaks_share >= 0.5
            else "few strands were drawn: draw longer ones"
        )
        lines.append(f"The figure for a limit of {today} is unsure mainly because {why}.")
    return lines


def _of_which(answer: LimitAnswer, money: str, units: UnitSystem) -> str:
    """Say what the shortest piece costs without any limit, for that part is not the limit's."""
    if answer.piece_rule is None:
        return ""
    piece, cost = answer.question.rule.min_piece_m, answer.piece_rule.cost_per_ball
    return (
        f", of which the shortest piece of {show(piece, LENGTH, units)} alone: "
        f"{_money(cost.value)}{money}{_in_brackets(cost)}"
    )


def _heavy(units: UnitSystem) -> str:
    return "kg" if units == "metric" else "lb"


def _heavies_a_kg(units: UnitSystem) -> float:
    return in_unit(1000.0, MASS, _heavy(units))


def _long(units: UnitSystem) -> str:
    return "km" if units == "metric" else "1000 yd"


def _per_length(per_km: float, units: UnitSystem) -> float:
    unit = PER_LENGTH.metric if units == "metric" else PER_LENGTH.yard
    return in_unit(per_km, PER_LENGTH, unit)


def _name(row: LimitRow) -> str:
    return "none" if row.limit is None else str(row.limit)


def _money(value: float) -> str:
    # Adding zero takes the sign off a zero.
    return f"{round(value, 4) + 0.0:.4f}" if math.isfinite(value) else "no bound"


def _ends(band: Band) -> str:
    return f"{_money(band.low)} to {_money(band.high)}"


def _in_brackets(band: Band) -> str:
    return "" if band.low == band.high else f" ({_ends(band)})"


def _with_ends(band: Band | None, digits: int, factor: float) -> list[str]:
    if band is None or not math.isfinite(band.value):
        return ["no bound", ""]
    low, value, high = (f"{factor * one:.{digits}f}" for one in (band.low, band.value, band.high))
    return [value, f"{low} to {high}"]


def _percent(share: float) -> str:
    return f"{100.0 * share:.2f} %"
