"""The one arrangement of a run card's words and numbers that paper and page both use."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from clew import __version__
from clew.ball.ball_answer import CALL_OUT_CONFIDENCE
from clew.ball.run_card import RunCard
from clew.languages import figure, joined, say
from clew.mill.lines import Line
from clew.mill.model import Safety
from clew.papers import ball_words as words
from clew.papers import floor_numbers as floor
from clew.papers.card_rows import Group, ball_rows, belt_rows, wind_rows
from clew.papers.cautions import DEFERRAL, Caution, cautions
from clew.papers.paper_data import Paper
from clew.quantities import UnitSystem

FIRST_BALLS = (say("1st ball"), say("2nd ball"))
"""First balls with a place on the card: the calibration needs more only when it says so."""

CALL_OUT_MEANING = say(
    "Of 1000 balls {call_out_confidence:.0f} should be inside the boxed band. "
    "It is three standard deviations of this process, not a legal limit; the "
    "legal limits are not worked out on this card.",
    call_out_confidence=1000 * CALL_OUT_CONFIDENCE,
)
"""What the band is, and what it is not."""

TRIED_TITLE = say("TRIED VALUES: NOT FOR THE RUN")
"""What stands over the number of a card that is not of the mill file."""


@dataclass(frozen=True, slots=True)
class Table:
    """A table of printed texts.

    Attributes
    ----------
    title : str
        What stands over it.
    columns : tuple of str
        Heads of the columns.
    rows : tuple of tuple of str
        Texts, one tuple a row; the first of each is the row's own head.
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class CardContent:
    """Everything that stands on a run card, as text, in reading order.

    Attributes
    ----------
    paper : {"A4", "Letter"}
        Sheet to print on.
    title : str
        Title of the document.
    mill_name, line_name, ball_name, yarn_words, colour_name, lot_name : str
        What is made, of what, where; colour and lot are empty when none was chosen.
    count_note : str
        That there is no dye lot or none of its cones was measured; empty otherwise.
    tried : tuple of str
        What stands over the turns when they rest on tried values; empty for the mill file's own.
    turns, turns_words : str
        The turns, printed large, and what they are.
    call_out : tuple of str
        The band outside which the lead is called: mass, then length.
    call_out_words : str
        What that band is.
    basis : str
        What a scale reads where the masses are declared at the agreed regain; empty otherwise.
    winders : Table
        What to set each winder to and what it then winds.
    blanks : tuple of str
        Heads of the empty places beside each winder for the first balls.
    blank_units : tuple of str
        What is written into each of them: unit of mass, unit of length.
    expected : Table
        Declared, target and expected, mass and length.
    why : tuple of str
        Which declaration binds, what the masses are, and what the doubt is made of.
    groups : tuple of Group
        Settings of belt, steam and dryer; of the winders; and what the ball comes to.
    band_title : str
        What stands over the band text.
    band_text : tuple of str
        Lines of the ball band.
    cautions_title : str
        What stands over the cautions.
    cautions : tuple of Caution
        The mill's own rules first.
    deferral : str
        The line that puts local rules first.
    signatures : tuple of str
        Places to sign.
    footer : str
        What the card was made from and by.
    """

    template: ClassVar[str] = "run_card"

    paper: Paper
    title: str
    mill_name: str
    line_name: str
    ball_name: str
    yarn_words: str
    colour_name: str
    lot_name: str
    count_note: str
    tried: tuple[str, ...]
    turns: str
    turns_words: str
    call_out: tuple[str, str]
    call_out_words: str
    basis: str
    winders: Table
    blanks: tuple[str, ...]
    blank_units: tuple[str, str]
    expected: Table
    why: tuple[str, ...]
    groups: tuple[Group, ...]
    band_title: str
    band_text: tuple[str, ...]
    cautions_title: str
    cautions: tuple[Caution, ...]
    deferral: str
    signatures: tuple[str, ...]
    footer: str


def card_content(
    card: RunCard,
    safety: Safety,
    line: Line,
    *,
    fingerprint: str,
    units: UnitSystem = "metric",
    paper: Paper = "A4",
    tried: tuple[str, ...] = (),
) -> CardContent:
    """Arrange a run card for printing.

    Parameters
    ----------
    card : RunCard
        What was worked out.
    safety : Safety
        The mill's own rules and limits.
    line : Line
        The line the card is for.
    fingerprint : str
        Fingerprint of what the card was worked out from; see `inputs_fingerprint`.
    units : {"metric", "yard"}
        System of units to print in.
    paper : {"A4", "Letter"}
        Sheet to print on.
    tried : tuple of str
        Sentences that name the tried values; none when the card is of the mill file.

    Returns
    -------
    CardContent
        The texts of the card.

    Notes
    -----
    Nothing is worked out here; every number comes from the card, the line or the mill's own rules.
    """
    on_scale = say(" on the scale") if card.terms.promise.commercial else ""
    lot = joined(", ", (part for part in (card.colour_name, card.lot_name) if part))
    return CardContent(
        paper=paper,
        title=joined(
            " – ",
            filter(
                None,
                (
                    TRIED_TITLE if tried else "",
                    say("Run card"),
                    card.ball_name,
                    lot,
                    card.line_name,
                ),
            ),
        ),
        mill_name=card.mill_name,
        line_name=card.line_name,
        ball_name=card.ball_name,
        yarn_words=say(
            "{yarn}: {blend}, of the dry mass", yarn=card.yarn_name, blend=card.blend_words
        ),
        colour_name=card.colour_name,
        lot_name=card.lot_name,
        count_note=words.count_note(card.lot_name, card.terms.strand),
        tried=(TRIED_TITLE, *tried) if tried else (),
        turns=str(card.answer.turns),
        turns_words=say("turns of the flyer a ball"),
        call_out=(
            floor.mass_range(card.call_out_scale_g.low, card.call_out_scale_g.high, units),
            floor.length_range(card.call_out_length_m.low, card.call_out_length_m.high, units),
        ),
        call_out_words=say("Call the lead when one ball{on_scale} is outside", on_scale=on_scale),
        basis=words.basis_words(card, units),
        winders=_winders(card, units),
        blanks=FIRST_BALLS,
        blank_units=("g", "m") if units == "metric" else ("oz", "yd"),
        expected=_expected(card, units),
        why=(
            say(
                "{target_words} At {turns} turns the mean ball is {over_words}.",
                target_words=words.target_words(card.answer, card.terms.promise, units),
                turns=card.answer.turns,
                over_words=words.over_words(card.answer, units),
            ),
            *_scale(card),
            *filter(None, (words.short_words(card.answer),)),
            joined(" ", (words.doubt_words(card.answer), CALL_OUT_MEANING)),
        ),
        groups=(belt_rows(card, units), wind_rows(card, line, units), ball_rows(card, units)),
        band_title=say("Band"),
        band_text=card.band_text,
        cautions_title=say("Cautions"),
        cautions=cautions(safety, line, units),
        deferral=DEFERRAL,
        signatures=(say("Set by"), say("Checked by"), say("Date"), say("Time")),
        footer=say(
            "Inputs {fingerprint} · Clew {version__}",
            fingerprint=fingerprint,
            version__=__version__,
        ),
    )


def _winders(card: RunCard, units: UnitSystem) -> Table:
    # hands weigh balls as they come off the line, so what they compare with is printed that way
    rows = tuple(
        (
            str(setting.winder),
            str(setting.lane),
            str(setting.counts),
            setting.counter_words,
            f"{setting.turns:.0f}"
            if setting.turns == round(setting.turns)
            else figure(f"{setting.turns:.1f}"),
            floor.mass(setting.scale_mass_g, units),
            floor.length(setting.length_m, units),
        )
        for setting in card.settings
    )
    columns = (
        say("Winder"),
        say("Lane"),
        say("Set counter to"),
        say("It counts"),
        say("Turns"),
        say("Ball weighs"),
        say("Length"),
    )
    return Table(say("Winders, and their first balls"), columns, rows)


def _expected(card: RunCard, units: UnitSystem) -> Table:
    answer, promise = card.answer, card.terms.promise
    sure = floor.percent(answer.confidence)
    ball, run = answer.mass_g_interval, answer.mean_mass_g_interval
    ball_m, run_m = answer.length_m_interval, answer.mean_length_m_interval
    return Table(
        say("What to expect"),
        (
            "",
            say("Declared"),
            say("Target"),
            say("Mean ball"),
            floor.of_balls(answer.confidence),
            say("Run's mean, {sure} sure", sure=sure),
        ),
        (
            (
                say("Mass"),
                floor.mass(promise.declared_mass_g, units),
                floor.mass(promise.target_mass_g, units),
                floor.mass(answer.mass_g, units),
                floor.mass_range(ball.low, ball.high, units),
                floor.mass_range(run.low, run.high, units),
            ),
            (
                say("Length"),
                floor.length(promise.declared_length_m, units),
                floor.length(promise.target_length_m, units),
                floor.length(answer.length_m, units),
                floor.length_range(ball_m.low, ball_m.high, units),
                floor.length_range(run_m.low, run_m.high, units),
            ),
        ),
    )


def _scale(card: RunCard) -> tuple[str, ...]:
    if not card.terms.promise.commercial:
        return ()
    return (
        say(
            "Masses in this table are at the agreed regain, those above it as the scale shows them."
        ),
    )
