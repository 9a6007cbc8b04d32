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

from clew.ball.first.about import About
from clew.ball.first.conditioning import Floats, narrowed
from clew.ball.first.weighed import (
    FirstBall,
    Spreads,
    ball_faults,
    deviations,
    scatter,
)
from clew.faults import BadInput, Fault
from clew.languages import joined, say, say_many

__all__ = [
    "Belief",
    "FirstBall",
    "Spreads",
    "ball_rows",
    "check_balls",
    "first_belief",
    "prior_belief",
    "update",
    "with_cones",
]

FORM = "first-ball belief 2"
"""What a written belief says of itself: another number, another arrangement."""

_SHOWN_NAMES = 6
"""Names in one line before the rest are only counted."""


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
    balls : tuple of FirstBall
        The balls taken in so far.
    odd : tuple of str
        Those of them that did not fit when they came in (`clew.ball.first.odd_balls`).
    about : About or None
        The mill, line, ball and dye lot it is about; none for one worked by hand.
    """

    winders: tuple[str, ...]
    cones: tuple[str, ...]
    mean: Floats
    covariance: Floats
    spreads: Spreads
    balls: tuple[FirstBall, ...] = ()
    odd: tuple[str, ...] = ()
    about: About | None = None

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
            "form": FORM,
            "about": None if self.about is None else asdict(self.about),
            "winders": list(self.winders),
            "cones": list(self.cones),
            "mean": self.mean.tolist(),
            "covariance": self.covariance.tolist(),
            "spreads": asdict(self.spreads),
            "balls": [asdict(ball) for ball in self.balls],
            "odd": list(self.odd),
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
            If it is not a belief, or its numbers cannot be one, with every fault found.
        """
        from clew.ball.first.belief_plain import belief_from_plain

        return belief_from_plain(plain)


def first_belief(winders: Sequence[str], spreads: Spreads, about: About | None = None) -> Belief:
    """State the mill's belief before the first ball of a lot is weighed.

    Parameters
    ----------
    winders : sequence of str
        Names of the winders on which the lot runs.
    spreads : Spreads
        The constants.
    about : About, optional
        The mill, line, ball and dye lot.

    Returns
    -------
    Belief
        A belief without cones and without balls, all deviations expected to be nil.

    Raises
    ------
    BadInput
        If the winders have no names of their own.
    """
    names = tuple(winders)
    if not names or any(not name.strip() for name in names) or len(set(names)) < len(names):
        raise BadInput(
            Fault(
                say("winders that cannot be told apart"),
                expected=say("one or more names, all different"),
                key="winders",
                value=", ".join(map(repr, names)),
            )
        )
    variances = np.array([spreads.lot_cv**2, *(spreads.winder_cv**2 for _ in names)])
    size = len(variances)
    return Belief(names, (), np.zeros(size), np.diag(variances), spreads, about=about)


def prior_belief(winders: Sequence[str], **constants: float) -> Belief:
    """State a belief about a yarn that does not stretch; constants as `Spreads.unstretched`."""
    return first_belief(winders, Spreads.unstretched(**constants))


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
    ln(length / expected) = ω + a (τ + Σ f γ) and ln(mass / expected) = ω + b (τ + Σ f γ) with ω the
    winder, τ the lot, γ the cone, f its share, a and b the elasticities of length and mass to
    count. Source: DERIVED, first order in small deviations.
    """
    weights = np.zeros(len(belief.mean))
    weights[0] = 1.0
    for cone, share in cones:
        weights[belief.cone_at(cone)] += share
    of_count = belief.spreads.of_count
    rows = np.outer(of_count if with_length else of_count[1:], weights)
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
    return replace(belief, mean=mean, covariance=covariance, balls=belief.balls + new)


def check_balls(belief: Belief, balls: Sequence[FirstBall]) -> None:
    """Refuse balls that cannot be used, or that the belief has taken in already, naming each."""
    faults = [fault for ball in balls for fault in ball_faults(ball)]
    seen = {ball.ball_id for ball in belief.balls}
    if again := [ball.ball_id for ball in balls if ball.ball_id in seen]:
        faults.append(
            Fault(
                say_many(
                    "ball {names} is in the belief already",
                    "balls {names} are in the belief already",
                    len(set(again)),
                    names=_listed(list(dict.fromkeys(again))),
                ),
                expected=say("only new ones"),
            )
        )
    times = Tally(ball.ball_id for ball in balls)
    faults += [
        Fault(
            say("a ball named twice"), say("each ball once"), section=f'ball "{name}"', key="ball"
        )
        for name, number in times.items()
        if number > 1 and name not in seen
    ]
    known = joined(", ", belief.winders)
    faults += [
        Fault(
            say("a winder that the belief does not know"),
            expected=say("one of {known}", known=known),
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
                say("a winder that the belief does not know")
                if key == "winder"
                else say("a cone that the belief does not know"),
                expected=say("one of {known}", known=joined(", ", known))
                if known
                else say("one of none so far"),
                key=key,
                value=repr(name),
            )
        )
    return known.index(name)


def _listed(names: list[str]) -> str:
    """Write names on one line: ``1 to 12`` where they count on, the first few otherwise."""
    if len(names) > 2 and all(name.isascii() and name.isdigit() for name in names):
        numbers = [int(name) for name in names]
        if numbers == list(range(numbers[0], numbers[0] + len(numbers))):
            return say("{first} to {last}", first=names[0], last=names[-1])
    shown = joined(", ", names[:_SHOWN_NAMES])
    rest = len(names) - _SHOWN_NAMES
    return say("{shown} and {rest} more", shown=shown, rest=rest) if rest > 0 else shown
