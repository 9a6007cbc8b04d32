"""The text of a ball band, decided from the mill file for the markets it is sold in."""

from __future__ import annotations

import re
from dataclasses import dataclass

from clew.checks.band.declared import (
    E_LEAST_G,
    E_MARK_MM,
    E_MOST_G,
    figure_height_mm,
    length_declared,
    mass_declared,
)
from clew.checks.band.fibre_names import TOLERANCE_POINTS, Content, content_of
from clew.faults import BadInput, Fault
from clew.mill.balls import Ball
from clew.mill.bands import BandMarket
from clew.mill.model import Mill
from clew.strand.weight_class import suggest_class

_AVERAGE_RULES = ("eu-average", "uk-2006", "de-2020")
_QUANTITY = re.compile(r"\d\s*(?:kg|g|oz|lbs?|m|yds?|yards?)\b", re.IGNORECASE)
_E = re.compile(r"(?<=[g)])(?:\s*\u212e|\s+e)(?!\w)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class BandText:
    """What stands on a ball's band, and how large.

    Attributes
    ----------
    ball_name, colour_name, lot_name : str
        What it is; colour and lot empty where no lot was named.
    markets : tuple of str
        Where it is sold.
    fibre_lines : tuple of str
        Fibre content.
    quantity_lines : tuple of str
        Declared mass and length, without the e.
    e_mark : bool
        Whether the e stands behind the mass.
    figure_mm, e_mm : float
        Least height of the figures of the quantity, and of the e [mm].
    class_words, gauge, needles : str
        What it knits to; empty where not known.
    care : tuple of str
        Care, in words.
    other_lines : tuple of str
        What else the mill's own text says.
    maker, origin : str
        Empty where the mill file has none.
    gtin : str
        8, 12 or 13 digits; empty for none.
    width_mm, height_mm : float
        The band laid flat [mm].
    own_text : bool
        Whether content and quantity are the mill's own text, not made here.
    """

    ball_name: str
    colour_name: str
    lot_name: str
    markets: tuple[BandMarket, ...]
    fibre_lines: tuple[str, ...]
    quantity_lines: tuple[str, ...]
    e_mark: bool
    figure_mm: float
    e_mm: float
    class_words: str
    gauge: str
    needles: str
    care: tuple[str, ...]
    other_lines: tuple[str, ...]
    maker: str
    origin: str
    gtin: str
    width_mm: float
    height_mm: float
    own_text: bool

    @property
    def lines(self) -> tuple[str, ...]:
        """Every line of it, as printed, the number of the symbol last."""
        e = " \u212e" if self.e_mark else ""
        first, *rest = self.quantity_lines or ("",)
        named = (
            ("Colour", self.colour_name),
            ("Dye lot", self.lot_name),
            ("Yarn", self.class_words),
            ("Gauge", self.gauge),
            ("Needles", self.needles),
        )
        every = (
            self.ball_name, first + e, *rest, *self.fibre_lines, *self.other_lines,
            *(f"{head}: {text}" for head, text in named if text),
            *self.care, self.maker, self.origin, self.gtin,
        )  # fmt: skip
        return tuple(line for line in every if line)


def may_carry_e(ball: Ball) -> bool:
    """Say whether a ball may carry the e.

    It is sold in the EU or the UK, by their average rule, and of 5 g to 10 kg.
    Source: Directive 76/211/EEC in its Austrian form, FPVO 1993, section 10: only on what keeps
    the rules and is neither below 5 g nor above 10 kg. READ.
    """
    ruled = any(rule in _AVERAGE_RULES for rule in (ball.rule_set, *ball.other_rule_sets))
    sold = any(market in ("eu", "uk") for market in ball.band.markets)
    return ruled and sold and E_LEAST_G <= ball.declared_mass_g <= E_MOST_G


def contents_due(mill: Mill, ball: Ball) -> tuple[Content, ...]:
    """Word the fibre content of a ball for each of its markets.

    Raises
    ------
    BadInput
        When a fibre is unknown or has no name in a market.
    """
    blend = mill.find_blend(mill.find_yarn(ball.yarn).blend)
    shares = [(one.fibre, one.share_frac) for one in blend.fibres]
    return tuple(content_of(shares, blend.allowance_table, one) for one in ball.band.markets)


def fibre_lines_of(contents: tuple[Content, ...]) -> tuple[str, ...]:
    """Write one line where one serves every market, else a line for each wording.

    A line of the first market serves another where names and order are the same and no share is
    further off than that market's tolerance.
    """
    lines: list[tuple[Content, list[str]]] = []
    for content in contents:
        for first, markets in lines:
            if _serves(first, content):
                markets.append(content.market)
                break
        else:
            lines.append((content, [content.market]))
    if len(lines) == 1:
        return (lines[0][0].words,)
    return tuple(
        f"{', '.join(one.upper() for one in markets)}: {content.words}"
        for content, markets in lines
    )


def _serves(first: Content, other: Content) -> bool:
    if [name for name, _ in first.parts] != [name for name, _ in other.parts]:
        return False
    pairs = zip(first.parts, other.parts, strict=True)
    return all(abs(one[1] - two[1]) <= TOLERANCE_POINTS for one, two in pairs)


def band_of(mill: Mill, ball_name: str, lot_name: str = "") -> BandText:
    """Decide the text of a ball's band.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name : str
        The ball.
    lot_name : str
        The dye lot; empty for a band without one.

    Returns
    -------
    BandText
        Where the ball has ``band_text``, that stands for fibre content and net content; all else
        is made from the mill file.

    Raises
    ------
    BadInput
        When there is no such ball or lot, the lot is of another yarn, or a fibre has no lawful
        name here.

    Notes
    -----
    Mass first in grams, then in ounces; length in metres, then in yards; in the United States the
    other way round. Source: `declared`, `fibre_names`, `strand.weight_class`.
    """
    ball = mill.find_ball(ball_name)
    yarn = mill.find_yarn(ball.yarn)
    colour_name, lot = "", ""
    if lot_name:
        colour, dye_lot = mill.find_dye_lot(lot_name)
        if dye_lot.yarn.casefold() != yarn.name.casefold():
            said = f"{dye_lot.lot}, {dye_lot.yarn}"
            raise BadInput(Fault("a dye lot of another yarn", f"a lot of {yarn.name}", value=said))
        colour_name, lot = colour.name, dye_lot.lot
    band = ball.band
    if ball.band_text:
        fibres = tuple(one for one in ball.band_text if "%" in one)
        sizes = tuple(one for one in ball.band_text if one not in fibres and _QUANTITY.search(one))
        other = tuple(one for one in ball.band_text if one not in fibres and one not in sizes)
        e_mark = any(_E.search(one) for one in sizes)
        quantities = _split_at_e(sizes) if e_mark else sizes
    else:
        fibres, other = fibre_lines_of(contents_due(mill, ball)), ()
        quantities, e_mark = _made_quantities(ball), may_carry_e(ball)
    count_tex = 1000.0 * ball.declared_mass_g / ball.declared_length_m
    suggested = suggest_class(count_tex)
    return BandText(
        ball.name, colour_name, lot, band.markets, fibres, quantities, e_mark,
        figure_height_mm(
            ball.declared_mass_g, band.markets, band.width_mm,
            max(band.height_mm, ball.mandrel_width_mm),
        ),
        E_MARK_MM,
        band.weight_class or f"{suggested.words} ({suggested.category})",
        band.gauge or "", band.needles or "", band.care, other,
        mill.mill.maker or "", mill.mill.origin or "", ball.gtin or "",
        band.width_mm, band.height_mm, bool(ball.band_text),
    )  # fmt: skip


def _split_at_e(said: tuple[str, ...]) -> tuple[str, ...]:
    """Put what stands before the e on a line of its own, and first."""
    first = ""
    rest: list[str] = []
    for line in said:
        found = None if first else _E.search(line)
        if found is None:
            rest.append(line)
            continue
        first = line[: found.start()].strip()
        after = line[found.end() :].strip(" ,;")
        rest += [after] if after else []
    return (first, *rest)


def _made_quantities(ball: Ball) -> tuple[str, ...]:
    mass = mass_declared(ball.declared_mass_g)
    length = length_declared(ball.declared_length_m)
    metres_first = f"{length.metric} ({length.inch_pound})"
    yards_first = f"{length.inch_pound} ({length.metric})"
    us_first = ball.band.markets[0] == "us"
    if may_carry_e(ball):  # nothing stands between the mass and its e
        return mass.metric, mass.inch_pound, yards_first if us_first else metres_first
    if us_first:
        return f"{mass.inch_pound} ({mass.metric})", yards_first
    return f"{mass.metric} ({mass.inch_pound})", metres_first
