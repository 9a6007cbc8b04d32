"""What Lots says in words beside what the rooms say, and their words in the reader's units."""

from __future__ import annotations

import re
from dataclasses import dataclass

from clew.checks.packages.rule import OFFICE
from clew.checks.release.decision import Decision
from clew.checks.release.finding import Mend
from clew.mill.model import Mill
from clew.quantities import LENGTH, MASS, in_unit, number
from clew.web.figures import Figures
from clew.web.lots_inputs import LOOKED_FOR
from clew.web.lots_page import LotsPage, Sampling

UNCHECKED = "table not checked against its source"
OFFICE_WORDS = f"{OFFICE[0].upper()}{OFFICE[1:]}."
_WORDS = {"release": "RELEASED", "hold": "HELD", "rework": "REWORK"}
_ANSWERS = {True: "passed", False: "failed", None: "not decided"}
_SUBJECTS = {"net content": "Net content", "fault": "Faults", "shade": "Shade", "band": "Band"}
_AMOUNT = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?) (g|m)\b")
_OF_DECLARED = re.compile(r"\((\d+(?:\.\d+)? %) of \d+(?:\.\d+)?\)")
_HELD = re.compile(r"(?<=\d) (?=(?:g|m|oz|yd|%)(?:\W|$))")
_LEAST_DIGITS = 5
_KINDS = {"g": (MASS, "oz"), "m": (LENGTH, "yd")}


@dataclass(frozen=True, slots=True)
class Told:
    """One check as the page tells it: its name, its answer with a mark, what was found."""

    title: str
    answer: str
    mark: str
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Way:
    """One way to a release: what to do, how many balls it touches, what it costs."""

    words: str
    beside: str


def in_readers_units(words: str, figures: Figures) -> str:
    """Write a room's grams and metres as ounces and yards for who reads them so.

    Parameters
    ----------
    words : str
        A sentence of a room.
    figures : Figures
        The reader's units.

    Returns
    -------
    str
        The same; a converted limit keeps at least five figures, so that it still divides the same
        balls.
    """
    if figures.metric:
        return words

    def said(found: re.Match[str]) -> str:
        kind, unit = _KINDS[found[2]]
        digits = max(_LEAST_DIGITS, len(found[1].replace(".", "").lstrip("0")))
        return f"{number(in_unit(float(found[1]), kind, unit), digits)} {unit}"

    return _AMOUNT.sub(said, _OF_DECLARED.sub(r"(\1 of the declaration)", words))


def decision_words(page: LotsPage, decision: Decision, figures: Figures) -> dict[str, object]:
    """Say the decision: the word, the sentence, why, and what would release the lot."""
    unsure = any(not one.confirmed for one in decision.findings)
    more = more_words(page)
    if all(one.subject != "fault" for one in decision.findings):
        more += (plan_words(page),)
    return {
        "key": decision.word,
        "word": _WORDS[decision.word],
        "sentence": decision.sentence,
        "reasons": decision.reasons,
        "ways": [_way(one, page.currency, figures) for one in decision.mends],
        "more": more,
        "unsure": unsure,
        "accepted_by": decision.accepted_by,
        "not_looked": not_looked_words(decision),
        "paper": "Release certificate (PDF)" if decision.word == "release" else "Lot report (PDF)",
    }


def _way(mend: Mend, currency: str, figures: Figures) -> Way:
    words = in_readers_units(mend.words, figures)
    beside = []
    if mend.balls is not None:
        beside.append(f"{mend.balls:.0f} balls")
    if mend.cost is not None and currency:
        beside.append(f"about {mend.cost:,.0f} {currency}".replace(",", "\u202f"))
    if mend.basis:
        beside.append(in_readers_units(mend.basis, figures))
    return Way(f"{_sentence(words)}.", "; ".join(beside))


def more_words(page: LotsPage) -> tuple[str, ...]:
    """Say how many more balls have to be weighed, reeled or looked at."""
    if page.answer is None:
        return ()
    missing = {"mass": 0, "length": 0}
    for verdict in page.answer.verdicts:
        for sheet in verdict.sheets:
            if sheet.passed is None and sheet.n_given < sheet.n_required:
                lacks = sheet.n_required - sheet.n_given
                missing[sheet.plan.quantity] = max(missing[sheet.plan.quantity], lacks)
    verbs = {"mass": "Weigh", "length": "Reel"}
    return tuple(
        f"{verbs[what]} {count} more {'ball' if count == 1 else 'balls'} of this lot."
        for what, count in missing.items()
        if count
    )


def not_looked_words(decision: Decision) -> str:
    """Name the faults that balls were not looked through for, where others were."""
    from clew.checks.attributes.inspection import FAULTS

    titles = {one.title for one in decision.findings if one.subject == "fault"}
    left = [words for key, words in LOOKED_FOR.items() if f"Balls {FAULTS[key]}" not in titles]
    return f"Not looked for: {'; '.join(left)}." if titles and left else ""


def findings_told(decision: Decision, figures: Figures) -> list[Told]:
    """Every check with its answer, and every check that is missing."""
    told = []
    for one in decision.findings:
        answer = _ANSWERS[one.passed]
        mark = {True: "passed", False: "failed", None: "open"}[one.passed]
        if not one.confirmed:
            answer += f"; {UNCHECKED}"
            mark = "open" if one.passed else mark
        words = one.words
        if one.subject != "band":  # what stands on a band is said as it stands there
            words = tuple(in_readers_units(each, figures) for each in words)
        told.append(Told(one.title, answer, mark, tuple(_sentence(each) for each in words)))
    from clew.checks.release.decision import NEEDED

    seen = {one.subject for one in decision.findings}
    told += [
        Told(_SUBJECTS[subject], "not looked at", "open", ())
        for subject in NEEDED
        if subject not in seen
    ]
    return told


def _sentence(words: str) -> str:
    """Begin with a capital, and keep each number on one line with its unit."""
    return _HELD.sub("\u00a0", words[0].upper() + words[1:]) if words else words


def sampling_words(page: LotsPage, sampling: Sampling) -> str:
    """Say how the sample comes out of the file."""
    of = f" of {page.chosen.lot_name}" if page.chosen.lot_name else ""
    holds = f"The file holds {sampling.balls} {'ball' if sampling.balls == 1 else 'balls'}{of}"
    asks = f"the rule sets ask for {sampling.first}"
    if sampling.most > sampling.first:
        asks += f", or up to {sampling.most} where a first drawing does not decide"
    how = "they are taken in the order of the file"
    if sampling.at_random:
        how = f"they are drawn at random with seed {sampling.seed}"
    return f"{holds}; {asks}; {how}." if sampling.first else f"{holds}; {how}."


def size_words(page: LotsPage) -> str:
    """Say what size is taken where none was typed."""
    if page.size_said or not page.lot_size:
        return ""
    return (
        f"Taken as {page.lot_size}, all that the file holds. Put in the size of the lot itself: "
        "how many balls are drawn hangs on it."
    )


def plan_words(page: LotsPage) -> str:
    """Say how many balls to look through for faults, and how many may be at fault."""
    if page.plan is None:
        return "How many to look at follows from the size of the lot."
    stage = page.plan.stages[0]
    few = f"at most {stage.accept}" if stage.accept else "none"
    if stage.drawn >= page.lot_size:
        return f"Look at every one of the {page.lot_size} balls; {few} may be at fault, each fault."
    return (
        f"Look at {stage.drawn} of the {page.lot_size} balls, drawn at random; "
        f"{few} of them may be at fault, for each fault."
    )


def faults_said(page: LotsPage) -> list[tuple[str, str]]:
    """Name each fault by the label of its input, with what is wrong and what was typed."""
    labels = {key: field.words for key, field in page.fields.items()}
    for fault, words in LOOKED_FOR.items():
        for part, short in (("looked", "looked at"), ("found", "at fault")):
            labels[f"{fault}_{part}"] = f"{words[0].upper()}{words[1:]}, {short}"
    lists = (page.files, page.shades, page.orders, *page.chosen.offers)
    labels |= {one.key: one.words for one in lists}
    labels |= {"rule": "Judged by", "sample": "Balls are taken"}
    said = []
    for one in page.faults:
        if one.file or one.key not in labels:
            said.append(("", str(one)))
            continue
        text = ": ".join(part for part in (one.what, one.expected) if part)
        said.append((labels[one.key], text + (f" (got {one.value})" if one.value else "")))
    return said


def plan_rests_on(mill: Mill) -> str:
    """Say what the plan for faults was made from."""
    from clew.checks.release.lot import CONSUMER_RISK_FRAC, PRODUCER_RISK_FRAC

    good, bad = mill.checks.fault_good_frac, mill.checks.fault_bad_frac
    return (
        f"Made from the mill file: a lot with {100 * good:g}\u00a0% at fault should go, one with "
        f"{100 * bad:g}\u00a0% should not. Of the first at most {100 * PRODUCER_RISK_FRAC:g} of "
        f"100 are held, of the second at most {100 * CONSUMER_RISK_FRAC:g} of 100 go: common "
        "practice, no published source."
    )
