"""What Band says in words: what to change, what to leave alone, and what the yarn did."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from clew.checks.components.components import Components
from clew.checks.components.corrections import Aim, Correction
from clew.checks.components.drifted import Drifted
from clew.checks.components.drifted_plain import correction_words, funnel_words, signature_of
from clew.checks.components.lots_apart import LotsApart
from clew.web.band_answer import Charts, WinderChart, in_order
from clew.web.band_figures import Measure, in_readers_units
from clew.web.figures import Figures, tight
from clew.web.knots_money import whole_sum

DREW_BACK = (
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
        return "Change nothing."
    said = []
    for one in makes:
        counts = f"{abs(one.counts)} {'count' if abs(one.counts) == 1 else 'counts'}"
        winder = f"winder {one.standing.winder}"
        said.append(
            f"take {counts} off {winder}" if one.counts < 0 else f"add {counts} to {winder}"
        )
    shown = said[:4]
    if len(said) > len(shown):
        shown.append(f"correct {len(said) - len(shown)} more as below")
    words = _and(shown)
    tail = f"; leave {_winders(rest)} alone" if rest else ""
    return tight_counts(f"{words[0].upper()}{words[1:]}{tail}.")


def tight_counts(words: str) -> str:
    """Keep a number with its noun on one line."""
    for noun in ("count", "winder"):
        words = words.replace(f" {noun}", f"\u00a0{noun}" if noun == "count" else f" {noun}")
    return words


def changes(found: Drifted, currency: str, figures: Figures) -> list[Told]:
    """Say of each winder to correct why, by how much, and what that saves; the largest first."""
    told = []
    makes = [one for one in found.corrections if one.make]
    for one in sorted(makes, key=lambda one: -abs(one.offset_g)):
        cause = signature_of(found, one.standing.winder)
        likely = "" if cause is None else max(cause.chances, key=lambda name: cause.chances[name])
        drew = "drew_back" in likely
        told.append(_told(one, found, currency, figures, DREW_BACK if drew else ""))
    return told


def left_alone(found: Drifted, currency: str, figures: Figures) -> list[Told]:
    """Say of each winder that is left why; those left for the same reason together."""
    reasons: dict[str, list[str]] = {}
    for one in sorted_corrections(found):
        if not one.make:
            told = _told(one, found, currency, figures)
            reasons.setdefault(_reason(told.words), []).append(one.standing.winder)
    return [
        Told(_capital(_winders(names)) if names[0] else "All winders", f": {_of_many(why, names)}")
        for why, names in reasons.items()
    ]


def _reason(words: str) -> str:
    """What follows on the words that leave a winder alone, which stand over the list."""
    rest = words.removeprefix(": ")
    for begins in ("leave it. ", "leave it; "):
        if rest.startswith(begins):
            rest = rest.removeprefix(begins)
            return rest[0].lower() + rest[1:]
    return rest


def _of_many(why: str, names: Sequence[str]) -> str:
    return f"each {why.removeprefix('it ')}" if len(names) > 1 and why.startswith("it ") else why


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _told(one: Correction, found: Drifted, currency: str, figures: Figures, more: str = "") -> Told:
    name = f"Winder {one.standing.winder}" if one.standing.winder else "All winders"
    words = correction_words(one, signature_of(found, one.standing.winder), currency)
    rest = words.removeprefix(f"Winder {one.standing.winder}")
    return Told(name, in_readers_units(rest, figures), more)


def saved_words(found: Drifted, currency: str, figures: Figures) -> str:
    """What taking off counts comes to over a shift; empty where nothing is taken off."""
    less = [one for one in found.corrections if one.make and one.counts < 0]
    if len(less) < 2 or not currency:
        return ""
    kg = sum(one.gain_g * one.balls_ahead for one in less)
    return (
        f"Taken off, that is {figures.heavy(kg)} of yarn over as many balls again as this file "
        f"holds: {whole_sum(sum(one.gain for one in less), currency)}, the change paid."
    )


def funnel(found: Drifted, figures: Figures) -> str:
    """Why the others are left alone, in a sentence or two."""
    return in_readers_units(funnel_words(found), figures)


def lot_words(lots: LotsApart, figures: Figures) -> Told:
    """Say what the dye lot that runs does beside the one before."""
    measure = Measure("mass", figures)
    off, low, high = lots.mass_frac, lots.mass_low_frac, lots.mass_high_frac
    side = "heavier" if off > 0.0 else "lighter"
    between = f"{_percents(low, high)}, {measure.change(off * lots.mean_g)} a ball"
    clear = low > 0.0 or high < 0.0
    length = ""
    if lots.length_frac is not None and lots.length_low_frac is not None:
        assert lots.length_high_frac is not None
        length = f" ({_percents(lots.length_low_frac, lots.length_high_frac)})"
    name = f"Dye lot {lots.after}"
    again = "When the dye lot changes again, weigh before you turn anything back."
    if lots.cause == "count" and clear:
        return Told(
            "The yarn, not a winder",
            f": dye lot {lots.after} is {_percent(abs(off))} {side} in count than {lots.before} "
            f"({between}), its length as before{length}. Corrections here aim at balls of "
            f"{lots.after}. {again}",
        )
    if lots.cause == "winds" and clear:
        longer = "longer" if off > 0.0 else "shorter"
        return Told(
            "All winders alike",
            f": with dye lot {lots.after} they wind {longer}, mass {_percent(abs(off))} {side} "
            f"than with {lots.before} ({between}), length in step{length}. Look at what they "
            "share, tension and feed, before any one counter.",
        )
    if not clear:
        return Told(
            name,
            f" weighs as {lots.before} did: the difference may be chance ({between}).",
        )
    return Told(
        name,
        f" is {_percent(abs(off))} {side} than {lots.before} ({between}); whether by its count or "
        f"by winding, the lengths reeled{length} do not tell yet. {again}",
    )


def next_lot_words(parts: Components | None, figures: Figures) -> str:
    """What the next dye lot may do; empty where lots are not told apart."""
    lot = None if parts is None else parts.part("lot")
    if parts is None or lot is None or lot.levels < 2:
        return ""
    measure = Measure(parts.value, figures)
    doubt = ""
    if lot.low_sd is not None:
        doubt = f", 95 of 100 {measure.between(lot.low_sd, lot.high_sd)}"
    few = f"; {lot.levels} lots say little of it" if lot.levels < 6 else ""
    return (
        f"From one dye lot to the next the mean {parts.value} moves by "
        f"{measure.text(lot.sd)} (one standard deviation{doubt}{few}): weigh first balls of the "
        "next dye lot before you set its turns."
    )


def chart_words(charts: Charts, measure: Measure) -> str:
    """Say which charts signal."""
    called = [one for one in charts.each if one.chart.signals]
    if not charts.each:
        return ""
    groups = max(int(one.chart.panel.points.size) for one in charts.each)
    noun = "balls" if charts.each[0].chart.kind == "individuals" else "groups"
    wide = [one for one in charts.each if one.chart.second and one.chart.second.signals]
    spread = ""
    if wide and charts.each[0].chart.kind in ("xbar-s", "individuals"):
        told = _and([f"{_name(one)} at {group_words(one, _first_wide(one))}" for one in wide[:4]])
        spread = f" Spread signals: {told}; look at those balls, not at the counter."
    if not called:
        return f"No winder’s level signals in {groups} {noun}.{spread}"
    said = [f"{_name(one)} at {group_words(one, one.chart.signals[0])}" for one in called[:_NAMED]]
    more = f", and {len(called) - _NAMED} more" if len(called) > _NAMED else ""
    tail = ""
    if charts.each[0].chart.kind == "cusum":
        tail = " " + " ".join(_shifts(one, measure) for one in called[:_NAMED] if one.chart.shifts)
    return f"Signals: {_and(said)}{more}.{tail}".rstrip() + spread


def _first_wide(one: WinderChart) -> int:
    assert one.chart.second is not None
    return min(signal.group for signal in one.chart.second.signals)


def _shifts(one: WinderChart, measure: Measure) -> str:
    told = [
        f"{'rose' if shift.upward else 'fell'} at {group_words(one, shift.began)} to about "
        f"{measure.text(shift.level)}"
        for shift in one.chart.shifts[:2]
    ]
    return f"{_capital(_name(one))} {', then '.join(told)}."


def _name(one: WinderChart) -> str:
    return f"winder {one.winder}" if one.winder else "all balls"


def group_words(one: WinderChart, group: int) -> str:
    """Name a group with its time of day."""
    noun = "ball" if one.chart.kind == "individuals" else "group"
    clock = one.clocks[group - 1] if one.clocks else ""
    return f"{noun} {one.chart.group_name(group)}" + (f" ({clock})" if clock else "")


def variance_words(one: WinderChart, measure: Measure) -> str:
    """Say which variance the limits rest on, and how often they call for nothing."""
    chart = one.chart
    noun = "balls" if chart.kind == "individuals" else "groups"
    widths = dict(chart.widths)
    if chart.kind == "cusum":
        words = "The sums run in standard deviations of a group’s mean, cones counted."
        if "cone" not in chart.sd_words:
            words = f"The sums rest on the spread {_from(chart.sd_words)}."
    elif "cones counted" in widths:
        near = widths.get("within subgroup")
        words = (
            f"Limits ±{measure.text(widths['cones counted'])}: cones are counted, for balls from "
            "one cone are alike and a group’s mean moves with its cones."
        )
        if near is not None:
            words += (
                f" From the spread inside groups alone they would be ±{measure.text(near)}, and "
                "call at every fresh cone."
            )
    else:
        words = f"Limits rest on the spread {_from(chart.sd_words)}."
    often = one.false_call_groups
    if often is not None:
        count = f"{often:.3g}" if often < 1000.0 else f"{often:,.0f}".replace(",", "\u00a0")
        return f"{words} With no change at all such a chart calls once in about {count} {noun}."
    return f"{words} How often it calls for nothing is not known here."


def _from(sd_words: str) -> str:
    if sd_words == "moving range":
        return "from one ball to the next (moving range)"
    return sd_words if sd_words.startswith(("within", "from")) else f"from: {sd_words}"


def _percent(share: float) -> str:
    return tight(f"{100.0 * share:.1f} %")


def _percents(low: float, high: float) -> str:
    ends = [f"{100.0 * one:+.1f}".replace("-", "−") for one in (low, high)]
    return tight(f"{ends[0]} to {ends[1]} %")


def _winders(names: Sequence[str]) -> str:
    if len(names) > _NAMED:
        return f"the other {len(names)} winders"
    return f"winder{'s' if len(names) > 1 else ''} {_and(list(names))}"


def _and(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def money(value: float, currency: str) -> str:
    """A sum of the mill's money."""
    return whole_sum(value, currency)


def sentence(words: str) -> str:
    """Write a caution as a sentence."""
    return f"{words[0].upper()}{words[1:].rstrip('.')}." if words else ""


def aim_words(aim: Aim, lot: str | None, figures: Figures) -> str:
    """What the winders are measured against."""
    of_lot = f", for balls to come of dye lot {lot}" if lot else ""
    target = Measure("mass", figures).text(aim.target_mass_g)
    return f"Target {target}{of_lot}; whether that is enough stands under What the law needs."


def mini(found: Drifted) -> str:
    """The corrections in a few words, over the inputs."""
    makes = [one for one in sorted_corrections(found) if one.make]
    if not makes:
        return "change nothing"
    said = [f"winder {one.standing.winder}: {one.counts:+d}".replace("-", "−") for one in makes[:4]]
    return ", ".join(said) + (" …" if len(makes) > 4 else "")
