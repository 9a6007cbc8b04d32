"""What the joins of a ball were: held against balls cut from a drawn strand, and brute force."""

import itertools
import math
from functools import cache

import numpy as np
import pytest
from scipy import integrate
from scipy.stats import binom, gamma, poisson

from clew.faults import BadInput
from clew.knots.answer_places import split_placed
from clew.knots.answer_split import KINDS
from clew.knots.join_sources import split_joins
from clew.knots.law import knot_law
from clew.knots.sources import Sources

LENGTH_M = 200.0
LONG = Sources(0.004, 1.5, 3000.0, 0.05, 0.0008, 0.0004)
SHORT = Sources(0.004, 1.5, 260.0, 0.3, 0.0008, 0.0004)
SHORT_EVEN = Sources(0.004, 1.5, 150.0, 0.0, 0.0008, 0.0004)


def cut_from_strand(sources, balls, seed):
    """Wind one long strand, cone after cone, and count each ball's joins by source.

    Gives counts (balls, 4) in the order of KINDS, and the mean break rate along each ball.
    """
    random = np.random.default_rng(seed)
    strand_m = balls * LENGTH_M
    cones = int(strand_m / sources.cone_length_m * 1.1) + 50
    if sources.cone_cv:
        shape = sources.cone_cv**-2
        lengths = random.gamma(shape, sources.cone_length_m / shape, cones)
    else:
        lengths = np.full(cones, sources.cone_length_m)
    ends = np.cumsum(lengths) - random.random() * lengths[0]
    starts = np.concatenate(([0.0], ends[:-1]))
    rates = np.full(cones, sources.breaks_per_m)
    if math.isfinite(sources.dispersion):
        rates = random.gamma(sources.dispersion, sources.breaks_per_m / sources.dispersion, cones)
    broken = random.poisson(rates * (ends - starts))
    places = [
        np.repeat(starts, broken) + np.repeat(ends - starts, broken) * random.random(broken.sum()),
        ends,
        random.random(random.poisson(sources.line_breaks_per_m * strand_m)) * strand_m,
        np.arange(random.random(), strand_m * sources.colour_ties_per_m, 1.0)
        / sources.colour_ties_per_m,
    ]
    counts = np.stack(
        [
            np.bincount((one[one < strand_m] / LENGTH_M).astype(int), minlength=balls)
            for one in places
        ],
        axis=1,
    )
    edges = np.arange(balls + 1) * LENGTH_M
    hazard = np.interp(
        edges,
        np.concatenate(([0.0], ends)),
        np.concatenate(([0.0], np.cumsum(rates * (ends - starts)))),
    )
    return counts, np.diff(hazard) / LENGTH_M


@pytest.mark.parametrize(
    ("sources", "joins"),
    [(LONG, 1), (LONG, 3), (SHORT, 1), (SHORT, 3), (SHORT_EVEN, 2), (SHORT_EVEN, 4)],
)
def test_split_is_what_balls_of_a_drawn_strand_hold(sources, joins):
    counts, rate = cut_from_strand(sources, 500_000, seed=joins)
    such = counts.sum(axis=1) == joins
    assert such.sum() > 4000
    found = split_joins(sources, LENGTH_M, joins, seed=5)
    mean = counts[such].mean(axis=0)
    assert [found.expected[kind] for kind in KINDS] == pytest.approx(mean, abs=0.045)
    for number in range(joins + 1):
        drawn = (counts[such] == number).mean(axis=0)
        assert [found.chances[kind][number] for kind in KINDS] == pytest.approx(drawn, abs=0.035)
    assert found.rate_times == pytest.approx(
        float(rate[such].mean()) / sources.breaks_per_m, rel=0.06
    )


@pytest.mark.parametrize("joins", [0, 1, 2, 5, 40])
def test_sources_alike_from_cone_to_cone_share_by_their_rates(joins):
    """Without ties every split is binomial, whatever the number."""
    sources = Sources(0.003, line_breaks_per_m=0.001)
    found = split_joins(sources, LENGTH_M, joins)
    numbers = np.arange(joins + 1)
    for kind, share in (("breaks", 3 / 4), ("line_breaks", 1 / 4)):
        assert found.chances[kind] == pytest.approx(binom.pmf(numbers, joins, share), abs=1e-12)
    assert found.expected["cone_ties"] == 0.0
    assert found.rate_times is None


def test_poisson_breaks_beside_even_long_cones():
    """One tie or none: Bayes by hand."""
    found = split_joins(Sources(0.002, cone_length_m=1000.0), LENGTH_M, 2)
    none, tied = 0.8 * poisson.pmf(2, 0.4), 0.2 * poisson.pmf(1, 0.4)
    assert found.chances["cone_ties"][1] == pytest.approx(tied / (tied + none), abs=1e-12)


def test_ties_alone_of_even_cones():
    sources = Sources(cone_length_m=60.0)
    assert split_joins(sources, LENGTH_M, 3).expected["cone_ties"] == pytest.approx(3.0)
    assert split_joins(sources, LENGTH_M, 4).chances["cone_ties"][4] == pytest.approx(1.0)
    assert split_joins(sources, LENGTH_M, 2) is None  # 200 m hold three ties or four


def test_no_source_gives_no_join():
    assert split_joins(Sources(), LENGTH_M, 1) is None
    assert split_joins(Sources(), LENGTH_M, 0).by_join == ()
    assert split_placed(Sources(), LENGTH_M, [3.0]) is None


def test_gamma_rate_of_the_one_cone():
    """Without ties and other sources the rate is gamma of shape a + n, the closed form."""
    sources = Sources(0.003, dispersion=2.0)
    found = split_joins(sources, LENGTH_M, 7)
    after = gamma(2.0 + 7, scale=1.0 / (2.0 / 0.003 + LENGTH_M))
    assert found.rate_times * 0.003 == pytest.approx(after.mean(), rel=1e-12)
    assert found.rate_over_twice == pytest.approx(after.sf(0.006), rel=1e-10)
    assert found.usual_over_twice == pytest.approx(gamma(2.0, scale=0.0015).sf(0.006), rel=1e-10)
    placed = split_placed(sources, LENGTH_M, [1, 5, 7, 90, 100, 150, 199])
    assert placed.rate_times == pytest.approx(found.rate_times, rel=1e-12)
    assert placed.rate_over_twice == pytest.approx(found.rate_over_twice, rel=1e-10)


@pytest.mark.parametrize(
    "dispersion",
    [0.05, pytest.param(1.5, marks=pytest.mark.long), pytest.param(80.0, marks=pytest.mark.long),
     math.inf],
)  # fmt: skip
@pytest.mark.parametrize("cone_m", [20.0, 260.0, 3000.0])
@pytest.mark.parametrize("breaks_per_m", [1e-5, 0.004])
def test_far_beyond_the_usual_the_split_still_adds_up(breaks_per_m, cone_m, dispersion):
    sources = Sources(breaks_per_m, dispersion, cone_m, 0.2, 0.0008, 0.0004)
    found = split_joins(sources, LENGTH_M, 120)
    assert sum(found.expected.values()) == pytest.approx(120.0)
    assert all(0.0 <= mean <= 120.0 for mean in found.expected.values())


def test_the_rate_before_counting_is_the_usual_one():
    """Averaged over the law of joins, what the joins tell of the cone is what was known before."""
    law = knot_law(LONG, LENGTH_M)
    splits = [split_joins(LONG, LENGTH_M, n) for n in range(40)]
    assert sum(p * s.rate_times for p, s in zip(law.pmf, splits, strict=False)) == pytest.approx(
        1.0, abs=1e-6
    )
    assert sum(
        p * s.rate_over_twice for p, s in zip(law.pmf, splits, strict=False)
    ) == pytest.approx(splits[0].usual_over_twice, abs=1e-6)
    for kind, rate in LONG.intensities_per_m.items():
        mean = sum(p * s.expected[kind] for p, s in zip(law.pmf, splits, strict=False))
        assert mean == pytest.approx(rate * LENGTH_M, abs=1e-6)


def by_brute_force(sources, places):
    """Try every kind for every join; integrate each cone's rate numerically."""
    mu, cv, shape = sources.cone_length_m, sources.cone_cv, sources.dispersion
    cone = gamma(cv**-2, scale=mu * cv**2)
    rate = gamma(shape, scale=sources.breaks_per_m / shape)
    line, colour = sources.line_breaks_per_m, sources.colour_ties_per_m

    @cache
    def stretch(breaks, length):
        return integrate.quad(
            lambda r: rate.pdf(r) * r**breaks * math.exp(-r * length), 0.0, 0.08, limit=200
        )[0]

    total, made = 0.0, {kind: np.zeros(len(places)) for kind in "tblc"}
    for kinds in itertools.product("tblc", repeat=len(places)):
        ties = [place for place, kind in zip(places, kinds, strict=True) if kind == "t"]
        cuts = [0.0, *ties, LENGTH_M]
        if not ties:
            weight = integrate.quad(lambda u: cone.sf(u) / mu, LENGTH_M, mu * 20)[0]
        else:
            weight = cone.sf(ties[0]) / mu * cone.sf(LENGTH_M - ties[-1])
            for before, after in itertools.pairwise(ties):
                weight *= cone.pdf(after - before)
        for low, high in itertools.pairwise(cuts):
            inside = [
                kind
                for place, kind in zip(places, kinds, strict=True)
                if low < place < high and kind == "b"
            ]
            weight *= stretch(len(inside), high - low)
        colours = kinds.count("c")
        weight *= line ** kinds.count("l")
        weight *= (1.0 - colour * LENGTH_M, colour, 0.0, 0.0)[colours]
        total += weight
        for one in made:
            made[one] += weight * np.array([kind == one for kind in kinds])
    return [made[one] / total for one in "btlc"]


@pytest.mark.parametrize("sources", [LONG, SHORT])
@pytest.mark.parametrize("places", [[20.0, 31.0, 180.0], [5.0, 195.0]])
def test_places_against_every_choice_of_kinds(sources, places):
    found = split_placed(sources, LENGTH_M, places)
    for kind, chances in zip(KINDS, by_brute_force(sources, places), strict=True):
        assert [one[kind] for one in found.by_join] == pytest.approx(chances, rel=1e-4)
        assert found.expected[kind] == pytest.approx(chances.sum(), rel=1e-4)


def test_either_end_gives_the_same_joins_in_turn():
    places = [4.0, 60.0, 61.5, 190.0]
    one = split_placed(SHORT, LENGTH_M, places)
    other = split_placed(SHORT, LENGTH_M, [LENGTH_M - place for place in places])
    for here, there in zip(one.by_join, reversed(other.by_join), strict=True):
        assert here == pytest.approx(there, rel=1e-9)


def test_two_ties_do_not_stand_closer_than_a_cone():
    """Two joins a metre apart and one a cone away: the pair holds one tie at most."""
    found = split_placed(Sources(0.001, math.inf, 150.0, 0.02), LENGTH_M, [20.0, 21.0, 171.0])
    assert found.by_join[0]["cone_ties"] + found.by_join[1]["cone_ties"] == pytest.approx(1.0)
    assert found.by_join[2]["cone_ties"] > 0.99


def test_one_colour_after_another_inside_a_ball():
    """Runs shorter than the ball: places still share out all joins, and nothing but joins."""
    found = split_placed(
        Sources(0.001, line_breaks_per_m=0.001, colour_ties_per_m=0.008), LENGTH_M, [20.0, 90.0]
    )
    assert sum(found.expected.values()) == pytest.approx(2.0)
    assert found.expected["colour_ties"] == pytest.approx(1.6)
    assert sum(one["colour_ties"] for one in found.by_join) == pytest.approx(1.6)


def test_places_at_both_ends_are_places():
    found = split_placed(LONG, LENGTH_M, [0.0, LENGTH_M])
    assert sum(found.expected.values()) == pytest.approx(2.0)


@pytest.mark.parametrize("places", [[201.0], [-1.0], [5.0, 5.0], [math.nan], list(range(61))])
def test_places_that_cannot_be_are_refused(places):
    with pytest.raises(BadInput):
        split_placed(LONG, LENGTH_M, places)


def test_the_seed_alone_decides_what_is_drawn():
    same = [split_joins(SHORT, LENGTH_M, 3, seed=8).expected for _ in range(2)]
    assert same[0] == same[1]
    other = split_joins(SHORT, LENGTH_M, 3, seed=9)
    assert other.expected != same[0]
    assert other.draws > 0
    assert abs(other.expected["cone_ties"] - same[0]["cone_ties"]) < 6 * other.standard_error
    assert split_joins(LONG, LENGTH_M, 3, seed=8).draws == 0


def test_the_standard_error_is_how_far_seeds_lie_apart():
    """Twelve seeds tell their standard deviation to about a fifth of it."""
    found = [split_joins(SHORT, LENGTH_M, 3, seed=seed) for seed in range(12)]
    apart = np.std([one.expected["cone_ties"] for one in found], ddof=1)
    said = np.mean([one.standard_error for one in found])
    assert 0.4 < apart / said < 2.0


@pytest.mark.parametrize("joins", [-1, 201])
def test_numbers_of_joins_that_cannot_be_are_refused(joins):
    with pytest.raises(BadInput):
        split_joins(LONG, LENGTH_M, joins)
