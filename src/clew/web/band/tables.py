"""Band's tables, and what makes balls differ, printed in the reader's units."""

from __future__ import annotations

from clew.checks.components.components import Component, Components
from clew.checks.components.corrections import Correction
from clew.checks.components.drifted import Drifted
from clew.checks.components.drifted_plain import signature_of
from clew.checks.components.shift_change import Part, ShiftChange, part_words
from clew.languages import figure, joined, say
from clew.web.band.answer import in_order
from clew.web.band.figures import Measure
from clew.web.band.said import sorted_corrections
from clew.web.drawn.chart_svg import Chart, Table, drawn
from clew.web.drawn.figures import Figures
from clew.web.drawn.reworded import reworded
from clew.web.drawn.shares import share_rows

SOURCE_WORDS = {
    "lot": say("from dye lot to dye lot"),
    "cone": say("from cone to cone"),
    "winder": say("from winder to winder"),
    "lane": say("from lane to lane"),
    "within": say("from ball to ball"),
}
SOURCE_NAMES = {
    "lot": say("dye lots"),
    "cone": say("cones"),
    "winder": say("winders"),
    "lane": say("lanes"),
    "within": say("single balls"),
}
CAUSE_WORDS = {
    "none": say("as the others"),
    "winds": say("turns"),
    "count": say("count"),
    "drew_back": say("drew back"),
    "winds and count": say("turns and count"),
    "winds and drew_back": say("turns, drew back"),
    "count and drew_back": say("count, drew back"),
}


def share_chart(parts: Components, figures: Figures) -> Chart:
    """Draw what varies as shares of a single ball's variance."""
    measure = Measure(parts.value, figures)
    told = sorted(parts.parts, key=lambda one: -one.share_frac)
    rows, spec = share_rows([(one.share_frac, _bar_words(one, measure)) for one in told], figures)
    table = Table(
        (say("What varies"), say("How many"), say("sd"), say("95 % of the sd"), say("Share")),
        tuple(
            (
                SOURCE_WORDS.get(one.source, one.source),
                str(one.levels),
                measure.text(one.sd),
                "–" if one.low_sd is None else measure.between(one.low_sd, one.high_sd),
                figures.percent(one.share_frac, 0),
            )
            for one in parts.parts
        ),
    )
    title = (
        say("What makes the mass of single balls differ, as shares of its variance")
        if parts.value == "mass"
        else say("What makes the length of single balls differ, as shares of its variance")
    )
    return drawn("shares", title, spec, {"rows": rows}, table)


def _bar_words(one: Component, measure: Measure) -> str:
    """A source with its standard deviation and, in brackets, the ends of its interval."""
    name = SOURCE_NAMES.get(one.source, one.source)
    if one.low_sd is None:
        words = say("{name}: {sd}", name=name, sd=measure.text(one.sd))
    else:
        words = say(
            "{name}: {sd} ({between})",
            name=name,
            sd=measure.text(one.sd),
            between=measure.between(one.low_sd, one.high_sd),
        )
    return reworded(words, lambda text: text.replace("\u00a0", " "))


def correction_table(found: Drifted, figures: Figures) -> Table:
    """Where each winder stands, and what to do with it."""
    mass, length = Measure("mass", figures), Measure("length", figures)
    rows = []
    for one in sorted_corrections(found):
        standing = one.standing
        long = say("not reeled")
        if standing.length_m is not None:
            long = length.text(standing.length_m)
        rows.append(
            (
                standing.winder or say("all"),
                _do(one),
                mass.change(one.offset_g),
                mass.text(standing.mass_g),
                figure(f"±\u00a0{mass.text(1.96 * standing.mass_se_g)}"),
                long,
                _counts(one.counts),
                figures.percent(one.better_chance, 0),
                f"{standing.balls}",
            )
        )
    head = (
        say("Winder"), say("Do"), say("Off target"), say("Mean to come"), "95 %", say("Length"),
        say("Counts wanted"), say("Helps"), say("Balls"),
    )  # fmt: skip
    return Table(head, tuple(rows))


def _do(one: Correction) -> str:
    if not one.make:
        return say("leave")
    if one.counts < 0:
        return say("take off\u00a0{counts}", counts=-one.counts)
    return say("add\u00a0{counts}", counts=one.counts)


def _counts(counts: int) -> str:
    return say("none") if not counts else f"{counts:+d}".replace("-", "−")


def cause_table(found: Drifted, figures: Figures) -> Table | None:
    """What mass and length say together of each winder; none where there is one winder."""
    if not found.signatures:
        return None
    rows = []
    for correction in sorted_corrections(found):
        one = signature_of(found, correction.standing.winder)
        if one is None:
            continue
        likely, chance = max(one.chances.items(), key=lambda pair: pair[1])
        rows.append(
            (
                one.winder,
                joined(", ", (CAUSE_WORDS.get(likely, likely), figures.percent(chance, 0))),
                _off(one.mass_frac, one.mass_se_frac),
                "–" if one.length_frac is None or one.length_se_frac is None
                else _off(one.length_frac, one.length_se_frac),
                str(one.lengths),
                _more(one.unreel_more),
            )
        )  # fmt: skip
    head = (
        say("Winder"), say("Likeliest cause"), say("Mass"), say("Length"), say("Reeled"),
        say("Unreel more"),
    )  # fmt: skip
    return Table(head, tuple(rows))


def _more(balls: int | None) -> str:
    if balls is None:
        return say("would not tell")
    return say("none") if not balls else str(balls)


def _off(frac: float, se_frac: float) -> str:
    said = f"{100.0 * frac:+.1f}".replace("-", "−")
    return figure(f"{said}\u00a0±\u00a0{196.0 * se_frac:.1f}\u00a0%")


def _place(part: Part) -> tuple[bool, bool, tuple[bool, int, str]]:
    """Yarn and what all did alike first, winders by their numbers, the rest last."""
    kind, _, name = part.name.partition(" ")
    numbered = kind in ("winder", "lane")
    return part.name == "rest", numbered, in_order(name) if numbered else (False, 0, "")


def change_table(change: ShiftChange, figures: Figures) -> Table:
    """What moved from the one dye lot to the other, part by part."""
    measure = Measure("mass", figures)
    rows = [
        (part_words(one.name), measure.change(one.change),
         say("{low} to {high}", low=measure.bare(one.low), high=measure.text(one.high)))
        for one in sorted(change.parts, key=_place)
        if one.change or one.low != one.high
    ]  # fmt: skip
    rows.append((say("together"), measure.change(change.change), ""))
    return Table((say("Part"), say("Moved by"), "95 %"), tuple(rows))
