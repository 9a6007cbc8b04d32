"""Who drifted: one reading of a shift's balls into corrections, causes and what chance costs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from clew.checks.components.components import Components, of_fit
from clew.checks.components.corrections import (
    Aim,
    Correction,
    Count,
    Standing,
    corrections,
    standings,
)
from clew.checks.components.design import design
from clew.checks.components.funnel import OverCorrection, over_correction
from clew.checks.components.predict import contrasts
from clew.checks.components.reml import fit
from clew.checks.components.signature import Priors, Signature, length_effects, signature
from clew.checks.components.together import chances_together
from clew.checks.weighings import Column, Factor, Weighings
from clew.faults import BadInput, Fault
from clew.languages import say

Floats = NDArray[np.float64]

SOURCES = ("lot", "cone", "winder")


@dataclass(frozen=True, slots=True)
class Drifted:
    """What a shift's balls say of its winders.

    Attributes
    ----------
    lot : str or None
        Dye lot of the balls to come, the last in the file; none where lots are not named.
    components : Components
        What varies.
    corrections : tuple of Correction
        What to do with each winder.
    signatures : tuple of Signature
        What is behind each winder, in the same order; empty where there is one winder.
    funnel : OverCorrection
        What correcting after every ball would do here.
    cautions : tuple of str
        What bears on the answer.
    """

    lot: str | None
    components: Components
    corrections: tuple[Correction, ...]
    signatures: tuple[Signature, ...]
    funnel: OverCorrection
    cautions: tuple[str, ...]


def who_drifted(
    balls: Weighings,
    mass_g: Column,
    counts: Mapping[str, Count],
    aim: Aim,
    *,
    length_m: Column | None = None,
    ahead: int | None = None,
    priors: Priors | None = None,
) -> Drifted:
    """Read a shift's balls into corrections and causes.

    Parameters
    ----------
    balls : Weighings
        The balls, with winder, and lot and cone where they are known.
    mass_g : array of float, shape (rows,)
        Net mass of each [g].
    counts : mapping of str to Count
        What a count of each winder winds.
    aim : Aim
        Targets, prices and when to act.
    length_m : array of float, shape (rows,), optional
        Length of each ball that was reeled, NaN for the others [m].
    ahead : int, optional
        Balls each winder has ahead of it; left out, as many as it has in the file.
    priors : Priors, optional
        How far each cause moves a winder.

    Returns
    -------
    Drifted
        The answer.

    Raises
    ------
    BadInput
        If winders are not named, or there are too few balls.

    Notes
    -----
    How far a winder is off is told against the middle winder, in mass and in length alike: one that
    is far off does not make the others look off the other way (common practice). Its cause is read
    with all winders together, `chances_together`.
    """
    if "winder" not in balls.factors:
        raise BadInput(Fault(say("winders are not named"), say("a column winder"), key="winder"))
    given = priors or Priors()
    wanted = [name for name in SOURCES if name in balls.factors]
    fitted = fit(design(mass_g, balls.factors, wanted))
    cells = fitted.cross.design
    lot = _last_lot(balls, mass_g, wanted)
    found = of_fit(fitted, name="mass", unit="g")
    lengths = _lengths_by_winder(balls.factors["winder"], length_m)
    standing = standings(fitted, lot=lot)
    cautions = list(found.cautions)
    if "cone" not in balls.factors:
        cautions.append(
            say(
                "cones are not named: balls of one cone are taken as independent, so winders are "
                "known less surely than it says"
            )
        )
    if "winder" not in cells.factors:
        names = balls.factors["winder"].names
        name = names[0] if len(names) == 1 else ""
        if not name:
            raise BadInput(
                Fault(
                    say("winders cannot be told from other sources here"),
                    expected=say("balls of each winder from more than one cone"),
                    key="winder",
                )
            )
        standing = tuple(replace(one, winder=name) for one in standing)
    told = length_effects(lengths, given)
    standing = tuple(_with_length(one, lengths, told.ball_sd_frac, given) for one in standing)
    if aim.target_length_m is not None and any(one.length_m is None for one in standing):
        cautions.append(
            say("winders without a length check: whether their length holds is not known")
        )
    signatures: tuple[Signature, ...] = ()
    if "winder" in cells.factors:
        fitted_log = fit(design(np.log(mass_g), balls.factors, wanted))
        names, effect, se = contrasts(fitted_log, "winder")
        effect = effect - np.median(effect)
        by_name = dict(zip(names, effect.tolist(), strict=True))
        its_se = dict(zip(names, se.tolist(), strict=True))
        chances = chances_together(by_name, its_se, told, given)
        signatures = tuple(
            signature(name, one, its_se[name], told, given, together=chances[name])
            for name, one in by_name.items()
        )
    each = {one.winder: ahead if ahead is not None else one.balls for one in standing}
    missing = [one.winder for one in standing if one.winder not in counts]
    if missing:
        raise BadInput(Fault(say("no counter known"), key="winder", value=", ".join(missing)))
    sds = {one.source: one.sd for one in found.parts}
    looked = max(1, min(one.balls for one in standing))
    return Drifted(
        lot=lot,
        components=found,
        corrections=corrections(standing, counts, each, aim),
        signatures=signatures,
        funnel=over_correction(
            sds.get("winder", 0.0),
            sds["within"],
            balls=looked,
            cone_sd_g=sds.get("cone", 0.0),
            balls_per_cone=cells.rows / len(cells.counts) if "cone" in cells.factors else 1.0,
            mean_sd_g=float(np.median([one.mass_se_g for one in standing])),
        ),
        cautions=tuple(cautions),
    )


def _last_lot(balls: Weighings, mass_g: Column, wanted: Sequence[str]) -> str | None:
    if "lot" not in wanted:
        return None
    lot = balls.factors["lot"]
    used = np.flatnonzero(np.isfinite(mass_g) & (lot.codes >= 0))
    return lot.names[lot.codes[used[-1]]] if len(used) else None


def _lengths_by_winder(winder: Factor, length: Column | None) -> dict[str, Floats]:
    """Logarithms of the lengths reeled, by winder."""
    if length is None:
        return {}
    used = np.isfinite(length) & (winder.codes >= 0)
    logs, codes = np.log(length[used]), winder.codes[used]
    return {
        name: logs[codes == place]
        for place, name in enumerate(winder.names)
        if np.any(codes == place)
    }


def _with_length(
    one: Standing, lengths: Mapping[str, Floats], pooled: float, priors: Priors
) -> Standing:
    reeled = lengths.get(one.winder)
    if reeled is None:
        return one
    sd = pooled or priors.length_sd_frac
    mean = math.exp(float(reeled.mean()))
    return replace(one, length_m=mean, length_se_m=mean * sd / math.sqrt(len(reeled)))
