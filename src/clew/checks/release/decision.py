"""The decision on a lot: release, hold or rework; made of findings, and never of silence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from clew.checks.release.finding import Finding, Mend, Subject

Word = Literal["release", "hold", "rework"]

NEEDED: tuple[Subject, ...] = ("net content", "fault", "shade", "band")
"""What has to be looked at before a lot goes."""

NAMED: dict[Subject, str] = {
    "net content": "Net content",
    "fault": "Faults",
    "shade": "Shade",
    "band": "Band",
}
"""What has to be looked at, as a reader is told it."""

_ASK = {
    "net content": "weigh a sample by the rule set",
    "fault": "look the balls through for knots over the limit and other faults",
    "shade": "read the shade of the dye lot against its standard",
    "band": "lay a band beside the declaration",
}


@dataclass(frozen=True, slots=True)
class Decision:
    """The decision on a lot.

    Attributes
    ----------
    word : {"release", "hold", "rework"}
        Release: everything needed was looked at and passed. Rework: something failed that a mend
        is known for. Hold: something failed without one, or is not decided.
    sentence : str
        The decision in one sentence.
    reasons : tuple of str
        Why it is not a release; empty for one.
    mends : tuple of Mend
        What would release it.
    findings : tuple of Finding
        What it was made of.
    accepted_by : str
        Who took a table on them that was not checked against its source; empty when nobody did.
    """

    word: Word
    sentence: str
    reasons: tuple[str, ...]
    mends: tuple[Mend, ...]
    findings: tuple[Finding, ...]
    accepted_by: str = ""


def decide(
    findings: Sequence[Finding],
    *,
    needed: Sequence[Subject] = NEEDED,
    accepted_by: str = "",
) -> Decision:
    """Decide on a lot.

    Parameters
    ----------
    findings : sequence of Finding
        What was looked at.
    needed : sequence of str
        What has to be looked at; what is missing holds the lot.
    accepted_by : str
        Name of the person who takes on them what rests on tables not checked against their
        source. Without one, such a pass holds the lot.

    Returns
    -------
    Decision
        The decision, and what would release the lot.

    Notes
    -----
    A check that failed and has a mend gives rework, even where others are open: the hands can
    begin. That a missing check holds a lot is the house's choice.
    """
    failed = [one for one in findings if one.passed is False]
    undecided = [one for one in findings if one.passed is None]
    seen = {one.subject for one in findings}
    missing = [subject for subject in needed if subject not in seen]
    unsure = [one for one in findings if one.passed and not one.confirmed and not accepted_by]
    reasons = [f"{one.title}: failed" for one in failed]
    reasons += [f"{one.title}: not decided" for one in undecided]
    reasons += [f"{NAMED[subject]}: not looked at" for subject in missing]
    reasons += [f"{one.title}: a table not checked against its source" for one in unsure]
    mends = _each_once([mend for one in (*failed, *undecided) for mend in one.mends])
    mends += [Mend(_ASK[subject]) for subject in missing]
    if unsure:
        mends.append(
            Mend(
                "have the table confirmed against its source, or let a person of the mill take it "
                "on them by name"
            )
        )
    if not reasons:
        word: Word = "release"
        sentence = "This lot may go."
        if accepted_by and any(not one.confirmed for one in findings):
            sentence = (
                f"This lot may go; {accepted_by} takes it on them that a table was not checked "
                "against its source."
            )
        sentence = " ".join([sentence, *(one.beside for one in findings if one.beside)])
    elif failed and all(one.mends for one in failed):
        word = "rework"
        sentence = f"Rework this lot: {_joined([_short(one) for one in failed])} failed."
    elif failed:
        word = "hold"
        sentence = f"Hold this lot: {_joined([_short(one) for one in failed])} failed."
    else:
        word = "hold"
        sentence = f"Hold this lot: {_open_words([_short(one) for one in undecided], missing)}."
    return Decision(word, sentence, tuple(reasons), tuple(mends), tuple(findings), accepted_by)


def _each_once(mends: Sequence[Mend]) -> list[Mend]:
    """Say once what two markets ask; of two numbers of balls the larger."""
    kept: dict[str, Mend] = {}
    for mend in mends:
        deed = mend.deed or mend.words
        if deed not in kept or (mend.balls or 0.0) > (kept[deed].balls or 0.0):
            kept[deed] = mend
    return list(kept.values())


def _open_words(undecided: Sequence[str], missing: Sequence[Subject]) -> str:
    """Say what is not decided yet, and what nobody looked at."""
    said = []
    if undecided:
        names = list(dict.fromkeys(undecided))
        said.append(f"{_joined(names)} {'is' if len(names) == 1 else 'are'} not decided")
    if missing:
        names = [NAMED[subject].lower() for subject in missing]
        verb = "were" if len(names) > 1 or missing[0] == "fault" else "was"
        said.append(f"{_joined(names)} {verb} not looked at")
    return "; ".join(said) or "it passes by a table that nobody checked against its source"


def _short(one: Finding) -> str:
    """Name a check inside a sentence; by which rule sets it failed stands among the reasons."""
    title = one.title.split(", ")[0] if one.subject == "net content" else one.title
    return title[0].lower() + title[1:]


def _joined(names: Sequence[str]) -> str:
    names = list(dict.fromkeys(names))
    if len(names) == 1:
        return names[0]
    return ", ".join(names[:-1]) + " and " + names[-1]
