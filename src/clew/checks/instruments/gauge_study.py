"""Repeatability and reproducibility of the mill's scale and reel, by analysis of variance.

Repeatability (EV) is what one hand reads differently on the same ball; reproducibility (AV) what
hands differ by; both together (GRR) stand against what balls differ by (PV), or against what may
be missing from a ball.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from clew.checks.instruments.gauge_readings import Design, GaugeReadings
from clew.checks.instruments.gauge_squares import AnovaRow, Squares, squares_of
from clew.faults import BadInput, Fault

Array = NDArray[np.float64]
Number = TypeVar("Number", float, Array)

STUDY_WIDTH = 6.0
"""Standard deviations of a spread across, as the study counts it against a tolerance."""

NDC_FACTOR = 1.41
"""Kinds of ball told apart: 1.41 PV/GRR. Source: AIAG, MSA 4th ed. (printed 4.861 READ)."""

GOOD, FAIR = 0.10, 0.30
"""Shares up to which an instrument is good, and will do. Source: AIAG, MSA 4th ed. (MEMORY)."""


@dataclass(frozen=True, slots=True)
class Component:
    """One source of spread.

    Attributes
    ----------
    key, words : str
        EV, AV, GRR, PV or TV, and what it is.
    sd : float
        Standard deviation [g or m].
    low, high : float
        Its interval [g or m].
    contribution_frac : float
        Share of the variance [1].
    study_frac : float
        Share of the total standard deviation [1]; these do not add up to 1.
    tolerance_frac : float or None
        Six standard deviations over the tolerance [1]; None without one.
    """

    key: str
    words: str
    sd: float
    low: float
    high: float
    contribution_frac: float
    study_frac: float
    tolerance_frac: float | None


@dataclass(frozen=True, slots=True)
class GaugeStudy:
    """What a study found.

    Attributes
    ----------
    design : {"crossed", "nested"}
        How it was laid out.
    parts, hands, trials : int
        Its size; parts of a nested study are those of one hand.
    anova : tuple of AnovaRow
        The analysis of variance.
    interaction_p : float or None
        Chance of the interaction [1]; None where it was not tested.
    pooled : bool
        Whether the interaction was counted as reading.
    pool_above : float
        Chance above which it is [1].
    variances : mapping of str to float
        reading, interaction, hand, part: estimates as used [g2 or m2].
    set_to_zero : tuple of str
        Those whose estimate was below zero.
    components : tuple of Component
        EV, AV, GRR, PV, TV.
    ndc_exact : float or None
        Kinds of ball told apart, not rounded [1]; None where GRR is 0 or parts were not studied.
    ndc : int or None
        The same, cut down to a whole number.
    grr_share : float or None
        GRR over the tolerance where there is one, else over the total spread [1]; None in a nested
        study without repeats and without a tolerance, which has no spread of parts.
    grr_share_interval : (float, float) or None
        Its interval [1].
    verdict : {"good", "fair", "poor", "open"}
        By that share; open where there is none, and where balls were read once each and together
        with what balls of one cone differ by it comes out poor: the instrument may be better.
    confidence : float
        Of the intervals [1].
    seed, draws : int
        What the intervals were drawn with.
    notes : tuple of str
        What the design cannot part, what was set to zero.
    """

    design: Design
    parts: int
    hands: int
    trials: int
    anova: tuple[AnovaRow, ...]
    interaction_p: float | None
    pooled: bool
    pool_above: float
    variances: dict[str, float]
    set_to_zero: tuple[str, ...]
    components: tuple[Component, ...]
    ndc_exact: float | None
    ndc: int | None
    grr_share: float | None
    grr_share_interval: tuple[float, float] | None
    verdict: str
    confidence: float
    seed: int
    draws: int
    notes: tuple[str, ...]

    def find(self, key: str) -> Component:
        """Give a component by its key."""
        return next(one for one in self.components if one.key == key)


_ONCE = "one hand, another ball of the cone"

_WORDS = {
    "EV": "one hand, the same ball again",
    "AV": "hand against hand",
    "GRR": "scale or reel and hands together",
    "PV": "ball against ball",
    "TV": "everything",
}


def study_gauge(
    readings: GaugeReadings,
    *,
    tolerance: float | None = None,
    pool_above: float = 0.25,
    confidence: float = 0.95,
    draws: int = 20_000,
    seed: int,
) -> GaugeStudy:
    """Study a scale or reel by analysis of variance.

    Parameters
    ----------
    readings : GaugeReadings
        Balanced readings.
    tolerance : float or None
        Width that balls may vary over, from lowest to highest [g or m]; for a deficiency that only
        counts downwards, twice the deficiency.
    pool_above : float
        The interaction is counted as reading where its chance is above this [1].
    confidence : float
        Of the intervals [1].
    draws : int
        Draws behind the intervals.
    seed : int
        Seed of those draws.

    Returns
    -------
    GaugeStudy
        Spreads, shares, intervals, verdict.

    Raises
    ------
    BadInput
        For a tolerance that is not more than 0, a share outside 0 to 1, or a study that can tell
        nothing.

    Notes
    -----
    Intervals are generalized confidence intervals: each mean square is set to SS/chi2(df), the
    variances follow, those below zero are 0; the quantiles of the draws are the ends. Source:
    M. Hamada and S. Weerahandi, Journal of Quality Technology 32, 2000 (MEMORY; coverage COMPUTED
    by our tests).
    """
    _check(tolerance, pool_above, confidence, draws)
    squares = squares_of(readings, pool_above=pool_above)
    raw = _variances(squares, [row.ms for row in squares.used])
    used = {key: max(float(found), 0.0) for key, found in raw.items()}
    scale = max(row.ms for row in squares.used)
    below = tuple(key for key, found in raw.items() if float(found) < -1e-12 * scale)
    drawn = _drawn(squares, draws, seed)
    whole = _sums(used)
    total = whole["TV"]
    if total <= 0.0:
        raise BadInput(Fault("no spread at all in the study", "parts that differ"))
    sums_drawn = _sums(drawn)
    tail = (1.0 - confidence) / 2.0
    nested = readings.design == "nested"
    once = nested and readings.trials == 1
    components = []
    for key, variance in whole.items():
        low, high = np.sqrt(np.quantile(sums_drawn[key], [tail, 1.0 - tail]))
        sd = math.sqrt(float(variance))
        components.append(
            Component(
                key=key,
                words=_ONCE if key == "EV" and once else _WORDS[key],
                sd=sd,
                low=float(low),
                high=float(high),
                contribution_frac=float(variance / total),
                study_frac=math.sqrt(float(variance / total)),
                tolerance_frac=None if tolerance is None else STUDY_WIDTH * sd / tolerance,
            )
        )
    by_key = {one.key: one for one in components}
    grr, has_parts = by_key["GRR"], "part" in raw
    share = grr.tolerance_frac if tolerance is not None else grr.study_frac if has_parts else None
    ndc = NDC_FACTOR * by_key["PV"].sd / grr.sd if grr.sd > 0.0 and has_parts else None
    verdict = _verdict(share)
    return GaugeStudy(
        design=readings.design,
        parts=readings.values.shape[1 if nested else 0],
        hands=len(readings.hands),
        trials=readings.trials,
        anova=squares.rows,
        interaction_p=squares.interaction_p,
        pooled=squares.pooled,
        pool_above=pool_above,
        variances=used,
        set_to_zero=below,
        components=tuple(one for one in components if one.key not in _left_out(raw)),
        ndc_exact=ndc,
        ndc=None if ndc is None else math.floor(ndc),
        grr_share=share,
        grr_share_interval=None
        if share is None
        else _share_interval(sums_drawn, grr, tolerance, tail),
        verdict="open" if once and verdict == "poor" else verdict,
        confidence=confidence,
        seed=seed,
        draws=draws,
        notes=(*squares.notes, *_said(below, grr.sd)),
    )


def _check(tolerance: float | None, pool_above: float, confidence: float, draws: int) -> None:
    if tolerance is not None and not (math.isfinite(tolerance) and tolerance > 0.0):
        raise BadInput(Fault("a tolerance", "more than 0", value=f"{tolerance:g}"))
    if not 0.0 <= pool_above <= 1.0:
        raise BadInput(Fault("a chance outside 0 to 1", "such as 0.25", value=f"{pool_above:g}"))
    if not 0.0 < confidence < 1.0:
        raise BadInput(Fault("a confidence outside 0 to 100 %", value=f"{100 * confidence:g} %"))
    if not 1000 <= draws <= 1_000_000:
        raise BadInput(Fault("a number of draws", "1000 to 1 000 000", value=str(draws)))


def _variances(
    squares: Squares, mean_squares: list[float] | list[Array]
) -> dict[str, Array | float]:
    return {
        key: sum(factor * mean_squares[place] for place, factor in parts)
        for key, parts in squares.parts_of.items()
    }


def _drawn(squares: Squares, draws: int, seed: int) -> dict[str, Array]:
    random = np.random.default_rng(seed)
    mean_squares = [row.ss / random.chisquare(row.df, draws) for row in squares.used]
    return {
        key: np.maximum(np.asarray(found), 0.0)
        for key, found in _variances(squares, mean_squares).items()
    }


def _sums(of: dict[str, Number]) -> dict[str, Number]:
    zero = 0.0 * of["reading"]
    ev = of["reading"]
    av = of.get("hand", zero) + of.get("interaction", zero)
    pv = of.get("part", zero)
    return {"EV": ev, "AV": av, "GRR": ev + av, "PV": pv, "TV": ev + av + pv}


def _share_interval(
    drawn: dict[str, Array], grr: Component, tolerance: float | None, tail: float
) -> tuple[float, float]:
    if tolerance is not None:
        return STUDY_WIDTH * grr.low / tolerance, STUDY_WIDTH * grr.high / tolerance
    low, high = np.sqrt(np.quantile(drawn["GRR"] / drawn["TV"], [tail, 1.0 - tail]))
    return float(low), float(high)


def _left_out(raw: dict[str, Array | float]) -> set[str]:
    left = set() if "hand" in raw else {"AV"}
    return left if "part" in raw else left | {"PV", "TV"}


def _verdict(share: float | None) -> str:
    if share is None:
        return "open"
    return "good" if share <= GOOD else "fair" if share <= FAIR else "poor"


def _said(below: tuple[str, ...], grr_sd: float) -> tuple[str, ...]:
    said = [f"The estimate of {key} came out below zero and counts as 0." for key in below]
    if grr_sd == 0.0:
        said.append(
            "No reading differs from another of the same ball: the division hides what the "
            "instrument does, so kinds of ball cannot be counted."
        )
    return tuple(said)
