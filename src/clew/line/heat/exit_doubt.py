"""How unsure the regain after the dryer is, and which input makes it so."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.line.heat.terms import DOUBT_WORDS, HeatDoubts, HeatTerms, held_within

if TYPE_CHECKING:
    from clew.line.heat.many_crossings import Numbers
    from clew.line.heat.many_regains import Cases

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

    from clew.line.heat.many_regains import many_regains

    doubts = doubts or HeatDoubts()
    spreads = {key: getattr(doubts, key) for key in DOUBT_WORDS}
    random = np.random.default_rng(seed)
    alone = np.diag([1.0 if spread else 0.0 for spread in spreads.values()])
    steps = np.vstack((random.standard_normal((draws, len(spreads))), alone, -alone))
    out = many_regains(terms, _moved(terms, dict(zip(spreads, steps.T, strict=True)), spreads))
    parts = [step / _PASSAGE_STEPS for step in range(_PASSAGE_STEPS + 1)]
    along = out.law.regain_after(out.before_frac, terms.dryer_dwell_s * np.array([parts]).T)
    found = np.vstack((out.after_frac, out.cooled_frac, along))[:, :draws]
    low, high = np.quantile(found, [0.025, 0.975], axis=1).tolist()
    up, down = out.after_frac[draws:].reshape(2, -1)
    halves = dict(zip(spreads, (0.5 * (up - down)).tolist(), strict=True))
    return ExitDoubt(
        end_low_frac=low[0],
        end_high_frac=high[0],
        cooled_low_frac=low[1],
        cooled_high_frac=high[1],
        too_damp_share=float(np.mean(found[1] > terms.regain_wanted_frac)),
        shares=_shares({key: half for key, half in halves.items() if spreads[key]}),
        draws=draws,
        seed=seed,
        along=tuple(zip(parts, low[2:], high[2:], strict=True)),
    )


def _shares(halves: dict[str, float]) -> tuple[tuple[str, float], ...]:
    """Shares of the variance, largest first, of half of what each doubt alone changes."""
    total = sum(half * half for half in halves.values())
    if total == 0.0:
        return ()
    shares = [(key, half * half / total) for key, half in halves.items()]
    return tuple(sorted(shares, key=lambda one: -one[1]))


def _moved(terms: HeatTerms, steps: dict[str, Numbers], spreads: dict[str, float]) -> Cases:
    """Put every input so many of its standard deviations off; what leaves its range stays at it."""
    import numpy as np

    from clew.line.heat.many_regains import Cases

    def times(name: str, key: str, value: float) -> Numbers:
        sigma = math.sqrt(math.log1p(spreads[key] ** 2))
        return held_within(name, value * np.clip(np.exp(sigma * steps[key]), *_SCALE_LIMITS))

    def plus(name: str, key: str, value: float) -> Numbers:
        return held_within(name, value + spreads[key] * steps[key])

    def of(name: str, key: str) -> Numbers:
        return times(name, key, getattr(terms, name))

    dryer_c = np.maximum(terms.room_c + 5.0, plus("dryer_c", "dryer_sd_c", terms.dryer_c))
    return Cases(
        drying_factor=of("drying_factor", "drying_factor_cv"),
        air_speed_m_per_s=of("air_speed_m_per_s", "air_speed_cv"),
        fresh_air_kg_per_h=of("fresh_air_kg_per_h", "fresh_air_cv"),
        dryer_c=dryer_c,
        regain_in_frac=plus("regain_in_frac", "regain_in_sd_frac", terms.regain_in_frac),
        wet_pick_up_frac=of("wet_pick_up_frac", "wet_pick_up_cv"),
        critical_regain_frac=times("critical_regain_frac", "critical_cv", terms.critical_frac),
        fibre_heat_factor=of("fibre_heat_factor", "heat_cv"),
    )
