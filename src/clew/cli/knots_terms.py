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
    from clew.knots.from_mill import KnotTerms

Command = Callable[..., Any]

_MIN_PIECE_M = 5.0
_JOIN_LENGTH_M = 0.1


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
    _per_km("--breaks-per-km", "Breaks re-tied on the cone, per km before steam."),
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
    _number("--price-second", "Money for a second-quality ball."),
    _number("--waste-per-m", "Handling of a dropped metre; 0 if left out."),
    _number("--parting", "Cost of a parting; 0 if left out."),
    _quantity("--ball-mass", MASS, "Mass of a ball."),
)
_BY_HAND = {
    "ball_length", "breaks_per_km", "dispersion", "cone_length", "cone_cv", "line_breaks_per_km",
    "colour_ties_per_km", "shrink", "min_piece", "limit", "join_length", "price_first",
    "price_second", "waste_per_m", "parting", "ball_mass",
}  # fmt: skip
_KEYS = {
    "breaks_per_m": "breaks_per_km",
    "cone_length_m": "cone_length",
    "shrink_frac": "shrink",
    "ball_length_m": "ball_length",
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
    from clew.knots.cutting import CutPrices
    from clew.knots.sources import sources_after_steam

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
    stated = terms.stated_prices
    if stated is None and "price_first" in by_hand:
        stated = CutPrices(by_hand["price_first"], by_hand["price_first"])
        if "price_second" not in by_hand:
            raise BadInput(Fault("no price of a second-quality ball", key="price_second"))
    if stated is not None:
        stated = CutPrices(
            first=by_hand.get("price_first", stated.first),
            second=by_hand.get("price_second", stated.second),
            waste_per_m=by_hand.get("waste_per_m", stated.waste_per_m),
            parting=by_hand.get("parting", stated.parting),
        )
    own_rate = "breaks_per_km" in by_hand
    return replace(
        terms,
        sources=sources,
        shrink_frac=shrink_frac,
        # a rate given by hand is taken as it is: the mill's counting says nothing of it
        breaks_band=(1.0, 1.0) if own_rate else terms.breaks_band,
        rule=rule,
        stated_prices=stated,
        ball_mass_g=by_hand.get("ball_mass", terms.ball_mass_g),
    )
