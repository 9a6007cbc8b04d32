"""Steam bulk: the count, length and belt balance of a yarn that shortens in the steamer.

Dry mass is kept but for the finish that steam takes off; length shrinks by S; water changes with
the regain. So T1 = T0 (1 - finish loss)(1 + R_out)/(1 + R_in)/(1 - S).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from clew.faults import BadInput, Fault
from clew.strand.given import (
    fraction,
    level_between,
    more_than_zero,
    whole_number,
    zero_or_more,
)


@dataclass(frozen=True, slots=True)
class Steamed:
    """A yarn after steaming.

    Attributes
    ----------
    count_tex : float
        Count of the steamed yarn at the outgoing regain [tex].
    length_m_per_100g : float
        Its length in 100 g [m].
    overfeed_frac : float
        Feed speed over take-off speed, less 1 [1]: 1/(1 - S) - 1.
    take_up_ratio : float
        Take-off speed over feed speed [1]: 1 - S.
    dry_count_in_tex, dry_count_out_tex : float
        Count reckoned on dry mass before and after [tex].
    """

    count_tex: float
    length_m_per_100g: float
    overfeed_frac: float
    take_up_ratio: float
    dry_count_in_tex: float
    dry_count_out_tex: float


_WIDEST_LN_SD = 0.5
"""A count known to less than a factor of e to the half is not known: refused."""


def _mass_ratio(finish_loss_frac: float, regain_in_frac: float, regain_out_frac: float) -> float:
    """Find the mass of an unshortened piece after steaming over its mass before."""
    kept = 1.0 - fraction(finish_loss_frac, "finish loss")
    gained = 1.0 + zero_or_more(regain_out_frac, "regain out")
    return kept * gained / (1.0 + zero_or_more(regain_in_frac, "regain in"))


def steamed(
    count_tex: float,
    shrink_frac: float,
    *,
    finish_loss_frac: float = 0.0,
    regain_in_frac: float = 0.0,
    regain_out_frac: float = 0.0,
) -> Steamed:
    """Find what a yarn becomes in the steamer.

    Parameters
    ----------
    count_tex : float
        Count of the yarn as it comes, measured at ``regain_in_frac`` [tex].
    shrink_frac : float
        Shortening as a fraction of the length that came [1].
    finish_loss_frac : float
        Finish that steam takes off, on dry mass [1].
    regain_in_frac, regain_out_frac : float
        Regain when the count was measured, and of the yarn after steaming and drying [1]. Leave
        both at 0 when they are not known: the water is then taken not to change.

    Returns
    -------
    Steamed
        Count, length in 100 g, overfeed, and the counts on dry mass.

    Raises
    ------
    BadInput
        When the count is not more than 0, or a fraction is out of range.

    Notes
    -----
    Validity: shrink measured on the yarn as it runs, under the same low load before and after. A
    point of shrink at 20 % is 1.25 % of count. Source: mass and length balance (DERIVED); the form
    S = (L0 - L1)/L0 as in ASTM D2259 (MEMORY of the symbols).
    """
    count = more_than_zero(count_tex, "count", "tex")
    left = 1.0 - fraction(shrink_frac, "shrink")
    ratio = _mass_ratio(finish_loss_frac, regain_in_frac, regain_out_frac)
    count_out = count * ratio / left
    return Steamed(
        count_tex=count_out,
        length_m_per_100g=1.0e5 / count_out,
        overfeed_frac=1.0 / left - 1.0,
        take_up_ratio=left,
        dry_count_in_tex=count / (1.0 + regain_in_frac),
        dry_count_out_tex=count_out / (1.0 + regain_out_frac),
    )


def shrink_for_count(
    count_in_tex: float,
    count_out_tex: float,
    *,
    finish_loss_frac: float = 0.0,
    regain_in_frac: float = 0.0,
    regain_out_frac: float = 0.0,
) -> float:
    """Find the shrink that gives a wanted count; the inverse of `steamed`.

    Parameters
    ----------
    count_in_tex, count_out_tex : float
        Count as it comes and as wanted [tex].
    finish_loss_frac : float
        Finish that steam takes off, on dry mass [1].
    regain_in_frac, regain_out_frac : float
        Regain before and after [1].

    Returns
    -------
    float
        Shrink as a fraction of the length that came [1].

    Raises
    ------
    BadInput
        When the wanted count is finer than the yarn is without any shrink.
    """
    count_in = more_than_zero(count_in_tex, "count in", "tex")
    count_out = more_than_zero(count_out_tex, "count out", "tex")
    unshrunk = count_in * _mass_ratio(finish_loss_frac, regain_in_frac, regain_out_frac)
    if count_out < unshrunk * (1.0 - 1e-12):
        raise BadInput(
            Fault(
                "steam does not make a yarn finer",
                expected=f"{unshrunk:.4g} tex or more",
                key="count out",
                value=f"{count_out:g} tex",
            )
        )
    return max(0.0, 1.0 - unshrunk / count_out)


@dataclass(frozen=True, slots=True)
class SteamedSpread:
    """The spread of the steamed count, carried through from what goes in.

    Attributes
    ----------
    count_tex : float
        Median count of the steamed yarn [tex].
    ln_sd : float
        Standard deviation of ln T1 [1]; for small spreads the coefficient of variation.
    level : float
        Share of yarn that the interval is to hold [1].
    low_tex, high_tex : float
        The interval [tex].
    shrink_share, count_share, regain_share : float
        Parts of the variance that come from shrink, incoming count and outgoing regain [1]; all 0
        when there is no spread.
    """

    count_tex: float
    ln_sd: float
    level: float
    low_tex: float
    high_tex: float
    shrink_share: float
    count_share: float
    regain_share: float


def steamed_spread(
    count_tex: float,
    shrink_frac: float,
    *,
    shrink_sd_frac: float,
    count_cv_frac: float = 0.0,
    regain_out_sd_frac: float = 0.0,
    finish_loss_frac: float = 0.0,
    regain_in_frac: float = 0.0,
    regain_out_frac: float = 0.0,
    level: float = 0.95,
) -> SteamedSpread:
    """Carry the spread of shrink, incoming count and outgoing regain through to the steamed count.

    Parameters
    ----------
    count_tex, shrink_frac : float
        Mean count as it comes [tex] and mean shrink [1].
    shrink_sd_frac : float
        Standard deviation of the shrink, in fractions of length [1].
    count_cv_frac : float
        Coefficient of variation of the incoming count [1].
    regain_out_sd_frac : float
        Standard deviation of the outgoing regain [1].
    finish_loss_frac, regain_in_frac, regain_out_frac : float
        As for `steamed` [1].
    level : float
        Share of yarn that the interval is to hold, between 0 and 1 [1].

    Returns
    -------
    SteamedSpread
        Interval and shares of the variance.

    Raises
    ------
    BadInput
        When a value is out of range.

    Notes
    -----
    sd^2 = ln(1 + cv^2) + (sd_S/(1 - S))^2 + (sd_R/(1 + R_out))^2, the three taken as independent.
    Validity: first order in sd_S/(1 - S) and sd_R; while sd_S stays below a twentieth of 1 - S each
    end of the 95 % interval is right to 0.6 % of the count. Source: DERIVED, dT/T = dS/(1 - S).
    """
    middle = steamed(
        count_tex,
        shrink_frac,
        finish_loss_frac=finish_loss_frac,
        regain_in_frac=regain_in_frac,
        regain_out_frac=regain_out_frac,
    )
    level = level_between(level)
    of_count = math.log1p(zero_or_more(count_cv_frac, "spread of count") ** 2)
    of_shrink = (zero_or_more(shrink_sd_frac, "spread of shrink") / middle.take_up_ratio) ** 2
    if of_shrink > _WIDEST_LN_SD**2:
        raise BadInput(
            Fault(
                "a spread of shrink too wide to mean",
                f"at most {100 * _WIDEST_LN_SD * middle.take_up_ratio:.3g} %",
                key="spread of shrink",
                value=f"{100 * shrink_sd_frac:g} %",
            )
        )
    of_regain = (
        zero_or_more(regain_out_sd_frac, "spread of regain") / (1.0 + regain_out_frac)
    ) ** 2
    variance = of_count + of_shrink + of_regain
    reach = math.exp(NormalDist().inv_cdf(0.5 + level / 2.0) * math.sqrt(variance))
    whole = variance or 1.0
    return SteamedSpread(
        count_tex=middle.count_tex,
        ln_sd=math.sqrt(variance),
        level=level,
        low_tex=middle.count_tex / reach,
        high_tex=middle.count_tex * reach,
        shrink_share=of_shrink / whole,
        count_share=of_count / whole,
        regain_share=of_regain / whole,
    )


@dataclass(frozen=True, slots=True)
class BeltBalance:
    """Speeds and loads of a belt steamer in balance.

    Attributes
    ----------
    take_off_m_per_s : float
        Speed at which the shortened strand must leave for the belt neither to fill nor empty [m/s].
    overfeed_frac : float
        Feed speed over take-off speed, less 1 [1].
    lay_ratio : float
        Metres of incoming strand laid on a metre of belt, each end [1].
    belt_load_kg_per_m : float
        Yarn on a metre of belt, all ends, as it comes [kg/m].
    belt_load_kg_per_m2 : float or None
        The same on a square metre [kg/m2]; None when no width was given.
    coil_pitch_m : float or None
        Belt travel from one coil to the next [m]; None when no coil diameter was given.
    coils_per_s : float or None
        Coils laid in a second, each end [1/s]; None when no coil diameter was given.
    dwell_s : float or None
        Time in the steam zone [s]; None when no length was given.
    """

    take_off_m_per_s: float
    overfeed_frac: float
    lay_ratio: float
    belt_load_kg_per_m: float
    belt_load_kg_per_m2: float | None
    coil_pitch_m: float | None
    coils_per_s: float | None
    dwell_s: float | None


def belt_balance(
    feed_m_per_s: float,
    shrink_frac: float,
    belt_m_per_s: float,
    *,
    count_tex: float,
    ends: int = 1,
    belt_width_m: float | None = None,
    coil_diameter_m: float | None = None,
    steam_length_m: float | None = None,
) -> BeltBalance:
    """Balance the speeds of a belt steamer and find what lies on its belt.

    Parameters
    ----------
    feed_m_per_s : float
        Speed of the incoming strand [m/s].
    shrink_frac : float
        Shortening in the steam as a fraction of the length that came [1].
    belt_m_per_s : float
        Speed of the belt [m/s].
    count_tex : float
        Count of the incoming strand [tex].
    ends : int
        Strands laid side by side [1].
    belt_width_m, coil_diameter_m, steam_length_m : float, optional
        Width of the lay, diameter of a coil, and length of the steam zone [m].

    Returns
    -------
    BeltBalance
        Take-off speed, overfeed, lay, load, coil pitch and dwell.

    Raises
    ------
    BadInput
        When a value is not more than 0 or the shrink is not a fraction.

    Notes
    -----
    Validity: steady running, no slip on the belt, shrink complete in the steam zone. Source: mass
    and length balance (DERIVED); no published source was found for the lay of coils on a belt.
    """
    feed = more_than_zero(feed_m_per_s, "feed speed", "m/s")
    belt = more_than_zero(belt_m_per_s, "belt speed", "m/s")
    left = 1.0 - fraction(shrink_frac, "shrink")
    count = more_than_zero(count_tex, "count", "tex")
    lay_ratio = feed / belt
    load = whole_number(ends, "ends") * count * 1.0e-6 * lay_ratio
    around = None
    if coil_diameter_m is not None:
        around = math.pi * more_than_zero(coil_diameter_m, "coil diameter", "m")
    wide = None if belt_width_m is None else more_than_zero(belt_width_m, "belt width", "m")
    steam = None if steam_length_m is None else more_than_zero(steam_length_m, "steam zone", "m")
    return BeltBalance(
        take_off_m_per_s=feed * left,
        overfeed_frac=1.0 / left - 1.0,
        lay_ratio=lay_ratio,
        belt_load_kg_per_m=load,
        belt_load_kg_per_m2=None if wide is None else load / wide,
        coil_pitch_m=None if around is None else around / lay_ratio,
        coils_per_s=None if around is None else feed / around,
        dwell_s=None if steam is None else steam / belt,
    )
