"""Options that say what decides a ball's knots: a ball of the mill, values by hand, or both."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from clew.cli.options import Quantity, checked_mill, mill_folder
from clew.faults import BadInput, Fault
from clew.quantities import FRACTION, LENGTH, MASS, PER_LENGTH, Kind

if TYPE_CHECKING:
    from clew.knots.cutting import CutPrices
    from clew.knots.from_mill import KnotTerms

Command = Callable[..., Any]

_MIN_PIECE_M = 5.0
_JOIN_LENGTH_M = 0.1
_MOST_MONEY = 1e12
_MOST_LIMIT = 1_000_000


class _PerKm(Quantity):
    """A rate per km as a bare number, or with its unit."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Read the rate; a bare number is per km, as the option's name says."""
        try:
            return float(value)
        except ValueError:
            return super().convert(value, param, ctx)


def _quantity(name: str, kind: Kind, words: str) -> Callable[[Command], Command]:
    return click.option(name, type=Quantity(kind), default=None, help=words)


def _per_km(name: str, words: str) -> Callable[[Command], Command]:
    return click.option(name, type=_PerKm(PER_LENGTH), default=None, help=words)


def _number(name: str, words: str) -> Callable[[Command], Command]:
    return click.option(name, type=float, default=None, help=words)


_OF_MILL = (
    click.option("--ball", "ball_name", default="", help="A ball of the mill file."),
    click.option("--lot", "lot_name", default="", help="The dye lot it is made from."),
)
_OF_SOURCES = (
    _quantity("--ball-length", LENGTH, "Ball, after steam."),
    _per_km("--breaks-per-km", "Breaks re-tied at spinning, per km of cone before steam."),
    _number("--dispersion", "Gamma shape of that rate from cone to cone; left out, all are alike."),
    _quantity("--cone-length", LENGTH, "Mean cone, before steam; left out, no cone ties."),
    _quantity("--cone-cv", FRACTION, 'Spread of cone length, such as "5 %".'),
    _per_km("--line-breaks-per-km", "Breaks on the line, per km after steam."),
    _per_km("--colour-ties-per-km", "Ties from colour to colour, per km after steam."),
    _quantity("--shrink", FRACTION, 'Length lost in steam; "0 %" if left out.'),
    _quantity("--min-piece", LENGTH, 'Least piece; "5 m" if left out.'),
)
_OF_MONEY = (
    click.option("--limit", type=click.IntRange(0), default=None, help="Knot limit."),
    _quantity("--join-length", LENGTH, 'What a join takes; "0.1 m" if left out.'),
    _number("--price-first", "Money for a first-quality ball."),
    _number("--price-second", "Money for a second-quality ball; the mill's share if left out."),
    _number("--waste-per-m", "Handling of a dropped metre; 0 if left out."),
    _number("--parting", "Cost of a parting; 0 if left out."),
    _quantity("--ball-mass", MASS, "Mass of a ball; the mill's, by length, if left out."),
)
_BY_HAND = {
    "ball_length", "breaks_per_km", "dispersion", "cone_length", "cone_cv", "line_breaks_per_km",
    "colour_ties_per_km", "shrink", "min_piece", "limit", "join_length", "price_first",
    "price_second", "waste_per_m", "parting", "ball_mass",
}  # fmt: skip
_MONEY = ("price_first", "price_second", "waste_per_m", "parting")
_KEYS = {
    "breaks_per_m": "breaks_per_km",
    "cone_length_m": "cone_length",
    "shrink_frac": "shrink",
    "ball_length_m": "ball_length",
    "ball_price": "price_first",
    "waste_per_m": "waste_per_m",
    "price of first-quality": "price_first",
    "price of second-quality": "price_second",
}


def knot_law_options(command: Command) -> Command:
    """Add what decides the law of knots; the command gets ``terms``, a `KnotTerms`."""
    return _with(command, _OF_SOURCES)


def knot_terms_options(command: Command) -> Command:
    """Add what decides law, grade and money of knots; the command gets ``terms``."""
    return _with(command, _OF_SOURCES + _OF_MONEY)


def _with(command: Command, options: tuple[Callable[[Command], Command], ...]) -> Command:
    @functools.wraps(command)
    def called(ball_name: str, lot_name: str, mill_folder: Path, **rest: Any) -> Any:
        given = {key: rest.pop(key) for key in list(rest) if key in _BY_HAND}
        by_hand = {key: value for key, value in given.items() if value is not None}
        return command(terms=terms_from(mill_folder, ball_name, lot_name, by_hand), **rest)

    whole: Command = mill_folder(called)
    for option in reversed(_OF_MILL + options):
        whole = option(whole)
    return whole


def terms_from(folder: Path, ball_name: str, lot_name: str, by_hand: dict[str, Any]) -> KnotTerms:
    """Take a ball's terms from the mill file and put what was given by hand in their place.

    Parameters
    ----------
    folder : Path
        Folder of the mill file; read only when a ball is named.
    ball_name, lot_name : str
        Ball and dye lot; empty for none.
    by_hand : dict
        Values of the options that were given, by the option's name.

    Returns
    -------
    KnotTerms
        The terms.

    Raises
    ------
    BadInput
        With faults that name the options.
    """
    from clew.knots.from_mill import knot_terms

    if ball_name:
        terms = knot_terms(checked_mill(folder), ball_name, lot_name)
    elif lot_name:
        raise BadInput(Fault("a dye lot without a ball", "--ball NAME too", key="--lot"))
    elif "ball_length" not in by_hand:
        raise BadInput(
            Fault("no ball", 'its length such as "200 m", or --ball NAME', key="--ball-length")
        )
    else:
        terms = _bare(by_hand["ball_length"])
    try:
        return _put(terms, by_hand)
    except BadInput as bad:
        raise BadInput([placed_option(fault) for fault in bad.faults]) from None


def placed_option(fault: Fault) -> Fault:
    """Name the option a fault of the knots room is about."""
    if fault.section or fault.key.startswith("-"):
        return fault
    key = _KEYS.get(fault.key, fault.key.removesuffix("_frac").removesuffix("_m"))
    option = "--" + key.replace("_", "-").replace(" ", "-") if key else ""
    return replace(fault, key=option)


def _bare(ball_length_m: float) -> KnotTerms:
    from clew.knots.cutting import FirstRule
    from clew.knots.from_mill import KnotTerms
    from clew.knots.sources import Sources

    return KnotTerms(
        ball_name="", yarn_name="", lot_name="", currency="", sources=Sources(), shrink_frac=0.0,
        cone_mass_g=math.nan, cone_count_tex=math.nan, breaks_band=(1.0, 1.0),
        rule=FirstRule(ball_length_m, 0, _MIN_PIECE_M, _JOIN_LENGTH_M), stated_prices=None,
        ball_mass_g=math.nan, yarn_per_kg=math.nan, made_a_year=0, shelf_multiple=1.0,
        complaints_per_10000=(), joined_by="knot", splice_counts=1.0, strength_kept_frac=None,
        look_ahead_m=None, finds_frac=1.0, false_alarms_per_km=0.0,
    )  # fmt: skip


def _put(terms: KnotTerms, by_hand: dict[str, Any]) -> KnotTerms:
    from clew.knots.sources import sources_after_steam

    _check(terms, by_hand)
    of, kept = terms.sources, 1.0 - terms.shrink_frac
    shrink_frac = by_hand.get("shrink", terms.shrink_frac)
    sources = sources_after_steam(
        breaks_per_km=by_hand.get("breaks_per_km", 1000.0 * of.breaks_per_m * kept),
        dispersion=by_hand.get("dispersion", of.dispersion),
        cone_length_m=by_hand.get("cone_length", of.cone_length_m / kept),
        cone_cv=by_hand.get("cone_cv", of.cone_cv),
        line_breaks_per_km=by_hand.get("line_breaks_per_km", 1000.0 * of.line_breaks_per_m),
        colour_ties_per_km=by_hand.get("colour_ties_per_km", 1000.0 * of.colour_ties_per_m),
        shrink_frac=shrink_frac,
    )
    rule = replace(
        terms.rule,
        ball_length_m=by_hand.get("ball_length", terms.rule.ball_length_m),
        limit=by_hand.get("limit", terms.rule.limit),
        min_piece_m=by_hand.get("min_piece", terms.rule.min_piece_m),
        join_length_m=by_hand.get("join_length", terms.rule.join_length_m),
    )
    own_rate = "breaks_per_km" in by_hand
    longer = rule.ball_length_m / terms.rule.ball_length_m
    return replace(
        terms,
        sources=sources,
        shrink_frac=shrink_frac,
        # a rate given by hand is taken as it is: the mill's counting says nothing of it
        breaks_band=(1.0, 1.0) if own_rate else terms.breaks_band,
        breaks_at_most_per_m=(
            0.0 if own_rate else terms.breaks_at_most_per_m * kept / (1.0 - shrink_frac)
        ),
        rule=rule,
        stated_prices=_prices(terms.stated_prices, by_hand),
        ball_mass_g=by_hand.get("ball_mass", terms.ball_mass_g * longer),
    )


def _check(terms: KnotTerms, by_hand: dict[str, Any]) -> None:
    """See that what was given by hand can be meant; every fault names its option."""
    above_zero = ("a number above 0", lambda value: 0.0 < value < math.inf)
    not_negative = ("0 or more", lambda value: 0.0 <= value < math.inf)
    money = (f"from 0 to {_MOST_MONEY:g}", lambda value: 0.0 <= value <= _MOST_MONEY)
    ranges: dict[str, tuple[str, Callable[[float], bool]]] = {
        "ball_length": above_zero,
        "join_length": above_zero,
        "min_piece": not_negative,
        "ball_mass": above_zero,
        "limit": (f"from 0 to {_MOST_LIMIT}", lambda value: 0 <= value <= _MOST_LIMIT),
        **dict.fromkeys(_MONEY, money),
    }
    faults = [
        Fault("out of range", expected, key=key, value=_told(by_hand[key]))
        for key, (expected, good) in ranges.items()
        if key in by_hand and not good(by_hand[key])
    ]
    if terms.stated_prices is None:
        if "price_first" in by_hand and "price_second" not in by_hand:
            faults.append(Fault("no price of a second-quality ball", key="price_second"))
        others = ["--" + key.replace("_", "-") for key in _MONEY if key in by_hand]
        if "price_first" not in by_hand and others:
            faults.append(
                Fault(
                    "no price of a first-quality ball",
                    f"one, beside {' and '.join(others)}",
                    key="price_first",
                )
            )
    if faults:
        raise BadInput(faults)


def _told(value: float) -> str:
    return str(value) if isinstance(value, int) else f"{value:g}"


def _prices(stated: CutPrices | None, by_hand: dict[str, Any]) -> CutPrices | None:
    """Prices with those given by hand; another first price keeps the share of the second."""
    from clew.knots.cutting import CutPrices

    if stated is None:
        if "price_first" not in by_hand:
            return None
        stated = CutPrices(by_hand["price_first"], by_hand["price_second"])
    first = by_hand.get("price_first", stated.first)
    same_share = stated.second
    if first != stated.first:
        same_share = first * (stated.second / stated.first if stated.first > 0.0 else 0.0)
    second = by_hand.get("price_second", same_share)
    if second > first:
        raise BadInput(
            Fault(
                "second-quality dearer than first-quality",
                f"at most {first:g}",
                key="price_second",
                value=f"{second:g}",
            )
        )
    return CutPrices(
        first=first,
        second=second,
        waste_per_m=by_hand.get("waste_per_m", stated.waste_per_m),
        parting=by_hand.get("parting", stated.parting),
    )
