"""What Band says in words: what to change, what to leave alone, and what the yarn did."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from clew.checks.components.components import Components
from clew.checks.components.corrections import Aim, Correction
from clew.checks.components.drifted import Drifted
from clew.checks.components.drifted_plain import (
    funnel_words,
    left_words,
    signature_of,
    words_after_name,
)
from clew.checks.components.lots_apart import LotsApart
from clew.faults import Fault
from clew.languages import figure, first_upper, joined, say, say_many
from clew.web.band.answer import in_order
from clew.web.band.figures import Measure, in_readers_units
from clew.web.drawn.figures import Figures, tight
from clew.web.drawn.reworded import reworded
from clew.web.knots.money import whole_sum

DREW_BACK = say(
    "Turns make up the length that is missing, they do not mend the cause. What is wound stretched "
    "draws back in the ball: look at its winding tension, then at steam and dryer of its lane."
)
_NAMED = 12
"""So many winders are named; more are counted."""


@dataclass(frozen=True, slots=True)
class Told:
    """What is said of one winder: its name, and the rest of the sentence."""

    name: str
    words: str
    more: str = ""


def sorted_corrections(found: Drifted) -> list[Correction]:
    """Corrections by the winders' numbers."""
    return sorted(found.corrections, key=lambda one: in_order(one.standing.winder))


def headline(found: Drifted) -> str:
    """Say in one line what to set, and what to leave."""
    makes = sorted((one for one in found.corrections if one.make), key=lambda one: one.counts)
    rest = [one.standing.winder for one in sorted_corrections(found) if not one.make]
    if not makes:
        return say("Change nothing.")
    said = [
        say(
            "take {counts} off winder {winder}",
            counts=_count_words(one),
            winder=one.standing.winder,
        )
        if one.counts < 0
        else say(
            "add {counts} to winder {winder}",
            counts=_count_words(one),
            winder=one.standing.winder,
        )
        for one in makes
    ]
    shown = said[:4]
    if len(said) > len(shown):
        shown.append(say("correct {n} more as below", n=len(said) - len(shown)))
    deeds = first_upper(and_words(shown))
    if not rest:
        return say("{deeds}.", deeds=deeds)
    return say("{deeds}; leave {winders} alone.", deeds=deeds, winders=_winders(rest))


def _count_words(one: Correction) -> str:
    """Say how many counts, the number and its noun on one line."""
    return say_many("{n}\u00a0count", "{n}\u00a0counts", abs(one.counts))


def changes(found: Drifted, currency: str, figures: Figures) -> list[Told]:
    """Say of each winder to correct why, by how much, and what that saves; the largest first."""
    told = []
    makes = [one for one in found.corrections if one.make]
    for one in sorted(makes, key=lambda one: -abs(one.offset_g)):
        cause = signature_of(found, one.standing.winder)
        likely = "" if cause is None else max(cause.chances, key=lambda name: cause.chances[name])
        winder = one.standing.winder
        told.append(
            Told(
                say("Winder {winder}", winder=winder) if winder else say("All winders"),
                in_readers_units(words_after_name(one, cause, currency), figures),
                DREW_BACK if "drew_back" in likely else "",
            )
        )
    return told


def left_alone(found: Drifted, figures: Figures) -> list[Told]:
    """Say of each winder that is left why; those left for the same reason together."""
    reasons: dict[str, list[Correction]] = {}
    for one in sorted_corrections(found):
        if not one.make:
            why = left_words(one, signature_of(found, one.standing.winder))
            reasons.setdefault(str(why), []).append(one)
    told = []
    for alike in reasons.values():
        cause = signature_of(found, alike[0].standing.winder)
        why = left_words(alike[0], cause, each=len(alike) > 1)
        names = [one.standing.winder for one in alike]
        told.append(
            Told(
                first_upper(_winders(names)) if names[0] else say("All winders"),
                say(": {why}", why=in_readers_units(why, figures)),
            )
        )
    return told


def saved_words(found: Drifted, currency: str, figures: Figures) -> str:
    """What taking off counts comes to over a shift; empty where nothing is taken off."""
    less = [one for one in found.corrections if one.make and one.counts < 0]
    if len(less) < 2 or not currency:
        return ""
    kg = sum(one.gain_g * one.balls_ahead for one in less)
    return say(
        "Taken off, that is {yarn} of yarn over as many balls again as this file holds: {money}, "
        "the change paid.",
        yarn=figures.heavy(kg),
        money=money(sum(one.gain for one in less), currency),
    )


def funnel(found: Drifted, figures: Figures) -> str:
    """Why the others are left alone, in a sentence or two."""
    return in_readers_units(funnel_words(found), figures)


def lot_words(lots: LotsApart, figures: Figures) -> Told:
    """Say what the dye lot that runs does beside the one before."""
    measure = Measure("mass", figures)
    off, low, high = lots.mass_frac, lots.mass_low_frac, lots.mass_high_frac
    between = say(
        "{shares}, {mass} a ball",
        shares=_percents(low, high),
        mass=measure.change(off * lots.mean_g),
    )
    names = {"after": lots.after, "before": lots.before, "between": between}
    apart = _percent(abs(off))
    clear = low > 0.0 or high < 0.0
    again = say("When the dye lot changes again, weigh before you turn anything back.")
    if lots.cause == "count" and clear:
        told = _count_apart(lots, apart, names)
        return Told(say("The yarn, not a winder"), joined(" ", (told, again)))
    if lots.cause == "winds" and clear:
        return Told(say("All winders alike"), _wound_apart(lots, apart, names))
    name = say("Dye lot {lot}", lot=lots.after)
    if not clear:
        return Told(
            name, say(" weighs as {before} did: the difference may be chance ({between}).", **names)
        )
    heavy = (
        say(" is {apart} heavier than {before} ({between});", apart=apart, **names)
        if off > 0.0
        else say(" is {apart} lighter than {before} ({between});", apart=apart, **names)
    )
    length = _lengths_of(lots)
    open_words = (
        say(
            "whether by its count or by winding, the lengths reeled ({lengths}) do not tell yet.",
            lengths=length,
        )
        if length
        else say("whether by its count or by winding, the lengths reeled do not tell yet.")
    )
    return Told(name, joined(" ", (heavy, open_words, again)))


def _lengths_of(lots: LotsApart) -> str:
    if lots.length_frac is None or lots.length_low_frac is None:
        return ""
    assert lots.length_high_frac is not None
    return _percents(lots.length_low_frac, lots.length_high_frac)


def _count_apart(lots: LotsApart, apart: str, names: dict[str, str]) -> str:
    """Say that the later lot's yarn is of another count."""
    heavier = (
        say(
            ": dye lot {after} is {apart} heavier in count than {before} ({between}), its length "
            "as before",
            apart=apart,
            **names,
        )
        if lots.mass_frac > 0.0
        else say(
            ": dye lot {after} is {apart} lighter in count than {before} ({between}), its length "
            "as before",
            apart=apart,
            **names,
        )
    )
    length = _lengths_of(lots)
    if length:
        return say(
            "{what} ({lengths}). Corrections here aim at balls of {after}.",
            what=heavier,
            lengths=length,
            after=lots.after,
        )
    return say("{what}. Corrections here aim at balls of {after}.", what=heavier, after=lots.after)


def _wound_apart(lots: LotsApart, apart: str, names: dict[str, str]) -> str:
    """Say that all winders wind another length with the later lot."""
    longer = (
        say(
            ": with dye lot {after} they wind longer, mass {apart} heavier than with {before} "
            "({between}), length in step",
            apart=apart,
            **names,
        )
        if lots.mass_frac > 0.0
        else say(
            ": with dye lot {after} they wind shorter, mass {apart} lighter than with {before} "
            "({between}), length in step",
            apart=apart,
            **names,
        )
    )
    length = _lengths_of(lots)
    if length:
        return say(
            "{what} ({lengths}). Look at what they share, tension and feed, before any one "
            "counter.",
            what=longer,
            lengths=length,
        )
    return say(
        "{what}. Look at what they share, tension and feed, before any one counter.", what=longer
    )


def next_lot_words(parts: Components | None, figures: Figures) -> str:
    """What the next dye lot may do; empty where lots are not told apart."""
    lot = None if parts is None else parts.part("lot")
    if parts is None or lot is None or lot.levels < 2:
        return ""
    measure = Measure(parts.value, figures)
    sd = [say("one standard deviation")]
    if lot.low_sd is not None:
        sd = [
            say(
                "one standard deviation, 95 of 100 {between}",
                between=measure.between(lot.low_sd, lot.high_sd),
            )
        ]
    if lot.levels < 6:
        sd.append(say("{lots} lots say little of it", lots=lot.levels))
    moves = {"sd": measure.text(lot.sd), "what": joined("; ", sd)}
    if parts.value == "mass":
        return say(
            "From one dye lot to the next the mean mass moves by {sd} ({what}): weigh first balls "
            "of the next dye lot before you set its turns.",
            **moves,
        )
    return say(
        "From one dye lot to the next the mean length moves by {sd} ({what}): weigh first balls of "
        "the next dye lot before you set its turns.",
        **moves,
    )


def _percent(share: float) -> str:
    return figure(tight(f"{100.0 * share:.1f} %"))


def _percents(low: float, high: float) -> str:
    ends = [figure(f"{100.0 * one:+.1f}".replace("-", "−")) for one in (low, high)]
    return say("{low} to {high}\u00a0%", low=ends[0], high=ends[1])


def _winders(names: Sequence[str]) -> str:
    if len(names) > _NAMED:
        return say("the other {n} winders", n=len(names))
    if len(names) == 1:
        return say("winder {winder}", winder=names[0])
    return say("winders {winders}", winders=and_words(list(names)))


def and_words(names: Sequence[str]) -> str:
    """Write a list as a sentence does, the last after an "and"."""
    if len(names) == 1:
        return names[0]
    return say("{names} and {last}", names=joined(", ", names[:-1]), last=names[-1])


def money(value: float, currency: str) -> str:
    """A sum of the mill's money."""
    return figure(whole_sum(value, currency))


def sentence(words: str) -> str:
    """Write a caution as a sentence."""
    if not words:
        return ""
    return first_upper(reworded(words, lambda text: f"{text.rstrip('.')}."))


def aim_words(aim: Aim, lot: str | None, figures: Figures) -> str:
    """What the winders are measured against."""
    target = Measure("mass", figures).text(aim.target_mass_g)
    if lot:
        return say(
            "Target {target}, for balls to come of dye lot {lot}; whether that is enough stands "
            "under What the law needs.",
            target=target,
            lot=lot,
        )
    return say(
        "Target {target}; whether that is enough stands under What the law needs.", target=target
    )


def mini(found: Drifted) -> str:
    """The corrections in a few words, over the inputs."""
    makes = [one for one in sorted_corrections(found) if one.make]
    if not makes:
        return say("change nothing")
    said = [
        say(
            "winder {winder}: {counts}",
            winder=one.standing.winder,
            counts=f"{one.counts:+d}".replace("-", "−"),
        )
        for one in makes[:4]
    ]
    return joined(", ", said) + (" …" if len(makes) > 4 else "")


def fault_words(fault: Fault) -> str:
    """Write a fault on one line, as `str` does, so that it can be said again."""
    place = fault.file
    if fault.line is not None:
        place = f"{place}:{fault.line}" if place else say("line {line}", line=fault.line)
    where = " ".join(
        one for one in (f"[{fault.section}]" if fault.section else "", fault.key) if one
    )
    text = joined(": ", [one for one in (place, where, fault.what) if one])
    if fault.value:
        text = say("{what} (got {value})", what=text, value=fault.value)
    if fault.expected:
        text = say("{what}; expected {expected}", what=text, expected=fault.expected)
    return text
