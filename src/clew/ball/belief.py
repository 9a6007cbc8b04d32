"""What the mill believes about its winders and one dye lot's yarn, and how each ball changes it.

The belief is a normal distribution over small deviations in natural logarithms: the lot's mean
count against what was expected, each winder's length per turn, each cone's own count. A weighed
ball changes it by exact conditioning, so the order of the balls does not matter and a later ball
goes on from where the first ones stopped.
"""

from __future__ import annotations

from collections import Counter as Tally
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np

from clew.ball.conditioning import Floats, narrowed
from clew.ball.weighed import (
    FirstBall,
    SeenBall,
    Spreads,
    ball_faults,
    deviations,
    scatter,
)
from clew.faults import BadInput, Fault

__all__ = [
    "Belief",
    "FirstBall",
    "SeenBall",
    "Spreads",
    "ball_rows",
    "check_balls",
    "prior_belief",
    "update",
    "with_cones",
]

_FORM = "first-ball belief 1"


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """The mill's belief about one lot on its winders.

    Attributes
    ----------
    winders, cones : tuple of str
        Names, in the order of the state: the lot, winders, cones.
    mean : ndarray, shape (1 + winders + cones,)
        Mean of the deviations, natural logarithms [-]; not writable.
    covariance : ndarray, shape (n, n)
        Their covariance [-]; not writable.
    spreads : Spreads
        The constants.
    balls : tuple of SeenBall
        The balls taken in so far.
    """

    winders: tuple[str, ...]
    cones: tuple[str, ...]
    mean: Floats
    covariance: Floats
    spreads: Spreads
    balls: tuple[SeenBall, ...] = ()

    def __post_init__(self) -> None:
        self.mean.setflags(write=False)
        self.covariance.setflags(write=False)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the state, in order: the lot's count, each winder, each cone."""
        winders = tuple(f"winder {name}" for name in self.winders)
        return ("lot count", *winders, *(f"cone {name}" for name in self.cones))

    def winder_at(self, winder: str) -> int:
        """Place of a winder in the state; refuses a winder that the belief does not know."""
        return 1 + _place(winder, self.winders, "winder")

    def cone_at(self, cone: str) -> int:
        """Place of a cone in the state; refuses a cone that the belief does not know."""
        return 1 + len(self.winders) + _place(cone, self.cones, "cone")

    def to_plain(self) -> dict[str, Any]:
        """Write the belief as plain lists, numbers and words, ready for JSON.

        Returns
        -------
        dict
            Everything that `from_plain` needs; numbers come back to the last bit.
        """
        return {
            "form": _FORM,
            "winders": list(self.winders),
            "cones": list(self.cones),
            "mean": self.mean.tolist(),
            "covariance": self.covariance.tolist(),
            "spreads": asdict(self.spreads),
            "balls": [{**asdict(ball), "cones": list(ball.cones)} for ball in self.balls],
        }

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Belief:
        """Read a belief written by `to_plain`, so that later balls go on from it.

        Parameters
        ----------
        plain : mapping
            What `to_plain` wrote, perhaps by way of JSON.

        Returns
        -------
        Belief
            The same belief.

        Raises
        ------
        BadInput
            If it is not a belief, or its numbers cannot be one.
        """
        if not isinstance(plain, Mapping) or plain.get("form") != _FORM:
            raise BadInput(Fault("not a belief that can be read", expected=f'"form": "{_FORM}"'))
        try:
            belief = cls(
                winders=tuple(str(name) for name in plain["winders"]),
                cones=tuple(str(name) for name in plain["cones"]),
                mean=np.array(plain["mean"], dtype=np.float64),
                covariance=np.array(plain["covariance"], dtype=np.float64),
                spreads=Spreads(**plain["spreads"]),
                balls=tuple(
                    SeenBall(
                        ball_id=str(ball["ball_id"]),
                        winder=str(ball["winder"]),
                        cones=tuple(str(name) for name in ball["cones"]),
                        with_length=bool(ball["with_length"]),
                    )
                    for ball in plain["balls"]
                ),
            )
        except (KeyError, TypeError, ValueError) as error:
            raise BadInput(
                Fault("a belief with a part missing or spoilt", value=str(error))
            ) from error
        _check_whole(belief)
        return belief


def prior_belief(
    winders: Sequence[str],
    *,
    winder_cv: float,
    lot_cv: float,
    cone_cv: float,
    length_cv: float,
    within_cv: float,
    scale_sd_g: float,
    reel_cv: float,
    area_elasticity: float,
) -> Belief:
    """State the mill's belief before the first ball of a lot is weighed.

    Parameters
    ----------
    winders : sequence of str
        Names of the winders on which the lot runs.
    winder_cv, lot_cv, cone_cv : float
        Spread of winders, of lots and of cones within a lot [-]; see `Spreads`.
    length_cv, within_cv : float
        Spread from ball to ball of wound length and of mass per length [-].
    scale_sd_g : float
        Standard deviation of the scale [g].
    reel_cv : float
        Standard deviation of measuring a length [-].
    area_elasticity : float
        Relative change of wound length for a relative change of packed cross-section [-].

    Returns
    -------
    Belief
        A belief without cones and without balls, all deviations expected to be nil.

    Raises
    ------
    BadInput
        If a constant is out of its range, or the winders have no names of their own.
    """
    names = tuple(winders)
    spreads = Spreads(
        winder_cv=winder_cv,
        lot_cv=lot_cv,
        cone_cv=cone_cv,
        length_cv=length_cv,
        within_cv=within_cv,
        scale_sd_g=scale_sd_g,
        reel_cv=reel_cv,
        area_elasticity=area_elasticity,
    )
    if not names or any(not name.strip() for name in names) or len(set(names)) < len(names):
        raise BadInput(
            Fault(
                "winders that cannot be told apart",
                expected="one or more names, all different",
                key="winders",
                value=", ".join(map(repr, names)),
            )
        )
    variances = np.array([lot_cv**2, *(winder_cv**2 for _ in names)])
    return Belief(names, (), np.zeros(len(variances)), np.diag(variances), spreads)


def with_cones(belief: Belief, cones: Iterable[str]) -> Belief:
    """Add the cones that a belief does not know yet, each with the mill's spread of cones.

    Parameters
    ----------
    belief : Belief
        The belief.
    cones : iterable of str
        Names; those already known are passed over.

    Returns
    -------
    Belief
        The belief over more cones; what it held before is unchanged.
    """
    new = tuple(dict.fromkeys(cone for cone in cones if cone not in belief.cones))
    if not new:
        return belief
    old = len(belief.mean)
    size = old + len(new)
    covariance = np.zeros((size, size))
    covariance[:old, :old] = belief.covariance
    added = np.arange(old, size)
    covariance[added, added] = belief.spreads.cone_cv**2
    return replace(
        belief,
        cones=belief.cones + new,
        mean=np.concatenate([belief.mean, np.zeros(len(new))]),
        covariance=covariance,
    )


def ball_rows(
    belief: Belief, winder: str, cones: Sequence[tuple[str, float]], *, with_length: bool
) -> Floats:
    """How a ball's deviations follow from the state.

    Parameters
    ----------
    belief : Belief
        The belief; it must know the winder and the cones.
    winder : str
        The winder.
    cones : sequence of (str, float)
        Cones with the share of the ball from each; none for a cone as yet unknown, whose own
        deviation is then left out.
    with_length : bool
        Whether there is a row for the length.

    Returns
    -------
    ndarray, shape (2, n) or (1, n)
        Rows for the length and the mass, or for the mass alone [-].

    Raises
    ------
    BadInput
        If the belief does not know the winder or a cone.

    Notes
    -----
    ln(length / expected) = ω + e (τ + Σ f γ) and ln(mass / expected) = ω + (1 + e)(τ + Σ f γ) with
    ω the winder, τ the lot, γ the cone, f its share and e the area elasticity. Source: DERIVED,
    first order in small deviations.
    """
    elasticity = belief.spreads.area_elasticity
    weights = np.zeros(len(belief.mean))
    weights[0] = 1.0
    for cone, share in cones:
        weights[belief.cone_at(cone)] += share
    of_count = (elasticity, 1.0 + elasticity) if with_length else (1.0 + elasticity,)
    rows = np.outer(of_count, weights)
    rows[:, belief.winder_at(winder)] = 1.0
    return rows


def update(belief: Belief, balls: Iterable[FirstBall]) -> Belief:
    """Take weighed balls into a belief.

    Parameters
    ----------
    belief : Belief
        The belief before.
    balls : iterable of FirstBall
        Balls that it has not seen; a cone met for the first time is added.

    Returns
    -------
    Belief
        The belief after, the same in whatever order and portions the balls come.

    Raises
    ------
    BadInput
        If a ball cannot be used, or has been taken in already; every such ball is named and none
        is taken in.
    """
    new = tuple(balls)
    check_balls(belief, new)
    belief = with_cones(belief, (cone for ball in new for cone, _ in ball.cones))
    mean, covariance = belief.mean, belief.covariance
    for ball in new:
        with_length = ball.length_m is not None
        rows = ball_rows(belief, ball.winder, ball.cones, with_length=with_length)
        noise = scatter(belief.spreads, ball.expected_mass_g, with_length=with_length)
        surprise = deviations(ball) - rows @ mean
        covariance, gain = narrowed(covariance, rows, noise)
        mean = mean + gain @ surprise
    seen = tuple(
        SeenBall(b.ball_id, b.winder, tuple(c for c, _ in b.cones), b.length_m is not None)
        for b in new
    )
    return replace(belief, mean=mean, covariance=covariance, balls=belief.balls + seen)


def check_balls(belief: Belief, balls: Sequence[FirstBall]) -> None:
    """Refuse balls that cannot be used, or that the belief has taken in already, naming each."""
    faults = [fault for ball in balls for fault in ball_faults(ball)]
    times = Tally(ball.ball_id for ball in belief.balls) + Tally(ball.ball_id for ball in balls)
    for name in dict.fromkeys(ball.ball_id for ball in balls):
        if times[name] > 1:
            faults.append(
                Fault(
                    "a ball that was taken in already",
                    expected="each ball once",
                    section=f'ball "{name}"',
                    key="ball_id",
                )
            )
    known = ", ".join(belief.winders)
    faults += [
        Fault(
            "a winder that the belief does not know",
            expected=f"one of {known}",
            section=f'ball "{ball.ball_id}"',
            key="winder",
            value=repr(ball.winder),
        )
        for ball in balls
        if ball.winder not in belief.winders
    ]
    if faults:
        raise BadInput(faults)


def _place(name: str, known: tuple[str, ...], key: str) -> int:
    if name not in known:
        raise BadInput(
            Fault(
                f"a {key} that the belief does not know",
                expected="one of " + (", ".join(known) or "none so far"),
                key=key,
                value=repr(name),
            )
        )
    return known.index(name)


def _check_whole(belief: Belief) -> None:
    """Refuse a read belief whose numbers do not fit together."""
    size = len(belief.names)
    faults = []
    if len(set(belief.names)) < size or not belief.winders:
        faults.append(Fault("names that cannot be told apart", "winders and cones, all different"))
    if belief.mean.shape != (size,) or belief.covariance.shape != (size, size):
        faults.append(
            Fault("numbers that do not fit the names", f"{size} means, {size} × {size} covariances")
        )
    elif not (np.isfinite(belief.mean).all() and np.isfinite(belief.covariance).all()):
        faults.append(Fault("not finite numbers", "finite means and covariances"))
    else:
        scale = max(float(np.abs(belief.covariance).max()), np.finfo(float).tiny)
        skew = float(np.abs(belief.covariance - belief.covariance.T).max())
        if skew > 1e-12 * scale or np.linalg.eigvalsh(belief.covariance)[0] < -1e-9 * scale:
            faults.append(
                Fault("numbers that are no covariance", "a symmetrical matrix, no variance below 0")
            )
    ids = [ball.ball_id for ball in belief.balls]
    if len(set(ids)) < len(ids):
        faults.append(Fault("a ball taken in twice", "each ball once"))
    if faults:
        raise BadInput(faults)
