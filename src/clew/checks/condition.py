"""Mass and length at a stated condition: net, at a regain, at a reel tension.

A ball fresh from the dryer gains water for hours, so that its grams say little before they say at
which regain. Nothing is corrected here unless that is asked for, and every answer comes with a
sentence that says what was done.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.weighings import Column, Weighings
from clew.faults import BadInput, Fault
from clew.languages import figure, joined, say, say_many
from clew.strand.given import more_than_zero, zero_or_more
from clew.strand.moisture import Regain

AS_WEIGHED = "as weighed"

MOST_REGAIN = 0.5
"""Regain at weighing above which a file is taken to mean percent [1]. Common practice, no published
source: no yarn on a scale holds so much, and 1.5 for 1.5 % would be 150 %."""


@dataclass(frozen=True, slots=True)
class DryingOut:
    """How regain settles after the dryer, assumed exponential.

    R(t) = R_rest + (R_dryer - R_rest) exp(-t/tau). Source: common practice, no published source for
    balls; the time constant is the mill's own guess until some balls are weighed again and again.

    Attributes
    ----------
    dryer_frac : float
        Regain as the strand leaves the dryer [1].
    rest_frac : float
        Regain it comes to rest at in that room [1].
    time_constant_min : float
        Time in which 63 % of the way is gone [min].
    """

    dryer_frac: float
    rest_frac: float
    time_constant_min: float

    def __post_init__(self) -> None:
        Regain(self.dryer_frac)
        Regain(self.rest_frac)
        more_than_zero(self.time_constant_min, "time constant after the dryer", "min")

    def regain_frac(self, since_dryer_min: Column) -> Column:
        """Find the regain some time after the dryer.

        Parameters
        ----------
        since_dryer_min : array of float
            Minutes since the dryer [min]; NaN stays NaN.

        Returns
        -------
        array of float
            Regain [1].
        """
        gone = np.exp(-np.asarray(since_dryer_min, dtype=np.float64) / self.time_constant_min)
        return self.rest_frac + (self.dryer_frac - self.rest_frac) * gone


@dataclass(frozen=True, slots=True)
class Condition:
    """The condition at which mass is meant. Left out, everything is taken as weighed.

    The regain at weighing is, row by row, that of the column ``regain_frac``; where it has none,
    that of `drying_out` after ``since_dryer_min``; where there is none either, `regain_from_frac`.

    Attributes
    ----------
    basis : str
        What the condition is called: "as weighed", "at the agreed regain", "at inspection".
    regain_from_frac : float or None
        Regain at weighing where the file has none [1].
    regain_to_frac : float or None
        The stated regain [1]; None leaves mass as weighed.
    drying_out : DryingOut or None
        How regain settles after the dryer.
    tare_g : float or None
        What to take off ``gross_g`` where the file has no tare [g].
    tare_sd_g : float
        Standard deviation of the tare, the same for all balls of a check [g].
    doubt_frac : float
        Standard deviation of the regain at weighing, the same for all balls of a check [1].
    """

    basis: str = AS_WEIGHED
    regain_from_frac: float | None = None
    regain_to_frac: float | None = None
    drying_out: DryingOut | None = None
    tare_g: float | None = None
    tare_sd_g: float = 0.0
    doubt_frac: float = 0.0

    def __post_init__(self) -> None:
        for regain in (self.regain_from_frac, self.regain_to_frac):
            if regain is not None:
                Regain(regain)
        if self.tare_g is not None:
            zero_or_more(self.tare_g, "tare", "g")
        zero_or_more(self.tare_sd_g, "standard deviation of the tare", "g")
        zero_or_more(self.doubt_frac, "standard deviation of the regain")


def net_mass(
    weighings: Weighings, condition: Condition | None = None
) -> tuple[NDArray[np.float64], str]:
    """Find the net mass of each ball at the stated condition.

    Parameters
    ----------
    weighings : Weighings
        With ``mass_g``, which is net, or ``gross_g``.
    condition : Condition or None
        The condition; None for net mass as weighed.

    Returns
    -------
    array of float, shape (rows,)
        Net mass [g]; NaN where a ball was not weighed, or nothing tells its regain.
    str
        What was done, in one sentence or more.

    Raises
    ------
    BadInput
        When there is no column of mass, gross mass without any tare, a tare that leaves nothing, a
        stated regain without any regain at weighing, or one of more than half.

    Notes
    -----
    m (1 + R_stated)/(1 + R): dry mass does not change. Source: R = W/D (READ), DERIVED.
    """
    asked = condition or Condition()
    net, tare = _net_as_weighed(weighings, asked)
    if asked.regain_to_frac is None:
        words = (
            say("Net mass as weighed, gross less {tare}; not corrected for moisture.", tare=tare)
            if tare
            else say("Net mass as weighed; not corrected for moisture.")
        )
        if "regain_frac" in weighings.numbers:
            words = joined(" ", (words, say("The file's regain was not used.")))
        return net, words
    regain, regain_words = _regain_at_weighing(weighings, asked)
    without = int(np.count_nonzero(np.isnan(regain) & ~np.isnan(net)))
    if without and without == int(np.count_nonzero(~np.isnan(net))):
        raise BadInput(
            Fault(
                say("no regain at weighing"),
                say("a column regain_frac or since_dryer_min, or one regain for all"),
                key="regain",
            )
        )
    corrected: NDArray[np.float64] = net * (1.0 + asked.regain_to_frac) / (1.0 + regain)
    to = _percent(asked.regain_to_frac)
    if asked.basis != AS_WEIGHED:
        to = say("{regain} ({basis})", regain=to, basis=asked.basis)
    words = (
        say(
            "Net mass, gross less {tare}, carried from {regain} to a regain of {stated}.",
            tare=tare,
            regain=regain_words,
            stated=to,
        )
        if tare
        else say(
            "Net mass, carried from {regain} to a regain of {stated}.",
            regain=regain_words,
            stated=to,
        )
    )
    if without:
        left_out = say("{balls} weighed, but left out for want of a regain.", balls=_balls(without))
        words = joined(" ", (words, left_out))
    return corrected, words


def _percent(frac: float) -> str:
    return figure(f"{100.0 * frac:.4g} %")


def _balls(count: int) -> str:
    return say_many("{n} ball", "{n} balls", count)


def _net_as_weighed(weighings: Weighings, asked: Condition) -> tuple[NDArray[np.float64], str]:
    nothing = np.full(weighings.rows, math.nan)
    net = np.array(weighings.numbers.get("mass_g", nothing), dtype=np.float64)
    gross = weighings.numbers.get("gross_g")
    if gross is None:
        if "mass_g" not in weighings.numbers:
            raise BadInput(Fault(say("no column of mass"), say("mass_g, or gross_g with a tare")))
        return net, ""
    tare = np.array(weighings.numbers.get("tare_g", nothing), dtype=np.float64)
    lacking = np.isnan(tare)
    if asked.tare_g is not None:
        tare[lacking] = asked.tare_g
    rows = np.isnan(net) & ~np.isnan(gross)
    untold = np.flatnonzero(rows & np.isnan(tare))
    if len(untold):
        raise BadInput(
            Fault(
                say(
                    "gross mass without a tare in {n} of {rows} rows",
                    n=len(untold),
                    rows=weighings.rows,
                ),
                say("a column tare_g, or one tare for all"),
                line=_line(weighings, untold),
                key="gross_g",
            )
        )
    net[rows] = gross[rows] - tare[rows]
    with np.errstate(invalid="ignore"):
        gone = np.flatnonzero(net <= 0.0)
    if len(gone):
        raise BadInput(
            Fault(
                say(
                    "the tare leaves nothing in {n} of {rows} rows",
                    n=len(gone),
                    rows=weighings.rows,
                ),
                say("a tare below the gross mass"),
                line=_line(weighings, gone),
                key="gross_g",
            )
        )
    if not rows.any():
        return net, ""
    own = int(np.count_nonzero(rows & ~lacking))
    others = int(np.count_nonzero(rows & lacking))
    parts = [say("each ball's own tare")] if own else []
    if others and asked.tare_g is not None:
        stated = figure(f"{asked.tare_g:.4g} g")
        parts.append(
            say("a tare of {tare} for {balls}", tare=stated, balls=_balls(others))
            if own
            else say("a tare of {tare}", tare=stated)
        )
    words = joined(say(" or "), parts)
    if asked.tare_sd_g:
        words = say("{tare} (sd {doubt:.3g} g)", tare=words, doubt=asked.tare_sd_g)
    return net, words


def _line(weighings: Weighings, rows: NDArray[np.int64]) -> int | None:
    return None if weighings.lines is None else int(weighings.lines[rows[0]])


def _regain_at_weighing(weighings: Weighings, asked: Condition) -> tuple[NDArray[np.float64], str]:
    nothing = np.full(weighings.rows, math.nan)
    regain = np.array(weighings.numbers.get("regain_frac", nothing), dtype=np.float64)
    ways: list[str] = []
    with np.errstate(invalid="ignore"):
        wet = np.flatnonzero(regain > MOST_REGAIN)
    if len(wet):
        high = float(regain[wet].max())
        raise BadInput(
            Fault(
                say("a regain of more than {most} at weighing", most=_percent(MOST_REGAIN)),
                say(
                    "a part of the dry mass; where percent are meant, {high:.4g}", high=high / 100.0
                ),
                line=_line(weighings, wet),
                key="regain_frac",
                value=f"{high:.4g}",
            )
        )
    if not np.all(np.isnan(regain)):
        ways.append(
            say(
                "the regain of each ball in the file (mean {mean})",
                mean=_percent(float(np.nanmean(regain))),
            )
        )
    since = weighings.numbers.get("since_dryer_min")
    if asked.drying_out is not None and since is not None:
        law = asked.drying_out
        rows = np.isnan(regain) & ~np.isnan(since)
        regain[rows] = law.regain_frac(since[rows])
        if rows.any():
            ways.append(
                say(
                    "a regain that settles from {dryer} at the dryer towards {rest} with "
                    "{minutes:.3g} min (assumed)",
                    dryer=_percent(law.dryer_frac),
                    rest=_percent(law.rest_frac),
                    minutes=law.time_constant_min,
                )
            )
    if asked.regain_from_frac is not None:
        rows = np.isnan(regain)
        regain[rows] = asked.regain_from_frac
        if rows.any():
            stated = _percent(asked.regain_from_frac)
            if asked.doubt_frac:
                stated = say(
                    "{regain} (sd {doubt})", regain=stated, doubt=_percent(asked.doubt_frac)
                )
            ways.append(
                say("a regain of {regain} for the others", regain=stated)
                if ways
                else say("a regain of {regain}", regain=stated)
            )
    return regain, joined(say(" or "), ways)


def common_doubt_g(weighings: Weighings, condition: Condition) -> dict[str, float]:
    """Find the doubt in the mean net mass that all balls of a check share.

    More balls do not make it smaller: a tare that is wrong is wrong for all of them.

    Parameters
    ----------
    weighings : Weighings
        The balls.
    condition : Condition
        The condition, with its standard deviations.

    Returns
    -------
    dict of str to float
        Standard deviation of the mean by cause, "tare" and "regain" [g]; 0 where a cause plays no
        part. The mean over balls that were weighed.

    Notes
    -----
    First order: m sd_R/(1 + R), and sd_tare (1 + R_stated)/(1 + R) times the share of balls whose
    tare is the condition's. Source: DERIVED.
    """
    mass, _ = net_mass(weighings, condition)
    there = ~np.isnan(mass)
    found = {"tare": 0.0, "regain": 0.0}
    if not there.any():
        return found
    carried = np.ones(weighings.rows)
    if condition.regain_to_frac is not None:
        regain, _ = _regain_at_weighing(weighings, condition)
        carried = (1.0 + condition.regain_to_frac) / (1.0 + regain)
        found["regain"] = float(np.mean((mass / (1.0 + regain))[there])) * condition.doubt_frac
    nothing = np.full(weighings.rows, math.nan)
    numbers = weighings.numbers
    gross = ~np.isnan(numbers.get("gross_g", nothing)) & np.isnan(numbers.get("mass_g", nothing))
    found["tare"] = float(np.mean(np.where(gross, carried, 0.0)[there])) * condition.tare_sd_g
    return found
