"""Spread of a mill's balls from weighed ones: components of mass and length, with their doubt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from clew.checks.components.components import Component, Components, components
from clew.checks.components.confounded import sources_word
from clew.checks.target.spread import (
    LEVELS,
    MOST_FRAC,
    Level,
    LevelName,
    Sd,
    Spread,
    sd_from_interval,
    sd_from_sample,
)
from clew.checks.weighings import Column, Factor
from clew.faults import BadInput, Fault
from clew.languages import say

_FEWEST_PAIRS = 20
"""Balls both weighed and reeled below which the correlation of mass and length is not told."""
_FEWEST_LOTS = 5
"""Dye lots below which the interval of their spread says little but that it has none."""


@dataclass(frozen=True, slots=True)
class FromBalls:
    """What weighed balls say.

    Attributes
    ----------
    spread : Spread
        Levels with their doubt.
    mean_mass_g, mean_mass_se_g : float
        Mean mass of the balls and its standard error [g].
    mean_length_m : float or None
        Mean length [m]; none where too few were reeled.
    balls, reeled : int
        How many were weighed and reeled.
    few_lots : bool
        The balls are of fewer dye lots than tell how lots vary.
    notes : tuple of str
        What the balls cannot tell.
    """

    spread: Spread
    mean_mass_g: float
    mean_mass_se_g: float
    mean_length_m: float | None
    balls: int
    reeled: int
    few_lots: bool
    notes: tuple[str, ...]


def spread_from_balls(
    mass_g: Column, length_m: Column | None, factors: Mapping[str, Factor]
) -> FromBalls:
    """Find how far the balls of a mill differ, from a file of them.

    Parameters
    ----------
    mass_g : array of float, shape (rows,)
        Net masses; NaN where not weighed.
    length_m : array of float, shape (rows,), or None
        Lengths; NaN where not reeled.
    factors : mapping of str to Factor
        Columns of names; lot, cone and winder (or lane) are used.

    Returns
    -------
    FromBalls
        The spread on the scale of the mean.

    Raises
    ------
    BadInput
        When too few balls were weighed or nothing varies.
    """
    wanted = _sources(factors, mass_g)
    by_mass = components(mass_g, factors, wanted, name="mass", unit="g")
    if not by_mass.mean > 0.0:
        raise BadInput(Fault(say("balls that weigh nothing"), say("a mean above 0 g")))
    if by_mass.total_sd > MOST_FRAC * by_mass.mean:
        raise BadInput(
            Fault(
                say("balls that spread too far to be of one kind"),
                expected=say(
                    "under {most_frac:.0f} % of the mean; a wrong unit in a row?",
                    most_frac=100 * MOST_FRAC,
                ),
                key="mass_g",
                value=say(
                    "{total_sd:.3g} g about {mean:.4g} g",
                    total_sd=by_mass.total_sd,
                    mean=by_mass.mean,
                ),
            )
        )
    notes = [*by_mass.cautions]
    mass = {name: _sd(by_mass, name, notes) for name in LEVELS}
    length: dict[LevelName, Sd] = {}
    reeled = 0 if length_m is None else int(np.isfinite(length_m).sum())
    mean_length, shared = None, 0.0
    if length_m is not None and reeled >= _FEWEST_PAIRS:
        named = [name for name in wanted if name in ("winder", "lane")]
        try:
            by_length = components(length_m, factors, named, name="length", unit="m")
        except BadInput:
            notes.append(say("the reeled balls are too few or too much alike to tell their spread"))
        else:
            mean_length = by_length.mean
            length = {name: _sd(by_length, name, []) for name in ("winder", "within")}
            shared = _shared(mass_g, length_m, factors, by_mass, by_length)
    elif reeled:
        notes.append(
            say("{reeled} reeled balls are too few to tell the spread of length", reeled=reeled)
        )
    spread = Spread(
        lot=Level(mass["lot"]),
        cone=Level(mass["cone"]),
        winder=Level(mass["winder"], length.get("winder", mass["winder"]), 1.0),
        within=Level(mass["within"], length.get("within", Sd()), shared),
    )
    return FromBalls(
        spread,
        by_mass.mean,
        by_mass.mean_se,
        mean_length,
        by_mass.balls,
        reeled,
        _number_of(factors, "lot", mass_g) < _FEWEST_LOTS,
        tuple(dict.fromkeys(notes)),
    )


def _sources(factors: Mapping[str, Factor], mass_g: Column) -> list[str]:
    """Columns that can be a source: two names or more, and fewer names than balls."""
    balls = int(np.isfinite(mass_g).sum())
    found = []
    for name in ("lot", "cone", "winder", "lane"):
        if name == "lane" and "winder" in found:
            continue
        if 2 <= _number_of(factors, name, mass_g) < balls:
            found.append(name)
    return found


def _number_of(factors: Mapping[str, Factor], name: str, mass_g: Column) -> int:
    """How many names of a column the weighed balls have; 0 where it is not there."""
    if name not in factors:
        return 0
    codes = factors[name].codes[np.isfinite(mass_g)]
    return int(np.unique(codes[codes >= 0]).size)


def _sd(found: Components, name: LevelName, notes: list[str]) -> Sd:
    part = found.part(name)
    if part is None and name == "winder":
        part = found.part("lane")
    if part is None:
        return Sd()
    mean = found.mean
    few = name == "lot" and part.levels < _FEWEST_LOTS
    if few or part.high_sd is None or part.low_sd is None:
        return _unbounded(part, mean, notes)
    return sd_from_interval(
        min(max(part.sd, part.low_sd), part.high_sd) / mean,
        part.low_sd / mean,
        part.high_sd / mean,
    )


def _unbounded(part: Component, mean: float, notes: list[str]) -> Sd:
    """A level with so few members that nothing bounds its spread from above.

    Taken as it was found, with the doubt of a sample of so many.
    """
    notes.append(
        say(
            "{n} {sources} set no upper end to how {sources} vary: taken as found; say it with "
            "{option} where you know it better",
            n=part.levels,
            sources=sources_word(part.source),
            option=f"--{part.source}-sd",
        )
    )
    return sd_from_sample(part.sd / mean, max(part.levels - 1, 1))


def _shared(
    mass_g: Column,
    length_m: Column,
    factors: Mapping[str, Factor],
    by_mass: Components,
    by_length: Components,
) -> float:
    """Correlation of what mass and length of a ball differ by, its cone and winder taken off."""
    both = np.isfinite(mass_g) & np.isfinite(length_m)
    if int(both.sum()) < _FEWEST_PAIRS:
        return 0.0
    rest_mass = _rest(mass_g[both], factors, by_mass, both)
    rest_length = _rest(length_m[both], factors, by_length, both)
    if float(rest_mass.std()) <= 0.0 or float(rest_length.std()) <= 0.0:
        return 0.0
    return float(np.clip(np.corrcoef(rest_mass, rest_length)[0, 1], 0.0, 1.0))


def _rest(
    value: Column, factors: Mapping[str, Factor], found: Components, rows: np.ndarray
) -> Column:
    rest = value - found.mean
    for effects in found.effects:
        factor = factors[effects.factor]
        by_name = dict(zip(effects.names, effects.effect.tolist(), strict=True))
        by_code = np.array([by_name.get(name, 0.0) for name in factor.names] + [0.0])
        rest = rest - by_code[factor.codes[rows]]
    return rest


def seen_balls_per_cone(factors: Mapping[str, Factor]) -> int | None:
    """Balls wound from one cone, as a file shows it: its middle cone; none without the column."""
    cone = factors.get("cone")
    if cone is None:
        return None
    counts = np.bincount(cone.codes[cone.codes >= 0])
    counts = counts[counts > 0]
    return int(np.ceil(np.median(counts))) if counts.size else None


def seen_number(factors: Mapping[str, Factor], names: Sequence[str]) -> int | None:
    """How many different names the first of some columns holds that is there."""
    for name in names:
        if name in factors:
            used = np.unique(factors[name].codes[factors[name].codes >= 0]).size
            if used:
                return int(used)
    return None
