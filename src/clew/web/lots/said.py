"""What Lots says in words beside what the rooms say, and their words in the reader's units."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from clew.checks.packages.rule import OFFICE
from clew.checks.release.decision import Decision
from clew.checks.release.finding import Mend
from clew.languages import Tongue, figure, first_upper, joined, say, say_many
from clew.languages.told import tell
from clew.mill.model import Mill
from clew.quantities import LENGTH, MASS, in_unit, number
from clew.web.band.said import fault_words
from clew.web.drawn.figures import Figures
from clew.web.drawn.reworded import Reworded, reworded
from clew.web.lots.inputs import LOOKED_FOR
from clew.web.lots.page import LotsPage, Sampling

UNCHECKED = say("table not checked against its source")
OFFICE_WORDS = say("{office}.", office=first_upper(OFFICE))
_WORDS = {"release": say("RELEASED"), "hold": say("HELD"), "rework": say("REWORK")}
_ANSWERS = {True: say("passed"), False: say("failed"), None: say("not decided")}
_SUBJECTS = {
    "net content": say("Net content"),
    "fault": say("Faults"),
    "shade": say("Shade"),
    "band": say("Band"),
}
_OF_DECLARED = re.compile(r"\((\d+(?:[.,]\d+)?\s?%) \w+ \d+(?:[.,]\d+)?\)")
_OF_DECLARATION = say("of the declaration")
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
    return words if figures.metric else Reworded.of(words, _yards)


@cache
def _amount(decimal: str) -> re.Pattern[str]:
    mark = re.escape(decimal)
    begins = r"(?<![\w.])" if decimal == "." else rf"(?<![\w.{mark}])"
    return re.compile(rf"{begins}(\d+(?:{mark}\d+)?) (g|m)\b")


def _yards(words: str, tongue: Tongue | None) -> str:
    decimal = "." if tongue is None else tongue.decimal

    def said(found: re.Match[str]) -> str:
        kind, unit = _KINDS[found[2]]
        plain = found[1].replace(decimal, ".")
        digits = max(_LEAST_DIGITS, len(plain.replace(".", "").lstrip("0")))
        text = f"{number(in_unit(float(plain), kind, unit), digits)} {unit}"
        return text if tongue is None else tongue.mark(text)

    share = "of the declaration" if tongue is None else tell(_OF_DECLARATION, tongue)
    return _amount(decimal).sub(said, _OF_DECLARED.sub(rf"(\1 {share})", words))


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
        "paper": say("Release certificate (PDF)")
        if decision.word == "release"
        else say("Lot report (PDF)"),
    }


def _way(mend: Mend, currency: str, figures: Figures) -> Way:
    words = in_readers_units(mend.words, figures)
    beside = []
    if mend.balls is not None:
        beside.append(say("{balls:.0f} balls", balls=mend.balls))
    if mend.cost is not None and currency:
        cost = figure(f"{mend.cost:,.0f}".replace(",", "\u202f"))
        beside.append(say("about {cost} {currency}", cost=cost, currency=currency))
    if mend.basis:
        beside.append(in_readers_units(mend.basis, figures))
    return Way(say("{words}.", words=_sentence(words)), joined("; ", beside))


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
    asks = []
    if missing["mass"]:
        asks.append(
            say_many(
                "Weigh {n} more ball of this lot.",
                "Weigh {n} more balls of this lot.",
                missing["mass"],
            )
        )
    if missing["length"]:
        asks.append(
            say_many(
                "Reel {n} more ball of this lot.",
                "Reel {n} more balls of this lot.",
                missing["length"],
            )
        )
    return tuple(asks)


def not_looked_words(decision: Decision) -> str:
    """Name the faults that balls were not looked through for, where others were."""
    from clew.checks.attributes.inspection import FAULTS

    titles = {one.title for one in decision.findings if one.subject == "fault"}
    left = [words for key, words in LOOKED_FOR.items() if f"Balls {FAULTS[key]}" not in titles]
    return say("Not looked for: {faults}.", faults=joined("; ", left)) if titles and left else ""


def findings_told(decision: Decision, figures: Figures) -> list[Told]:
    """Every check with its answer, and every check that is missing."""
    told = []
    for one in decision.findings:
        answer = _ANSWERS[one.passed]
        mark = {True: "passed", False: "failed", None: "open"}[one.passed]
        if not one.confirmed:
            answer = joined("; ", (answer, UNCHECKED))
            mark = "open" if one.passed else mark
        words = one.words
        if one.subject != "band":  # what stands on a band is said as it stands there
            words = tuple(in_readers_units(each, figures) for each in words)
        told.append(Told(one.title, answer, mark, tuple(_sentence(each) for each in words)))
    from clew.checks.release.decision import NEEDED

    seen = {one.subject for one in decision.findings}
    told += [
        Told(_SUBJECTS[subject], say("not looked at"), "open", ())
        for subject in NEEDED
        if subject not in seen
    ]
    return told


def _sentence(words: str) -> str:
    """Begin with a capital, and keep each number on one line with its unit."""
    return first_upper(reworded(words, lambda text: _HELD.sub("\u00a0", text))) if words else words


def sampling_words(page: LotsPage, sampling: Sampling) -> str:
    """Say how the sample comes out of the file."""
    lot = page.chosen.lot_name
    said = [
        say_many(
            "The file holds {n} ball of {lot}",
            "The file holds {n} balls of {lot}",
            sampling.balls,
            lot=lot,
        )
        if lot
        else say_many("The file holds {n} ball", "The file holds {n} balls", sampling.balls)
    ]
    if sampling.first:
        said.append(
            say(
                "the rule sets ask for {first}, or up to {most} where a first drawing does not "
                "decide",
                first=sampling.first,
                most=sampling.most,
            )
            if sampling.most > sampling.first
            else say("the rule sets ask for {first}", first=sampling.first)
        )
    said.append(
        say("they are drawn at random with seed {seed}.", seed=sampling.seed)
        if sampling.at_random
        else say("they are taken in the order of the file.")
    )
    return joined("; ", said)


def size_words(page: LotsPage) -> str:
    """Say what size is taken where none was typed."""
    if page.size_said or not page.lot_size:
        return ""
    return say(
        "Taken as {size}, all that the file holds. Put in the size of the lot itself: how many "
        "balls are drawn hangs on it.",
        size=page.lot_size,
    )


def plan_words(page: LotsPage) -> str:
    """Say how many balls to look through for faults, and how many may be at fault."""
    if page.plan is None:
        return say("How many to look at follows from the size of the lot.")
    stage = page.plan.stages[0]
    few = say("at most {most}", most=stage.accept) if stage.accept else say("none")
    if stage.drawn >= page.lot_size:
        return say(
            "Look at every one of the {size} balls; {few} may be at fault, each fault.",
            size=page.lot_size,
            few=few,
        )
    return say(
        "Look at {drawn} of the {size} balls, drawn at random; {few} of them may be at fault, for "
        "each fault.",
        drawn=stage.drawn,
        size=page.lot_size,
        few=few,
    )


def faults_said(page: LotsPage) -> list[tuple[str, str]]:
    """Name each fault by the label of its input, with what is wrong and what was typed."""
    labels = {key: field.words for key, field in page.fields.items()}
    for fault, words in LOOKED_FOR.items():
        name = first_upper(words)
        labels[f"{fault}_looked"] = say("{fault}, looked at", fault=name)
        labels[f"{fault}_found"] = say("{fault}, at fault", fault=name)
    lists = (page.files, page.shades, page.orders, *page.chosen.offers)
    labels |= {one.key: one.words for one in lists}
    labels |= {"rule": say("Judged by"), "sample": say("Balls are taken")}
    said = []
    for one in page.faults:
        if one.file or one.key not in labels:
            said.append(("", fault_words(one)))
            continue
        text = joined(": ", [part for part in (one.what, one.expected) if part])
        if one.value:
            text = say("{what} (got {value})", what=text, value=one.value)
        said.append((labels[one.key], text))
    return said


def plan_rests_on(mill: Mill) -> str:
    """Say what the plan for faults was made from."""
    from clew.checks.release.lot import CONSUMER_RISK_FRAC, PRODUCER_RISK_FRAC

    good, bad = mill.checks.fault_good_frac, mill.checks.fault_bad_frac
    return say(
        "Made from the mill file: a lot with {good:g}\u00a0% at fault should go, one with "
        "{bad:g}\u00a0% should not. Of the first at most {held:g} of 100 are held, of the second "
        "at most {gone:g} of 100 go: common practice, no published source.",
        good=100 * good,
        bad=100 * bad,
        held=100 * PRODUCER_RISK_FRAC,
        gone=100 * CONSUMER_RISK_FRAC,
    )


def hundred_words(chance: float) -> str:
    """Say a chance as so many of 100, without rounding it to certainty."""
    if chance >= 0.9995:
        return say("more than {chance:.1f} of 100", chance=99.9)
    if chance <= 0.0005:
        return say("fewer than {chance:.1f} of 100", chance=0.1)
    return say("{chance:.1f} of 100", chance=100 * chance)
