"""How sure the length of one ball is, from the reel, its turns and the pull on the strand."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.checks.instruments.budget import Array, Input, Model
from clew.checks.instruments.distributions import normal, rectangular
from clew.faults import BadInput, Fault


@dataclass(frozen=True, slots=True)
class Reel:
    """What is known of a length reel.

    Attributes
    ----------
    circumference_m : float
        Its circumference [m].
    circumference_error_m : float
        How far that may be out, either way [m].
    turn_error : float
        How far the count of turns may be out, either way [turns].
    cv : float
        Standard deviation of reeling like length, over the length [1].
    """

    circumference_m: float = 1.0
    circumference_error_m: float = 0.0
    turn_error: float = 0.0
    cv: float = 0.0


@dataclass(frozen=True, slots=True)
class Pull:
    """How hard the reel pulls, and how the strand gives.

    Attributes
    ----------
    tension_cn, tension_sd_cn : float
        Pull while reeling and its standard uncertainty [cN].
    modulus_cn_per_tex, modulus_cv : float
        Modulus at that small stretch [cN/tex], and its standard uncertainty as a share [1].
    count_tex : float
        Count of the strand at rest [tex].
    stated_tension_cn : float
        Pull at which length is meant [cN]; 0 at rest.
    """

    tension_cn: float
    tension_sd_cn: float
    modulus_cn_per_tex: float
    modulus_cv: float
    count_tex: float
    stated_tension_cn: float = 0.0


@dataclass(frozen=True, slots=True)
class LengthModel:
    """The measurement of one ball's length: model, inputs, words, and the condition of length."""

    model: Model
    inputs: tuple[Input, ...]
    words: str
    condition: str


def length_model(length_m: float, reel: Reel, pull: Pull | None = None) -> LengthModel:
    """Write down the measurement of one ball's length.

    Parameters
    ----------
    length_m : float
        Length at the stated tension, about which the budget is made [m].
    reel : Reel
        The reel.
    pull : Pull or None
        How hard it pulls; None states the length as reeled.

    Returns
    -------
    LengthModel
        Model and inputs for `make_budget` and `propagate`.

    Raises
    ------
    BadInput
        For a length, circumference, modulus or count that is not more than 0.

    Notes
    -----
    L = N C (1 + e) (1 + F_0/(M T))/(1 + F/(M T)), N turns, C circumference, e the reel's own
    scatter, F the pull, M the modulus, T the count. The strand's thickness adds to the
    circumference; it is part of C when C was found with strand on the reel. Source: DERIVED
    (definition of a modulus).
    """
    for what, found in (("length", length_m), ("circumference", reel.circumference_m)):
        if not (math.isfinite(found) and found > 0.0):
            raise BadInput(Fault(f"a {what}", "more than 0", value=f"{found:g} m"))
    stretch = 1.0
    if pull is not None:
        if not pull.modulus_cn_per_tex * pull.count_tex > 0.0:
            raise BadInput(Fault("a modulus and a count", "more than 0"))
        gives = pull.modulus_cn_per_tex * pull.count_tex
        stretch = (1.0 + pull.tension_cn / gives) / (1.0 + pull.stated_tension_cn / gives)
    turns = length_m * stretch / reel.circumference_m
    inputs = [
        Input("turns", "turns counted", "1", rectangular(turns, reel.turn_error)),
        Input("circumference", "circumference of the reel", "m",
              rectangular(reel.circumference_m, reel.circumference_error_m)),
        Input("scatter", "reel: like lengths again and again", "1", normal(0.0, reel.cv)),
    ]  # fmt: skip
    words, condition = "turns × circumference", "as reeled"
    if pull is not None:
        at = f"{pull.stated_tension_cn:g} cN" if pull.stated_tension_cn else "rest"
        condition = f"at {at}"
        words = f"turns × circumference, brought from the reel's pull to {at}"
        inputs += [
            Input("tension", "pull while reeling", "cN",
                  normal(pull.tension_cn, pull.tension_sd_cn)),
            Input("modulus", "modulus of the strand", "cN/tex",
                  normal(pull.modulus_cn_per_tex, pull.modulus_cv * pull.modulus_cn_per_tex)),
        ]  # fmt: skip

    def model(
        turns: Array | float,
        circumference: Array | float,
        scatter: Array | float,
        tension: Array | float = 0.0,
        modulus: Array | float = 1.0,
    ) -> Array | float:
        reeled = turns * circumference * (1.0 + scatter)
        if pull is None:
            return reeled
        gives = modulus * pull.count_tex
        return reeled * (1.0 + pull.stated_tension_cn / gives) / (1.0 + tension / gives)

    return LengthModel(model, tuple(inputs), words, condition)
