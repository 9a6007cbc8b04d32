"""Air with water vapour in it: humidity, enthalpy, wet bulb, dew point; impossible states refused.

Everything is per kilogram of *dry* air. Above 95 °C a relative humidity is not taken: half
saturation at 150 °C would need more vapour than there is room for at one atmosphere.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from clew.faults import BadInput, Fault
from clew.languages import figure, say
from clew.line.heat.crossing import crossing
from clew.line.heat.water import ATMOSPHERE_KPA, boiling_c, vapour_pressure_kpa

MOLAR_RATIO = 0.621945
"""Molar mass of water over that of dry air [1]."""
ENHANCEMENT = 1.0045
"""How much more vapour saturated air holds than the vapour pressure says, near one atmosphere [1].

Source: one constant in place of a table; W_s then within 0.15 % of the ASHRAE table from 25 to
85 °C instead of 1.2 % (COMPUTED).
"""
HOTTEST_FOR_HUMIDITY_C = 95.0
_COLDEST_C, _HOTTEST_C = 0.0, 250.0


@dataclass(frozen=True, slots=True)
class MoistAir:
    """Air at a temperature with its water.

    Attributes
    ----------
    temperature_c : float
        Dry-bulb temperature [°C].
    humidity_kg_per_kg : float
        Water vapour on dry air [kg/kg].
    pressure_kpa : float
        Pressure of air and vapour together [kPa].
    """

    temperature_c: float
    humidity_kg_per_kg: float
    pressure_kpa: float = ATMOSPHERE_KPA

    def __post_init__(self) -> None:
        faults = []
        if not _COLDEST_C <= self.temperature_c <= _HOTTEST_C:
            faults.append(
                Fault(
                    say("air that is not covered"),
                    say(
                        "{low:g} to {high}",
                        low=_COLDEST_C,
                        high=figure(f"{_HOTTEST_C:g} °C"),
                    ),
                    key="air temperature",
                    value=f"{self.temperature_c:g} °C",
                )
            )
        if not 30.0 <= self.pressure_kpa <= 120.0:
            faults.append(
                Fault(
                    say("an air pressure that cannot be meant"),
                    say("30 to 120 kPa, absolute"),
                    key="air pressure",
                    value=f"{self.pressure_kpa:g} kPa",
                )
            )
        if not 0.0 <= self.humidity_kg_per_kg < float("inf"):
            faults.append(
                Fault(
                    say("a humidity that cannot be meant"),
                    say("0 or more kg of vapour a kg of dry air"),
                    key="humidity",
                    value=f"{self.humidity_kg_per_kg:g}",
                )
            )
        if faults:
            raise BadInput(faults)
        most = saturated_humidity(self.temperature_c, self.pressure_kpa)
        if self.humidity_kg_per_kg > most * (1.0 + 1e-9):
            raise BadInput(
                Fault(
                    say("more vapour than air of that temperature holds"),
                    say(
                        "at most {most:.4g} kg/kg at {temperature}",
                        most=most,
                        temperature=figure(f"{self.temperature_c:g} °C"),
                    ),
                    key="humidity",
                    value=f"{self.humidity_kg_per_kg:g} kg/kg",
                )
            )

    @property
    def vapour_kpa(self) -> float:
        """Partial pressure of the vapour [kPa]."""
        w = self.humidity_kg_per_kg
        return self.pressure_kpa * w / (MOLAR_RATIO + w)

    @property
    def relative_humidity(self) -> float:
        """Vapour pressure over that of saturation; small in hot air [1]."""
        return self.vapour_kpa / (ENHANCEMENT * vapour_pressure_kpa(self.temperature_c))

    @property
    def enthalpy_kj_per_kg(self) -> float:
        """Enthalpy of air and vapour, from dry air and liquid water at 0 °C [kJ/kg dry air]."""
        return enthalpy_kj_per_kg(self.temperature_c, self.humidity_kg_per_kg)

    @property
    def volume_m3_per_kg(self) -> float:
        """Volume of air and vapour [m3/kg dry air]."""
        kelvin = self.temperature_c + 273.15
        return 0.287042 * kelvin * (1.0 + 1.607858 * self.humidity_kg_per_kg) / self.pressure_kpa

    @property
    def density_kg_per_m3(self) -> float:
        """Mass of air and vapour in a cubic metre [kg/m3]."""
        return (1.0 + self.humidity_kg_per_kg) / self.volume_m3_per_kg

    @property
    def humid_heat_kj_per_kg_k(self) -> float:
        """Heat to warm the air and its vapour by a kelvin [kJ/(K kg dry air)]."""
        return 1.006 + 1.86 * self.humidity_kg_per_kg

    @property
    def dew_point_c(self) -> float:
        """Temperature at which its vapour begins to condense [°C]; dry air is refused."""
        return boiling_c(self.vapour_kpa / ENHANCEMENT)

    @property
    def wet_bulb_c(self) -> float:
        """Temperature a wet surface takes in it [°C]."""
        return wet_bulb_c(self)


def enthalpy_kj_per_kg(temperature_c: float, humidity_kg_per_kg: float) -> float:
    """Find the enthalpy of moist air.

    Parameters
    ----------
    temperature_c : float
        Temperature [°C].
    humidity_kg_per_kg : float
        Water vapour on dry air [kg/kg].

    Returns
    -------
    float
        Enthalpy from dry air and liquid water at 0 °C [kJ/kg dry air].

    Notes
    -----
    Source: ASHRAE Handbook Fundamentals 2017, chapter 1, eq. 30 (READ in an open package).
    """
    return 1.006 * temperature_c + humidity_kg_per_kg * (2501.0 + 1.86 * temperature_c)


def saturated_humidity(temperature_c: float, pressure_kpa: float = ATMOSPHERE_KPA) -> float:
    """Find how much vapour air of a temperature can hold; infinite from about boiling on.

    Parameters
    ----------
    temperature_c : float
        Temperature, 0 to 250 [°C].
    pressure_kpa : float
        Pressure of air and vapour together [kPa].

    Returns
    -------
    float
        Water vapour on dry air [kg/kg].

    Raises
    ------
    BadInput
        When the temperature is outside the range of the vapour pressure.

    Notes
    -----
    Source: W = 0.621945 p_w/(P - p_w), ASHRAE Fundamentals 2017, eq. 20 (READ in an open package).
    """
    vapour = ENHANCEMENT * vapour_pressure_kpa(temperature_c)
    if vapour >= pressure_kpa:
        return float("inf")
    return MOLAR_RATIO * vapour / (pressure_kpa - vapour)


def air_of_vapour(
    temperature_c: float, vapour_kpa: float, pressure_kpa: float = ATMOSPHERE_KPA
) -> MoistAir:
    """Find air by the partial pressure of its vapour.

    Parameters
    ----------
    temperature_c : float
        Dry-bulb temperature [°C].
    vapour_kpa : float
        Partial pressure of the vapour [kPa].
    pressure_kpa : float
        Pressure of air and vapour together [kPa].

    Returns
    -------
    MoistAir
        The air.

    Raises
    ------
    BadInput
        When the vapour alone would fill the pressure, or the state cannot be.
    """
    if not 0.0 <= vapour_kpa < pressure_kpa:
        raise BadInput(
            Fault(
                say("a vapour pressure that leaves no room for air"),
                say("0 to below {pressure:g} kPa", pressure=pressure_kpa),
                key="vapour pressure",
                value=f"{vapour_kpa:.5g} kPa",
            )
        )
    humidity = MOLAR_RATIO * vapour_kpa / (pressure_kpa - vapour_kpa)
    return MoistAir(temperature_c, humidity, pressure_kpa)


def air_of_relative_humidity(
    temperature_c: float, relative_humidity: float, pressure_kpa: float = ATMOSPHERE_KPA
) -> MoistAir:
    """Find air by its relative humidity, up to 95 °C.

    Parameters
    ----------
    temperature_c : float
        Dry-bulb temperature, 0 to 95 [°C].
    relative_humidity : float
        Vapour pressure over that of saturation, 0 to 1 [1].
    pressure_kpa : float
        Pressure of air and vapour together [kPa].

    Returns
    -------
    MoistAir
        The air.

    Raises
    ------
    BadInput
        When the air is hotter than 95 °C, or the humidity is not a part of 1.
    """
    faults = []
    if temperature_c > HOTTEST_FOR_HUMIDITY_C:
        faults.append(
            Fault(
                say("a relative humidity of hot air"),
                say(
                    "a dew point, a wet bulb or kg/kg above {temperature}",
                    temperature=figure(f"{HOTTEST_FOR_HUMIDITY_C:g} °C"),
                ),
                key="air temperature",
                value=f"{temperature_c:g} °C",
            )
        )
    if not 0.0 <= relative_humidity <= 1.0:
        faults.append(
            Fault(say("not a part of 1"), say("0 to 100 %"), key="relative humidity",
                  value=f"{relative_humidity:g}")
        )  # fmt: skip
    if faults:
        raise BadInput(faults)
    vapour = relative_humidity * ENHANCEMENT * vapour_pressure_kpa(temperature_c)
    return air_of_vapour(temperature_c, vapour, pressure_kpa)


def air_of_dew_point(
    temperature_c: float, dew_point_c: float, pressure_kpa: float = ATMOSPHERE_KPA
) -> MoistAir:
    """Find air by its dew point.

    Parameters
    ----------
    temperature_c : float
        Dry-bulb temperature [°C].
    dew_point_c : float
        Dew point, at most the temperature [°C].
    pressure_kpa : float
        Pressure of air and vapour together [kPa].

    Returns
    -------
    MoistAir
        The air.

    Raises
    ------
    BadInput
        When the state cannot be.
    """
    return air_of_vapour(
        temperature_c, ENHANCEMENT * vapour_pressure_kpa(dew_point_c), pressure_kpa
    )


def air_of_wet_bulb(
    temperature_c: float, wet_bulb_c: float, pressure_kpa: float = ATMOSPHERE_KPA
) -> MoistAir:
    """Find air by its wet-bulb temperature.

    Parameters
    ----------
    temperature_c : float
        Dry-bulb temperature [°C].
    wet_bulb_c : float
        Wet-bulb temperature, at most the temperature [°C].
    pressure_kpa : float
        Pressure of air and vapour together [kPa].

    Returns
    -------
    MoistAir
        The air.

    Raises
    ------
    BadInput
        When the wet bulb stands above the dry one or so low that the air would be less than dry.

    Notes
    -----
    Source: ASHRAE Fundamentals 2017, chapter 1, eq. 33 (READ in an open package).
    """
    humidity = humidity_at_wet_bulb(temperature_c, wet_bulb_c, pressure_kpa)
    if wet_bulb_c > temperature_c or not 0.0 <= humidity < float("inf"):
        raise BadInput(
            Fault(
                say("a wet bulb that this air cannot show"),
                say(
                    "at most {temperature}, and not so low that the air is less than dry",
                    temperature=figure(f"{temperature_c:g} °C"),
                ),
                key="wet bulb",
                value=f"{wet_bulb_c:g} °C",
            )
        )
    return MoistAir(temperature_c, humidity, pressure_kpa)


def humidity_at_wet_bulb(
    temperature_c: float, wet_bulb_c: float, pressure_kpa: float = ATMOSPHERE_KPA
) -> float:
    """Find the humidity of air by its wet bulb; arguments and source as `air_of_wet_bulb`.

    Returns
    -------
    float
        Water vapour on dry air; below 0 or above saturation where such air cannot be [kg/kg].

    Raises
    ------
    BadInput
        When the wet bulb is outside the range of the vapour pressure.
    """
    saturated = saturated_humidity(wet_bulb_c, pressure_kpa)
    dry, wet = temperature_c, wet_bulb_c
    return ((2501.0 - 2.326 * wet) * saturated - 1.006 * (dry - wet)) / (
        2501.0 + 1.86 * dry - 4.186 * wet
    )


@lru_cache(maxsize=64)
def wet_bulb_c(air: MoistAir) -> float:
    """Find the temperature a wet surface takes in air.

    Parameters
    ----------
    air : MoistAir
        The air.

    Returns
    -------
    float
        Thermodynamic wet-bulb temperature [°C].

    Raises
    ------
    BadInput
        When the air is so cold and dry that its wet bulb would freeze.

    Notes
    -----
    Validity: wet bulb of 0 °C or more. Source: ASHRAE Fundamentals 2017, eq. 33, solved for t*.
    """
    dry, w = air.temperature_c, air.humidity_kg_per_kg
    low, high = 0.0, min(dry, boiling_c(air.pressure_kpa / ENHANCEMENT) - 1e-3)
    if humidity_at_wet_bulb(dry, low, air.pressure_kpa) > w:
        raise BadInput(
            Fault(
                say("air whose wet bulb would freeze"),
                say("warmer or damper air"),
                key="air temperature",
            )
        )
    return crossing(
        lambda wet: humidity_at_wet_bulb(dry, wet, air.pressure_kpa) - w,
        low,
        high,
        1e-9,
    )
