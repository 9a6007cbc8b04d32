"""Where a belief starts: the mill file's own spreads, through the model the run card is made with.

A lot's belief begins before its first ball, or goes on from one that was saved: of the same lot, or
of another one, whose winders it keeps and whose yarn it forgets.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from clew.ball.first.about import About, check_about
from clew.ball.first.belief import Belief, first_belief
from clew.ball.first.conditioning import Floats
from clew.ball.first.weighed import LEAST_NOISE_CV, Spreads
from clew.ball.from_mill import Terms
from clew.ball.outcome import outcome
from clew.ball.turns import TurnsAnswer
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.lines import Line

_STEP = 1e-3
"""Change of the logarithm of count over which an elasticity is taken."""

_WIDEST_CV = 0.5


def count_elasticities(terms: Terms, answer: TurnsAnswer) -> tuple[float, float]:
    """How length at rest and mass as weighed follow the count, at the answer's turns.

    Parameters
    ----------
    terms : Terms
        The ball's terms.
    answer : TurnsAnswer
        The expected ball.

    Returns
    -------
    length_elasticity, mass_elasticity : float
        d ln length / d ln count and d ln mass / d ln count [-].

    Notes
    -----
    Central difference in the model of the run card, in which a heavier yarn also stretches less.
    Source: DERIVED.
    """
    up, down = (_logs(terms, answer, "log_count", sign * _STEP) for sign in (1.0, -1.0))
    length, mass = (up - down) / (2.0 * _STEP)
    return float(length), float(mass)


def own_covariance(terms: Terms, answer: TurnsAnswer) -> Floats:
    """Covariance of what one ball is by itself, before anything is measured.

    Parameters
    ----------
    terms : Terms
        The ball's terms.
    answer : TurnsAnswer
        The expected ball.

    Returns
    -------
    ndarray, shape (2, 2)
        Covariance of the logarithms of length at rest and mass as weighed [-].

    Notes
    -----
    The sum over count within a cone, regain, pack density and tension, each the outer product of
    what one standard deviation does to length and mass: the sources, and the steps, of
    `clew.ball.doubt`. A spread of `LEAST_NOISE_CV` is added to each, because a mill file may leave
    all of them 0 and no ball is known exactly. Source: DERIVED.
    """
    strand, winding = terms.strand, terms.winding
    within = next(spread.cv for spread in strand.spreads if spread.key == "count_within")
    tension, sd = winding.tension_cn, winding.tension_sd_cn
    sources = (
        ("log_count", within, -within),
        ("log_moisture", strand.moisture.cv, -strand.moisture.cv),
        ("log_density", winding.pack_density_cv, -winding.pack_density_cv),
        ("tension_cn", tension + sd, max(0.0, tension - sd)),
    )
    own = LEAST_NOISE_CV**2 * np.eye(2)
    for argument, high, low in sources:
        one_sd = (_logs(terms, answer, argument, high) - _logs(terms, answer, argument, low)) / 2.0
        own += np.outer(one_sd, one_sd)
    return own


def _logs(terms: Terms, answer: TurnsAnswer, argument: str, value: float) -> Floats:
    """Logarithms of length at rest and mass as weighed, with one thing shifted."""
    found = outcome(answer.law, terms.strand, terms.promise, terms.winding, **{argument: value})
    return np.log(np.array([found.length_m, found.as_weighed_g], dtype=np.float64))


def start_belief(
    terms: Terms, line: Line, answer: TurnsAnswer, about: About | None = None
) -> Belief:
    """State what the mill file itself makes one believe before a ball is weighed.

    Parameters
    ----------
    terms : Terms
        The ball's terms.
    line : Line
        The line, with its winders, scale and reel.
    answer : TurnsAnswer
        The expected ball.
    about : About, optional
        What the belief is about.

    Returns
    -------
    Belief
        One factor a winder, one for the lot's count, and one for each cone as it is met.

    Raises
    ------
    BadInput
        When a spread of the mill file is too wide for small deviations, under its own keys.
    """
    strand = terms.strand
    cone_cv = next(spread.cv for spread in strand.spreads if spread.key == "count_cone")
    winder_cv = terms.winding.turn_length_cv
    lot_cv = math.hypot(*(spread.cv for spread in strand.spreads if not spread.per_ball))
    own = own_covariance(terms, answer)
    own_cv = math.sqrt(float(own.diagonal().max()))
    faults = [
        Fault(
            say("too wide a spread for first balls"),
            say("together at most {widest_cv:g} % of what they move", widest_cv=100 * _WIDEST_CV),
            key=keys,
            value=f"{100 * cv:.0f} %",
        )
        for keys, cv in (
            ("turn_length_cv", winder_cv),
            ("count_spun_cv, shrink_sd beside shrink", lot_cv),
            ("count_cone_cv", cone_cv),
            ("count_within_cv, regain_out_sd, pack_density_cv, tension_sd", own_cv),
        )
        if not cv <= _WIDEST_CV
    ]
    if faults:
        raise BadInput(faults)
    length_elasticity, mass_elasticity = count_elasticities(terms, answer)
    length, both, mass = float(own[0, 0]), float(own[0, 1]), float(own[1, 1])
    spreads = Spreads(
        winder_cv=winder_cv,
        lot_cv=lot_cv,
        cone_cv=cone_cv,
        own_cov=((length, both), (both, mass)),
        scale_sd_g=line.scale_sd_g,
        reel_cv=line.reel_cv,
        length_elasticity=length_elasticity,
        mass_elasticity=mass_elasticity,
    )
    return first_belief([str(one.number) for one in line.winder], spreads, about)


def for_next_lot(belief: Belief, fresh: Belief) -> Belief:
    """Carry what is known of the winders over to another dye lot of the same ball and line.

    Parameters
    ----------
    belief : Belief
        The belief about the lot before.
    fresh : Belief
        The next lot's own start, over the same winders.

    Returns
    -------
    Belief
        The winders' mean and covariance as they were; the lot's count, the cones and the balls as
        at the start.

    Notes
    -----
    Marginal of a normal distribution over the winders: what tied them to the old lot's count is
    integrated out and not assumed away. Source: DERIVED.
    """
    winders = slice(1, 1 + len(belief.winders))
    mean, covariance = fresh.mean.copy(), fresh.covariance.copy()
    mean[winders] = belief.mean[winders]
    covariance[winders, winders] = belief.covariance[winders, winders]
    return replace(fresh, mean=mean, covariance=covariance)


def going_on(saved: Belief, fresh: Belief) -> tuple[Belief, str]:
    """Go on from a saved belief, as far as it is about the same thing.

    Parameters
    ----------
    saved : Belief
        The belief that was saved.
    fresh : Belief
        The start of what is asked for now.

    Returns
    -------
    belief : Belief
        The saved belief; of another dye lot only its winders.
    words : str
        One line that says so; empty for the same dye lot.

    Raises
    ------
    BadInput
        When it is about another mill, line, ball or yarn, or an input has changed since.
    """
    then, now = saved.about, fresh.about
    if now is None or check_about(then, now):
        return saved, ""
    assert then is not None  # checked just now
    words = say(
        "The winders are carried over from dye lot {then}; the yarn of {now} starts afresh.",
        then=then.dye_lot,
        now=now.dye_lot,
    )
    return for_next_lot(saved, fresh), words
