"""Causes of all winders read together: which length and mass are right is not known beforehand.

A winder is long against others only. Where few were reeled, or many are off, the middle one is no
firm ground: of two winders, one long and one right, either may be the odd one. So the mass and the
length of a winder that is as it should be are left open, and every winder has its say on them.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from clew.checks.components.signature import CAUSES, Floats, LengthEffects, Priors, log_seen

_MARGIN = 0.01
"""How far beyond all winders what is right may lie [-]."""
_FINEST, _COARSEST = 0.0003, 0.001
_MOST_STEPS = 120


def chances_together(
    mass: Mapping[str, float],
    mass_se: Mapping[str, float],
    lengths: LengthEffects,
    priors: Priors,
) -> dict[str, dict[str, float]]:
    """Probability of each cause behind each winder, all winders read together.

    Parameters
    ----------
    mass, mass_se : mapping of str to float
        Logarithmic mass of each winder, about anything, and its standard error [-].
    lengths : LengthEffects
        Lengths of those that were reeled.
    priors : Priors
        How far each cause moves a winder.

    Returns
    -------
    dict of str to dict of str to float
        By winder, then by cause; adding up to 1 for each winder [-].

    Notes
    -----
    With the right mass and length (a, b) every winder is by itself, so the density of all is the
    product over winders of the sum over causes; it is added up over a grid of (a, b), all of them
    as likely beforehand. Errors of winders are taken as independent. Source: Bayes, DERIVED.
    """
    reeled = {name: count for name, count in lengths.balls.items() if name in lengths.effect}
    own = {name: lengths.ball_sd_frac / count**0.5 for name, count in reeled.items()}
    at_mass = _steps(list(mass.values()), list(mass_se.values()))[:, None]
    there = [lengths.effect[name] for name in reeled if name in mass]
    at_length = _steps(there, [own[name] for name in reeled if name in mass])[None, :]
    seen: dict[str, Floats] = {}
    whole = np.zeros((at_mass.size, at_length.size))
    sums = {}
    for name, effect in mass.items():
        known = name in own
        logs = log_seen(
            effect - at_mass,
            mass_se[name],
            lengths.effect[name] - at_length if known else None,
            own[name] if known else None,
            priors,
        )
        seen[name] = np.stack([np.broadcast_to(logs[one], whole.shape) for one in CAUSES])
        sums[name] = np.logaddexp.reduce(seen[name], axis=0)
        whole += sums[name]
    weight = np.exp(whole - whole.max())
    weight /= weight.sum()
    found = {}
    for name, logs_of in seen.items():
        shares = np.einsum("kij,ij->k", np.exp(logs_of - sums[name]), weight)
        found[name] = dict(zip(CAUSES, shares.tolist(), strict=True))
    return found


def _steps(effects: list[float], errors: list[float]) -> Floats:
    """Where the right one is looked for."""
    if not effects:
        return np.zeros(1)
    step = min(max(0.7 * min(errors), _FINEST), _COARSEST)
    low, high = min(effects) - _MARGIN, max(effects) + _MARGIN
    return np.linspace(low, high, min(int((high - low) / step) + 2, _MOST_STEPS))
