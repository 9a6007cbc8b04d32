"""Winding tension: how far the strand is stretched on the ball, and what it is once relaxed.

The winder pulls the strand longer; the ball holds it there. When the ball is used, a share of that
stretch comes back and the rest stays. Tension per count is called specific tension.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import say

_KPA_PER_CN_MM2 = 10.0
"""One cN on one mm2 is 0.01 N / 1e-6 m2 = 10 kPa."""


@dataclass(frozen=True, slots=True)
class TensionAnswer:
    """The tension that would bring the relaxed count to a wanted value, or why none does.

    Attributes
    ----------
    tension_cn_per_tex : float or None
        Specific tension [cN/tex]; None when no tension within the limit does it.
    reason : str
        Why not, in words; empty when there is a tension.
    """

    tension_cn_per_tex: float | None
    reason: str = ""


def winding_strain(tension_cn_per_tex: float, modulus_cn_per_tex: float) -> float:
    """Stretch of the strand under winding tension.

    Parameters
    ----------
    tension_cn_per_tex : float
        Specific tension [cN/tex], on the count of the strand before it is pulled.
    modulus_cn_per_tex : float
        Modulus of the strand at the small stretch of winding [cN/tex].

    Returns
    -------
    float
        Added length on unstretched length [-].

    Raises
    ------
    BadInput
        If the tension is below zero, the modulus not above zero, or either is not finite.

    Notes
    -----
    eps = t / M. Valid while the strand's load is in proportion to its stretch; a crimped or freshly
    steamed strand leaves that line early, so M must be read at the tension of winding.
    t 1, M 50 gives 2.0 %. Source: DERIVED (definition of a modulus).
    """
    _check("tension_cn_per_tex", tension_cn_per_tex, least=0.0)
    _check("modulus_cn_per_tex", modulus_cn_per_tex, above=0.0)
    return tension_cn_per_tex / modulus_cn_per_tex


def relaxed_length_m(length_m: float, strain_frac: float, recovery_frac: float) -> float:
    """Length that a wound length has once it has relaxed.

    Parameters
    ----------
    length_m : float
        Length as wound, under tension [m].
    strain_frac : float
        Winding stretch [-].
    recovery_frac : float
        Share of that stretch that comes back [-], 0 to 1; 1 is purely elastic.

    Returns
    -------
    float
        Relaxed length [m].

    Raises
    ------
    BadInput
        If a value is out of its range.

    Notes
    -----
    L_relaxed = L_wound (1 + eps (1 - q)) / (1 + eps). Source: DERIVED.
    """
    _check("length_m", length_m, least=0.0)
    return length_m * _relaxed_over_wound(strain_frac, recovery_frac)


def wound_length_m(length_m: float, strain_frac: float, recovery_frac: float) -> float:
    """Length under tension of which a relaxed length is wound.

    Parameters
    ----------
    length_m : float
        Relaxed length [m].
    strain_frac : float
        Winding stretch [-].
    recovery_frac : float
        Share of that stretch that comes back [-], 0 to 1.

    Returns
    -------
    float
        Wound length [m].

    Raises
    ------
    BadInput
        If a value is out of its range.

    Notes
    -----
    The inverse of `relaxed_length_m`. Source: DERIVED.
    """
    _check("length_m", length_m, least=0.0)
    return length_m / _relaxed_over_wound(strain_frac, recovery_frac)


def relaxed_count_tex(
    unstretched_count_tex: float, strain_frac: float, recovery_frac: float
) -> float:
    """Count of the strand after winding and relaxing.

    Parameters
    ----------
    unstretched_count_tex : float
        Count before the winder pulls [tex].
    strain_frac : float
        Winding stretch [-].
    recovery_frac : float
        Share of that stretch that comes back [-], 0 to 1.

    Returns
    -------
    float
        Relaxed count [tex]; finer than before by the stretch that stays.

    Raises
    ------
    BadInput
        If a value is out of its range.

    Notes
    -----
    T_relaxed = T / (1 + eps (1 - q)): mass stays, length has grown. Source: DERIVED.
    """
    _check("unstretched_count_tex", unstretched_count_tex, above=0.0)
    _check_stretch(strain_frac, recovery_frac)
    return unstretched_count_tex / (1.0 + strain_frac * (1.0 - recovery_frac))


def wound_count_tex(unstretched_count_tex: float, strain_frac: float) -> float:
    """Count of the strand as it lies on the ball, under tension.

    Parameters
    ----------
    unstretched_count_tex : float
        Count before the winder pulls [tex].
    strain_frac : float
        Winding stretch [-].

    Returns
    -------
    float
        Count under tension [tex].

    Raises
    ------
    BadInput
        If a value is out of its range.

    Notes
    -----
    T_wound = T / (1 + eps). Source: DERIVED.
    """
    _check("unstretched_count_tex", unstretched_count_tex, above=0.0)
    _check("strain_frac", strain_frac, least=0.0)
    return unstretched_count_tex / (1.0 + strain_frac)


def tension_for_count(
    unstretched_count_tex: float,
    wanted_count_tex: float,
    modulus_cn_per_tex: float,
    recovery_frac: float,
    most_cn_per_tex: float,
) -> TensionAnswer:
    """Tension that brings the relaxed count to a wanted value.

    Parameters
    ----------
    unstretched_count_tex : float
        Count before the winder pulls [tex].
    wanted_count_tex : float
        Relaxed count wanted [tex].
    modulus_cn_per_tex : float
        Modulus of the strand at the small stretch of winding [cN/tex].
    recovery_frac : float
        Share of the winding stretch that comes back [-], 0 to 1.
    most_cn_per_tex : float
        Highest specific tension that may be proposed [cN/tex].

    Returns
    -------
    TensionAnswer
        The specific tension, or None with the reason.

    Raises
    ------
    BadInput
        If a value is out of its range.

    Notes
    -----
    eps = (T / T_wanted - 1) / (1 - q), t = M eps. Winding can only make the relaxed strand finer,
    and only by the stretch that does not come back. Source: DERIVED.
    """
    _check("unstretched_count_tex", unstretched_count_tex, above=0.0)
    _check("wanted_count_tex", wanted_count_tex, above=0.0)
    _check("modulus_cn_per_tex", modulus_cn_per_tex, above=0.0)
    _check("recovery_frac", recovery_frac, least=0.0, most=1.0)
    _check("most_cn_per_tex", most_cn_per_tex, least=0.0)
    lasting = unstretched_count_tex / wanted_count_tex - 1.0
    if lasting == 0.0:
        return TensionAnswer(0.0)
    if lasting < 0.0:
        return TensionAnswer(
            None,
            say("the wanted count is thicker than the strand that arrives; pulling only thins it"),
        )
    if recovery_frac == 1.0:
        return TensionAnswer(
            None, say("all of the stretch comes back, so tension does not change the relaxed count")
        )
    tension = modulus_cn_per_tex * lasting / (1.0 - recovery_frac)
    if tension > most_cn_per_tex:
        return TensionAnswer(
            None,
            say(
                "it would take {tension:.3g} cN/tex, above the limit of {most:.3g} cN/tex",
                tension=tension,
                most=most_cn_per_tex,
            ),
        )
    return TensionAnswer(tension)


def winding_stress_kpa(
    tension_cn: float, packed_area_mm2: float, angle_of_wind_deg: float = 0.0
) -> float:
    """Hoop stress that a strand under tension brings into the ball.

    Parameters
    ----------
    tension_cn : float
        Tension of the strand [cN].
    packed_area_mm2 : float
        Cross-section that the strand takes up in the ball, with its air [mm2]: count over packed
        density.
    angle_of_wind_deg : float
        Angle of the laid strand from the circumference [deg], 0 to below 90.

    Returns
    -------
    float
        Winding stress [kPa].

    Raises
    ------
    BadInput
        If a value is out of its range.

    Notes
    -----
    s_w = F cos2(angle) / A: one cosine turns the force into the hoop direction, the other one
    spreads it over the slanting cut. Source: DERIVED.
    """
    _check("tension_cn", tension_cn, least=0.0)
    _check("packed_area_mm2", packed_area_mm2, above=0.0)
    return _KPA_PER_CN_MM2 * tension_cn / packed_area_mm2 * _cosine(angle_of_wind_deg) ** 2


def hoop_modulus_kpa(
    modulus_cn_per_tex: float,
    count_tex: float,
    packed_area_mm2: float,
    angle_of_wind_deg: float = 0.0,
) -> float:
    """Hoop modulus of the ball that follows from the strand's own modulus.

    Parameters
    ----------
    modulus_cn_per_tex : float
        Modulus of the strand at the small stretch of winding [cN/tex].
    count_tex : float
        Count of the strand [tex].
    packed_area_mm2 : float
        Cross-section that the strand takes up in the ball, with its air [mm2].
    angle_of_wind_deg : float
        Angle of the laid strand from the circumference [deg], 0 to below 90.

    Returns
    -------
    float
        Hoop modulus [kPa].

    Raises
    ------
    BadInput
        If a value is out of its range.

    Notes
    -----
    E_t = M T cos4(angle) / A: stretch along a slanting strand is cos2 of the hoop stretch, and its
    stress counts by cos2 again; the pack between the strands is left out. Source: DERIVED.
    """
    _check("modulus_cn_per_tex", modulus_cn_per_tex, above=0.0)
    _check("count_tex", count_tex, above=0.0)
    _check("packed_area_mm2", packed_area_mm2, above=0.0)
    stiffness_cn = modulus_cn_per_tex * count_tex
    return _KPA_PER_CN_MM2 * stiffness_cn / packed_area_mm2 * _cosine(angle_of_wind_deg) ** 4


def _relaxed_over_wound(strain_frac: float, recovery_frac: float) -> float:
    _check_stretch(strain_frac, recovery_frac)
    return (1.0 + strain_frac * (1.0 - recovery_frac)) / (1.0 + strain_frac)


def _check_stretch(strain_frac: float, recovery_frac: float) -> None:
    _check("strain_frac", strain_frac, least=0.0)
    _check("recovery_frac", recovery_frac, least=0.0, most=1.0)


def _cosine(angle_of_wind_deg: float) -> float:
    if not 0.0 <= angle_of_wind_deg < 90.0:
        raise BadInput(
            Fault(
                say("not an angle of wind"),
                expected=say("0 to below 90 degrees from the circumference"),
                key="angle_of_wind_deg",
                value=str(angle_of_wind_deg),
            )
        )
    return math.cos(math.radians(angle_of_wind_deg))


def _check(
    key: str,
    value: float,
    *,
    least: float | None = None,
    above: float | None = None,
    most: float = math.inf,
) -> None:
    low_ok = (least is None or value >= least) and (above is None or value > above)
    if math.isfinite(value) and low_ok and value <= most:
        return
    if above is not None:
        expected = (
            say("a number above {above:g}", above=above)
            if most == math.inf
            else say("a number above {above:g} and {most:g} or less", above=above, most=most)
        )
    else:
        expected = (
            say("a number {least:g} or more", least=least)
            if most == math.inf
            else say("a number {least:g} or more and {most:g} or less", least=least, most=most)
        )
    raise BadInput(
        Fault(
            say("out of range"),
            expected=expected,
            key=key,
            value=str(value),
        )
    )
