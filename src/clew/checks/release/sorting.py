"""Sorting and re-winding: which balls of a failed lot to take out, how many, at what cost."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from clew.checks.packages.sample import Sample
from clew.checks.packages.verdict import shown_gap
from clew.checks.packages.worksheet import Worksheet, work_out
from clew.checks.release.finding import Mend
from clew.checks.weighings import Factor
from clew.faults import BadInput, Fault
from clew.languages import joined, say, say_many

_FEWEST_LEFT = 5
_CONFIDENCE = 0.95
_MOST_NAMED = 5


@dataclass(frozen=True, slots=True)
class SortTerms:
    """What sorting and re-winding take.

    Attributes
    ----------
    weigh_s : float
        A hand's time to weigh one ball by itself [s]; assumed until timed.
    rewind_s : float
        A hand's time to put one ball back through a winder [s]; assumed until timed.
    hand_per_hour : float or None
        What a hand costs [currency/h]; None leaves costs out.
    band_each : float
        A new band [currency].
    """

    weigh_s: float = 8.0
    rewind_s: float = 60.0
    hand_per_hour: float | None = None
    band_each: float = 0.0

    def __post_init__(self) -> None:
        if not (self.weigh_s > 0 and self.rewind_s > 0):
            raise BadInput(Fault(say("a time for sorting that cannot be"), say("seconds above 0")))

    def cost(self, weighed: float, rewound: float) -> float | None:
        """What so many balls weighed and so many re-wound cost [currency]; None without prices."""
        if self.hand_per_hour is None:
            return None
        hours = (weighed * self.weigh_s + rewound * self.rewind_s) / 3600.0
        return hours * self.hand_per_hour + rewound * self.band_each


def mends_for(
    sheet: Worksheet, factors: Sequence[tuple[str, Factor]], terms: SortTerms
) -> tuple[Mend, ...]:
    """Find what would let a lot pass whose sample failed.

    Parameters
    ----------
    sheet : Worksheet
        The failed sheet.
    factors : sequence of (str, Factor)
        What each ball of the sheet's sample came from, by name ("winder"), in its order.
    terms : SortTerms
        What sorting takes.

    Returns
    -------
    tuple of Mend
        First balls beyond the sample that no lot may hold. Then the narrowest: the balls of one
        winder, cone or dye lot, where the sample without them would pass. Then weighing the whole
        lot and re-winding the short ones, where only single balls failed; and re-winding
        everything, where the mean is low. Of these ways one is enough: from the second on each
        begins with "or".

    Notes
    -----
    Balls of a lot that share a winder are told by the winder's share of the sample. A winder is
    named only where its balls are worse than chance makes the worst of so many winders, at 95 %:
    its short balls by the hypergeometric, its mean by Student's t, shared among the winders
    (Bonferroni); one short ball says nothing of the winder that wound it. The share of
    short balls has an exact upper bound (Clopper and Pearson, 95 % one-sided). A sample chosen
    after it was seen proves nothing: each mend ends with a new sample.
    """
    found: list[Mend] = []
    if sheet.left_out_far and sheet.plan.quantity == "mass":
        found.append(_take_out(sheet, terms))
        if _sample_passes(sheet):
            return tuple(found)
    ways: list[Mend] = []
    for name, factor in factors:
        ways += _without_one(sheet, name, factor, terms)
    if sheet.average_pass is not False and sheet.individual_pass is False:
        ways.append(_sort_all(sheet, terms))
    if sheet.average_pass is False:
        ways.append(_rewind_all(sheet, terms))
    # one of these is enough; what has to be taken out, has to be in any case
    found += ways[:1] + [replace(way, words=say("or {way}", way=way.words)) for way in ways[1:]]
    return tuple(found)


def _taken(sample: Sample, keep: NDArray[np.bool_]) -> Sample:
    places = np.flatnonzero(keep)
    gross = None if sample.gross is None else sample.gross[keep]
    names = tuple(sample.names[place] for place in places)
    rows = sample.rows[keep] if len(sample.rows) else sample.rows
    return replace(sample, contents=sample.contents[keep], gross=gross, names=names, rows=rows)


def _sample_passes(sheet: Worksheet) -> bool:
    """Say whether the balls the plan asks for pass by themselves."""
    few = sheet.short_count <= (sheet.allowed or 0) and sheet.far_count == 0
    return sheet.average_pass is True and few


def _take_out(sheet: Worksheet, terms: SortTerms) -> Mend:
    found = sheet.left_out_far
    names = joined(", ", (ball.name for ball in found[:_MOST_NAMED]))
    more = len(found) - _MOST_NAMED
    if more > 0:
        names = say("{names} and {n} more", names=names, n=more)
    lowest = sheet.plan.declared - sheet.far_used
    return Mend(
        say(
            "take out and re-wind {names}: below {lowest:.6g} g no ball may go",
            names=names,
            lowest=lowest,
        ),
        float(len(found)),
        terms.cost(0.0, float(len(found))),
        say("{n} of the balls weighed beyond the sample", n=len(found)),
        "take out",
    )


def _without_one(sheet: Worksheet, name: str, factor: Factor, terms: SortTerms) -> list[Mend]:
    judged = len(sheet.balls)
    codes = factor.codes[:judged]
    sample = _taken(sheet.sample, np.arange(len(sheet.sample.contents)) < judged)
    found = []
    groups = np.unique(codes[codes >= 0])
    for code in groups:
        keep = codes != code
        if keep.sum() < _FEWEST_LEFT or keep.all() or not _stands_out(sheet, ~keep, len(groups)):
            continue
        # the same questions asked of the rest: its number of balls stands in for the plan's
        plan = replace(sheet.plan, average_n=min(sheet.plan.average_n, int(keep.sum())))
        try:
            rest = work_out(plan, _taken(sample, keep), sheet.lot_size)
        except BadInput:
            continue
        if not _sample_passes(rest):
            continue
        share = float((~keep).sum()) / judged
        balls = share * sheet.lot_size
        found.append(
            Mend(
                _rewind_of(name, factor.names[code], balls, sheet.lot_size),
                balls,
                terms.cost(0.0, balls),
                say(
                    "{own} of {judged} balls of the sample are its balls",
                    own=int((~keep).sum()),
                    judged=judged,
                ),
                f"re-wind {name} {factor.names[code]}",
            )
        )
    return found


def _rewind_of(source: str, name: str, balls: float, lot: int) -> str:
    """Say to re-wind the balls of one winder, cone or dye lot."""
    fields = {"name": name, "balls": balls, "lot": lot}
    if source == "winder":
        return say(
            "re-wind the balls of winder {name}, about {balls:.0f} of {lot}: the rest of this "
            "sample passes; then draw a new sample",
            **fields,
        )
    if source == "cone":
        return say(
            "re-wind the balls of cone {name}, about {balls:.0f} of {lot}: the rest of this sample "
            "passes; then draw a new sample",
            **fields,
        )
    if source == "dye lot":
        return say(
            "re-wind the balls of dye lot {name}, about {balls:.0f} of {lot}: the rest of this "
            "sample passes; then draw a new sample",
            **fields,
        )
    return say(
        "re-wind the balls of {source} {name}, about {balls:.0f} of {lot}: the rest of this sample "
        "passes; then draw a new sample",
        source=source,
        **fields,
    )


def _stands_out(sheet: Worksheet, inside: NDArray[np.bool_], groups: int) -> bool:
    """Say whether a group's balls are worse than chance makes the worst of so many groups."""
    from scipy import stats

    judged, of_group = len(inside), int(inside.sum())
    chances = []
    if sheet.individual_pass is False:
        short = np.array([ball.short for ball in sheet.balls])
        got, within = int(short.sum()), int(short[inside].sum())
        chances.append(float(stats.hypergeom.sf(within - 1, judged, got, of_group)))
    if sheet.average_pass is False:
        contents = np.array([ball.content for ball in sheet.balls])
        own, rest = contents[inside], contents[~inside]
        left = float(((own - own.mean()) ** 2).sum() + ((rest - rest.mean()) ** 2).sum())
        doubt = left / (judged - 2) * (1.0 / of_group + 1.0 / (judged - of_group))
        apart = float(own.mean() - rest.mean())
        t = apart / math.sqrt(doubt) if doubt > 0.0 else math.copysign(math.inf, apart)
        chances.append(float(stats.t.cdf(t, judged - 2)))
    return min(chances, default=1.0) <= (1.0 - _CONFIDENCE) / groups


def _sort_all(sheet: Worksheet, terms: SortTerms) -> Mend:
    from scipy import stats

    judged = len(sheet.balls)
    short = sheet.short_count
    likely = sheet.lot_size * short / judged
    most = 1.0 if short >= judged else float(stats.beta.ppf(_CONFIDENCE, short + 1, judged - short))
    unit = "g" if sheet.plan.quantity == "mass" else "m"
    lowest = sheet.plan.declared - sheet.plan.deficiency
    if sheet.plan.quantity == "length":
        return Mend(
            say(
                "lengths cannot be sorted without unreeling the balls: re-wind the lot, or "
                "sell it as second-quality"
            ),
            float(sheet.lot_size),
            terms.cost(0.0, sheet.lot_size),
            say("every ball"),
        )
    return Mend(
        say(
            "weigh all {lot} balls and re-wind those below {lowest:.6g} {unit}: "
            "about {likely:.0f}, at most {most:.0f}; then draw a new sample",
            lot=sheet.lot_size,
            lowest=lowest,
            unit=unit,
            likely=likely,
            most=most * sheet.lot_size,
        ),
        float(sheet.lot_size),
        terms.cost(sheet.lot_size, likely),
        say_many(
            "{n} of {judged} balls of the sample is short",
            "{n} of {judged} balls of the sample are short",
            short,
            judged=judged,
        ),
        "weigh all",
    )


def _rewind_all(sheet: Worksheet, terms: SortTerms) -> Mend:
    assert sheet.limit is not None
    unit = "g" if sheet.plan.quantity == "mass" else "m"
    missing = shown_gap(sheet.mean, sheet.limit)
    return Mend(
        say(
            "re-wind the lot at a higher target: its mean is {missing} {unit} below "
            "the lowest that passes; or band it with a lower declaration, where the "
            "market allows one; then draw a new sample",
            missing=missing,
            unit=unit,
        ),
        float(sheet.lot_size),
        terms.cost(0.0, sheet.lot_size),
        say("every ball"),
        "re-wind all",
    )
