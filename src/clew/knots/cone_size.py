"""Cone size: what cone ties cost under three habits, for cones of a length that spreads."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault
from clew.knots.cone_size_even import WHOLE, even_turns
from clew.knots.renewal import EVEN_CV, Cones

Array = NDArray[np.float64]

MOST_CV = 0.3
MOST_BALLS_A_CONE = 10_000
MOST_MONEY = 1e12
LEAST_SD_BALLS = 0.005
"""A spread below half a hundredth of a ball is not to be told from none: it is stated as 0."""
_SURELY = 1e-17


@dataclass(frozen=True, slots=True)
class ConeMoney:
    """What balls bring and cone ties cost, in the mill's own money.

    Attributes
    ----------
    ball_price : float
        What a ball without a cone tie brings in the mean [money/ball], above zero.
    tie_loss : float
        What is lost on a ball with a cone tie inside [money/ball].
    waste_per_m : float
        Handling of dropped yarn [money/m]; that it gives no ball is counted apart.
    parting : float
        Cost of each leftover dropped [money].
    tie_cost : float
        Cost of tying a cone on [money/cone].
    """

    ball_price: float
    tie_loss: float
    waste_per_m: float = 0.0
    parting: float = 0.0
    tie_cost: float = 0.0


@dataclass(frozen=True, slots=True)
class ConeHabit:
    """What one habit does with cones of one size, in the long run.

    Attributes
    ----------
    cones : Cones
        Lengths of the cones, after steam.
    ball_length_m : float
        Length of a ball, after steam [m].
    drop_up_to_m : float
        What the cone's foot leaves over is dropped up to this length, else wound on [m]: 0 winds
        on always, a whole ball drops always.
    balls_per_cone : float
        Mean balls finished per cone [1].
    tied_share : float
        Share of balls with a cone tie inside [1].
    leftover_m : float
        Mean yarn dropped per cone [m].
    money_per_km : float
        Money per km of strand, after steam [money/km].
    """

    cones: Cones
    ball_length_m: float
    drop_up_to_m: float
    balls_per_cone: float
    tied_share: float
    leftover_m: float
    money_per_km: float


def check_cones(cones: Cones, ball_length_m: float, money: ConeMoney | None = None) -> None:
    """See that cones, ball and money can be used.

    Parameters
    ----------
    cones : Cones
        Lengths of the cones.
    ball_length_m : float
        Length of a ball [m].
    money : ConeMoney or None
        What balls bring and ties cost.

    Raises
    ------
    BadInput
        With every value that is out of range.
    """
    faults = []

    def need(good: bool, key: str, value: float, expected: str) -> None:
        if not good:
            faults.append(Fault("out of range", expected=expected, key=key, value=f"{value:g}"))

    ball_good = 0.0 < ball_length_m < math.inf
    need(ball_good, "ball_length_m", ball_length_m, "a length above 0 m")
    cone_good = 0.0 < cones.mean_m < math.inf
    need(cone_good, "cone_length_m", cones.mean_m, "a length above 0 m")
    cv_good = 0.0 <= cones.cv <= MOST_CV
    need(cv_good, "cone_cv", cones.cv, f"a spread from 0 to {100 * MOST_CV:g} %")
    if ball_good and cone_good:
        need(
            cones.mean_m <= MOST_BALLS_A_CONE * ball_length_m,
            "cone_length_m",
            cones.mean_m,
            f"at most {MOST_BALLS_A_CONE} balls a cone",
        )
        least = max(LEAST_SD_BALLS * ball_length_m / cones.mean_m, EVEN_CV)
        need(
            not cv_good or cones.cv == 0.0 or cones.cv >= least,
            "cone_cv",
            cones.cv,
            f"0, or a spread of {100.0 * least:.2g} % or more",
        )
    if money is not None:
        need(
            0.0 < money.ball_price <= MOST_MONEY,
            "ball_price",
            money.ball_price,
            f"above 0, up to {MOST_MONEY:g}",
        )
        for key in ("tie_loss", "waste_per_m", "parting", "tie_cost"):
            value = getattr(money, key)
            need(0.0 <= value <= MOST_MONEY, key, value, f"from 0 to {MOST_MONEY:g}")
    if faults:
        raise BadInput(faults)


def balls_on(cones: Cones, ball_length_m: float, offset_m: Array | float = 0.0) -> Array:
    """Mean whole balls that end on a cone.

    Parameters
    ----------
    cones : Cones
        Lengths of the cones.
    ball_length_m : float
        Length of a ball [m].
    offset_m : float or array
        Yarn already in the ball when the cone starts [m], from 0 to a ball.

    Returns
    -------
    array
        Mean of floor((offset + cone) / ball).

    Notes
    -----
    E floor(Y) = sum over j >= 1 of P(Y >= j). Source: DERIVED.
    """
    offset = np.asarray(offset_m, dtype=np.float64)
    if cones.cv == 0.0:
        return np.floor((offset + cones.mean_m) / ball_length_m * (1.0 + WHOLE))
    low, high = span_m(cones)
    sure = max(math.floor(low / ball_length_m), 0)
    numbers = np.arange(sure + 1, math.ceil(high / ball_length_m) + 2)
    at_least = _longer(cones, numbers * ball_length_m - offset[..., None])
    return np.asarray(sure + at_least.sum(axis=-1))


def span_m(cones: Cones) -> tuple[float, float]:
    """Shortest and longest cone there is, but for chances of 1e-17.

    Parameters
    ----------
    cones : Cones
        Lengths of the cones, with a spread.

    Returns
    -------
    tuple of float
        Both lengths [m].
    """
    from scipy.special import gammainccinv, gammaincinv

    scale = cones.mean_m / cones.shape
    return (
        float(gammaincinv(cones.shape, _SURELY)) * scale,
        float(gammainccinv(cones.shape, _SURELY)) * scale,
    )


def _longer(cones: Cones, length_m: Array) -> Array:
    from scipy.special import gammaincc

    return np.asarray(
        gammaincc(cones.shape, np.maximum(length_m, 0.0) * cones.shape / cones.mean_m)
    )


def wind_on(cones: Cones, ball_length_m: float, money: ConeMoney) -> ConeHabit:
    """Wind on over every tie: where ties fall is left to itself.

    Parameters
    ----------
    cones : Cones
        Lengths of the cones, after steam.
    ball_length_m : float
        Length of a ball, after steam [m].
    money : ConeMoney
        What balls bring and ties cost.

    Returns
    -------
    ConeHabit
        Its long run: ball over cone is the share of balls with a tie, while cones are longer than
        balls. Cones without any spread, started on a ball's head, come round: every q-th tie falls
        on a ball end, with C/L = p/q; that is looked for up to 1000 cones.

    Raises
    ------
    BadInput
        When cones, ball or money are out of range.

    Notes
    -----
    With a spread, however small, the place of a tie in its ball is uniform in the long run and no
    tie falls exactly on a ball end. P(no tie) is that of the equilibrium renewal process. Source:
    MEMORY (Cox, Renewal Theory, 1962); the even case DERIVED.
    """
    check_cones(cones, ball_length_m, money)
    if cones.even:
        turns = even_turns(cones.mean_m, ball_length_m)
        closed = next((turn for turn in turns if turn.leftover_m == 0.0), turns[-1])
        balls, tied = closed.balls / closed.cones, closed.tied / closed.cones
        return habit(cones, ball_length_m, money, 0.0, balls, tied, 0.0, 0.0)
    balls = cones.mean_m / ball_length_m
    without = 1.0 - (ball_length_m - float(cones.used_up(1.0, ball_length_m))) / cones.mean_m
    return habit(cones, ball_length_m, money, 0.0, balls, balls * (1.0 - without), 0.0, 0.0)


def start_anew(cones: Cones, ball_length_m: float, money: ConeMoney) -> ConeHabit:
    """Start a new ball at every cone's head and drop what the last one's foot leaves over.

    Parameters
    ----------
    cones : Cones
        Lengths of the cones, after steam.
    ball_length_m : float
        Length of a ball, after steam [m].
    money : ConeMoney
        What balls bring and ties cost.

    Returns
    -------
    ConeHabit
        Its long run: no tie in any ball, E[C mod L] dropped per cone.

    Raises
    ------
    BadInput
        When cones, ball or money are out of range.

    Notes
    -----
    Balls per cone are sum_j P(X >= jL), exact by the gamma distribution. Source: DERIVED.
    """
    check_cones(cones, ball_length_m, money)
    balls = float(balls_on(cones, ball_length_m))
    left = cones.mean_m - balls * ball_length_m
    nothing = cones.even and left <= WHOLE * cones.mean_m
    left = 0.0 if nothing else max(left, 0.0)
    partings = 0.0 if nothing else 1.0
    return habit(cones, ball_length_m, money, ball_length_m, balls, 0.0, left, partings)


def habit(
    cones: Cones,
    ball_length_m: float,
    money: ConeMoney,
    drop_up_to_m: float,
    balls: float,
    tied: float,
    left_m: float,
    partings: float,
) -> ConeHabit:
    """Put money on what a habit yields per cone.

    Parameters
    ----------
    cones : Cones
        Lengths of the cones.
    ball_length_m : float
        Length of a ball [m].
    money : ConeMoney
        What balls bring and ties cost.
    drop_up_to_m : float
        Longest leftover dropped [m].
    balls, tied : float
        Mean balls, and balls with a tie inside, per cone [1].
    left_m : float
        Mean yarn dropped per cone [m].
    partings : float
        Mean leftovers dropped per cone [1].

    Returns
    -------
    ConeHabit
        Shares, and money per km of strand.
    """
    a_cone = (
        money.ball_price * balls
        - money.tie_loss * tied
        - money.waste_per_m * left_m
        - money.parting * partings
        - money.tie_cost
    )
    return ConeHabit(
        cones,
        ball_length_m,
        drop_up_to_m,
        balls,
        tied / balls if balls > 0.0 else 0.0,
        left_m,
        1000.0 * a_cone / cones.mean_m,
    )
