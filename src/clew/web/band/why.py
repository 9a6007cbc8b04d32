"""Why one winder runs heavy or light, cause by cause, and what to do about it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from urllib.parse import urlencode

from clew.checks.components.corrections import Correction
from clew.checks.components.drifted_plain import deed_words, signature_of
from clew.checks.components.signature import Signature
from clew.languages import figure, joined, say, say_many, spoken
from clew.web.band.answer import Drift
from clew.web.band.figures import Measure, in_readers_units
from clew.web.band.page import BandPage
from clew.web.drawn.figures import Figures

SMALL_FRAC = 0.002
"""What all winders together may stand off their target and be called on it [-]: assumed."""
_CLEAR = 2.0
"""Standard errors at which a difference is called one."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that may be behind it, and what the balls say of it.

    Attributes
    ----------
    name : str
        What may be behind it.
    answer : str
        Yes, no, partly or not known, in a word or two.
    words : str
        What the balls say.
    """

    name: str
    answer: str
    words: str


@dataclass(frozen=True, slots=True)
class Why:
    """Why a winder stands where it does.

    Attributes
    ----------
    winder, headline : str
        The winder, and where it stands in a sentence.
    reasons : tuple of Reason
        The winder, its yarn, the scale and the yarn of all.
    todo : str
        What to do.
    setting : str
        What its counter is to be set to; empty where it is left or not known.
    query : str
        Fills the form of Run with that change; empty where there is nothing to enter.
    """

    winder: str
    headline: str
    reasons: tuple[Reason, ...]
    todo: str
    setting: str = ""
    query: str = ""


def why_of(page: BandPage, drift: Drift | None, figures: Figures) -> Why | None:
    """Say why the winder that was asked about stands where it does; None where nobody asked.

    Parameters
    ----------
    page : BandPage
        What was asked, with its balls.
    drift : Drift or None
        Who drifted; None where that cannot be told.
    figures : Figures
        How numbers are printed.
    """
    if drift is None or not page.winder:
        return None
    found = drift.found
    one = next((each for each in found.corrections if each.standing.winder == page.winder), None)
    if one is None:
        return None
    measure = Measure("mass", figures)
    cause = signature_of(found, page.winder)
    others = [each for each in found.corrections if each is not one]
    cones = page.balls is not None and "cone" in page.balls.factors
    todo = in_readers_units(deed_words(one, cause, drift.terms.currency), figures)
    setting, query = _setting(page, one, measure)
    return Why(
        page.winder, _headline(one, drift, measure),
        (_winder(cause), _cone(cause, cones), _all(others, drift, measure)),
        todo, setting, query,
    )  # fmt: skip


def _headline(one: Correction, drift: Drift, measure: Measure) -> str:
    standing, doubt = one.standing, _CLEAR * one.standing.mass_se_g
    by = {
        "winder": standing.winder,
        "off": measure.text(abs(one.offset_g)),
        "mean": measure.text(standing.mass_g),
        "doubt": measure.text(doubt),
        "target": measure.text(drift.terms.aim.target_mass_g),
        "balls": standing.balls,
    }
    runs = (
        say(
            "Winder {winder} runs {off} heavy: its balls weigh {mean} ± {doubt}, the target is "
            "{target}, by {balls} balls.",
            **by,
        )
        if one.offset_g > 0.0
        else say(
            "Winder {winder} runs {off} light: its balls weigh {mean} ± {doubt}, the target is "
            "{target}, by {balls} balls.",
            **by,
        )
    )
    return runs if abs(one.offset_g) > doubt else joined(" ", (runs, say("That may be chance.")))


def _share(cause: Signature, part: str) -> float:
    return sum(chance for name, chance in cause.chances.items() if part in name)


def _answer(chance: float) -> str:
    if chance >= 0.85:
        return say("yes")
    if chance >= 0.5:
        return say("likely")
    return say("hardly") if chance < 0.15 else say("perhaps")


def _chance(chance: float) -> str:
    return say("Chance {chance:.0f} %.", chance=100.0 * chance)


def _signed_percent(share: float) -> str:
    return figure(f"{100.0 * share:+.1f} %".replace("-", "−"))


def _winder(cause: Signature | None) -> Reason:
    name = say("The winder: it winds another length")
    if cause is None:
        return Reason(
            name,
            say("not known"),
            say("Too few winders were weighed to set it apart from them."),
        )
    chance = _share(cause, "winds")
    words = [
        say(
            "Its balls weigh {off} beside the other winders’, cones taken out; {lengths}.",
            off=_signed_percent(cause.mass_frac),
            lengths=_lengths(cause),
        ),
        _chance(chance),
    ]
    drew = _share(cause, "drew_back")
    if drew >= 0.5:
        words.append(
            say(
                "Its balls drew back after winding, chance {chance:.0f} %: look at its winding "
                "tension before its counter.",
                chance=100.0 * drew,
            )
        )
    return Reason(name, _answer(chance), joined(" ", words))


def _lengths(cause: Signature) -> str:
    if cause.length_frac is None or not cause.lengths:
        more = (
            say("unreel {n} of them to know", n=cause.unreel_more)
            if cause.unreel_more
            else say("unreel some")
        )
        return say("none was reeled, so length does not help to tell yet ({more})", more=more)
    return say(
        "in length they stand {off} ({reeled})",
        off=_signed_percent(cause.length_frac),
        reeled=say_many("{n} ball reeled", "{n} balls reeled", cause.lengths),
    )


def _cone(cause: Signature | None, cones: bool) -> Reason:
    name = say("Its yarn: what it is fed is heavier or lighter in count")
    told = (
        say("Balls of one cone are alike and its cones are taken out, so one odd cone is not it.")
        if cones
        else say("Which cone a ball is of was not told: a run of odd cones is not ruled out.")
    )
    if cause is None:
        return Reason(name, say("not known"), told)
    chance = _share(cause, "count")
    return Reason(name, _answer(chance), joined(" ", (told, _chance(chance))))


def _all(others: list[Correction], drift: Drift, measure: Measure) -> Reason:
    name = say("The scale, or the yarn of all winders")
    if not others:
        return Reason(
            name, say("not known"), say("No other winder was weighed to compare it with.")
        )
    mean_g = sum(one.offset_g for one in others) / len(others)
    doubt_g = _CLEAR * math.sqrt(sum(one.standing.mass_se_g**2 for one in others)) / len(others)
    limit_g = max(doubt_g, SMALL_FRAC * drift.terms.aim.target_mass_g)
    beside = say(
        "The other {n} winders, weighed on the same scale, stand {off} from the target on average "
        "(± {doubt})",
        n=len(others),
        off=measure.change(mean_g),
        doubt=measure.text(doubt_g),
    )
    if abs(mean_g) <= limit_g:
        return Reason(
            name,
            say("no"),
            say("{beside}: a scale that was wrong would move them too.", beside=beside),
        )
    common = say("{beside}: so much is common to all, and no single winder’s.", beside=beside)
    scale = say(
        "Try the scale with a known weight first; if it is right, it is the yarn of the dye lot, "
        "or what all winders share."
    )
    return Reason(name, say("partly"), joined(" ", (common, scale)))


def _setting(page: BandPage, one: Correction, measure: Measure) -> tuple[str, str]:
    """Say what the counter is to be set to by what the ledger has it at now."""
    run = page.run
    now = None if run is None or not run.running else run.counts.get(one.standing.winder)
    if run is None or now is None or not one.make:
        return "", ""
    winder, off = one.standing.winder, measure.text(abs(one.offset_g))
    then = f"{now + one.counts:g}"
    why = (
        say("winder {winder} runs {off} heavy", winder=winder, off=off)
        if one.offset_g > 0.0
        else say("winder {winder} runs {off} light", winder=winder, off=off)
    )
    query = {
        "line": run.line, f"winder-{winder}": then, "why": spoken(why).replace("\u00a0", " "),
        "form": "set",
    }  # fmt: skip
    set_it = say(
        "Set the counter of winder {winder} from {now:g} to {then:g}.",
        winder=winder,
        now=now,
        then=now + one.counts,
    )
    return set_it, urlencode(query)
