"""What buyers wish to read on a band, and its number for the till."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from clew.checks.band.finding import BandFinding, Mark
from clew.checks.band.gs1 import batch_fits
from clew.checks.band.text import BandText
from clew.languages import joined, say
from clew.mill.balls import Ball
from clew.mill.model import Mill


def wished(lines: tuple[str, ...], mill: Mill, ball: Ball, band: BandText) -> Iterator[BandFinding]:
    """Look for what buyers wish to read on a band.

    Parameters
    ----------
    lines : tuple of str
        Lines of the band.
    mill, ball, band : Mill, Ball, BandText
        The mill, the ball, and the text that Clew prints.

    Yields
    ------
    BandFinding
        What was found, thing by thing.
    """
    practice: Mark = "common practice"
    buyers = say("buyers; common practice, no published source")
    said = "\n".join(lines).casefold()

    def stands(key: str, title: str, wanted: Sequence[str], none: str) -> BandFinding:
        missing = [one for one in wanted if one.casefold() not in said]
        there = bool(wanted) and not missing
        words = (
            say("It says: {words}.", words=joined("; ", wanted))
            if there
            else say("It leaves out: {words}.", words=joined("; ", missing))
            if missing
            else none
        )
        return BandFinding(key, title, there, False, words, buyers, practice)

    def known(*texts: str) -> tuple[str, ...]:
        return tuple(one for one in texts if one)

    yield stands("colour", say("Colour"), known(band.colour_name), say("No dye lot was named."))
    yield stands("dye-lot", say("Dye lot"), known(band.lot_name), say("No dye lot was named."))
    yield stands("care", say("Care, in words"), band.care, say("The mill file has no care for it."))
    yield stands("class", say("Class of yarn"), known(band.class_words), say("No class word."))
    yield stands(
        "gauge",
        say("Gauge and needles"),
        known(band.gauge, band.needles),
        say("The mill file has none."),
    )
    yield _number(mill, ball)
    if band.lot_name:
        fits = batch_fits(band.lot_name)
        yield BandFinding(
            "batch",
            say("Dye lot as a batch"),
            fits,
            False,
            say("It goes into the case's symbol as it is written.")
            if fits
            else say(
                "It goes into no symbol: 20 letters, digits and common signs at most, no space."
            ),
            say("GS1 Barcode Syntax Dictionary, AI (10)"),
            "READ",
        )


def _number(mill: Mill, ball: Ball) -> BandFinding:
    source = say("buyers with tills; GS1 General Specifications")
    prefix = mill.mill.gs1_prefix
    passed: bool | None
    if not ball.gtin:
        passed, words = False, say("The ball has no GTIN: no symbol is printed.")
    elif prefix is None:
        passed, words = (
            None,
            say("GTIN {gtin}; the mill file has no company prefix.", gtin=ball.gtin),
        )
    elif len(ball.gtin) == 8:
        passed, words = (
            None,
            say("GTIN {gtin}: GS1 gives short numbers one by one.", gtin=ball.gtin),
        )
    else:
        own = ball.gtin.zfill(13).startswith(prefix)  # of 12 digits: a nought stands before it
        passed = own
        written = f"0{ball.gtin}" if len(ball.gtin) == 12 else ball.gtin
        words = (
            say("GTIN {gtin}, of the mill's own prefix.", gtin=ball.gtin)
            if own
            else say(
                "GTIN {gtin}, in full {written}, does not begin with the prefix {prefix}.",
                gtin=ball.gtin,
                written=written,
                prefix=prefix,
            )
        )
    return BandFinding(
        "gtin", say("Number for the till"), passed, False, words, source, "common practice"
    )
