"""Knots: why there are knots in a ball, and what fewer would cost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from clew.faults import BadInput, Fault
from clew.knots.cutting import CutPrices, CuttingAnswer, plan_cuts
from clew.knots.from_mill import KnotTerms, knot_terms
from clew.knots.knot_map import KnotMap
from clew.knots.law import KnotLaw, knot_law
from clew.knots.price import LimitAnswer, LimitQuestion, price_of_limits
from clew.knots.sources import Sources
from clew.knots.strand_draw import draw_strand
from clew.mill.knot_rules import KnotRules
from clew.mill.model import Mill
from clew.mill.yarns import Yarn
from clew.quantities import UnitSystem
from clew.web.asked.chosen import ChosenBall, choose_ball, mill_with
from clew.web.asked.entries import Entry, read_entries, with_faults
from clew.web.asked.limits import fault_for
from clew.web.asked.whole import MOST_SEED, whole_typed
from clew.web.knots.inputs import OF_RULES, OF_YARN, ORDER, joins_allowed, limit_typed

BALLS_DRAWN = 40
"""Balls on the drawn strand; a phone shows five in a row."""
STRAND_PRICED_M = 500_000.0
"""Each of the strands that limits are priced on, as `clew knots price` draws them."""
LEAST_PRICED_BALLS = 50
MOST_PRICED_JOINS = 60_000
"""On each of those strands; with more joins they are shorter, so that a page does not wait."""
_PLAIN_LIMITS = (0, 1, 2, 3, 4)
_LARGEST_PRICED = 20
_KEYS = {"breaks_per_km": "breaks", "shrink_frac": "shrink", "cone_length_m": "cone_mass"}


@dataclass(frozen=True, slots=True)
class Strand:
    """A drawn strand and what it can be cut into.

    Attributes
    ----------
    seed : int
        Seed it was drawn from.
    knots : KnotMap
        Its joins.
    cuts : CuttingAnswer
        Plans for it; the best one only means something where prices are stated.
    """

    seed: int
    knots: KnotMap
    cuts: CuttingAnswer


@dataclass(frozen=True, slots=True)
class KnotsPage:
    """What the page was asked, with its answer.

    Attributes
    ----------
    chosen : ChosenBall
        What was chosen, with what was typed in place.
    seed : int
        Seed of the drawn strand.
    entries : tuple of Entry
        Inputs to try.
    faults : tuple of Fault
        What is wrong with them.
    terms : KnotTerms or None
        What decides the knots; none while something is wrong.
    law : KnotLaw or None
        The law of knots per ball; none while something is wrong.
    """

    chosen: ChosenBall
    seed: int
    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...]
    terms: KnotTerms | None
    law: KnotLaw | None

    @property
    def allowed(self) -> int | None:
        """Most joins in a first-quality ball; None where joins do not count."""
        counts = 1.0 if self.terms is None else self.terms.join_counts
        return joins_allowed(self.chosen.ball.knot_limit, counts)


def open_knots(mill: Mill, asked: Mapping[str, str], units: UnitSystem) -> KnotsPage:
    """Answer the page, all but the price.

    Parameters
    ----------
    mill : Mill
        The mill.
    asked : mapping of str to str
        What the address says: ``ball``, ``lot``, ``seed`` and the inputs to try.
    units : {"metric", "yard"}
        The reader's system of units.

    Returns
    -------
    KnotsPage
        The page's content. A dye lot of another yarn than the ball's is a fault on the page.

    Raises
    ------
    BadInput
        When a ball or dye lot is not in the mill file.
    """
    chosen = choose_ball(mill, asked)
    ball, yarn = chosen.ball, chosen.yarn
    seed, seed_fault = whole_typed("seed", asked.get("seed", "").strip() or "1", MOST_SEED)
    tried_ball, limit, faults = limit_typed(ball, asked)
    tried_yarn, of_yarn, more = read_entries(OF_YARN, yarn, asked, units)
    tried_rules, of_rules, others = read_entries(OF_RULES, mill.knots, asked, units)
    assert isinstance(tried_yarn, Yarn)
    assert isinstance(tried_rules, KnotRules)
    entries = (limit, *of_yarn, *of_rules)
    faults = faults + more + others + (() if seed_fault is None else (seed_fault,))
    terms = law = None
    if not faults:
        tried = mill_with(mill, ball=(ball, tried_ball), yarn=(yarn, tried_yarn))
        tried = tried.model_copy(update={"knots": tried_rules})
        try:
            terms = knot_terms(tried, ball.name, chosen.lot_name)
            law = law_of(terms)
        except BadInput as bad:
            terms = None
            faults = tuple(replace(one, key=_KEYS.get(one.key, one.key)) for one in bad.faults)
    faults = tuple(fault_for(fault, units) for fault in faults)
    return KnotsPage(
        chosen=replace(chosen, ball=tried_ball, yarn=tried_yarn), seed=seed,
        entries=tuple(
            sorted(with_faults(entries, faults), key=lambda entry: ORDER.index(entry.key))
        ),
        faults=faults, terms=terms, law=law,
    )  # fmt: skip


def law_of(terms: KnotTerms) -> KnotLaw:
    """Give the law of one ball."""
    return law_at(terms.sources, terms.rule.ball_length_m)


@lru_cache(maxsize=256)
def law_at(sources: Sources, ball_length_m: float) -> KnotLaw:
    """Work a law out once for a page and its parts: neither limit nor shortest piece moves it."""
    return knot_law(sources, ball_length_m)


@lru_cache(maxsize=128)
def strand_of(terms: KnotTerms, seed: int) -> Strand:
    """Draw a strand and cut it.

    Parameters
    ----------
    terms : KnotTerms
        What decides the knots.
    seed : int
        Seed of the random numbers.

    Returns
    -------
    Strand
        The strand with its plans. Without stated prices the plans are graded by one money for each
        first-quality ball, and only winding straight on and parting at every offence are to be
        shown: neither depends on a price.
    """
    knots = _drawn(terms.sources, BALLS_DRAWN * terms.rule.ball_length_m, seed)
    allowed = joins_allowed(terms.rule.limit, terms.join_counts)
    rule = replace(terms.rule, limit=len(knots.kinds) if allowed is None else allowed)
    return Strand(seed, knots, plan_cuts(knots, rule, terms.stated_prices or CutPrices(1.0, 0.0)))


@lru_cache(maxsize=32)
def _drawn(sources: Sources, strand_m: float, seed: int) -> KnotMap:
    return draw_strand(sources, strand_m, seed=seed)


@lru_cache(maxsize=64)
def price_of(terms: KnotTerms, join_counts: float, breaks_left_frac: float) -> LimitAnswer:
    """Price the limits from 0 to 4, and today's with its neighbours.

    Parameters
    ----------
    terms : KnotTerms
        What decides the knots; its prices are stated.
    join_counts : float
        What a join counts towards the limit [1].
    breaks_left_frac : float
        Share of today's breaks that is left [1].

    Returns
    -------
    LimitAnswer
        Cut by the best plan of one who knows the whole strand.

    Raises
    ------
    BadInput
        When no price is stated, or the strand is too long or too full to be drawn.
    """
    limit = terms.rule.limit
    near = (max(limit - 1, 0), limit) if limit <= _LARGEST_PRICED else ()
    return price_of_limits(
        LimitQuestion(
            sources=terms.sources,
            rule=terms.rule,
            limits=tuple(sorted({*_PLAIN_LIMITS, *near})),
            prices=terms.prices,
            ball_mass_g=terms.ball_mass_g,
            made_a_year=terms.made_a_year,
            shelf_multiple=terms.shelf_multiple,
            complaints_per_10000=terms.complaints_per_10000,
            breaks_band=terms.breaks_band,
            join_counts=join_counts,
            strand_m=_strand_priced_m(terms),
            breaks_left_frac=breaks_left_frac,
        )
    )


def _strand_priced_m(terms: KnotTerms) -> float:
    """Length of a strand that limits are priced on [m]."""
    joins_per_m = sum(terms.sources.intensities_per_m.values())
    longest_m = min(STRAND_PRICED_M, MOST_PRICED_JOINS / joins_per_m)
    return max(longest_m, LEAST_PRICED_BALLS * terms.rule.ball_length_m)


def straight_of(terms: KnotTerms) -> LimitAnswer:
    """Price the same limits, wound straight through, as joins are made today: exact and quick."""
    best = price_of(terms, terms.join_counts, 1.0).question
    return price_of_limits(replace(best, habit="straight"))
