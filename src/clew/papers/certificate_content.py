"""A release certificate as text, in reading order: the decision, its figures, who signs."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import ClassVar

from clew import __version__
from clew.checks.packages.rule import OFFICE
from clew.checks.packages.verdict import Verdict
from clew.checks.release.decision import Decision
from clew.checks.release.finding import Finding, Mend
from clew.languages import figure, first_upper, joined, say
from clew.papers.card_rows import Group
from clew.papers.certificate_rows import SheetContent, sheet_contents
from clew.papers.paper_data import Paper, Row

_WORD = {"release": say("RELEASED"), "hold": say("HELD"), "rework": say("REWORK")}
_ANSWER = {True: say("passed"), False: say("failed"), None: say("not decided")}
SHORT_HASH = 16
_WHOLE_COST = 10.0
_UNTOLD = say("not stated")


@dataclass(frozen=True, slots=True)
class CertificateFacts:
    """What a certificate is about, as the caller knows it.

    An empty text is left out; how, by whom and when the sample was drawn is then "not stated".

    Attributes
    ----------
    mill, line, ball, yarn, blend, colour, dye_lot, order, customer : str
        What was made, of what, where, for whom.
    lot_size : int
        Balls in the lot.
    knot_limit : int or None
        Most knots of a first-quality ball.
    fault_plan : str
        What the plan for faults promises.
    drawn_how, drawn_by, drawn_when : str
        How the sample was drawn, by whom and when.
    instruments : tuple of str
        Scale and reel, with what is known of their error.
    files : tuple of (str, str)
        Name and SHA-256 of every file the certificate is made from.
    tables : str
        Which tables of the rule sets were used, with their hash.
    currency : str
        Currency of costs.
    """

    mill: str
    ball: str
    lot_size: int
    line: str = ""
    yarn: str = ""
    blend: str = ""
    colour: str = ""
    dye_lot: str = ""
    order: str = ""
    customer: str = ""
    knot_limit: int | None = None
    fault_plan: str = ""
    drawn_how: str = ""
    drawn_by: str = ""
    drawn_when: str = ""
    instruments: tuple[str, ...] = ()
    files: tuple[tuple[str, str], ...] = ()
    tables: str = ""
    currency: str = ""


@dataclass(frozen=True, slots=True)
class FindingContent:
    """One finding as printed."""

    title: str
    answer: str
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CertificateContent:
    """Everything that stands on a certificate, as text, in reading order.

    Attributes
    ----------
    paper : {"A4", "Letter"}
        Sheet to print on.
    title, word, sentence : str
        Title of the document, the decision in one word, and in a sentence.
    reasons, mends : tuple of str
        Why it is not a release, and what would release it.
    about : tuple of Group
        What was made, how it was sampled, what it was measured with.
    findings : tuple of FindingContent
        What was looked at.
    sheets : tuple of SheetContent
        The worksheets of the net-content rule sets.
    hash : str
        SHA-256 of all of the above [hexadecimal].
    signatures : tuple of str
        Places to sign.
    deferral, footer : str
        Whose word counts, and what stands under every page.
    anchor : str
        Where the line's record stood when it was printed; no part of the hash. Empty without a
        ledger.
    """

    template: ClassVar[str] = "certificate"

    paper: Paper
    title: str
    word: str
    sentence: str
    reasons: tuple[str, ...]
    mends: tuple[str, ...]
    about: tuple[Group, ...]
    findings: tuple[FindingContent, ...]
    sheets: tuple[SheetContent, ...]
    hash: str
    signatures: tuple[str, ...]
    deferral: str
    footer: str
    anchor: str = ""


def certificate_content(
    decision: Decision,
    verdicts: Sequence[Verdict],
    facts: CertificateFacts,
    *,
    paper: Paper = "A4",
    anchor: str = "",
) -> CertificateContent:
    """Arrange a certificate.

    Parameters
    ----------
    decision : Decision
        The decision.
    verdicts : sequence of Verdict
        The net-content answers it rests on.
    facts : CertificateFacts
        What it is about.
    paper : {"A4", "Letter"}
        Sheet to print on.
    anchor : str
        Where the line's record stands; empty without a ledger.

    Returns
    -------
    CertificateContent
        The texts. The same decision and facts give the same hash, whenever they are printed.
    """
    title = say(
        "Release certificate: {ball}, {value}", ball=facts.ball, value=facts.dye_lot or say("lot")
    )
    if decision.word != "release":
        title = say(
            "Lot report, not a release: {ball}, {value}",
            ball=facts.ball,
            value=facts.dye_lot or say("lot"),
        )
    content = CertificateContent(
        paper,
        title,
        _WORD[decision.word],
        decision.sentence,
        decision.reasons,
        tuple(mend_words(mend, facts.currency) for mend in decision.mends),
        _about(facts),
        tuple(_finding(one) for one in decision.findings),
        tuple(sheet for verdict in verdicts for sheet in sheet_contents(verdict)),
        "",
        (say("Tested by, date"), say("Released by, date"))
        if decision.word == "release"
        else (say("Tested by, date"), say("Held by, date")),
        say(
            "{office}. A copy of the weighings belongs to this paper.",
            office=first_upper(OFFICE),
        ),
        "",
    )
    plain = asdict(content)
    del plain["anchor"]
    whole = hashlib.sha256(
        json.dumps(plain, sort_keys=True, ensure_ascii=True).encode("ascii")
    ).hexdigest()
    footer = say(
        "{mill} · {ball} · clew {version__} · {whole}",
        mill=facts.mill,
        ball=facts.ball,
        version__=__version__,
        whole=whole[:SHORT_HASH],
    )
    return replace(content, hash=whole, footer=footer, anchor=anchor)


def mend_words(mend: Mend, currency: str) -> str:
    """Say a mend with what it costs.

    Parameters
    ----------
    mend : Mend
        The mend.
    currency : str
        Currency; without one the cost is left out.

    Returns
    -------
    str
        One sentence.
    """
    text = first_upper(mend.words)
    if mend.cost is not None and currency:
        # thousands are parted by a space: the letters of the paper have no other one
        whole = f"{mend.cost:,.0f}".replace(",", " ")
        amount = whole if mend.cost >= _WHOLE_COST else figure(f"{mend.cost:.2f}")
        text += say(". About {amount} {currency}", amount=amount, currency=currency)
    if mend.basis:
        text += joined("", (" (", mend.basis, ")"))
    return text + "."


def _finding(one: Finding) -> FindingContent:
    answer = _ANSWER[one.passed]
    if not one.confirmed:
        answer += say(" by a table not checked against its source")
    return FindingContent(one.title, answer, one.words)


def _about(facts: CertificateFacts) -> tuple[Group, ...]:
    made = [
        (say("Mill"), facts.mill),
        (say("Line"), facts.line),
        (say("Ball"), facts.ball),
        (say("Yarn"), facts.yarn),
        (say("Fibres"), facts.blend),
        (say("Colour"), facts.colour),
        (say("Dye lot"), facts.dye_lot),
        (say("Order"), facts.order),
        (say("Customer"), facts.customer),
        (
            say("Knot limit"),
            ""
            if facts.knot_limit is None
            else say("{knot_limit} in a ball", knot_limit=facts.knot_limit),
        ),
        (say("Balls in the lot"), f"{facts.lot_size}"),
    ]
    drawn = [
        (say("How"), facts.drawn_how or _UNTOLD),
        (say("Who"), facts.drawn_by or _UNTOLD),
        (say("When"), facts.drawn_when or _UNTOLD),
        *[(say("Instrument"), one) for one in facts.instruments],
        (say("Plan for faults"), facts.fault_plan),
        (say("Tables"), facts.tables),
        *[
            (say("File"), say("{name}, SHA-256 {sha}", name=name, sha=sha))
            for name, sha in facts.files
        ],
    ]
    groups = ((say("What was made"), made), (say("How it was sampled and measured"), drawn))
    return tuple(
        Group(title, tuple(Row(head, text) for head, text in rows if text))
        for title, rows in groups
    )
