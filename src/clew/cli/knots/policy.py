"""`clew knots policy`: wind on, or part and drop, when a join shows before the winder."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import click

from clew.cli.knots.terms import knot_terms_options, placed_option
from clew.cli.options import Quantity, as_json, in_units
from clew.cli.output import print_json, print_table
from clew.faults import BadInput
from clew.quantities import FRACTION, LENGTH, UnitSystem, in_unit

if TYPE_CHECKING:
    from clew.knots.cutting import FirstRule
    from clew.knots.from_mill import KnotTerms
    from clew.knots.policy.compare import Estimate, PolicyComparison, Way
    from clew.knots.policy.verdict import Money

_WAYS = {
    "straight": "wind straight",
    "part_every": "part every offence",
    "thumb": "rule of thumb",
    "rolling": "solve in sight",
    "offline": "best plan",
}


@click.command()
@knot_terms_options
@click.option(
    "--look-ahead",
    "look_aheads",
    type=Quantity(LENGTH),
    multiple=True,
    help="Strand between detector and winder, after steam; may be given several times. The mill's "
    "own, else a half, one and three balls, when left out. Nothing ahead is always shown.",
)
@click.option(
    "--finds", type=Quantity(FRACTION), default=None, help='Joins seen there; "100 %" if left out.'
)
@click.option(
    "--false-alarms-per-km", type=float, default=None, help="Joins seen that are none; 0 per km."
)
@click.option(
    "--miss-cost",
    type=float,
    default=None,
    help="What a ball over the limit sold as first-quality costs off its price, at least first-"
    "quality less second-quality price; left out, it is worth a second-quality ball.",
)
@click.option(
    "--strand-length",
    type=Quantity(LENGTH),
    default=400_000.0,
    help='Length of each drawn strand; "400 km" if left out.',
)
@click.option("--runs", type=int, default=10, show_default=True, help="Strands to draw.")
@click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, help="Seed of those strands."
)
@click.option("--exact", is_flag=True, help="Also the exact best policy of a coarse model.")
@click.option(
    "--exact-cells",
    type=click.IntRange(2, 100),
    default=10,
    show_default=True,
    help="Cells of a ball in that model.",
)
@in_units
@as_json
def policy(
    terms: KnotTerms,
    look_aheads: tuple[float, ...],
    finds: float | None,
    false_alarms_per_km: float | None,
    miss_cost: float | None,
    strand_length: float,
    runs: int,
    seed: int,
    exact: bool,
    exact_cells: int,
    units: UnitSystem | None,
    as_json: bool,
) -> None:
    """When a join shows before the winder: wind on, or part and drop.

    Gives the rule that a hand can follow and sets it beside winding straight through, parting at
    every offence, solving the strand in sight, and the best plan of one who knows every join, all
    on the same drawn strands.
    """
    from clew.knots.policy.compare import compare_policies
    from clew.knots.policy.watch import Detector
    from clew.knots.policy.words import CAUTION

    detector = Detector(
        terms.finds_frac if finds is None else finds,
        terms.false_alarms_per_km if false_alarms_per_km is None else false_alarms_per_km,
    )
    rule, prices = _rule(terms), terms.prices
    ball = rule.ball_length_m
    own = (0.5 * ball, ball, 3.0 * ball) if terms.look_ahead_m is None else (terms.look_ahead_m,)
    looks = look_aheads or own
    try:
        found = compare_policies(
            terms.sources,
            rule,
            prices,
            look_aheads_m=looks,
            strand_length_m=strand_length,
            runs=runs,
            seed=seed,
            detector=detector,
            miss_cost=miss_cost,
        )
        rows = (
            _exact_rows(terms, rule, looks, exact_cells)
            if exact and terms.join_counts > 0.0
            else []
        )
    except BadInput as bad:
        raise BadInput([placed_option(fault) for fault in bad.faults]) from None
    money = _money(terms, found, units or terms.units)
    if as_json:
        print_json(_plain(terms, rule, found, rows, detector == Detector(), money))
        return
    for line in _said(terms, found, money):
        click.echo(line)
    click.echo()
    _print_ways(found, money)
    strand = (
        f"{found.strand_length_m / 1000.0:g} km"
        if money.units == "metric"
        else f"{in_unit(found.strand_length_m, LENGTH, 'yd'):.0f} yd"
    )
    click.echo(
        f"{found.runs} strands of {strand}, {money.per_length(found.seen_per_km):.3g} joins seen "
        f"per {money.length}; bands are 95 % of the mean, strand by strand."
    )
    if rows:
        click.echo()
        _print_exact(rows, exact_cells, money)
    click.echo(CAUTION)


def _rule(terms: KnotTerms) -> FirstRule:
    """The rule in whole joins: one that counts a half lets twice as many pass.

    One that counts nothing is not seen by any rule: neither its number nor its pieces matter.
    """
    from clew.knots.policy.thumb import MOST_LIMIT

    if terms.join_counts == 0.0:
        return replace(terms.rule, limit=MOST_LIMIT, min_piece_m=0.0)
    return replace(terms.rule, limit=math.floor(terms.rule.limit / terms.join_counts + 1e-9))


def _length(length_m: float, units: UnitSystem) -> str:
    unit = "m" if units == "metric" else "yd"
    length = in_unit(length_m, LENGTH, unit)
    return f"{length:.3g} {unit}" if length < 1000.0 else f"{length:.0f} {unit}"


def _money(terms: KnotTerms, found: PolicyComparison, units: UnitSystem) -> Money:
    from clew.knots.policy.verdict import Money

    return Money(terms.currency, _year_km(terms, found), units)


def _verdict(terms: KnotTerms, found: PolicyComparison, money: Money) -> str:
    """Which rule to use."""
    from clew.knots.policy.verdict import verdict
    from clew.knots.policy.words import NO_JOIN_OFFENDS

    return NO_JOIN_OFFENDS if terms.join_counts == 0.0 else verdict(found, money)


def _for_a_hand(terms: KnotTerms, found: PolicyComparison, money: Money) -> list[str]:
    """The rule with each length in sight."""
    if terms.join_counts == 0.0:
        return [_verdict(terms, found, money)]
    return [
        found.for_a_hand(way.look_ahead_m, money.units) for way in found.ways if way.name == "thumb"
    ]


def _said(terms: KnotTerms, found: PolicyComparison, money: Money) -> list[str]:
    """Which rule to use, what a hand should do, and what that is worth."""
    from clew.knots.policy.verdict import sentences

    first = _verdict(terms, found, money)
    if terms.join_counts == 0.0:
        return [first]
    return [first, *sentences(found, money)]


def _year_km(terms: KnotTerms, found: PolicyComparison) -> float:
    """Strand a year, as winding straight through uses it for the balls made; 0 if not known."""
    per_km = found.way("straight").first_per_km
    return terms.made_a_year / per_km if per_km > 0.0 else 0.0


def _percent(share: float) -> str:
    return f"{100.0 * share:.2f} %"


def _print_ways(found: PolicyComparison, money: Money) -> None:
    names = [(_WAYS[way.name], _sees(way, money.units)) for way in found.ways]
    print_table(
        ["way", "in sight", _head(money), "s.e.", "over straight", "below best"],
        [
            [
                *name,
                f"{money.per_length(way.value_per_km.mean):.3f}",
                f"{money.per_length(way.value_per_km.standard_error):.3f}",
                _signed(way.over_straight, money),
                _signed(way.below_offline, money),
            ]
            for name, way in zip(names, found.ways, strict=True)
        ],
    )
    click.echo()
    print_table(
        ["way", "in sight", "first-q.", "hidden", f"partings/{money.length}", "dropped"],
        [
            [
                *name,
                _percent(way.first_frac),
                _percent(way.hidden_frac),
                f"{money.per_length(way.partings_per_km):.3f}",
                _percent(way.dropped_frac),
            ]
            for name, way in zip(names, found.ways, strict=True)
        ],
    )


def _head(money: Money) -> str:
    return f"a {money.length} {money.currency}".rstrip()


def _sees(way: Way, units: UnitSystem) -> str:
    return "all" if way.name == "offline" else _length(way.look_ahead_m, units)


def _signed(estimate: Estimate, money: Money) -> str:
    mean, half = (money.per_length(one) for one in (estimate.mean, estimate.high - estimate.mean))
    return "0" if half == 0.0 and mean == 0.0 else f"{mean:.3f} ± {half:.3f}"


def _exact_rows(
    terms: KnotTerms, rule: FirstRule, looks: tuple[float, ...], cells: int
) -> list[dict[str, Any]]:
    """The coarse model at each look-ahead; too large a one is named and not solved."""
    from clew.knots.policy.average import MOST_STATES
    from clew.knots.policy.exact import count_states, exact_policy, small_model

    joins_per_m = sum(terms.sources.intensities_per_m.values())
    cell_km = rule.ball_length_m / cells / 1000.0
    rows = []
    for look in sorted({0.0, *looks}):
        model = small_model(joins_per_m, rule, terms.prices, look_ahead_m=look, ball_cells=cells)
        states = count_states(model)
        row: dict[str, Any] = {
            "look_ahead_m": model.look_ahead_cells * rule.ball_length_m / cells,
            "states": states,
            "low_per_km": None,
            "high_per_km": None,
        }
        if states <= MOST_STATES:
            answer = exact_policy(model).answer
            row |= {"low_per_km": answer.low / cell_km, "high_per_km": answer.high / cell_km}
        rows.append(row)
    return rows


def _print_exact(rows: list[dict[str, Any]], cells: int, money: Money) -> None:
    from clew.knots.policy.average import MOST_STATES

    click.echo(
        f"Exact, on a coarse model: {cells} cells a ball; a join takes one, falls anywhere, "
        "is always seen."
    )
    print_table(
        ["in sight", "states", f"best value {_head(money)}, at least", "at most"],
        [
            [_length(row["look_ahead_m"], money.units), _states(row["states"])]
            + (
                [f"{money.per_length(row[end]):.6f}" for end in ("low_per_km", "high_per_km")]
                if row["low_per_km"] is not None
                else [f"more than {MOST_STATES} states", "not solved"]
            )
            for row in rows
        ],
    )


def _states(states: int) -> str:
    return str(states) if states < 10**15 else f"10^{len(str(states)) - 1}"


def _estimate_plain(name: str, estimate: Estimate) -> dict[str, float]:
    return {
        f"{name}_per_km": estimate.mean,
        f"{name}_standard_error_per_km": estimate.standard_error,
        f"{name}_low_per_km": estimate.low,
        f"{name}_high_per_km": estimate.high,
    }


def _plain(
    terms: KnotTerms,
    rule: FirstRule,
    found: PolicyComparison,
    rows: list[dict[str, Any]],
    perfect: bool,
    money: Money,
) -> dict[str, Any]:
    year = _year_km(terms, found)
    offends = terms.join_counts > 0.0
    # where the detector errs these are what it makes one believe; `ways` hold what happens
    believed = "" if perfect else "believed_"
    plain: dict[str, Any] = {
        "ball": terms.ball_name or None,
        "lot": terms.lot_name or None,
        "currency": terms.currency or None,
        "ball_length_m": rule.ball_length_m,
        "limit_joins": rule.limit if offends else None,
        "verdict": _verdict(terms, found, money),
        "for_a_hand": _for_a_hand(terms, found, money),
        "seen_per_km": found.seen_per_km,
        "strand_length_m": found.strand_length_m,
        "runs": found.runs,
        "seed": found.seed,
        "strand_a_year_km": year or None,
        "rule_of_thumb": {
            "part_before_m": found.thumb.before_m if offends else 0.0,
            f"{believed}value_per_km": found.thumb.value_per_km,
            f"{believed}straight_per_km": found.thumb.straight_per_km,
            f"{believed}first_frac": found.thumb.first_frac,
            f"{believed}partings_per_km": found.thumb.parts_per_km,
            f"{believed}dropped_frac": found.thumb.dropped_frac,
        },
        "ways": [
            {
                "way": way.name,
                "look_ahead_m": None if way.name == "offline" else way.look_ahead_m,
                "drop_most_m": way.drop_most_m if offends else None,
            }
            | _estimate_plain("value", way.value_per_km)
            | _estimate_plain("over_straight", way.over_straight)
            | _estimate_plain("over_short", way.over_short)
            | _estimate_plain("below_offline", way.below_offline)
            | (_estimate_plain("below_solved", way.below_solved) if way.below_solved else {})
            | {
                "over_straight_a_year": way.over_straight.mean * year if year else None,
                "first_frac": way.first_frac,
                "hidden_frac": way.hidden_frac,
                "partings_per_km": way.partings_per_km,
                "dropped_frac": way.dropped_frac,
            }
            for way in found.ways
        ],
    }
    # a number of states that programs cannot hold is none
    exact = [row | {"states": row["states"] if row["states"] < 2**53 else None} for row in rows]
    return plain | ({"exact": exact} if exact else {})
