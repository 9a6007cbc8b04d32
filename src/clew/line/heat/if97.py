"""Regions 1, 2 and 4 of the IAPWS Industrial Formulation 1997, in its own units: K and MPa.

Region 1 is liquid water, region 2 is steam, region 4 is the line between them. The coefficients are
those of Tables 2, 10, 11 and 34 of the release; the tests hold them to its Tables 5, 15, 35 and 36.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

GAS_CONSTANT_KJ_PER_KG_K = 0.461526
"""Specific gas constant of water in the formulation [kJ/(kg K)]."""


@dataclass(frozen=True, slots=True)
class WaterState:
    """Water at a temperature and a pressure.

    Attributes
    ----------
    volume_m3_per_kg : float
        Specific volume [m3/kg].
    enthalpy_kj_per_kg : float
        Specific enthalpy [kJ/kg].
    entropy_kj_per_kg_k : float
        Specific entropy [kJ/(kg K)].
    """

    volume_m3_per_kg: float
    enthalpy_kj_per_kg: float
    entropy_kj_per_kg_k: float


_I1 = (0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 3, 3, 3, 4, 4, 4, 5, 8, 8, 21, 23,
       29, 30, 31, 32)  # fmt: skip
_J1 = (-2, -1, 0, 1, 2, 3, 4, 5, -9, -7, -1, 0, 1, 3, -3, 0, 1, 3, 17, -4, 0, 6, -5, -2, 10, -8,
       -11, -6, -29, -31, -38, -39, -40, -41)  # fmt: skip
_N1 = (
    0.14632971213167, -0.84548187169114, -3.7563603672040, 3.3855169168385, -0.95791963387872,
    0.15772038513228, -0.16616417199501e-1, 0.81214629983568e-3, 0.28319080123804e-3,
    -0.60706301565874e-3, -0.18990068218419e-1, -0.32529748770505e-1, -0.21841717175414e-1,
    -0.52838357969930e-4, -0.47184321073267e-3, -0.30001780793026e-3, 0.47661393906987e-4,
    -0.44141845330846e-5, -0.72694996297594e-15, -0.31679644845054e-4, -0.28270797985312e-5,
    -0.85205128120103e-9, -0.22425281908000e-5, -0.65171222895601e-6, -0.14341729937924e-12,
    -0.40516996860117e-6, -0.12734301741641e-8, -0.17424871230634e-9, -0.68762131295531e-18,
    0.14478307828521e-19, 0.26335781662795e-22, -0.11947622640071e-22, 0.18228094581404e-23,
    -0.93537087292458e-25,
)  # fmt: skip
_J0 = (0, 1, -5, -4, -3, -2, -1, 2, 3)
_N0 = (
    -9.6927686500217, 10.086655968018, -0.56087911283020e-2, 0.71452738081455e-1,
    -0.40710498223928, 1.4240819171444, -4.3839511319450, -0.28408632460772,
    0.21268463753307e-1,
)  # fmt: skip
_I2 = (1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 3, 3, 3, 3, 3, 4, 4, 4, 5, 6, 6, 6, 7, 7, 7, 8, 8, 9, 10, 10,
       10, 16, 16, 18, 20, 20, 20, 21, 22, 23, 24, 24, 24)  # fmt: skip
_J2 = (0, 1, 2, 3, 6, 1, 2, 4, 7, 36, 0, 1, 3, 6, 35, 1, 2, 3, 7, 3, 16, 35, 0, 11, 25, 8, 36, 13,
       4, 10, 14, 29, 50, 57, 20, 35, 48, 21, 53, 39, 26, 40, 58)  # fmt: skip
_N2 = (
    -0.17731742473213e-2, -0.17834862292358e-1, -0.45996013696365e-1, -0.57581259083432e-1,
    -0.50325278727930e-1, -0.33032641670203e-4, -0.18948987516315e-3, -0.39392777243355e-2,
    -0.43797295650573e-1, -0.26674547914087e-4, 0.20481737692309e-7, 0.43870667284435e-6,
    -0.32277677238570e-4, -0.15033924542148e-2, -0.40668253562649e-1, -0.78847309559367e-9,
    0.12790717852285e-7, 0.48225372718507e-6, 0.22922076337661e-5, -0.16714766451061e-10,
    -0.21171472321355e-2, -23.895741934104, -0.59059564324270e-17, -0.12621808899101e-5,
    -0.38946842435739e-1, 0.11256211360459e-10, -8.2311340897998, 0.19809712802088e-7,
    0.10406965210174e-18, -0.10234747095929e-12, -0.10018179379511e-8, -0.80882908646985e-10,
    0.10693031879409, -0.33662250574171, 0.89185845355421e-24, 0.30629316876232e-12,
    -0.42002467698208e-5, -0.59056029685639e-25, 0.37826947613457e-5, -0.12768608934681e-14,
    0.73087610595061e-28, 0.55414715350778e-16, -0.94369707241210e-6,
)  # fmt: skip
_N4 = (
    1167.0521452767, -724213.16703206, -17.073846940092, 12020.824702470, -3232555.0322333,
    14.915108613530, -4823.2657361591, 405113.40542057, -0.23855557567849, 650.17534844798,
)  # fmt: skip


def liquid(temperature_k: float, pressure_mpa: float) -> WaterState:
    """Find the state of liquid water (region 1).

    Parameters
    ----------
    temperature_k : float
        Temperature, 273.15 to 623.15 [K].
    pressure_mpa : float
        Absolute pressure, from saturation to 100 [MPa].

    Returns
    -------
    WaterState
        Volume, enthalpy, entropy.

    Notes
    -----
    Source: IAPWS R7-97(2012), Eq. 7 (coefficients READ in public copies that agree; the release
    itself was not opened). Limits are the caller's to keep.
    """
    pi, tau = pressure_mpa / 16.53, 1386.0 / temperature_k
    a, b = 7.1 - pi, tau - 1.222
    gamma = gamma_pi = gamma_tau = 0.0
    for i, j, n in zip(_I1, _J1, _N1, strict=True):
        gamma += n * a**i * b**j
        gamma_pi -= n * i * a ** (i - 1) * b**j
        gamma_tau += n * a**i * j * b ** (j - 1)
    return _state(temperature_k, pressure_mpa, (pi, tau), (gamma, gamma_pi, gamma_tau))


def steam(temperature_k: float, pressure_mpa: float) -> WaterState:
    """Find the state of steam (region 2).

    Parameters
    ----------
    temperature_k : float
        Temperature, 273.15 to 1073.15 [K].
    pressure_mpa : float
        Absolute pressure, above 0 and at most that of saturation [MPa].

    Returns
    -------
    WaterState
        Volume, enthalpy, entropy.

    Notes
    -----
    Source: IAPWS R7-97(2012), Eq. 15 to 17 (coefficients READ in public copies that agree; the
    release itself was not opened). Limits are the caller's to keep.
    """
    pi, tau = pressure_mpa, 540.0 / temperature_k
    b = tau - 0.5
    gamma, gamma_pi, gamma_tau = math.log(pi), 1.0 / pi, 0.0
    for j, n in zip(_J0, _N0, strict=True):
        gamma += n * tau**j
        gamma_tau += n * j * tau ** (j - 1)
    for i, j, n in zip(_I2, _J2, _N2, strict=True):
        gamma += n * pi**i * b**j
        gamma_pi += n * i * pi ** (i - 1) * b**j
        gamma_tau += n * pi**i * j * b ** (j - 1)
    return _state(temperature_k, pressure_mpa, (pi, tau), (gamma, gamma_pi, gamma_tau))


def _state(
    temperature_k: float,
    pressure_mpa: float,
    reduced: tuple[float, float],
    gibbs: tuple[float, float, float],
) -> WaterState:
    pi, tau = reduced
    gamma, gamma_pi, gamma_tau = gibbs
    scale = GAS_CONSTANT_KJ_PER_KG_K * temperature_k
    return WaterState(
        volume_m3_per_kg=scale * pi * gamma_pi / (1000.0 * pressure_mpa),
        enthalpy_kj_per_kg=scale * tau * gamma_tau,
        entropy_kj_per_kg_k=GAS_CONSTANT_KJ_PER_KG_K * (tau * gamma_tau - gamma),
    )


def saturation_pressure_mpa(temperature_k: float) -> float:
    """Find the pressure at which water boils at a temperature (region 4).

    Parameters
    ----------
    temperature_k : float
        Temperature, 273.15 to 647.096 [K].

    Returns
    -------
    float
        Absolute pressure [MPa].

    Notes
    -----
    Source: IAPWS R7-97(2012), Eq. 30 (MEMORY, and READ in public copies that agree).
    """
    a, b, c = _saturation_line(temperature_k)
    root: float = 2.0 * c / (-b + math.sqrt(b * b - 4.0 * a * c))
    return root**4


def saturation_pressures_mpa(temperatures_k: NDArray[np.float64]) -> NDArray[np.float64]:
    """Find the pressures at which water boils at many temperatures (region 4).

    Parameters
    ----------
    temperatures_k : array of float
        Temperatures, 273.15 to 647.096 [K].

    Returns
    -------
    array of float
        Absolute pressures [MPa].

    Notes
    -----
    Source: as `saturation_pressure_mpa`.
    """
    a, b, c = _saturation_line(temperatures_k)
    root: NDArray[np.float64] = 2.0 * c / (-b + (b * b - 4.0 * a * c) ** 0.5)
    square = root * root
    return square * square


def _saturation_line(temperature_k: Any) -> tuple[Any, Any, Any]:
    """Coefficients of the quadratic for the fourth root of the pressure."""
    theta = temperature_k + _N4[8] / (temperature_k - _N4[9])
    a = theta * theta + _N4[0] * theta + _N4[1]
    b = _N4[2] * theta * theta + _N4[3] * theta + _N4[4]
    c = _N4[5] * theta * theta + _N4[6] * theta + _N4[7]
    return a, b, c


def saturation_temperature_k(pressure_mpa: float) -> float:
    """Find the temperature at which water boils at a pressure (region 4).

    Parameters
    ----------
    pressure_mpa : float
        Absolute pressure, 0.000611213 to 22.064 [MPa].

    Returns
    -------
    float
        Temperature [K].

    Notes
    -----
    Source: IAPWS R7-97(2012), Eq. 31 (MEMORY, and READ in public copies that agree).
    """
    beta: float = pressure_mpa**0.25
    e = beta * beta + _N4[2] * beta + _N4[5]
    f = _N4[0] * beta * beta + _N4[3] * beta + _N4[6]
    g = _N4[1] * beta * beta + _N4[4] * beta + _N4[7]
    d = 2.0 * g / (-f - math.sqrt(f * f - 4.0 * e * g))
    return (_N4[9] + d - math.sqrt((_N4[9] + d) ** 2 - 4.0 * (_N4[8] + _N4[9] * d))) / 2.0
