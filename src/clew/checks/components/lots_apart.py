"""What the dye lot that runs does beside the one before: a heavier count, or longer winding."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clew.checks.components.components import Z95
from clew.checks.components.design import design
from clew.checks.components.predict import contrasts
from clew.checks.components.reml import fit
from clew.checks.components.signature import LengthEffects, Priors, signature
from clew.checks.weighings import Column, Weighings, without

SOURCES = ("lot", "cone", "winder")


@dataclass(frozen=True, slots=True)
class LotsApart:
    """Two dye lots, one after the other.

    Attributes
    ----------
    before, after : str
        The lots.
    mean_g : float
        Mean mass of the balls of both [g].
    mass_frac, mass_low_frac, mass_high_frac : float
        How far the later lot's balls stand from the others' in mass, and its interval, 95 % [-].
    length_frac, length_low_frac, length_high_frac : float or None
        The same of length [-]; none where not both were reeled.
    cause : str
        "count", "winds", "none", "unknown" or another of the causes of a winder.
    """

    before: str
    after: str
    mean_g: float
    mass_frac: float
    mass_low_frac: float
    mass_high_frac: float
    length_frac: float | None
    length_low_frac: float | None
    length_high_frac: float | None
    cause: str


def lots_apart(
    balls: Weighings, mass_g: Column, length_m: Column | None = None
) -> LotsApart | None:
    """Compare the last two dye lots of a file.

    Parameters
    ----------
    balls : Weighings
        The balls, with lot, and cone and winder where they are known.
    mass_g, length_m : array of float, shape (rows,)
        Net mass of each [g], and length of those that were reeled [m].

    Returns
    -------
    LotsApart or None
        The comparison; none where there are not two lots with balls.

    Raises
    ------
    BadInput
        When there are too few balls.

    Notes
    -----
    The lots stand as fixed beside random cones and winders, so that the doubt of their difference
    counts the cones. Length: the mean over the winders of what each reeled of either lot. Causes as
    for a winder, `signature`. Source: DERIVED.
    """
    lot = balls.factors.get("lot")
    if lot is None:
        return None
    there = np.isfinite(mass_g) & (lot.codes >= 0)
    _, last = np.unique(lot.codes[there][::-1], return_index=True)
    order = lot.codes[there][::-1][np.sort(last)]
    if len(order) < 2:
        return None
    new, old = int(order[0]), int(order[1])
    drop = np.flatnonzero(~there | ~np.isin(lot.codes, (new, old)))
    two = without(balls, drop)
    keep = np.ones(balls.rows, dtype=bool)
    keep[drop] = False
    mass = mass_g[keep]
    wanted = [name for name in SOURCES if name in two.factors]
    fitted = fit(design(np.log(mass), two.factors, wanted))
    if "lot" not in fitted.cross.design.factors:
        return None
    names, effect, se = contrasts(fitted, "lot")
    place = names.index(lot.names[new])
    apart, doubt = 2.0 * float(effect[place]), 2.0 * float(se[place])
    lengths = _lengths(two, None if length_m is None else length_m[keep], lot.names[new])
    found = signature(lot.names[new], apart, doubt, lengths)
    long, its = found.length_frac, found.length_se_frac
    return LotsApart(
        before=lot.names[old],
        after=lot.names[new],
        mean_g=float(mass.mean()),
        mass_frac=apart,
        mass_low_frac=apart - Z95 * doubt,
        mass_high_frac=apart + Z95 * doubt,
        length_frac=long,
        length_low_frac=None if long is None or its is None else long - Z95 * its,
        length_high_frac=None if long is None or its is None else long + Z95 * its,
        cause=found.cause,
    )


def _lengths(two: Weighings, length_m: NDArray[np.float64] | None, lot: str) -> LengthEffects:
    """How much longer the later lot's balls are, winder by winder."""
    priors = Priors()
    if length_m is None:
        return LengthEffects()
    lots, winder = two.factors["lot"], two.factors.get("winder")
    reeled = np.isfinite(length_m)
    logs = np.log(length_m[reeled])
    later = lots.codes[reeled] == lots.names.index(lot)
    maker = np.zeros(len(logs), dtype=np.int64) if winder is None else winder.codes[reeled]
    moves, inverse, squares, df = [], [], 0.0, 0
    for one in np.unique(maker).tolist():
        sides = [logs[(maker == one) & (later == side)] for side in (True, False)]
        if not all(len(side) for side in sides):
            continue
        moves.append(float(sides[0].mean() - sides[1].mean()))
        inverse.append(sum(1.0 / len(side) for side in sides))
        squares += sum(float(np.sum((side - side.mean()) ** 2)) for side in sides)
        df += sum(len(side) - 1 for side in sides)
    if not moves:
        return LengthEffects()
    usual = priors.length_sd_df
    variance = (squares + usual * priors.length_sd_frac**2) / (df + usual)
    se = math.sqrt(variance * sum(inverse)) / len(moves)
    effect = float(np.mean(moves))
    return LengthEffects(
        effect={lot: effect},
        se={lot: se},
        balls={lot: int(later.sum())},
        ball_sd_frac=math.sqrt(variance),
    )
