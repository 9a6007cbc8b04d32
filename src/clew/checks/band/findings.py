"""What buyers and the law expect of a ball band, and whether it is there."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from clew.checks.band.declared import E_LEAST_G, E_MARK_MM, E_MOST_G, OUNCE_G
from clew.checks.band.fibre_names import content_faults, said_content
from clew.checks.band.gs1 import batch_fits
from clew.checks.band.room import room_words
from clew.checks.band.text import BandText, band_of, contents_due, may_carry_e
from clew.checks.release.band import said_on_band
from clew.faults import BadInput
from clew.mill.balls import Ball
from clew.mill.model import Mill

Mark = Literal["READ", "READ-2", "MEMORY", "DERIVED", "common practice"]

_OVER_FRAC = 1e-6
_SAID_FRAC = 0.01
_TWO_OUNCES_G = float(2 * OUNCE_G)
_INCH_POUND = re.compile(r"\d\s*(?:oz|lbs?)\b", re.IGNORECASE)
_METRIC = re.compile(r"\d\s*(?:kg|g)\b", re.IGNORECASE)
_E = re.compile(r"\u212e|[g)]\s+e(?!\w)|(?<!\w)e\s+\d[\d.,]*\s*k?g\b", re.IGNORECASE)
_ABOUT = r"(?:about|approx\w*\.?|ca\.?|circa|min\.?|minimum|at least|not less than|over)"
_ABOUT_MASS = re.compile(
    rf"\b{_ABOUT}\s+\(?\d[\d.,]*\s*(?:kg|g|oz|lbs?)\b|when packed", re.IGNORECASE
)
_ABOUT_LENGTH = re.compile(
    rf"\b{_ABOUT}\s+\(?\d[\d.,]*\s*(?:m|yds?|yards?|met(?:re|er)s?)\b", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class BandFinding:
    """One thing a band was looked at for.

    Attributes
    ----------
    key : str
        Short name, stable.
    title : str
        What was looked at.
    passed : bool or None
        Whether it is as it should be; None where it was not judged.
    law : bool
        Whether the law of a chosen market asks for it; else buyers do.
    words : str
        What was found, in a sentence.
    source : str
        Who asks for it.
    mark : str
        How far that source was seen.
    """

    key: str
    title: str
    passed: bool | None
    law: bool
    words: str
    source: str
    mark: Mark

    @property
    def breaks_law(self) -> bool:
        """Whether the band may not be printed so."""
        return self.law and self.passed is False


def band_findings(
    text: Sequence[str], mill: Mill, ball: Ball, lot_name: str = ""
) -> tuple[BandFinding, ...]:
    """Look a band over.

    Parameters
    ----------
    text : sequence of str
        Every line of the band, as printed: ``band_of(...).lines``.
    mill : Mill
        The mill.
    ball : Ball
        The ball.
    lot_name : str
        The dye lot that should stand on it; empty where none was named.

    Returns
    -------
    tuple of BandFinding
        Law first, then what buyers expect.

    Raises
    ------
    BadInput
        When there is no such lot.

    Notes
    -----
    A figure on a band may be rounded by up to 1 % downward (the house's choice), never upward.
    Source: each finding names its own.
    """
    band = band_of(mill, ball.name, lot_name)
    lines = tuple(text)
    law = [
        *_fibres(lines, mill, ball),
        *_net_content(lines, ball),
        *_marks(lines, ball),
        *_maker_and_origin(lines, mill, ball),
        _room(band),
    ]
    return (*law, *_wished(lines, mill, ball, band))


def judged(mill: Mill, ball_name: str, lot_name: str = "") -> tuple[BandFinding, ...]:
    """Look over the band that Clew would print.

    Raises
    ------
    BadInput
        When there is no such ball or lot.
    """
    ball = mill.find_ball(ball_name)
    return band_findings(band_of(mill, ball_name, lot_name).lines, mill, ball, lot_name)


def _sentence(parts: Sequence[str]) -> str:
    text = "; ".join(parts)
    return f"{text[:1].upper()}{text[1:]}."


def _markets_named(line: str) -> tuple[str, ...]:
    """Give the markets a line is for, such as ``EU, UK: 59 % wool``; none for a line for all."""
    head, colon, _ = line.partition(":")
    names = tuple(one.strip() for one in head.split(","))
    return names if colon and set(names) <= {"EU", "UK", "US"} else ()


def _fibres(lines: tuple[str, ...], mill: Mill, ball: Ball) -> Iterator[BandFinding]:
    title = "Fibre content"
    try:
        dues = contents_due(mill, ball)
    except BadInput as bad:
        yield BandFinding(
            "fibres", title, None, True, f"Not judged: {bad.faults[0].what}.",
            "the market's law of fibre names", "MEMORY",
        )  # fmt: skip
        return
    for due in dues:
        us = due.market == "us"
        own = tuple(one for one in lines if due.market.upper() in _markets_named(one))
        wrong = content_faults(said_content(own or lines), due)
        words = _sentence(wrong) if wrong else f"As the law there words it: {due.words}."
        yield BandFinding(
            f"fibres-{due.market}", f"{title}, {due.market.upper()}", not wrong, True, words,
            "Wool Act and 16 CFR 303" if us else "Regulation (EU) No 1007/2011, Articles 5, 7, 9",
            "READ-2",
        )  # fmt: skip


def _net_content(lines: tuple[str, ...], ball: Ball) -> Iterator[BandFinding]:
    masses, lengths, yards = said_on_band(lines)
    us = "us" in ball.band.markets
    for key, title, found, declared, unit in (
        ("mass", "Declared mass", masses, ball.declared_mass_g, "g"),
        ("length", "Declared length", lengths, ball.declared_length_m, "m"),
    ):
        asked = key == "mass"
        source = (
            "SI 2006/659 (yarn with a band shows its net mass); state law on thread and yarn"
            if asked
            else "buyers: a pattern asks for a length"
        )
        mark: Mark = "READ" if asked else "common practice"
        if not found:
            yield BandFinding(
                key, title, False, asked, f"It names no {key}; {declared:g} {unit} is declared.",
                source, mark,
            )  # fmt: skip
            continue
        off = [one for one in found if one < declared * (1.0 - _SAID_FRAC)]
        words = f"It says {declared:g} {unit}."
        if off:
            words = f"It says {off[0]:.5g} {unit}; {declared:g} {unit} is declared."
        yield BandFinding(key, title, not off, asked, words, source, mark)
        over = max(found)
        fine = over <= declared * (1.0 + _OVER_FRAC)
        yield BandFinding(
            f"{key}-over", f"{title}, nowhere more", fine, True,
            "No figure says more than is declared."
            if fine
            else f"One figure says {over:.5g} {unit}, more than the {declared:g} {unit} declared: "
            "round down, or declare and wind to the larger, which is the one tested.",
            "NIST fact sheet on labelling; Handbook 133: the larger of two is tested", "READ",
        )  # fmt: skip
    joined = " ; ".join(lines)
    both = bool(_INCH_POUND.search(joined)) and bool(_METRIC.search(joined))
    yield BandFinding(
        "both-systems", "Mass in both systems", both if us else None, True,
        ("Grams and ounces both stand on it." if both else "Only one of grams and ounces.")
        if us
        else "Not asked for in these markets.",
        "FTC rule of 1994 to 16 CFR 500, and the states' like rule for yarn", "READ-2",
    )  # fmt: skip
    small = ball.declared_mass_g < _TWO_OUNCES_G * (1.0 - 1e-9)
    yield BandFinding(
        "yards", "Yards below two ounces", yards if us and small else None, True,
        "The length stands in yards."
        if yards
        else "A ball below two ounces shows its length in yards in four US states."
        if us and small
        else "Not asked for: not sold in the US, or two ounces and more.",
        "Massachusetts G.L. c.94 s.285, Rhode Island, Connecticut, Alaska", "READ",
    )  # fmt: skip
    hedged = [
        found[0]
        for one in lines
        for found in (_ABOUT_MASS.search(one), _ABOUT_LENGTH.search(one) if small else None)
        if found
    ]
    yield BandFinding(
        "plain", "Quantity without \"about\"", not hedged if us else None, True,
        "Not asked for in these markets."
        if not us
        else f"It says: {hedged[0]}. A quantity the law asks for stands there plainly."
        if hedged
        else "Nothing qualifies the quantity.",
        "15 USC 1453(b), and the states' like rule for yarn", "MEMORY",
    )  # fmt: skip


def _marks(lines: tuple[str, ...], ball: Ball) -> Iterator[BandFinding]:
    has_e = any(_E.search(one) for one in lines)
    may = may_carry_e(ball)
    if not has_e:
        words = "It carries none" + ("; it may." if may else ".")
    elif may:
        words = f"It may stand: the average rule is kept. Print it {E_MARK_MM:g} mm high or more."
    else:
        words = (
            "It may not stand: the ball is not sold by the EU's or the UK's average rule, or not "
            f"of {E_LEAST_G:g} g to {E_MOST_G / 1000:g} kg."
        )
    yield BandFinding(
        "e-mark", "The e", may if has_e else None, True, words,
        "Directive 76/211/EEC, Annex I; SI 2006/659 regulation 2", "READ-2",
    )  # fmt: skip


def _maker_and_origin(lines: tuple[str, ...], mill: Mill, ball: Ball) -> Iterator[BandFinding]:
    us = "us" in ball.band.markets
    joined = "\n".join(lines).casefold()
    for key, title, value, law, source, mark in (
        ("maker", "Maker", mill.mill.maker, True,
         "SI 2006/659 regulation 5 (packer's name and address); 16 CFR 303.16, 500.5", "READ-2"),
        ("origin", "Origin", mill.mill.origin, us,
         "Textile and Wool Acts (FTC guide: content, origin, maker); elsewhere buyers", "READ"),
    ):  # fmt: skip
        there = bool(value) and str(value).casefold() in joined
        if there:
            words = f"It says: {value}."
        elif value:
            words = f"It leaves out: {value}."
        else:
            words = f"The mill file has no {key}."
        yield BandFinding(key, title, there, law, words, source, mark)  # type: ignore[arg-type]


def _room(band: BandText) -> BandFinding:
    wrong = room_words(band)
    return BandFinding(
        "room", "Room for the letters", not wrong, True,
        wrong or f"Figures of {band.figure_mm:.2g} mm and the symbol go on it.",
        "Directive 76/211/EEC, Annex I, 3.1; 16 CFR 500.21; GS1 size limits", "READ-2",
    )  # fmt: skip


def _wished(
    lines: tuple[str, ...], mill: Mill, ball: Ball, band: BandText
) -> Iterator[BandFinding]:
    practice: Mark = "common practice"
    buyers = "buyers; common practice, no published source"
    joined = "\n".join(lines).casefold()

    def stands(key: str, title: str, wanted: Sequence[str], none: str) -> BandFinding:
        missing = [one for one in wanted if one.casefold() not in joined]
        there = bool(wanted) and not missing
        words = (
            f"It says: {'; '.join(wanted)}."
            if there
            else f"It leaves out: {'; '.join(missing)}."
            if missing
            else none
        )
        return BandFinding(key, title, there, False, words, buyers, practice)

    def known(*texts: str) -> tuple[str, ...]:
        return tuple(one for one in texts if one)

    yield stands("colour", "Colour", known(band.colour_name), "No dye lot was named.")
    yield stands("dye-lot", "Dye lot", known(band.lot_name), "No dye lot was named.")
    yield stands("care", "Care, in words", band.care, "The mill file has no care for it.")
    yield stands("class", "Class of yarn", known(band.class_words), "No class word.")
    yield stands(
        "gauge", "Gauge and needles", known(band.gauge, band.needles), "The mill file has none."
    )
    yield _number(mill, ball)
    if band.lot_name:
        fits = batch_fits(band.lot_name)
        yield BandFinding(
            "batch", "Dye lot as a batch", fits, False,
            "It goes into the case's symbol as it is written."
            if fits
            else "It goes into no symbol: 20 letters, digits and common signs at most, no space.",
            "GS1 Barcode Syntax Dictionary, AI (10)", "READ",
        )  # fmt: skip


def _number(mill: Mill, ball: Ball) -> BandFinding:
    source, mark = "buyers with tills; GS1 General Specifications", "common practice"
    prefix = mill.mill.gs1_prefix
    if not ball.gtin:
        passed, words = False, "The ball has no GTIN: no symbol is printed."
    elif prefix is None:
        passed, words = None, f"GTIN {ball.gtin}; the mill file has no company prefix."
    elif len(ball.gtin) == 8:
        passed, words = None, f"GTIN {ball.gtin}: GS1 gives short numbers one by one."
    else:
        own = ball.gtin.zfill(13).startswith(prefix)  # of 12 digits: a nought stands before it
        passed = own
        written = f"0{ball.gtin}" if len(ball.gtin) == 12 else ball.gtin
        words = f"GTIN {ball.gtin}" + (
            ", of the mill's own prefix."
            if own
            else f", in full {written}, does not begin with the prefix {prefix}."
        )
    return BandFinding("gtin", "Number for the till", passed, False, words, source, mark)  # type: ignore[arg-type]
