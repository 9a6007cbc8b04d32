"""What buyers and the law expect of a ball band, and whether it is there."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from clew.checks.band.declared import E_LEAST_G, E_MARK_MM, E_MOST_G, OUNCE_G
from clew.checks.band.fibre_names import content_faults, said_content
from clew.checks.band.finding import BandFinding, Mark
from clew.checks.band.room import room_words
from clew.checks.band.text import BandText, band_of, contents_due, may_carry_e
from clew.checks.band.wished import wished
from clew.checks.release.band import said_on_band
from clew.faults import BadInput
from clew.languages import first_upper, joined, say
from clew.mill.balls import Ball
from clew.mill.model import Mill

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
    return (*law, *wished(lines, mill, ball, band))


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
    return say("{what}.", what=first_upper(joined("; ", parts)))


def _markets_named(line: str) -> tuple[str, ...]:
    """Give the markets a line is for, such as ``EU, UK: 59 % wool``; none for a line for all."""
    head, colon, _ = line.partition(":")
    names = tuple(one.strip() for one in head.split(","))
    return names if colon and set(names) <= {"EU", "UK", "US"} else ()


def _fibres(lines: tuple[str, ...], mill: Mill, ball: Ball) -> Iterator[BandFinding]:
    title = say("Fibre content")
    try:
        dues = contents_due(mill, ball)
    except BadInput as bad:
        yield BandFinding(
            "fibres",
            title,
            None,
            True,
            say("Not judged: {what}.", what=bad.faults[0].what),
            say("the market's law of fibre names"),
            "MEMORY",
        )
        return
    for due in dues:
        us = due.market == "us"
        own = tuple(one for one in lines if due.market.upper() in _markets_named(one))
        wrong = content_faults(said_content(own or lines), due)
        words = (
            _sentence(wrong)
            if wrong
            else say("As the law there words it: {words}.", words=due.words)
        )
        yield BandFinding(
            f"fibres-{due.market}",
            f"{title}, {due.market.upper()}",
            not wrong,
            True,
            words,
            say("Wool Act and 16 CFR 303")
            if us
            else say("Regulation (EU) No 1007/2011, Articles 5, 7, 9"),
            "READ-2",
        )


def _net_content(lines: tuple[str, ...], ball: Ball) -> Iterator[BandFinding]:
    masses, lengths, yards = said_on_band(lines)
    us = "us" in ball.band.markets
    for key, title, found, declared, unit in (
        ("mass", say("Declared mass"), masses, ball.declared_mass_g, "g"),
        ("length", say("Declared length"), lengths, ball.declared_length_m, "m"),
    ):
        asked = key == "mass"
        source = (
            say("SI 2006/659 (yarn with a band shows its net mass); state law on thread and yarn")
            if asked
            else say("buyers: a pattern asks for a length")
        )
        mark: Mark = "READ" if asked else "common practice"
        if not found:
            yield BandFinding(
                key,
                title,
                False,
                asked,
                say("It names no mass; {declared:g} g is declared.", declared=declared)
                if asked
                else say("It names no length; {declared:g} m is declared.", declared=declared),
                source,
                mark,
            )
            continue
        off = [one for one in found if one < declared * (1.0 - _SAID_FRAC)]
        words = say("It says {declared:g} {unit}.", declared=declared, unit=unit)
        if off:
            words = say(
                "It says {said:.5g} {unit}; {declared:g} {unit} is declared.",
                said=off[0],
                unit=unit,
                declared=declared,
            )
        yield BandFinding(key, title, not off, asked, words, source, mark)
        over = max(found)
        fine = over <= declared * (1.0 + _OVER_FRAC)
        yield BandFinding(
            f"{key}-over",
            say("{title}, nowhere more", title=title),
            fine,
            True,
            say("No figure says more than is declared.")
            if fine
            else say(
                "One figure says {over:.5g} {unit}, more than the {declared:g} {unit} "
                "declared: round down, or declare and wind to the larger, which is the one "
                "tested.",
                over=over,
                unit=unit,
                declared=declared,
            ),
            say("NIST fact sheet on labelling; Handbook 133: the larger of two is tested"),
            "READ",
        )
    said = " ; ".join(lines)
    both = bool(_INCH_POUND.search(said)) and bool(_METRIC.search(said))
    yield BandFinding(
        "both-systems",
        say("Mass in both systems"),
        both if us else None,
        True,
        (
            say("Grams and ounces both stand on it.")
            if both
            else say("Only one of grams and ounces.")
        )
        if us
        else say("Not asked for in these markets."),
        say("FTC rule of 1994 to 16 CFR 500, and the states' like rule for yarn"),
        "READ-2",
    )
    small = ball.declared_mass_g < _TWO_OUNCES_G * (1.0 - 1e-9)
    yield BandFinding(
        "yards",
        say("Yards below two ounces"),
        yards if us and small else None,
        True,
        say("The length stands in yards.")
        if yards
        else say("A ball below two ounces shows its length in yards in four US states.")
        if us and small
        else say("Not asked for: not sold in the US, or two ounces and more."),
        say("Massachusetts G.L. c.94 s.285, Rhode Island, Connecticut, Alaska"),
        "READ",
    )
    hedged = [
        found[0]
        for one in lines
        for found in (_ABOUT_MASS.search(one), _ABOUT_LENGTH.search(one) if small else None)
        if found
    ]
    yield BandFinding(
        "plain",
        say('Quantity without "about"'),
        not hedged if us else None,
        True,
        say("Not asked for in these markets.")
        if not us
        else say(
            "It says: {words}. A quantity the law asks for stands there plainly.", words=hedged[0]
        )
        if hedged
        else say("Nothing qualifies the quantity."),
        say("15 USC 1453(b), and the states' like rule for yarn"),
        "MEMORY",
    )


def _marks(lines: tuple[str, ...], ball: Ball) -> Iterator[BandFinding]:
    has_e = any(_E.search(one) for one in lines)
    may = may_carry_e(ball)
    if not has_e:
        words = say("It carries none; it may.") if may else say("It carries none.")
    elif may:
        words = say(
            "It may stand: the average rule is kept. Print it {height:g} mm high or more.",
            height=E_MARK_MM,
        )
    else:
        words = say(
            "It may not stand: the ball is not sold by the EU's or the UK's average "
            "rule, or not of {least:g} g to {most:g} kg.",
            least=E_LEAST_G,
            most=E_MOST_G / 1000,
        )
    yield BandFinding(
        "e-mark",
        say("The e"),
        may if has_e else None,
        True,
        words,
        say("Directive 76/211/EEC, Annex I; SI 2006/659 regulation 2"),
        "READ-2",
    )


def _maker_and_origin(lines: tuple[str, ...], mill: Mill, ball: Ball) -> Iterator[BandFinding]:
    us = "us" in ball.band.markets
    said = "\n".join(lines).casefold()
    asked: tuple[tuple[str, str, str | None, bool, str, Mark], ...] = (
        (
            "maker",
            say("Maker"),
            mill.mill.maker,
            True,
            say("SI 2006/659 regulation 5 (packer's name and address); 16 CFR 303.16, 500.5"),
            "READ-2",
        ),
        (
            "origin",
            say("Origin"),
            mill.mill.origin,
            us,
            say("Textile and Wool Acts (FTC guide: content, origin, maker); elsewhere buyers"),
            "READ",
        ),
    )
    for key, title, value, law, source, mark in asked:
        there = bool(value) and str(value).casefold() in said
        if there:
            words = say("It says: {words}.", words=value)
        elif value:
            words = say("It leaves out: {words}.", words=value)
        else:
            words = (
                say("The mill file has no maker.")
                if key == "maker"
                else say("The mill file has no origin.")
            )
        yield BandFinding(key, title, there, law, words, source, mark)


def _room(band: BandText) -> BandFinding:
    wrong = room_words(band)
    return BandFinding(
        "room",
        say("Room for the letters"),
        not wrong,
        True,
        wrong or say("Figures of {height:.2g} mm and the symbol go on it.", height=band.figure_mm),
        say("Directive 76/211/EEC, Annex I, 3.1; 16 CFR 500.21; GS1 size limits"),
        "READ-2",
    )
