"""Headings and labels that stand in the papers' templates themselves."""

from __future__ import annotations

from clew.languages import say, spoken

_FIXED = (
    say("Answer"),
    say("Back"),
    say("Ball"),
    say("Balls"),
    say("Care"),
    say("Case"),
    say("Cases"),
    say("Certificates of the dye lots (SHA-256)"),
    say("Change"),
    say("Check"),
    say("clew ledger verify --anchor shows whether it was changed since."),
    say("Closed by, and when"),
    say("Colour"),
    say("Crew."),
    say("dye lot"),
    say("Dye lot"),
    say("Found"),
    say("Gross"),
    say("GTIN of a ball"),
    say("Handed over"),
    say("Hash of this paper's content (SHA-256):"),
    say("Hour from"),
    say("How it comes"),
    say("How sure"),
    say("Lane"),
    say("Lifting."),
    say("Made by"),
    say("Net"),
    say("No note was left."),
    say("not in order:"),
    say("Nothing was recorded on this line yet."),
    say("of"),
    say("or"),
    say("page"),
    say("print at 100 %"),
    say("Run"),
    say("Run card"),
    say("sheet"),
    say("shift"),
    say("Signatures"),
    say("Signed"),
    say("Sources and cautions"),
    say("Spare, tie only if short:"),
    say("sure"),
    say("Sure?"),
    say("Take care"),
    say("Tally sheet"),
    say("Tick each step."),
    say("Time"),
    say("Together"),
    say("typed in by, time"),
    say("What"),
    say("What is missing in the records"),
    say("What it is"),
    say("What to do with this list"),
    say("What was looked at"),
    say("What would release it"),
    say("Where it is"),
    say(
        "Where the ledger stood: chain, row, hash, check digits. clew ledger verify proves the "
        "list's records by them."
    ),
    say("Where the record stood"),
    say("Where the line's record stood:"),
    say("Who"),
    say("Why"),
)


def fixed_words() -> dict[str, str]:
    """Say every heading of the templates.

    Returns
    -------
    dict of str to str
        The English words, by which a template asks, and what it prints.
    """
    return {str(one): spoken(one) for one in _FIXED}
