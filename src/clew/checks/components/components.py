"""What varies, and by how much: the answer that command and page show."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from clew.checks.components.anova import moments
from clew.checks.components.confounded import source_word, sources_word
from clew.checks.components.design import Design, design
from clew.checks.components.predict import Effects, effects
from clew.checks.components.profile import Range, ranges
from clew.checks.components.reml import Fit, fit
from clew.checks.weighings import Column, Factor
from clew.faults import BadInput, Fault
from clew.languages import say

Method = Literal["reml", "anova"]
WITHIN = "within"
Z95 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Component:
    """One source of spread.

    Attributes
    ----------
    source : str
        Its name; "within" for what the ball is by itself.
    levels : int
        How many lots, cones, lanes or winders; balls for "within".
    variance, sd : float
        Its variance, and the root of it [unit of the value, squared and plain].
    share_frac : float
        Share of the variance of a single ball [-].
    low_sd : float or None
        Lower end of the interval of the standard deviation; none where no interval was asked for.
    high_sd : float or None
        Upper end; none where the balls set no end to it, or no interval was asked for.
    """

    source: str
    levels: int
    variance: float
    sd: float
    share_frac: float
    low_sd: float | None = None
    high_sd: float | None = None


@dataclass(frozen=True, slots=True)
class Components:
    """What varies among the balls.

    Attributes
    ----------
    value, unit : str
        What was analysed, and its unit.
    method : {"reml", "anova"}
        How.
    balls, left_out : int
        Balls used, and balls without the value or a source.
    mean, mean_se : float
        General mean and its standard error [unit of the value].
    parts : tuple of Component
        The sources in the order asked, and "within" last.
    total_sd : float
        Standard deviation of a single ball of a new lot, cone and winder [unit of the value].
    log_likelihood : float or None
        Restricted log-likelihood; none by moments.
    converged : bool
        Whether the search has settled.
    confidence_frac : float
        Confidence of the intervals [-].
    effects : tuple of Effects
        Where each level stands; none by moments.
    cautions : tuple of str
        What could not be told apart, and what else bears on the answer.
    dropped : tuple of str
        Sources that were asked for and are not told.
    words : tuple of str
        The answer for people.
    """

    value: str
    unit: str
    method: Method
    balls: int
    left_out: int
    mean: float
    mean_se: float
    parts: tuple[Component, ...]
    total_sd: float
    log_likelihood: float | None
    converged: bool
    confidence_frac: float
    effects: tuple[Effects, ...]
    cautions: tuple[str, ...]
    dropped: tuple[str, ...]
    words: tuple[str, ...]

    def part(self, source: str) -> Component | None:
        """Find a source's part; none where it was dropped."""
        return next((one for one in self.parts if one.source == source), None)

    def effects_of(self, source: str) -> Effects | None:
        """Find a source's effects; none where it was dropped."""
        return next((one for one in self.effects if one.factor == source), None)


def components(
    value: Column,
    factors: Mapping[str, Factor],
    wanted: Sequence[str],
    *,
    name: str = "mass",
    unit: str = "g",
    method: Method = "reml",
    confidence: float = 0.95,
) -> Components:
    """Find what varies among weighed or reeled balls.

    Parameters
    ----------
    value : array of float, shape (rows,)
        Net mass or length of each ball; NaN where it was not measured.
    factors : mapping of str to Factor
        The columns of names.
    wanted : sequence of str
        Sources to tell apart, of lot, cone, lane, winder, group.
    name, unit : str
        What the value is, and its unit, for the words.
    method : {"reml", "anova"}
        Restricted maximum likelihood, or moments, for checks against balanced published tables.
    confidence : float
        Confidence of the intervals [-].

    Returns
    -------
    Components
        The answer.

    Raises
    ------
    BadInput
        If a source is not there, or there are too few balls, too many levels, or nothing varies.
    """
    if method not in ("reml", "anova"):
        raise BadInput(Fault("no such method", '"reml" or "anova"', value=repr(method)))
    cells = design(value, factors, wanted)
    if method == "anova":
        return _by_moments(cells, name, unit, confidence)
    return of_fit(fit(cells), name=name, unit=unit, confidence=confidence)


def of_fit(fitted: Fit, *, name: str, unit: str, confidence: float = 0.95) -> Components:
    """Arrange a fitted model as an answer.

    Parameters
    ----------
    fitted : Fit
        The fitted model.
    name, unit : str
        What the value is, and its unit.
    confidence : float
        Confidence of the intervals [-].

    Returns
    -------
    Components
        The answer.

    Raises
    ------
    BadInput
        If the confidence cannot be used.
    """
    cells = fitted.cross.design
    found = ranges(fitted, confidence=confidence)
    variances = [*fitted.variances.tolist(), fitted.within]
    parts = _parts(cells, variances, found)
    return _answer(
        cells,
        parts,
        name=name,
        unit=unit,
        method="reml",
        mean=cells.centre + fitted.point.mean,
        mean_se=math.sqrt(fitted.within / fitted.point.mean_information),
        log_likelihood=-0.5 * fitted.deviance,
        converged=fitted.converged,
        confidence=confidence,
        told=effects(fitted),
    )


def _by_moments(cells: Design, name: str, unit: str, confidence: float) -> Components:
    variances = moments(cells).tolist()
    nil = [
        source
        for source, variance in zip((*cells.factors, WITHIN), variances, strict=True)
        if variance < 0.0
    ]
    variances = [max(0.0, one) for one in variances]
    mean = cells.centre + float(cells.counts @ cells.means) / cells.rows
    squares = [
        float(np.sum(np.bincount(code, weights=cells.counts) ** 2)) / cells.rows**2
        for code in cells.codes
    ]
    mean_se = math.sqrt(
        sum(v * s for v, s in zip(variances, [*squares, 1.0 / cells.rows], strict=True))
    )
    parts = _parts(cells, variances, None)
    more = tuple(
        say("{source}: moments gave less than nil, told as nil", source=source_word(source))
        for source in nil
    )
    return _answer(
        cells,
        parts,
        name=name,
        unit=unit,
        method="anova",
        mean=mean,
        mean_se=mean_se,
        log_likelihood=None,
        converged=True,
        confidence=confidence,
        told=(),
        more=more,
    )


def _parts(
    cells: Design, variances: list[float], found: tuple[Range, ...] | None
) -> tuple[Component, ...]:
    total = sum(variances)
    parts = []
    for place, variance in enumerate(variances):
        within = place == len(cells.factors)
        interval = found[place] if found is not None else None
        high = None if interval is None or interval.high is None else math.sqrt(interval.high)
        parts.append(
            Component(
                source=WITHIN if within else cells.factors[place],
                levels=cells.rows if within else cells.levels(place),
                variance=variance,
                sd=math.sqrt(variance),
                share_frac=variance / total if total > 0.0 else 0.0,
                low_sd=None if interval is None else math.sqrt(interval.low),
                high_sd=high,
            )
        )
    return tuple(parts)


def _answer(
    cells: Design,
    parts: tuple[Component, ...],
    *,
    name: str,
    unit: str,
    method: Method,
    mean: float,
    mean_se: float,
    log_likelihood: float | None,
    converged: bool,
    confidence: float,
    told: tuple[Effects, ...],
    more: tuple[str, ...] = (),
) -> Components:
    cautions = [*cells.cautions, *more]
    few = [one for one in parts[:-1] if one.levels < 5]
    cautions += [
        say(
            "{n} {sources} say little of how {sources} vary: see the interval",
            n=one.levels,
            sources=sources_word(one.source),
        )
        for one in few
    ]
    if not converged:
        cautions.append(say("the search has not settled: take the variances as rough"))
    total_sd = math.sqrt(sum(one.variance for one in parts))
    return Components(
        value=name,
        unit=unit,
        method=method,
        balls=cells.rows,
        left_out=cells.left_out,
        mean=mean,
        mean_se=mean_se,
        parts=parts,
        total_sd=total_sd,
        log_likelihood=log_likelihood,
        converged=converged,
        confidence_frac=confidence,
        effects=told,
        cautions=tuple(cautions),
        dropped=cells.dropped,
        words=_words(parts, told, unit, total_sd),
    )


def _words(
    parts: tuple[Component, ...], told: tuple[Effects, ...], unit: str, total_sd: float
) -> tuple[str, ...]:
    """Say which source is largest, and which winder stands out."""
    largest = max(parts, key=lambda one: one.variance)
    what = "the ball by itself" if largest.source == WITHIN else f"the {largest.source}"
    lines = [
        f"A single ball varies by {total_sd:.3g} {unit} (one standard deviation); "
        f"{100 * largest.share_frac:.0f} % of its variance is {what}."
    ]
    for one in told:
        if one.factor not in ("winder", "lane") or not np.any(one.se > 0.0):
            continue
        clear = one.effect / np.where(one.se > 0.0, one.se, np.inf)
        for place in np.argsort(-np.abs(clear)):
            if abs(clear[place]) <= Z95:
                break
            side = "above" if one.effect[place] > 0 else "below"
            lines.append(
                f"{one.factor.capitalize()} {one.names[place]} runs "
                f"{abs(one.effect[place]):.2g} {unit} {side} the rest "
                f"(±{Z95 * one.se[place]:.2g} {unit}, 95 %)."
            )
    return tuple(lines)
