"""How unsure the regain after the dryer is, and which input makes it so."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.line.heat.dryer import regains_out
from clew.line.heat.steamer import steamed
from clew.line.heat.terms import DOUBT_WORDS, HeatDoubts, HeatTerms

_DRIEST_FRAC, _DAMPEST_FRAC = 0.0, 1.0
_SCALE_LIMITS = (0.05, 20.0)
_PASSAGE_STEPS = 24
"""Steps of the dryer's passage at which the interval is kept, for drawing it."""


@dataclass(frozen=True, slots=True)
class ExitDoubt:
    """Spread of the regain after the dryer.

    Attributes
    ----------
    end_low_frac, end_high_frac : float
        Regain at the dryer's end, 95 % of the draws [1].
    cooled_low_frac, cooled_high_frac : float
        The same once cooled [1].
    too_damp_share : float
        Share of the draws that come out damper than wanted [1].
    shares : tuple of (str, float)
        Each doubt by its key with its share of the variance, largest first [1].
    draws, seed : int
        Draws made and their seed.
    along : tuple of (float, float, float)
        Part of the dryer's passage [1] with the regain between which 95 % of the draws lie there
        [1], mouth first.
    """

    end_low_frac: float
    end_high_frac: float
    cooled_low_frac: float
    cooled_high_frac: float
    too_damp_share: float
    shares: tuple[tuple[str, float], ...]
    draws: int
    seed: int
    along: tuple[tuple[float, float, float], ...]

    @property
    def largest(self) -> str:
        """The doubt that makes most of the spread, in words; empty where there is none."""
        return DOUBT_WORDS[self.shares[0][0]] if self.shares else ""


def exit_doubt(
    terms: HeatTerms, doubts: HeatDoubts | None = None, *, draws: int = 200, seed: int = 1
) -> ExitDoubt:
    """Find how unsure the regain after the dryer is.

    Parameters
    ----------
    terms : HeatTerms
        Yarn and line.
    doubts : HeatDoubts, optional
        How unsure the inputs are; assumed ones when left out.
    draws : int
        Draws of all inputs at once, 20 to 20 000.
    seed : int
        Seed of the draws.

    Returns
    -------
    ExitDoubt
        Interval, and which doubt dominates.

    Raises
    ------
    BadInput
        When the number of draws cannot be meant, or the line's air cannot be.

    Notes
    -----
    Positive inputs are drawn lognormal with their mean as the median, temperature and regain
    normal, all independent; the interval is the middle 95 %. Shares are from the change of the
    regain as one input alone goes one standard deviation up and down. Source: DERIVED.
    """
    if not 20 <= draws <= 20_000:
        raise BadInput(Fault(say("too few or too many draws"), say("20 to 20 000"), key="draws",
                             value=str(draws)))  # fmt: skip
    if not seed >= 0:
        raise BadInput(Fault(say("a seed below 0"), say("0 or more"), key="seed", value=str(seed)))
    import numpy as np

    doubts = doubts or HeatDoubts()
    spreads = {key: getattr(doubts, key) for key in DOUBT_WORDS}
    random = np.random.default_rng(seed)
    steps = random.standard_normal((draws, len(spreads)))
    parts = [step / _PASSAGE_STEPS for step in range(_PASSAGE_STEPS + 1)]
    found = np.array(
        [_regains(_moved(terms, dict(zip(spreads, row.tolist(), strict=True)), spreads), parts)
         for row in steps]
    )  # fmt: skip
    low, high = np.quantile(found, [0.025, 0.975], axis=0).tolist()
    return ExitDoubt(
        end_low_frac=low[0],
        end_high_frac=high[0],
        cooled_low_frac=low[1],
        cooled_high_frac=high[1],
        too_damp_share=float(np.mean(found[:, 1] > terms.regain_wanted_frac)),
        shares=_shares(terms, spreads),
        draws=draws,
        seed=seed,
        along=tuple(zip(parts, low[2:], high[2:], strict=True)),
    )


def _shares(terms: HeatTerms, spreads: dict[str, float]) -> tuple[tuple[str, float], ...]:
    halves = {}
    for key, spread in spreads.items():
        if spread == 0.0:
            continue
        up, *_ = _regains(_moved(terms, {key: 1.0}, spreads))
        down, *_ = _regains(_moved(terms, {key: -1.0}, spreads))
        halves[key] = 0.5 * (up - down)
    total = sum(half * half for half in halves.values())
    if total == 0.0:
        return ()
    shares = [(key, half * half / total) for key, half in halves.items()]
    return tuple(sorted(shares, key=lambda one: -one[1]))


def _regains(terms: HeatTerms, parts: Sequence[float] = ()) -> list[float]:
    """Regain at the dryer's end, once cooled, and at parts of the passage."""
    after_steam = steamed(terms)
    law, before, after, cooled = regains_out(terms, after_steam.regain_frac, after_steam.zone_c)
    dwell = terms.dryer_dwell_s
    along = [law.regain_after(before, part * dwell) for part in parts]
    return [after, cooled, *along]


def _moved(terms: HeatTerms, steps: dict[str, float], spreads: dict[str, float]) -> HeatTerms:
    """Put every input so many of its standard deviations off; what leaves its range stays at it."""

    def times(key: str) -> float:
        low, high = _SCALE_LIMITS
        sigma = math.sqrt(math.log1p(spreads[key] ** 2))
        return min(high, max(low, math.exp(sigma * steps.get(key, 0.0))))

    def plus(key: str) -> float:
        return spreads[key] * steps.get(key, 0.0)

    hotter = min(180.0, max(terms.room_c + 5.0, terms.dryer_c + plus("dryer_sd_c")))
    regain = terms.regain_in_frac + plus("regain_in_sd_frac")
    return replace(
        terms,
        drying_factor=terms.drying_factor * times("drying_factor_cv"),
        air_speed_m_per_s=terms.air_speed_m_per_s * times("air_speed_cv"),
        fresh_air_kg_per_h=terms.fresh_air_kg_per_h * times("fresh_air_cv"),
        dryer_c=hotter,
        regain_in_frac=min(_DAMPEST_FRAC, max(_DRIEST_FRAC, regain)),
        wet_pick_up_frac=min(3.0, terms.wet_pick_up_frac * times("wet_pick_up_cv")),
        critical_regain_frac=min(3.0, max(0.001, terms.critical_frac * times("critical_cv"))),
        fibre_heat_factor=terms.fibre_heat_factor * times("heat_cv"),
    )
