"""Balls that do not fit: pointed out, never dropped."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from clew.ball.first.belief import Belief, FirstBall, ball_rows, check_balls, with_cones
from clew.ball.first.weighed import deviations, scatter
from clew.languages import joined, say

AGREE_SD = 3.0
"""Standard deviations of their difference within which two balls of a winder agree."""

ODD_SD = 4.0
"""Standard deviations beyond which a ball is pointed out; about 1 in 16 000 by chance."""


@dataclass(frozen=True, slots=True)
class BallCheck:
    """How well one ball fits everything else that is known.

    Attributes
    ----------
    ball_id : str
        The ball.
    mass_z : float
        Its mass less what the rest leads to expect, in standard deviations [-].
    length_z, count_z : float or None
        The same of its length, and of its mass for its length; None without a length.
    odd : bool
        Whether any of them is beyond four.
    words : str
        The same for people.
    """

    ball_id: str
    mass_z: float
    length_z: float | None
    count_z: float | None
    odd: bool
    words: str


def check_fit(belief: Belief, balls: Iterable[FirstBall]) -> tuple[BallCheck, ...]:
    """Judge each ball by the belief before and all the other balls given with it.

    Parameters
    ----------
    belief : Belief
        The belief **before** these balls.
    balls : iterable of FirstBall
        The balls.

    Returns
    -------
    tuple of BallCheck
        One for each ball, in their order; a ball beyond four standard deviations is `odd`.

    Raises
    ------
    BadInput
        If a ball cannot be used or has been taken in already.

    Notes
    -----
    With y the deviations of all balls less what the belief expects, S their covariance and K its
    inverse, ball i differs from what the others lead to expect by K(i,i)⁻¹ (K y)(i), with
    covariance K(i,i)⁻¹. For a single ball this is the standardised innovation. Two balls that
    contradict each other are both odd: the numbers do not say which is wrong. Source: DERIVED
    (block inverse of a normal distribution).
    """
    balls = tuple(balls)
    check_balls(belief, balls)
    belief = with_cones(belief, (cone for ball in balls for cone, _ in ball.cones))
    rows, surprises, noises = [], [], []
    for ball in balls:
        with_length = ball.length_m is not None
        row = ball_rows(belief, ball.winder, ball.cones, with_length=with_length)
        rows.append(row)
        surprises.append(deviations(ball) - row @ belief.mean)
        noises.append(scatter(belief.spreads, ball.expected_mass_g, with_length=with_length))
    if not balls:
        return ()
    stacked = np.concatenate(rows)
    joint = stacked @ belief.covariance @ stacked.T
    start = 0
    places = []
    for noise in noises:
        place = slice(start, start + len(noise))
        joint[place, place] += noise
        places.append(place)
        start = place.stop
    inverse = np.linalg.inv(joint)
    weighted = inverse @ np.concatenate(surprises)
    checks = []
    for ball, place in zip(balls, places, strict=True):
        spread = np.linalg.inv(inverse[place, place])
        off = spread @ weighted[place]
        sds = np.sqrt(np.diag(spread))
        mass_z = float(off[-1] / sds[-1])
        length_z = count_z = None
        if ball.length_m is not None:
            length_z = float(off[0] / sds[0])
            count_var = spread[0, 0] - 2.0 * spread[0, 1] + spread[1, 1]
            count_z = float((off[1] - off[0]) / math.sqrt(count_var))
        checks.append(_judged(ball.ball_id, mass_z, length_z, count_z))
    return tuple(checks)


def held_back(belief: Belief) -> dict[str, str]:
    """Find the winders whose advice rests on a ball that nothing else bears out.

    Parameters
    ----------
    belief : Belief
        The belief with its balls, odd ones marked.

    Returns
    -------
    dict of str to str
        For each such winder the odd ball; a winder is let go once a second ball of it agrees.
    """
    held = {}
    for ball in belief.balls:
        if ball.ball_id in belief.odd and not any(
            _agree(ball, other, belief)
            for other in belief.balls
            if other.winder == ball.winder and other.ball_id != ball.ball_id
        ):
            held[ball.winder] = ball.ball_id
    return held


def _agree(one: FirstBall, other: FirstBall, belief: Belief) -> bool:
    """Whether two balls of a winder differ by no more than two balls of it do."""
    both = one.length_m is not None and other.length_m is not None
    shares = dict(one.cones)
    for cone, share in other.cones:
        shares[cone] = shares.get(cone, 0.0) - share
    spreads = belief.spreads
    cone_var = spreads.cone_cv**2 * math.fsum(share * share for share in shares.values())
    of_count = spreads.of_count if both else spreads.of_count[1:]
    spread = cone_var * of_count**2
    for ball in (one, other):
        spread = spread + np.diag(scatter(spreads, ball.expected_mass_g, with_length=both))
    kinds = slice(None) if both else slice(-1, None)
    off = deviations(one)[kinds] - deviations(other)[kinds]
    return bool((np.abs(off) <= AGREE_SD * np.sqrt(spread)).all())


def _judged(
    ball_id: str, mass_z: float, length_z: float | None, count_z: float | None
) -> BallCheck:
    said = [
        (say("mass"), mass_z),
        (say("length"), length_z),
        (say("mass for its length"), count_z),
    ]
    odd = [(name, z) for name, z in said if z is not None and abs(z) > ODD_SD]
    if not odd:
        return BallCheck(
            ball_id,
            mass_z,
            length_z,
            count_z,
            False,
            say("Ball {ball_id} fits the rest.", ball_id=ball_id),
        )
    parts = joined(
        ", ",
        (
            say("{what} {far:.1f} above", what=name, far=z)
            if z > 0.0
            else say("{what} {far:.1f} below", what=name, far=-z)
            for name, z in odd
        ),
    )
    words = say(
        "Ball {ball_id} does not fit the rest ({parts}, in standard deviations): "
        "weigh it again, and look at its turns, its cone and the scale. It is kept "
        "in.",
        ball_id=ball_id,
        parts=parts,
    )
    return BallCheck(ball_id, mass_z, length_z, count_z, True, words)
