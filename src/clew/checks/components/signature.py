"""Winds long, count heavy, or drew back: what mass and length of a winder say together."""

from __future__ import annotations

import math
import statistics
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from clew.checks.components.unreel import balls_to_tell
from clew.languages import say, say_many

Floats = NDArray[np.float64]

CAUSES: Mapping[str, tuple[float, tuple[str, ...]]] = {
    "none": (0.40, ()),
    "winds": (0.15, ("winds",)),
    "count": (0.15, ("count",)),
    "drew_back": (0.15, ("drew_back",)),
    "winds and count": (0.05, ("winds", "count")),
    "winds and drew_back": (0.05, ("winds", "drew_back")),
    "count and drew_back": (0.05, ("count", "drew_back")),
}
"""What can be behind a winder, the probability before any ball, and what moves."""

_MOVES = {"winds": (1.0, 1.0), "count": (1.0, 0.0), "drew_back": (0.0, -1.0)}
TOLD = 0.85
"""Probability at which a cause is called told."""

NONE_TOLD = 0.6
"""Probability of no cause from which none is looked for."""

_PERCENT = 100.0


@dataclass(frozen=True, slots=True)
class Priors:
    """How far each cause moves a winder before any ball is seen, one standard deviation.

    Common practice, no published source: a mill puts in its own.

    Attributes
    ----------
    winds_frac : float
        Length of a turn [-].
    count_frac : float
        Count of what a winder is fed, beyond what its cones explain [-].
    drew_back_frac : float
        How far a ball draws back after winding, which only shortens it [-].
    length_sd_frac : float
        Spread of the length of single balls of one winder, worth `length_sd_df` degrees of freedom
        of checks [-].
    length_sd_df : float
        Those degrees [-].
    """

    winds_frac: float = 0.010
    count_frac: float = 0.012
    drew_back_frac: float = 0.015
    length_sd_frac: float = 0.006
    length_sd_df: float = 4.0

    def of(self, cause: str) -> float:
        """Standard deviation of a single cause [-]."""
        return float(getattr(self, f"{cause}_frac"))


@dataclass(frozen=True, slots=True)
class Signature:
    """What mass and length of one winder say together.

    Attributes
    ----------
    winder : str
        The winder.
    mass_frac, mass_se_frac : float
        How far its mass stands from the rest, and the standard error [-].
    length_frac, length_se_frac : float or None
        The same of length [-]; none where no ball was reeled.
    lengths : int
        Balls reeled.
    chances : mapping of str to float
        Probability of each cause [-].
    cause : str
        The likeliest cause that is told; "unknown" where none is.
    unreel_more : int or None
        Balls more expected to tell; 0 when told, none when many would not.
    words : str
        The same for people.
    """

    winder: str
    mass_frac: float
    mass_se_frac: float
    length_frac: float | None
    length_se_frac: float | None
    lengths: int
    chances: Mapping[str, float]
    cause: str
    unreel_more: int | None
    words: str


def chances_of(
    mass: float, mass_se: float, length: float | None, length_se: float | None, priors: Priors
) -> dict[str, float]:
    """Probability of each cause.

    Parameters
    ----------
    mass, mass_se : float
        Logarithmic mass effect and its standard error [-].
    length, length_se : float or None
        The same of length [-]; none where nothing was reeled.
    priors : Priors
        How far each cause moves a winder.

    Returns
    -------
    dict of str to float
        Probabilities, adding up to 1 [-].

    Notes
    -----
    Mass moves with winding and count, length with winding and less what drew back. Every cause is
    normal about nil, drawing back on the short side alone, so the likelihood of the pair is a
    normal density, for drawing back twice its part on that side. Source: Bayes, DERIVED.
    """
    there = None if length is None else np.asarray(length)
    logs = log_seen(np.asarray(mass), mass_se, there, length_se, priors)
    highest = max(float(one) for one in logs.values())
    weights = {name: math.exp(float(one) - highest) for name, one in logs.items()}
    total = sum(weights.values())
    return {name: one / total for name, one in weights.items()}


def log_seen(
    mass: Floats, mass_se: float, length: Floats | None, length_se: float | None, priors: Priors
) -> dict[str, Floats]:
    """Logarithm of each cause's probability times its density, for many effects at once.

    Parameters
    ----------
    mass, length : array of float
        Logarithmic effects, of shapes that go together; no length where nothing was reeled [-].
    mass_se, length_se : float
        Their standard errors [-].
    priors : Priors
        How far each cause moves a winder.

    Returns
    -------
    dict of str to array of float
        By cause, less a constant [-].
    """
    known = [0] if length is None else [0, 1]
    seen = [mass] if length is None else [mass, length]
    error = np.diag([mass_se**2, 0.0 if length_se is None else length_se**2])[np.ix_(known, known)]
    logs = {}
    for name, (prior, moves) in CAUSES.items():
        spread = error.copy()
        for cause in moves:
            along = np.array(_MOVES[cause])[known]
            spread += priors.of(cause) ** 2 * np.outer(along, along)
        inverse = np.linalg.inv(spread)
        solved = [
            sum((inverse[i, j] * one for j, one in enumerate(seen)), np.zeros(()))
            for i in range(len(seen))
        ]
        square = sum((one * its for one, its in zip(seen, solved, strict=True)), np.zeros(()))
        found = -0.5 * square - 0.5 * float(np.linalg.slogdet(spread)[1])
        if "drew_back" in moves:
            found = found + _short_side(solved, inverse, known, priors)
        logs[name] = np.asarray(math.log(prior) + found)
    return logs


def _short_side(solved: list[Floats], inverse: Floats, known: list[int], priors: Priors) -> Floats:
    """Logarithm of twice the chance that what drew back is above nil."""
    from scipy.special import log_ndtr

    along = np.array(_MOVES["drew_back"])[known]
    variance = priors.drew_back_frac**2
    mean = variance * sum(
        (part * one for part, one in zip(along.tolist(), solved, strict=True)), np.zeros(())
    )
    left = variance - variance**2 * float(along @ inverse @ along)
    return np.asarray(math.log(2.0) + log_ndtr(mean / math.sqrt(max(left, 1e-30))))


@dataclass(frozen=True, slots=True)
class LengthEffects:
    """Length of each winder against the middle one of those that were reeled.

    Attributes
    ----------
    effect, se : mapping of str to float
        By winder [-].
    balls : mapping of str to int
        Balls reeled.
    ball_sd_frac : float
        Spread of single balls that was used [-].
    """

    effect: Mapping[str, float] = field(default_factory=dict)
    se: Mapping[str, float] = field(default_factory=dict)
    balls: Mapping[str, int] = field(default_factory=dict)
    ball_sd_frac: float = 0.0


def length_effects(winder: Mapping[str, Floats], priors: Priors) -> LengthEffects:
    """Find the length effects of winders from few checks.

    Parameters
    ----------
    winder : mapping of str to array of float
        Logarithms of the lengths reeled of each winder.
    priors : Priors
        With the spread of single balls that checks are weighed against.

    Returns
    -------
    LengthEffects
        Effects about the middle winder, with the standard errors of those about their mean.

    Notes
    -----
    The spread is pooled over winders with what is usual, by degrees of freedom: two balls alike do
    not make a length certain. Source: DERIVED.
    """
    reeled = {name: one for name, one in winder.items() if len(one)}
    if len(reeled) < 2:
        return LengthEffects(balls={name: len(one) for name, one in reeled.items()})
    squares = sum(float(np.sum((one - one.mean()) ** 2)) for one in reeled.values())
    df = sum(len(one) - 1 for one in reeled.values())
    usual = priors.length_sd_df
    variance = (squares + usual * priors.length_sd_frac**2) / (df + usual)
    means = {name: float(one.mean()) for name, one in reeled.items()}
    general = statistics.median(means.values())
    share = 1.0 / len(means)
    inverse = {name: 1.0 / len(one) for name, one in reeled.items()}
    others = sum(inverse.values())
    se = {
        name: math.sqrt(variance * ((1 - share) ** 2 * one + share**2 * (others - one)))
        for name, one in inverse.items()
    }
    return LengthEffects(
        effect={name: mean - general for name, mean in means.items()},
        se=se,
        balls={name: len(one) for name, one in reeled.items()},
        ball_sd_frac=math.sqrt(variance),
    )


def signature(
    winder: str,
    mass: float,
    mass_se: float,
    lengths: LengthEffects,
    priors: Priors | None = None,
    *,
    together: Mapping[str, float] | None = None,
) -> Signature:
    """Read mass and length of a winder together.

    Parameters
    ----------
    winder : str
        The winder.
    mass, mass_se : float
        Logarithmic effect on mass, cones and lots taken out, and its standard error [-].
    lengths : LengthEffects
        Effects on length.
    priors : Priors, optional
        How far each cause moves a winder.
    together : mapping of str to float, optional
        Probability of each cause with all winders read together; left out, the winder is read by
        itself, against what `lengths` stands about.

    Returns
    -------
    Signature
        The likeliest cause, or how many balls more to unreel.
    """
    given = priors or Priors()
    length, length_se = lengths.effect.get(winder), lengths.se.get(winder)
    reeled = lengths.balls.get(winder, 0)
    alone = chances_of(mass, mass_se, length, length_se, given)
    chances = alone if together is None else together
    best, told = _told(chances)
    others = reeled > 0 and not told and (length is None or _told(alone)[1])
    more: int | None = 0
    if not told:
        more = _more(mass, mass_se, length, reeled, lengths, given, chances)
    cause = best if told else "unknown"
    return Signature(
        winder=winder,
        mass_frac=mass,
        mass_se_frac=mass_se,
        length_frac=length,
        length_se_frac=length_se,
        lengths=reeled,
        chances=chances,
        cause=cause,
        unreel_more=more,
        words=_OTHERS if others else _words(cause, mass, length, more),
    )


_OTHERS = say("cannot tell the cause yet: unreel balls of the other winders too, to set it against")


def _told(chances: Mapping[str, float]) -> tuple[str, bool]:
    """The likeliest cause, and whether it is told."""
    best = max(chances, key=lambda name: chances[name])
    return best, chances[best] >= NONE_TOLD if best == "none" else _clear(chances, best)


def _clear(chances: Mapping[str, float], best: str) -> bool:
    """Whether a cause is told, or leads and stands well above all that do not hold it."""
    if chances[best] >= TOLD:
        return True
    parts = set(CAUSES[best][1])
    with_it = sum(one for name, one in chances.items() if parts <= set(CAUSES[name][1]))
    return with_it >= TOLD and chances[best] >= 0.5


def _more(
    mass: float,
    mass_se: float,
    length: float | None,
    reeled: int,
    lengths: LengthEffects,
    priors: Priors,
    chances: Mapping[str, float],
) -> int | None:
    """Balls more expected to tell, if the likeliest single cause is true."""
    single = max(("winds", "count", "drew_back"), key=lambda name: chances[name])
    sd = lengths.ball_sd_frac or priors.length_sd_frac
    if single == "winds":
        then = mass
    elif single == "count":
        then = 0.0
    else:
        then = min(length or 0.0, -0.5 * priors.drew_back_frac)

    def sure(balls: int) -> float:
        found = chances_of(mass, mass_se, then, sd / math.sqrt(reeled + balls), priors)
        best = max(found, key=lambda name: found[name])
        return TOLD if best != "none" and _clear(found, best) else 0.0

    return balls_to_tell(sure, TOLD)


def _words(cause: str, mass: float, length: float | None, more: int | None) -> str:
    shorter = -(length or 0.0) * _PERCENT
    if cause == "none":
        return say("it winds as the others do")
    if cause == "unknown":
        if more is None:
            return say("mass and length do not tell the cause")
        return say_many(
            "cannot tell the cause yet: unreel {n} ball more of it",
            "cannot tell the cause yet: unreel {n} balls more of it",
            more,
        )
    said = {
        "winds": say("it winds long") if mass > 0 else say("it winds short"),
        "count": say("its count is heavy, the length is right")
        if mass > 0
        else say("its count is light, the length is right"),
        "drew_back": say(
            "its balls drew back after winding: mass right, length {shorter:.1f} % short",
            shorter=shorter,
        ),
    }
    if cause in said:
        return said[cause]
    first, second = cause.split(" and ")
    short = {
        "winds": say("its turns"),
        "count": say("its count"),
        "drew_back": say("balls that drew back"),
    }
    return say("both {first} and {second} are behind it", first=short[first], second=short[second])
