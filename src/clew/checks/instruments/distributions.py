"""What is known of one input of a measurement: its best value, its doubt and the law of it.

A law drawn from readings is of type A, one from a certificate, a data sheet or experience of type
B. The standard uncertainty goes into the budget; the law itself into the Monte Carlo.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from clew.faults import BadInput, Fault

Array = NDArray[np.float64]

Shape = Literal["normal", "rectangular", "Student t"]


@dataclass(frozen=True, slots=True)
class Law:
    """The law of one input; made by the functions below, which check it.

    Attributes
    ----------
    shape : str
        Which law.
    value : float
        Best value, the middle of the law [the input's unit].
    spread : float
        Standard deviation of a normal law, scale of a Student t, half width of a rectangular one
        [the input's unit].
    df : float
        Degrees of freedom of the standard uncertainty [1]; inf where it is taken as known.
    """

    shape: Shape
    value: float
    spread: float
    df: float = math.inf

    @property
    def standard_uncertainty(self) -> float:
        """Standard uncertainty that the budget takes [the input's unit].

        Of a Student t it is the scale, as the GUM takes s/sqrt(n) with n - 1 degrees; the law's own
        standard deviation is larger, by sqrt(df/(df - 2)), and is what the Monte Carlo sees.
        Source: JCGM 101:2008, 6.4.9 (MEMORY); that of a rectangular law DERIVED by integration.
        """
        return self.spread / math.sqrt(3.0) if self.shape == "rectangular" else self.spread

    def draw(self, random: np.random.Generator, draws: int) -> Array:
        """Draw values of the input.

        Parameters
        ----------
        random : numpy Generator
            Where chance comes from.
        draws : int
            How many.

        Returns
        -------
        array of float, shape (draws,)
            Values [the input's unit].
        """
        if self.spread == 0.0:
            return np.full(draws, self.value)
        if self.shape == "normal":
            return random.normal(self.value, self.spread, draws)
        if self.shape == "Student t":
            return self.value + self.spread * random.standard_t(self.df, draws)
        return self.value + self.spread * (2.0 * random.random(draws) - 1.0)


def _checked(law: Law) -> Law:
    for what, found in (("value", law.value), ("spread", law.spread)):
        if not math.isfinite(found):
            raise BadInput(Fault(f"a {what} that is no number", key=law.shape, value=f"{found}"))
    if law.spread < 0.0:
        raise BadInput(
            Fault("a spread below zero", "0 or more", key=law.shape, value=f"{law.spread:g}")
        )
    if not law.df > 0.0:
        raise BadInput(
            Fault("degrees of freedom", "more than 0", key=law.shape, value=f"{law.df:g}")
        )
    return law


def normal(value: float, sd: float, df: float = math.inf) -> Law:
    """Describe a normal law.

    Parameters
    ----------
    value : float
        Best value [the input's unit].
    sd : float
        Standard uncertainty [the input's unit].
    df : float
        Degrees of freedom it rests on [1].

    Returns
    -------
    Law
        The law.

    Raises
    ------
    BadInput
        For a spread below zero or values that are no numbers.
    """
    return _checked(Law("normal", value, sd, df))


def rectangular(value: float, half_width: float, df: float = math.inf) -> Law:
    """Describe a value anywhere within limits, all alike: u = a/sqrt(3).

    Parameters
    ----------
    value : float
        Middle [the input's unit].
    half_width : float
        From the middle to a limit, a [the input's unit].
    df : float
        Degrees of freedom of the width [1], from how far the limits are trusted.

    Returns
    -------
    Law
        The law.

    Raises
    ------
    BadInput
        For a width below zero or values that are no numbers.
    """
    return _checked(Law("rectangular", value, half_width, df))


def student_t(value: float, scale: float, df: float) -> Law:
    """Describe a mean of few readings: Student's t about it.

    Parameters
    ----------
    value : float
        Mean [the input's unit].
    scale : float
        Standard deviation of the mean, s/sqrt(n) [the input's unit].
    df : float
        Degrees of freedom, n - 1 [1].

    Returns
    -------
    Law
        The law.

    Raises
    ------
    BadInput
        For a scale below zero, no degrees of freedom, or values that are no numbers.
    """
    law = _checked(Law("Student t", value, scale, df))
    return law if math.isfinite(df) else normal(value, scale)
