"""The answer of `components` as plain values for programs."""

from __future__ import annotations

from typing import Any

from clew.checks.components.components import Component, Components
from clew.checks.components.predict import Effects

MOST_EFFECTS = 2000
"""Levels of one source whose effects are told; of more, the count alone."""


def components_plain(found: Components) -> dict[str, Any]:
    """Arrange an answer as plain values with stable keys, units in their names.

    Parameters
    ----------
    found : Components
        The answer.

    Returns
    -------
    dict
        `variances` by name, and each also by its own name at the top; null where a source could not
        be told.
    """
    unit = found.unit
    variances: dict[str, float | None] = {one.source: one.variance for one in found.parts}
    variances |= dict.fromkeys(found.dropped)
    return {
        "value": found.value,
        "unit": unit,
        "method": found.method,
        "balls": found.balls,
        "left_out": found.left_out,
        f"mean_{unit}": found.mean,
        f"mean_se_{unit}": found.mean_se,
        f"total_sd_{unit}": found.total_sd,
        "variances": variances,
        **variances,
        "parts": [_part(one, unit) for one in found.parts],
        "confidence": found.confidence_frac,
        "log_likelihood": found.log_likelihood,
        "converged": found.converged,
        "effects": {one.factor: _effects(one, unit) for one in found.effects},
        "cautions": list(found.cautions),
        "words": list(found.words),
    }


def _part(one: Component, unit: str) -> dict[str, Any]:
    return {
        "source": one.source,
        "levels": one.levels,
        f"variance_{unit}2": one.variance,
        f"sd_{unit}": one.sd,
        "share": one.share_frac,
        f"low_sd_{unit}": one.low_sd,
        f"high_sd_{unit}": one.high_sd,
    }


def _effects(one: Effects, unit: str) -> list[dict[str, Any]] | None:
    if len(one.names) > MOST_EFFECTS:
        return None
    return [
        {"name": name, "balls": int(balls), f"effect_{unit}": effect, f"se_{unit}": se}
        for name, balls, effect, se in zip(
            one.names, one.balls.tolist(), one.effect.tolist(), one.se.tolist(), strict=True
        )
    ]
