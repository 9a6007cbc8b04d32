"""`clew knots cones`: which cone makes ties fall at ball ends, and whether that pays."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import click

from clew.cli.knots.cones_shown import HABIT_WORDS, LEAST_SHOWN, ConesShown
from clew.cli.knots.terms import knot_terms_options, placed_option
from clew.cli.options import Count, Quantity, as_json, in_units
from clew.cli.output import print_json, print_table
from clew.faults import BadInput, Fault
from clew.quantities import FRACTION, LENGTH, UnitSystem, in_unit

if TYPE_CHECKING:
    from clew.knots.cone_size import ConeHabit, ConeMoney
    from clew.knots.cone_size_best import BestCones
    from clew.knots.cone_size_lot import ConeLot
    from clew.knots.cone_size_tie import TieLoss
    from clew.knots.cutting import CutPrices
    from clew.knots.from_mill import KnotTerms

_SPREADS = (0.0, 0.005, 0.01, 0.02, 0.03, 0.05)


@click.command()
@knot_terms_options
@click.option("--cone-count", type=Count(), default=None, help="Count of its yarn, before steam.")
@click.option(
    "--spread",
    "spreads",
    type=Quantity(FRACTION),
    multiple=True,
    help='Spreads of cone length to compare, once for each; 0 to "5 %" if left out.',
)
@click.option(
    "--shortest",
    type=Quantity(LENGTH),
    default=None,
    help="Shortest cone to try, before steam; a ball less than today's if left out.",
)
@click.option(
    "--longest",
    type=Quantity(LENGTH),
    default=None,
    help="Longest cone to try, before steam; a ball more than today's if left out.",
)
@click.option(
    "--tie-loss",
    type=float,
    default=None,
    help="Loss on a ball with a cone tie; left out, the chance that the tie makes it second-quality"
    " times the step in price.",
)
@click.option(
    "--tie-cost", type=float, default=0.0, show_default=True, help="Cost of tying a cone on."
)
@click.option(
    "--lot-cones",
    type=click.IntRange(1),
    default=20,
    show_default=True,
    help="Cones in a lot that starts on a ball's head.",
)
@click.option(
    "--near",
    type=Quantity(LENGTH),
    default=None,
    help="How near a ball's end counts as near; the least piece if left out.",
)
@in_units
@as_json
def cones(
    terms: KnotTerms,
    cone_count: float | None,
    spreads: tuple[float, ...],
    shortest: float | None,
    longest: float | None,
    tie_loss: float | None,
    tie_cost: float,
    lot_cones: int,
    near: float | None,
    units: UnitSystem | None,
    as_json: bool,
) -> None:
    """Which cone makes ties fall at ball ends, and whether it pays.

    Three habits: wind on over each tie; start a new ball at each cone's head and drop what the last
    one's foot leaves over; drop only short leftovers. Cones are stated before steam, balls after.
    """
    from clew.knots.cone_size_best import anew_pays_below_cv, best_cones, size_matters_below_cv
    from clew.knots.cone_size_lot import lot_of_cones

    today_m = terms.sources.cone_length_m
    if math.isinf(today_m):
        raise BadInput(
            Fault("no cone", 'its length such as "4000 m", or --ball NAME', key="--cone-length")
        )
    kept, ball_m = 1.0 - terms.shrink_frac, terms.rule.ball_length_m
    short_m = max(today_m - ball_m, 0.5 * today_m) if shortest is None else shortest * kept
    long_m = today_m + ball_m if longest is None else longest * kept
    near_m = min(terms.rule.min_piece_m, 0.5 * ball_m) if near is None else near
    tex = terms.cone_count_tex if cone_count is None else cone_count
    cv = terms.sources.cone_cv
    prices = terms.prices
    try:
        loss = _loss(terms, prices)
        money = _money(prices, loss, tie_loss, tie_cost)
        today = _today(today_m, cv, ball_m, money)
        best = best_cones(cv, ball_m, money, short_m, long_m)
        pays = anew_pays_below_cv(ball_m, money, short_m, long_m)
        lot = lot_of_cones(today["wind_on"].cones, ball_m, lot_cones, near_m)
    except BadInput as bad:
        raise BadInput([placed_option(fault) for fault in bad.faults]) from None
    listed = spreads or _told_from_none(ball_m / short_m)
    swept = [_at_spread(one, today_m, ball_m, money, short_m, long_m) for one in listed]
    matters = size_matters_below_cv(today["wind_on"].cones.mean_m, ball_m)
    shown = ConesShown(kept, tex, terms.currency, units or terms.units)
    if as_json:
        print_json(
            {
                "ball_length_m": ball_m,
                "shrink_frac": terms.shrink_frac,
                "cone_cv": cv,
                "currency": terms.currency or None,
                "ball_price": money.ball_price,
                "tie_loss": money.tie_loss,
                "tie_makes_second_frac": loss.first_frac - loss.first_tied_frac,
                "range_before_steam_m": [short_m / kept, long_m / kept],
                "today": {name: shown.plain(one) for name, one in today.items()},
                "best": shown.plain_best(best),
                "gain_per_km": _gain(today, best),
                "gain_a_year": _gain(today, best) * _km_a_year(terms),
                "start_anew_pays_below_cv": pays,
                "size_matters_below_cv": matters,
                "lot": _lot_plain(lot, lot_cones),
                "by_spread": [
                    {
                        "cone_cv": then["wind_on"].cones.cv,
                        "today": {name: shown.plain(one) for name, one in then.items()},
                        "best": shown.plain_best(found),
                        "gain_per_km": _gain(then, found),
                    }
                    for then, found in swept
                ],
            }
        )
        return
    _tell(today, best, shown, long_m, _km_a_year(terms))
    click.echo(_pays_words(pays, cv))
    click.echo(
        f"From a spread of about {100.0 * matters:.2f} % on, no cone size stands out any more."
    )
    click.echo(
        f"A cone tie costs a ball {shown.money(money.tie_loss)}"
        + ("." if tie_loss is not None else _second_words(loss, terms.join_counts))
    )
    click.echo(_lot_words(lot, lot_cones, shown))
    if shown.units == "yard":
        click.echo(f"Money and gain in the tables: a {shown.long}.")
    print_table(
        [
            "cones",
            *shown.cone_head("cone"),
            f"drop, {shown.unit}",
            *("balls", "tied, %", f"lost, {shown.unit}"),
            shown.money_head(terms.currency or "money"),
        ],
        [
            *(shown.row(f"today: {HABIT_WORDS[name]}", one) for name, one in today.items()),
            shown.row("best: start anew", best.start_anew),
            shown.row("best: drop short", best.drop_short),
        ],
    )
    click.echo(
        "Best cone, before steam, by spread, to start anew and to drop short; gain over winding "
        f"today's on{f', {terms.currency}' if terms.currency else ''}:"
    )
    print_table(
        [
            "spread, %",
            *shown.cone_head("anew"),
            shown.money_head("gain"),
            *shown.cone_head("short"),
            *(f"drop, {shown.unit}", shown.money_head("gain")),
        ],
        [shown.sweep_row(then, found) for then, found in swept],
    )


def _loss(terms: KnotTerms, prices: CutPrices) -> TieLoss:
    from clew.knots.cone_size_tie import tie_loss

    return tie_loss(terms.sources, terms.rule, prices, join_counts=terms.join_counts)


def _money(
    prices: CutPrices, loss: TieLoss, stated_loss: float | None, tie_cost: float
) -> ConeMoney:
    from clew.knots.cone_size import ConeMoney

    return ConeMoney(
        ball_price=loss.ball_price,
        tie_loss=loss.tie_loss if stated_loss is None else stated_loss,
        waste_per_m=prices.waste_per_m,
        parting=prices.parting,
        tie_cost=tie_cost,
    )


def _today(today_m: float, cv: float, ball_m: float, money: ConeMoney) -> dict[str, ConeHabit]:
    from clew.knots.cone_size import start_anew, wind_on
    from clew.knots.cone_size_near import best_drop
    from clew.knots.renewal import Cones

    cones = Cones(today_m, cv)
    return {
        "wind_on": wind_on(cones, ball_m, money),
        "start_anew": start_anew(cones, ball_m, money),
        "drop_short": best_drop(cones, ball_m, money),
    }


def _told_from_none(ball_cones: float) -> list[float]:
    """The spreads compared by default, without those too small to matter to such a ball."""
    from clew.knots.cone_size import LEAST_SD_BALLS

    return [one for one in _SPREADS if one == 0.0 or one > LEAST_SD_BALLS * ball_cones]


def _at_spread(
    cv: float, today_m: float, ball_m: float, money: ConeMoney, short_m: float, long_m: float
) -> tuple[dict[str, ConeHabit], BestCones]:
    """Today's cones and the best, at another spread; a fault is that of the spread."""
    from clew.knots.cone_size_best import best_cones

    try:
        return _today(today_m, cv, ball_m, money), best_cones(cv, ball_m, money, short_m, long_m)
    except BadInput as bad:
        raise BadInput([replace(fault, key="--spread") for fault in bad.faults]) from None


def _gain(today: dict[str, ConeHabit], best: BestCones) -> float:
    return best.drop_short.money_per_km - today["wind_on"].money_per_km


def _km_a_year(terms: KnotTerms) -> float:
    return terms.made_a_year * terms.rule.ball_length_m / 1000.0


def _tell(
    today: dict[str, ConeHabit], best: BestCones, shown: ConesShown, long_m: float, km_a_year: float
) -> None:
    found, now, here = best.drop_short, today["wind_on"], today["drop_short"]
    place = found.money_per_km - best.wind_on.money_per_km
    length = best.wind_on.money_per_km - now.money_per_km
    if found.leftover_m == 0.0 and found.tied_share == 0.0:
        click.echo(f"Wind cones to {shown.cone(found)}: every tie falls on a ball's end.")
    elif place < LEAST_SHOWN:
        click.echo("Wind on over every tie: no cone size makes ties fall at ball ends to a profit.")
    elif found.cones.mean_m >= long_m * (1.0 - 1e-6):
        what = (
            "what every cone leaves over"
            if found.drop_up_to_m >= found.ball_length_m
            else f"what a cone leaves over when it is {shown.drop(found)} {shown.unit} or less"
        )
        click.echo(f"Drop {what}; no cone size stands out, longer cones have fewer ties.")
    elif found.drop_up_to_m >= found.ball_length_m:
        click.echo(
            f"Wind cones to {shown.cone(found)} and start a new ball at every cone's head, "
            "whatever is left over."
        )
    else:
        click.echo(
            f"Wind cones to {shown.cone(found)}; drop what a cone leaves over when it is "
            f"{shown.drop(found)} {shown.unit} or less, else tie and wind on."
        )
    gain = place + length

    def a_length(per_km: float) -> str:
        return shown.money(shown.per_length(per_km))

    year = ""
    if km_a_year > 0.0:
        year = f", {f'{gain * km_a_year:.0f} {shown.currency}'.rstrip()} a year"
    click.echo(
        f"The best is worth {a_length(gain)} a {shown.long} over winding today's {shown.cone(now)} "
        f"on{year}: {a_length(length)} by fewer ties on the longest cones, {a_length(place)} "
        "by where ties fall. Today's cones with short leftovers dropped: "
        f"{a_length(here.money_per_km - now.money_per_km)}."
    )


def _pays_words(pays: float | None, cv: float) -> str:
    if pays is None:
        return "Starting anew at every cone pays against winding on at any spread up to 30 %."
    if pays == 0.0:
        return (
            "Starting anew at every cone does not pay against winding on, however small the spread."
        )
    return (
        f"Starting anew at every cone, at its best size, pays against winding on only while cones "
        f"spread by less than {100.0 * pays:.2f} %; yours spread by {100.0 * cv:.2f} %."
    )


def _second_words(loss: TieLoss, join_counts: float) -> str:
    if join_counts == 0.0:
        return ": a splice that counts 0 is not seen."
    made = 100.0 * (loss.first_frac - loss.first_tied_frac)
    return f" in the mean: it makes {made:.2f} % of them second-quality that were first."


def _lot_words(lot: ConeLot, lot_cones: int, shown: ConesShown) -> str:
    near = f"{in_unit(lot.near_m, LENGTH, shown.unit):.4g} {shown.unit}"
    return (
        f"A lot of {lot_cones} of today's cones, wound on from a ball's head: "
        f"{100.0 * lot.tied_share:.3f} % of balls with a tie; {100.0 * lot.near_share:.1f} % of "
        f"ties within {near} of a ball's end "
        f"(anywhere: {100.0 * lot.near_share_anywhere:.1f} %)."
    )


def _lot_plain(lot: ConeLot, lot_cones: int) -> dict[str, Any]:
    return {
        "cones": lot_cones,
        "balls": lot.balls,
        "tied_balls": lot.tied,
        "tied_share": lot.tied_share,
        "near_m": lot.near_m,
        "near_end_share": lot.near_share,
        "near_end_share_anywhere": lot.near_share_anywhere,
        "near_end_by_tie": lot.near_end.tolist(),
    }
