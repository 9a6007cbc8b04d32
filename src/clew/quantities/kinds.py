"""Kinds of quantity and the units they may be written in.

Inside Clew a quantity is a plain number in one fixed unit per kind; this table says which, and
what may stand at the edge.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from clew.languages import figure, say
from clew.quantities.count import GRAIN_G, POUND_G, YARD_M

GRAVITY_M_S2 = 9.80665
"""Standard acceleration of gravity [m/s2], exact by convention."""


@dataclass(frozen=True)
class Kind:
    """A kind of quantity.

    Attributes
    ----------
    name : str
        What it is called in a message.
    one : str
        The same with its article, as it begins a sentence: ``a length``.
    inside : str
        Unit used inside Clew.
    units : dict of str to float
        Inside units in one of each unit, keyed by how the unit is written.
    example : str
        How a person may write one.
    low, high : float
        Smallest and largest value that can be meant, in inside units.
    offsets : dict of str to float
        For temperatures: what is added, after scaling, to reach the inside unit.
    metric, yard : str
        Unit used for printing in either system.
    """

    name: str
    one: str
    inside: str
    units: dict[str, float]
    example: str
    low: float = 0.0
    high: float = math.inf
    offsets: dict[str, float] = field(default_factory=dict)
    metric: str = ""
    yard: str = ""


def either(first: str, second: str) -> str:
    """Name two examples of a quantity, each a number with its unit."""
    return say("{first} or {second}", first=figure(first), second=figure(second))


_OZ_G = POUND_G / 16
_INCH_M = YARD_M / 36
_GF_CN = GRAVITY_M_S2 / 10

MASS = Kind(
    say("mass"),
    say("a mass"),
    "g",
    {
        "g": 1.0,
        "kg": 1000.0,
        "mg": 0.001,
        "t": 1.0e6,
        "oz": _OZ_G,
        "lb": POUND_G,
        "lbs": POUND_G,
        "gr": GRAIN_G,
    },
    either("200 g", "7.05 oz"),
    metric="g",
    yard="oz",
)
LENGTH = Kind(
    say("length"),
    say("a length"),
    "m",
    {
        "m": 1.0,
        "km": 1000.0,
        "cm": 0.01,
        "mm": 0.001,
        "yd": YARD_M,
        "yds": YARD_M,
        "ft": YARD_M / 3,
        "in": _INCH_M,
    },
    either("330 m", "361 yd"),
    metric="m",
    yard="yd",
)
FRACTION = Kind(
    say("fraction"),
    say("a fraction"),
    "1",
    {"%": 0.01, "percent": 0.01, "‰": 0.001},
    figure("20 %"),
    high=1.0,
    metric="%",
    yard="%",
)
GAIN = Kind(
    say("addition"),
    say("an addition"),
    "1",
    {"%": 0.01, "percent": 0.01, "‰": 0.001},
    figure("18.25 %"),
    high=1.5,
    metric="%",
    yard="%",
)
TEMPERATURE = Kind(
    say("temperature"),
    say("a temperature"),
    "°C",
    {"°C": 1.0, "C": 1.0, "degC": 1.0, "°F": 5 / 9, "F": 5 / 9, "degF": 5 / 9, "K": 1.0},
    either("85 °C", "185 °F"),
    low=-273.15,
    high=1000.0,
    offsets={"°F": -160 / 9, "F": -160 / 9, "degF": -160 / 9, "K": -273.15},
    metric="°C",
    yard="°F",
)
TIME = Kind(
    say("time"),
    say("a time"),
    "s",
    {"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0},
    either("40 s", "8 h"),
    metric="s",
    yard="s",
)
SPEED = Kind(
    say("speed"),
    say("a speed"),
    "m/s",
    {"m/s": 1.0, "m/min": 1 / 60, "mm/s": 0.001, "ft/min": YARD_M / 180, "yd/min": YARD_M / 60},
    either("300 m/min", "328 yd/min"),
    metric="m/min",
    yard="yd/min",
)
DENSITY = Kind(
    say("density"),
    say("a density"),
    "kg/m3",
    {
        "kg/m3": 1.0,
        "kg/m³": 1.0,
        "g/cm3": 1000.0,
        "g/cm³": 1000.0,
        "lb/ft3": POUND_G / 1000 / (YARD_M / 3) ** 3,
    },
    either("120 kg/m3", "0.12 g/cm3"),
    high=25000.0,
    metric="kg/m3",
    yard="lb/ft3",
)
FORCE = Kind(
    say("force"),
    say("a force"),
    "cN",
    {"cN": 1.0, "N": 100.0, "mN": 0.1, "gf": _GF_CN, "ozf": _GF_CN * _OZ_G},
    either("8 cN", "8 gf"),
    metric="cN",
    yard="gf",
)
TENACITY = Kind(
    say("specific force"),
    say("a specific force"),
    "cN/tex",
    {"cN/tex": 1.0, "N/tex": 100.0, "mN/tex": 0.1, "gf/den": _GF_CN * 9, "gf/tex": _GF_CN},
    figure("45 cN/tex"),
    metric="cN/tex",
    yard="gf/den",
)
PRESSURE = Kind(
    say("pressure"),
    say("a pressure"),
    "kPa",
    {
        "kPa": 1.0,
        "Pa": 0.001,
        "MPa": 1000.0,
        "bar": 100.0,
        "mbar": 0.1,
        "psi": POUND_G * GRAVITY_M_S2 / 1000 / _INCH_M**2 / 1000,
    },
    either("20 kPa", "0.2 bar"),
    metric="kPa",
    yard="psi",
)
ANGLE = Kind(
    say("angle"),
    say("an angle"),
    "°",
    {"°": 1.0, "deg": 1.0, "rad": 180 / math.pi},
    figure("35°"),
    low=-180.0,
    high=360.0,
    metric="°",
    yard="°",
)
PER_LENGTH = Kind(
    say("rate per length"),
    say("a rate per length"),
    "/km",
    {
        "/km": 1.0,
        "per km": 1.0,
        "/100 km": 0.01,
        "per 100 km": 0.01,
        "/m": 1000.0,
        "per m": 1000.0,
        "/1000 yd": 1 / YARD_M,
        "per 1000 yd": 1 / YARD_M,
    },
    figure("0.4 /km"),
    metric="/km",
    yard="/1000 yd",
)
TWIST = Kind(
    say("twist"),
    say("a twist"),
    "turns/m",
    {"turns/m": 1.0, "/m": 1.0, "tpm": 1.0, "turns/in": 1 / _INCH_M, "tpi": 1 / _INCH_M},
    either("180 turns/m", "4.6 tpi"),
    metric="turns/m",
    yard="tpi",
)
NOISE = Kind(
    say("noise level"),
    say("a noise level"),
    "dB(A)",
    {"dB(A)": 1.0, "dBA": 1.0, "dB": 1.0},
    figure("84 dB(A)"),
    high=150.0,
    metric="dB(A)",
    yard="dB(A)",
)

KINDS: tuple[Kind, ...] = (
    MASS,
    LENGTH,
    FRACTION,
    GAIN,
    TEMPERATURE,
    TIME,
    SPEED,
    DENSITY,
    FORCE,
    TENACITY,
    PRESSURE,
    ANGLE,
    PER_LENGTH,
    TWIST,
    NOISE,
)
"""Every kind, for tests and for the manual."""
