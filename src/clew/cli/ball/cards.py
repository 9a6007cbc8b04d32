"""Writing a run card's files."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from clew.ball.run_card import RunCard
from clew.cli.output import write_whole
from clew.mill.model import Mill
from clew.papers import card_content, inputs_fingerprint, run_card_html, run_card_pdf
from clew.papers.printing import made_now
from clew.quantities import UnitSystem


@dataclass(frozen=True, slots=True)
class WrittenCard:
    """Where a card was written, and whether one of that name was there before."""

    pdf: Path
    html: Path
    replaced: bool


def file_name(card: RunCard) -> str:
    """Name a card's files after its ball and dye lot, in plain letters."""
    words = re.sub(r"[^A-Za-z0-9]+", "-", f"{card.ball_name} {card.lot_name}").strip("-").lower()
    return f"run-card-{words}" if words else "run-card"


def card_files(card: RunCard, mill: Mill, units: UnitSystem) -> tuple[str, bytes, bytes]:
    """Make a run card as PDF and HTML, and write neither.

    Parameters
    ----------
    card : RunCard
        The card.
    mill : Mill
        The mill, for its own rules, its paper and its clock.
    units : {"metric", "yard"}
        Units of the card.

    Returns
    -------
    (str, bytes, bytes)
        The files' name without ending, PDF, HTML.
    """
    line = mill.find_line(card.line_name)
    fingerprint = inputs_fingerprint(mill, card.ball_name, card.lot_name, card.line_name)
    if (
        card.first_balls
    ):  # the same inputs, other settings: the foot of the card must tell them apart
        fingerprint += f", after {card.first_balls} first ball{'s' if card.first_balls > 1 else ''}"
    content = card_content(
        card,
        mill.safety,
        line,
        units=units,
        paper=mill.mill.paper,
        fingerprint=fingerprint,
    )
    made = made_now(mill.mill.time_zone)
    pdf = run_card_pdf(content, made=made)
    return file_name(card), pdf, run_card_html(content, made=made).encode()


def write_card(card: RunCard, mill: Mill, folder: Path, units: UnitSystem) -> WrittenCard:
    """Write a run card as PDF and HTML; both are made before either is written.

    Parameters
    ----------
    card, mill, units
        As for `card_files`.
    folder : Path
        Where to.

    Returns
    -------
    WrittenCard
        The two files.

    Raises
    ------
    BadInput
        When the folder cannot be written to.
    """
    name, pdf, html = card_files(card, mill, units)
    written = WrittenCard(
        folder / f"{name}.pdf", folder / f"{name}.html", (folder / f"{name}.pdf").exists()
    )
    write_whole(written.pdf, pdf)
    write_whole(written.html, html)
    return written
