"""How sure the net mass of one ball is, from the scale, the tare, the water and the air."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.checks.instruments.budget import Array, Input, Model
from clew.checks.instruments.check_weights import CorrectionLine
from clew.checks.instruments.distributions import Law, normal, rectangular, student_t
from clew.faults import BadInput, Fault

AIR_KG_M3 = 1.2
"""Air that conventional mass is stated in. Source: OIML D 28 (MEMORY)."""

WEIGHTS_KG_M3 = 8000.0
"""Density of the weights of conventional mass. Source: OIML D 28 (MEMORY)."""

AIR_HALF_WIDTH_KG_M3 = 0.1
"""How far air may stand from that: 1.1 to 1.3, as in JCGM 101:2008, 9.3 (READ)."""


@dataclass(frozen=True, slots=True)
class Scale:
    """What is known of a scale.

    Attributes
    ----------
    sd_g : float
        Standard deviation of one reading of the same ball [g].
    sd_df : float
        Degrees of freedom it rests on [1]; inf where it is taken as known.
    division_g : float
        Smallest step it shows [g].
    linearity_g : float
        Largest error over its range, either way [g].
    eccentricity_g : float
        Largest error off the middle of its pan, either way [g].
    """

    sd_g: float
    sd_df: float = math.inf
    division_g: float = 0.0
    linearity_g: float = 0.0
    eccentricity_g: float = 0.0


@dataclass(frozen=True, slots=True)
class TareKnown:
    """What is known of core, band and bag together.

    Attributes
    ----------
    mean_g, sd_g : float
        Mean of the tares weighed, and their standard deviation [g].
    weighed : int
        How many; 0 where mean and standard deviation are known by other means.
    """

    mean_g: float = 0.0
    sd_g: float = 0.0
    weighed: int = 0


@dataclass(frozen=True, slots=True)
class Water:
    """Regain of the ball, and the regain its mass is stated at.

    Attributes
    ----------
    regain_frac, sd_frac : float
        Regain as it is weighed, and its standard uncertainty [1].
    stated_frac : float
        Regain the mass is stated at [1].
    """

    regain_frac: float
    sd_frac: float
    stated_frac: float


@dataclass(frozen=True, slots=True)
class MassModel:
    """The measurement of one ball's net mass.

    Attributes
    ----------
    model : callable
        Net mass [g] from the inputs.
    inputs : tuple of Input
        What it rests on.
    words, condition : str
        The model in words, and the condition that mass is stated at.
    air_words : str
        What air does, in words.
    """

    model: Model
    inputs: tuple[Input, ...]
    words: str
    condition: str
    air_words: str


def mass_model(
    net_g: float,
    scale: Scale,
    tare: TareKnown,
    *,
    water: Water | None = None,
    density_kg_m3: float | None = None,
    standards: CorrectionLine | None = None,
) -> MassModel:
    """Write down the measurement of one ball's net mass.

    Parameters
    ----------
    net_g : float
        Net mass as weighed, about which the budget is made [g].
    scale : Scale
        The scale.
    tare : TareKnown
        Core, band and bag; a mean taken for all balls, so that each ball's own differs from it.
    water : Water or None
        Regain and the stated one; None states the mass as weighed, and water is left out.
    density_kg_m3 : float or None
        Density of the fibre without air between the fibres [kg/m3]; None leaves buoyancy out.
    standards : CorrectionLine or None
        Corrections found with check weights. Gross and tare stand on the same scale, so that the
        intercept falls out and the slope times the net mass is left.

    Returns
    -------
    MassModel
        Model and inputs for `make_budget` and `propagate`.

    Raises
    ------
    BadInput
        For a mass or density that is not more than 0, or a doubt below 0.

    Notes
    -----
    m = (G + e - T) (1 + b) B (1 + R_stated)/(1 + R), b the slope of the corrections. B holds the
    air: a scale adjusted with weights of density rho_c in the air of the day shows
    m_true (1 - rho_a/rho_y)/(1 - rho_a/rho_c), and conventional mass is what it would show in air
    of 1.2 kg/m3, so

    B = (1 - rho_a/rho_c)(1 - 1.2/rho_y) / ((1 - rho_a/rho_y)(1 - 1.2/rho_c)).

    Buoyancy acts on the volume of the fibre alone: air between the fibres floats in air. Source:
    definition of conventional mass (OIML D 28, MEMORY); the rest DERIVED. Rounding: half a division
    either way for the load and half of that for the zero (zero setting within a quarter of a
    division, OIML R 76, MEMORY).
    """
    if not (math.isfinite(net_g) and net_g > 0.0):
        raise BadInput(Fault("a net mass", "more than 0", value=f"{net_g:g} g"))
    if tare.weighed < 0 or tare.weighed == 1:
        raise BadInput(Fault("a spread of tares", "two tares or more", value=str(tare.weighed)))
    inputs = [
        Input("gross", "reading: one ball again and again", "g", _reading(net_g, scale, tare)),
        Input("load_step", "division, at the load", "g", rectangular(0.0, scale.division_g / 2)),
        Input("zero_step", "division, at zero", "g", rectangular(0.0, scale.division_g / 4)),
        Input("linearity", "error of the scale over its range", "g",
              rectangular(0.0, scale.linearity_g)),
        Input("eccentricity", "ball off the middle of the pan", "g",
              rectangular(0.0, scale.eccentricity_g)),
        Input("tare", "tare of this ball, from the mean of tares", "g", _tare(tare)),
    ]  # fmt: skip
    if standards is not None:
        inputs.append(
            Input("slope", "slope of the scale, from check weights", "1",
                  student_t(standards.slope, standards.slope_u, float(standards.df)))
        )  # fmt: skip
    words, condition = "gross − tare", "as weighed"
    if water is not None:
        condition = f"at {100 * water.stated_frac:.4g} % regain"
        words = f"(gross − tare) × (1 + {100 * water.stated_frac:.4g} %) / (1 + regain)"
        inputs.append(
            Input("regain", "regain of the ball", "1", normal(water.regain_frac, water.sd_frac))
        )
    air_words = "Air is left out: the density of the fibre is not known."
    if density_kg_m3 is not None:
        if not density_kg_m3 > AIR_KG_M3:
            raise BadInput(
                Fault("a density of fibre", "such as 1310 kg/m3", value=f"{density_kg_m3:g} kg/m3")
            )
        inputs.append(
            Input("air", "density of the air", "kg/m3",
                  rectangular(AIR_KG_M3, AIR_HALF_WIDTH_KG_M3))
        )  # fmt: skip
        air_words = _air_words(net_g, density_kg_m3)

    def model(
        gross: Array | float,
        load_step: Array | float = 0.0,
        zero_step: Array | float = 0.0,
        linearity: Array | float = 0.0,
        eccentricity: Array | float = 0.0,
        tare: Array | float = 0.0,
        slope: Array | float = 0.0,
        regain: Array | float = 0.0,
        air: Array | float = AIR_KG_M3,
    ) -> Array | float:
        net = gross + load_step + zero_step + linearity + eccentricity - tare
        net = net * (1.0 + slope)
        if water is not None:
            net = net * (1.0 + water.stated_frac) / (1.0 + regain)
        return net if density_kg_m3 is None else net * air_factor(air, density_kg_m3)

    kept = tuple(one for one in inputs if _matters(one))
    return MassModel(model, kept, words, condition, air_words)


def air_factor(air_kg_m3: Array | float, density_kg_m3: float) -> Array | float:
    """Give the factor from a reading in some air to conventional mass.

    Parameters
    ----------
    air_kg_m3 : float
        Density of the air [kg/m3].
    density_kg_m3 : float
        Density of what is weighed, without air inside it [kg/m3].

    Returns
    -------
    float
        B [1]; see `mass_model`.
    """
    return ((1.0 - air_kg_m3 / WEIGHTS_KG_M3) * (1.0 - AIR_KG_M3 / density_kg_m3)) / (
        (1.0 - air_kg_m3 / density_kg_m3) * (1.0 - AIR_KG_M3 / WEIGHTS_KG_M3)
    )


def _air_words(net_g: float, density_kg_m3: float) -> str:
    high = float(air_factor(AIR_KG_M3 + AIR_HALF_WIDTH_KG_M3, density_kg_m3)) - 1.0
    lifted = net_g * ((1.0 - AIR_KG_M3 / WEIGHTS_KG_M3) / (1.0 - AIR_KG_M3 / density_kg_m3) - 1.0)
    return (
        f"Air carries {lifted:.3f} g of the ball, its fibres being {density_kg_m3:.0f} kg/m³. "
        "Mass in trade is mass as weights weigh it in air, so that counts for nothing; only a "
        f"change of air does, at most {abs(high) * net_g:.3f} g: tiny."
    )


def _reading(net_g: float, scale: Scale, tare: TareKnown) -> Law:
    gross = net_g + tare.mean_g
    if math.isfinite(scale.sd_df):
        return student_t(gross, scale.sd_g, scale.sd_df)
    return normal(gross, scale.sd_g)


def _tare(tare: TareKnown) -> Law:
    if tare.weighed < 2:
        return normal(tare.mean_g, tare.sd_g)
    # One more tare differs from the mean of n by s sqrt(1 + 1/n).
    return student_t(
        tare.mean_g, tare.sd_g * math.sqrt(1.0 + 1.0 / tare.weighed), tare.weighed - 1.0
    )


def _matters(one: Input) -> bool:
    """Keep readings and what has doubt; the model's own zeros stand for the rest."""
    return one.key in {"gross", "tare", "regain", "air", "slope"} or one.law.spread > 0.0
