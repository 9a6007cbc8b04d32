"""Spinners and dye lots side by side, drawn towards the rest as far as their counts are thin."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import chain, combinations

import numpy as np
import numpy.typing as npt

from clew.knots.rate_spread import mean_rate_at
from clew.knots.rates import (
    CountedCone,
    Floats,
    Rate,
    as_arrays,
    check_cones,
    check_share,
    rate_of,
)

_CVS = np.linspace(0.02, 2.0, 50)
"""Spreads among sources that are weighed against each other [1]."""
_STEPS = np.linspace(-3.5, 3.5, 15)
"""Mean rates weighed for each spread, in standard errors of the mean's logarithm [1]."""
_USUAL_CV = 0.3
"""Scale of the weight that a spread among sources has before any cone is counted [1]."""
_MOST_SPLITS = 200_000
"""Up to so many ways of parting the cones all are looked at (10 and 10 cones make 184 756)."""
_MOST_SWAPPED = 20_000_000
"""Cones swapped in all: two very long samples are parted fewer times, and it is said how often."""
_BLOCK = 500_000
"""Cones swapped at once, so that two long samples do not fill the memory."""


@dataclass(frozen=True, slots=True)
class GammaMixture:
    """What is believed of a rate: gamma laws, each with its weight.

    Attributes
    ----------
    weights, shapes, per_km : array of float, shape (k,)
        Weight of each law (they add up to 1), its shape and its inverse scale [km].
    """

    weights: Floats
    shapes: Floats
    per_km: Floats

    @property
    def mean(self) -> float:
        """Mean of the rate [1/km]."""
        return float((self.weights * self.shapes / self.per_km).sum())

    def below(self, rate_per_km: float) -> float:
        """Chance that the rate is below so many per km."""
        from scipy.special import gammainc

        return float((self.weights * gammainc(self.shapes, self.per_km * rate_per_km)).sum())

    def quantile(self, share: float) -> float:
        """Find the rate [1/km] that so large a share of the belief lies below."""
        from scipy.optimize import brentq
        from scipy.special import gammaincinv

        ends = gammaincinv(self.shapes, share) / self.per_km
        low, high = float(ends.min()), float(ends.max())
        if high - low <= 1e-12 * high:
            return high
        return float(brentq(lambda rate: self.below(rate) - share, low, high, xtol=1e-14))


@dataclass(frozen=True, slots=True)
class Source:
    """One spinner, or one dye lot, among the others.

    Attributes
    ----------
    name : str
        Its name.
    cones : int
        Cones counted.
    own : Rate
        Its own rate with the exact interval, as if there were no others.
    per_km, low_per_km, high_per_km : float
        What is believed of it, with the others in mind, and its interval [1/km].
    own_weight : float
        How far the belief has moved from the mean of all sources to its own rate, as a fraction.
    p_worse : float
        Probability that it breaks more often than the pooled rate.
    words : str
        That, in words.
    """

    name: str
    cones: int
    own: Rate
    per_km: float
    low_per_km: float
    high_per_km: float
    own_weight: float
    p_worse: float
    words: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """Sources held against the pooled rate.

    Attributes
    ----------
    sources : tuple of Source
        The worst first.
    pooled_per_km : float
        Rate they are held against [1/km].
    between_cv : float
        Spread of the rate among sources, as a fraction: the mean of what is believed of it.
    within_index : float
        Index of dispersion of cones within a source, not below 1; counts were divided by it.
    """

    sources: tuple[Source, ...]
    pooled_per_km: float
    between_cv: float
    within_index: float


@dataclass(frozen=True, slots=True)
class SwappedCones:
    """Two sources against each other by swapping whole cones between them.

    Attributes
    ----------
    difference_per_km : float
        Pooled rate of the first less that of the second [1/km].
    p_value : float
        Share of the splits with a difference at least so large, on either side.
    least_p_value : float
        Smallest share that any split of these cones could have had.
    splits : int
        Ways of parting the cones that were looked at.
    seed : int or None
        Seed they were drawn with; None where all there are were looked at.
    """

    difference_per_km: float
    p_value: float
    least_p_value: float
    splits: int
    seed: int | None


def _differences(picked: npt.NDArray[np.intp], knots: Floats, length_km: Floats) -> Floats:
    """Difference of the two rates for each row of picked cones [1/km], its sign left out."""
    counted, km = knots[picked].sum(axis=1), length_km[picked].sum(axis=1)
    rate: Floats = counted / km
    apart: Floats = np.abs(rate - (knots.sum() - counted) / (length_km.sum() - km))
    return apart


def swap_cones(
    first: Sequence[CountedCone],
    second: Sequence[CountedCone],
    *,
    draws: int = 9999,
    seed: int = 1,
) -> SwappedCones:
    """Hold two sources against each other when cones within a source differ.

    Parameters
    ----------
    first, second : sequence of CountedCone
        The cones of each.
    draws : int
        Splits drawn where there are too many to look at all; fewer, but at least 999, where the
        two have more than a few thousand cones.
    seed : int
        Seed of the drawing.

    Returns
    -------
    SwappedCones
        The difference of the pooled rates and how often chance makes one as large.

    Raises
    ------
    BadInput
        As `clew.knots.rates.check_cones`, for the two together and for each.

    Notes
    -----
    If both are one source, any parting of the cones was as likely as the one found: exact whatever
    the law of knots on a cone, as long as cones of both come in like lengths; fair otherwise. Few
    cones can never show much: 3 and 3 have 20 splits, so that no share is below 10 %. All splits
    up to 200 000, else drawn ones with the one found among them. Source: R. A. Fisher's
    randomization test (MEMORY).
    """
    for group in ([*first, *second], first, second):
        check_cones(group)
    knots, length_km = as_arrays([*first, *second])
    here, among = len(first), len(knots)
    own = knots[:here].sum() / length_km[:here].sum()
    difference = float(own - knots[here:].sum() / length_km[here:].sum())
    # Picking the smaller group picks the larger too: 600 cones against 2 stay a small table.
    size = min(here, among - here)
    # A hair less than what was found: equal rates summed in another order must count.
    hair = 1e-9 * float(knots.sum() / length_km.sum())
    if math.comb(among, size) <= _MOST_SPLITS:
        picked = np.fromiter(chain.from_iterable(combinations(range(among), size)), dtype=np.intp)
        found = _differences(picked.reshape(-1, size), knots, length_km)
        return SwappedCones(
            difference_per_km=difference,
            p_value=float((found >= abs(difference) - hair).mean()),
            least_p_value=float((found >= found.max() - hair).mean()),
            splits=found.size,
            seed=None,
        )
    rng = np.random.default_rng(seed)
    draws = min(draws, max(999, _MOST_SWAPPED // among))
    as_large, left = 0, draws
    while left:
        rows = min(left, max(1, _BLOCK // among))
        order = rng.permuted(np.tile(np.arange(among), (rows, 1)), axis=1)[:, :size]
        found = _differences(order, knots, length_km)
        as_large += int((found >= abs(difference) - hair).sum())
        left -= rows
    return SwappedCones(
        difference_per_km=difference,
        p_value=(as_large + 1) / (draws + 1),
        least_p_value=1.0 / (draws + 1),
        splits=draws,
        seed=seed,
    )


def worse_words(p_worse: float) -> str:
    """Put a probability of being worse than the pooled rate into words.

    Parameters
    ----------
    p_worse : float
        The probability [1].

    Returns
    -------
    str
        A few words; the borders are common practice, no published source.
    """
    if p_worse >= 0.975:
        return "worse"
    if p_worse >= 0.9:
        return "probably worse"
    if p_worse <= 0.025:
        return "better"
    if p_worse <= 0.1:
        return "probably better"
    return "not told apart"


def within_index(groups: Sequence[Sequence[CountedCone]]) -> float:
    """Find the index of dispersion of cones about their own source's rate, not below 1.

    Parameters
    ----------
    groups : sequence of sequences of CountedCone
        The cones of each source.

    Returns
    -------
    float
        Pearson's sum over its degrees; 1 where no source has two cones.
    """
    chi2, degrees = 0.0, 0
    for cones in groups:
        degrees += len(cones) - 1
        knots = sum(cone.knots for cone in cones)
        if knots:
            rate = knots / math.fsum(cone.length_km for cone in cones)
            chi2 += sum(
                (cone.knots - rate * cone.length_km) ** 2 / (rate * cone.length_km)
                for cone in cones
            )
    return max(1.0, chi2 / degrees) if degrees else 1.0


def _beliefs(
    knots: Floats, length_km: Floats, index: float
) -> tuple[tuple[GammaMixture, ...], float]:
    """Give the belief of each source, and the spread among sources."""
    from scipy.special import gammaln

    x, length = knots / index, length_km / index
    shapes, means, log_weights = [], [], []
    for cv in _CVS:
        likely = mean_rate_at(float(cv) ** 2, x, length)
        error = float((likely * length / (1.0 + cv**2 * likely * length)).sum()) ** -0.5
        means.append(likely * np.exp(error * _STEPS))
        shapes.append(np.full(_STEPS.size, cv**-2.0))
        # A wide step in the mean stands for more of it than a narrow one.
        log_weights.append(np.full(_STEPS.size, math.log(error) - 0.5 * (cv / _USUAL_CV) ** 2))
    shape, log_weight = np.concatenate(shapes), np.concatenate(log_weights)
    scales = shape / np.concatenate(means)
    for own, km in zip(x, length, strict=True):
        log_weight = (
            log_weight
            + gammaln(shape + own)
            - gammaln(shape)
            - shape * np.log1p(km / scales)
            - own * np.log(scales + km)
        )
    weights = np.exp(log_weight - log_weight.max())
    kept = weights > 1e-10
    weights, shape, scales = weights[kept] / weights[kept].sum(), shape[kept], scales[kept]
    # The weights hold the evidence of every source, its own too: no second update of them.
    found = tuple(
        GammaMixture(weights, shape + own, scales + km) for own, km in zip(x, length, strict=True)
    )
    return found, float((weights * shape**-0.5).sum())


def compare_sources(
    cones: Sequence[CountedCone],
    by: Callable[[CountedCone], str],
    *,
    confidence: float = 0.95,
) -> Comparison | None:
    """Hold spinners, or dye lots, against the pooled rate without condemning a thin count.

    Parameters
    ----------
    cones : sequence of CountedCone
        The counted cones.
    by : callable
        What a cone is grouped by: its supplier, its dye lot. Cones that give "" are left out.
    confidence : float
        Confidence of the intervals [1].

    Returns
    -------
    Comparison or None
        None with fewer than two sources, or without a knot.

    Raises
    ------
    BadInput
        As `clew.knots.rates.check_cones`; a confidence outside 0 to 1.

    Notes
    -----
    Rates of sources follow a gamma law. Its mean and spread come from the counts themselves, but
    are not fixed at the best pair: every mean about the most likely one and every spread is weighed
    by how well it explains the counts, the spread also by a half normal weight of scale 30 %
    (common practice, no published source). So two spinners give no false certainty about spinners.
    Given shape a and inverse scale b, a source with x knots on L km is believed to be
    gamma with a + x and b + L. Where cones within a source scatter more than chance, counts and
    lengths are both divided by their index of dispersion. Source: the gamma prior for Poisson
    rates, conjugate (DERIVED); dividing counts by the index is quasi-likelihood (MEMORY).
    """
    check_cones(cones)
    check_share(confidence, "confidence")
    groups: dict[str, list[CountedCone]] = {}
    for cone in cones:
        if by(cone):
            groups.setdefault(by(cone), []).append(cone)
    counts = [sum(cone.knots for cone in group) for group in groups.values()]
    if len(groups) < 2 or not any(counts):
        return None
    lengths = [math.fsum(cone.length_km for cone in group) for group in groups.values()]
    index = within_index(list(groups.values()))
    pooled = sum(counts) / math.fsum(lengths)
    knots, length_km = np.array(counts, dtype=np.float64), np.array(lengths)
    beliefs, spread = _beliefs(knots, length_km, index)
    risk = (1.0 - confidence) / 2.0
    sources = []
    for (name, group), count, length, belief in zip(
        groups.items(), counts, lengths, beliefs, strict=True
    ):
        p_worse = 1.0 - belief.below(pooled)
        sources.append(
            Source(
                name=name,
                cones=len(group),
                own=rate_of(count, length, confidence=confidence),
                per_km=belief.mean,
                low_per_km=belief.quantile(risk),
                high_per_km=belief.quantile(1.0 - risk),
                own_weight=float((belief.weights * (length / index) / belief.per_km).sum()),
                p_worse=p_worse,
                words=worse_words(p_worse),
            )
        )
    sources.sort(key=lambda source: (-source.p_worse, source.name))
    return Comparison(tuple(sources), pooled, spread, index)
