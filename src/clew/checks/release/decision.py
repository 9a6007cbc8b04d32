"""The decision on a lot: release, hold or rework; made of findings, and never of silence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from clew.checks.release.finding import Finding, Mend, Subject
from clew.languages import first_lower, joined, say, say_many

Word = Literal["release", "hold", "rework"]

NEEDED: tuple[Subject, ...] = ("net content", "fault", "shade", "band")
"""What has to be looked at before a lot goes."""

NAMED: dict[Subject, str] = {
    "net content": say("Net content"),
    "fault": say("Faults"),
    "shade": say("Shade"),
    "band": say("Band"),
}
"""What has to be looked at, as a reader is told it."""

_SMALL: dict[Subject, str] = {
    "net content": say("net content"),
    "fault": say("faults"),
    "shade": say("shade"),
    "band": say("band"),
}
_ASK = {
    "net content": say("weigh a sample by the rule set"),
    "fault": say("look the balls through for knots over the limit and other faults"),
    "shade": say("read the shade of the dye lot against its standard"),
    "band": say("lay a band beside the declaration"),
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
    reasons = [say("{title}: failed", title=one.title) for one in failed]
    reasons += [say("{title}: not decided", title=one.title) for one in undecided]
    reasons += [say("{subject}: not looked at", subject=NAMED[subject]) for subject in missing]
    reasons += [
        say("{title}: a table not checked against its source", title=one.title) for one in unsure
    ]
    mends = _each_once([mend for one in (*failed, *undecided) for mend in one.mends])
    mends += [Mend(_ASK[subject]) for subject in missing]
    if unsure:
        mends.append(
            Mend(
                say(
                    "have the table confirmed against its source, or let a person of the mill "
                    "take it on them by name"
                )
            )
        )
    if not reasons:
        word: Word = "release"
        sentence = say("This lot may go.")
        if accepted_by and any(not one.confirmed for one in findings):
            sentence = say(
                "This lot may go; {name} takes it on them that a table was not "
                "checked against its source.",
                name=accepted_by,
            )
        sentence = joined(" ", [sentence, *(one.beside for one in findings if one.beside)])
    elif failed and all(one.mends for one in failed):
        word = "rework"
        sentence = say("Rework this lot: {checks} failed.", checks=_joined(_shorts(failed)))
    elif failed:
        word = "hold"
        sentence = say("Hold this lot: {checks} failed.", checks=_joined(_shorts(failed)))
    else:
        word = "hold"
        sentence = say("Hold this lot: {why}.", why=_open_words(_shorts(undecided), missing))
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
        said.append(
            say_many(
                "{checks} is not decided",
                "{checks} are not decided",
                len(names),
                checks=_joined(names),
            )
        )
    if missing:
        names = [_SMALL[subject] for subject in missing]
        many = 2 if len(names) > 1 or missing[0] == "fault" else 1
        said.append(
            say_many(
                "{checks} was not looked at",
                "{checks} were not looked at",
                many,
                checks=_joined(names),
            )
        )
    if not said:
        return say("it passes by a table that nobody checked against its source")
    return joined("; ", said)


def _shorts(findings: Sequence[Finding]) -> list[str]:
    return [_short(one) for one in findings]


def _short(one: Finding) -> str:
    """Name a check inside a sentence; by which rule sets it failed stands among the reasons."""
    if one.subject != "net content":
        return first_lower(one.title)
    return say("declared length") if one.title.startswith("Declared") else say("net content")


def _joined(names: Sequence[str]) -> str:
    names = list(dict.fromkeys(names))
    if len(names) == 1:
        return names[0]
    return say("{names} and {last}", names=joined(", ", names[:-1]), last=names[-1])
