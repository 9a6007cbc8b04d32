"""What a budget is asked for: from options, and from a ball of the mill where they say nothing."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.checks.instruments.length_budget import LengthModel
    from clew.checks.instruments.mass_budget import MassModel
    from clew.mill.model import Mill

MODULUS_CV = 0.2
"""How well a modulus is known where nothing is said of it; assumed, no published source."""


@dataclass(slots=True)
class Given:
    """Options of the command; None where one was not given. Masses g, lengths m, tension cN."""

    net_g: float | None = None
    scale_sd_g: float | None = None
    division_g: float | None = None
    linearity_g: float | None = None
    eccentricity_g: float | None = None
    tare_g: float | None = None
    tare_sd_g: float | None = None
    tares: int | None = None
    regain_frac: float | None = None
    regain_sd_frac: float | None = None
    stated_regain_frac: float | None = None
    density_kg_m3: float | None = None
    length_m: float | None = None
    circumference_m: float | None = None
    circumference_error_m: float | None = None
    turn_error: float | None = None
    reel_cv: float | None = None
    tension_cn: float | None = None
    tension_sd_cn: float | None = None
    modulus_cn_per_tex: float | None = None
    modulus_cv: float | None = None
    count_tex: float | None = None
    stated_tension_cn: float | None = None
    standards: Path | None = None


def fill_from_mill(given: Given, mill: Mill, ball_name: str, line_name: str = "") -> list[str]:
    """Fill what the options left out from a ball of the mill.

    Parameters
    ----------
    given : Given
        The options; changed in place.
    mill : Mill
        The mill.
    ball_name, line_name : str
        Its ball and line.

    Returns
    -------
    list of str
        What was assumed beyond the mill file, in words.

    Raises
    ------
    BadInput
        When a name is not in the mill file.
    """
    from clew.ball.from_mill import strand_of
    from clew.strand.diameter import blend_density_kg_m3
    from clew.strand.fibres import FIBRES

    ball = mill.find_ball(ball_name)
    yarn, line = mill.find_yarn(ball.yarn), mill.find_line(line_name)
    blend = mill.find_blend(yarn.blend)
    strand = strand_of(yarn, blend)
    said: list[str] = []
    if given.stated_regain_frac is None and ball.mass_basis == "commercial":
        given.stated_regain_frac = strand.allowance_frac
    commercial = given.stated_regain_frac is not None
    known = {fibre.key: fibre.density_kg_m3 for fibre in FIBRES}
    densities = [known.get(part.fibre) for part in blend.fibres]
    filled: dict[str, float | None] = {
        "net_g": ball.declared_mass_g,
        "length_m": ball.declared_length_m,
        "scale_sd_g": line.scale_sd_g,
        "reel_cv": line.reel_cv,
        "tare_g": ball.tare_mass_g,
        "tare_sd_g": ball.tare_sd_g,
        "regain_frac": yarn.regain_out_frac if commercial else None,
        "regain_sd_frac": yarn.regain_out_sd_frac if commercial else None,
        "modulus_cn_per_tex": yarn.modulus_cn_per_tex,
        "count_tex": strand.count_tex,
    }
    if all(one is not None for one in densities):
        filled["density_kg_m3"] = blend_density_kg_m3(
            [part.share_frac for part in blend.fibres],
            [one for one in densities if one is not None],
        )
    if given.tension_cn is None:
        filled["tension_cn"], filled["tension_sd_cn"] = ball.tension_cn, ball.tension_sd_cn
        said.append(
            f"The reel pulls as the winder does, {ball.tension_cn:g} cN: assumed; give --tension."
        )
    for name, value in filled.items():
        if getattr(given, name) is None:
            setattr(given, name, value)
    return said


def mass_terms(given: Given) -> tuple[MassModel, list[str]] | None:
    """Make the model of net mass from what is given.

    Parameters
    ----------
    given : Given
        The options.

    Returns
    -------
    (MassModel, list of str) or None
        The model and what was left out or assumed; None where no net mass was asked for.

    Raises
    ------
    BadInput
        When what is given does not go together.
    """
    from clew.checks.instruments.check_weights import correction_line
    from clew.checks.instruments.mass_budget import Scale, TareKnown, Water, mass_model

    if given.net_g is None:
        return None
    if given.scale_sd_g is None:
        raise BadInput(
            Fault("nothing said of the scale's repeatability", "such as 0.1 g", key="--scale-sd")
        )
    regain = (given.regain_frac, given.stated_regain_frac)
    if (regain[0] is None) != (regain[1] is None):
        raise BadInput(Fault("one regain", "--regain and --stated-regain, or neither"))
    water = (
        None
        if regain[0] is None or regain[1] is None
        else Water(regain[0], given.regain_sd_frac or 0.0, regain[1])
    )
    line = None
    readings: tuple[float, ...] = ()
    if given.standards is not None:
        from clew.cli.weigh.instrument_file import read_standards

        readings, corrections = read_standards(given.standards)
        line = correction_line(readings, corrections, about=given.net_g)
    left = {
        "division": given.division_g,
        "linearity": given.linearity_g,
        "off-centre load": given.eccentricity_g,
        "spread of tares": given.tare_sd_g,
    }
    if line is not None:
        del left["linearity"]
    if water is not None:
        left["doubt of the regain"] = given.regain_sd_frac
    missing = [name for name, value in left.items() if value is None]
    said = [f"Not given, and left out: {', '.join(missing)}."] if missing else []
    gross_g = given.net_g + (given.tare_g or 0.0)
    if line is not None and not min(readings) <= gross_g <= max(readings):
        said.append(
            f"The check weights show {min(readings):g} to {max(readings):g} g; the ball lies "
            "outside them."
        )
    model = mass_model(
        given.net_g,
        Scale(
            given.scale_sd_g,
            division_g=given.division_g or 0.0,
            linearity_g=given.linearity_g or 0.0,
            eccentricity_g=given.eccentricity_g or 0.0,
        ),
        TareKnown(given.tare_g or 0.0, given.tare_sd_g or 0.0, given.tares or 0),
        water=water,
        density_kg_m3=given.density_kg_m3,
        standards=line,
    )
    return model, said


def length_terms(given: Given) -> tuple[LengthModel, list[str]] | None:
    """Make the model of length from what is given.

    Parameters
    ----------
    given : Given
        The options.

    Returns
    -------
    (LengthModel, list of str) or None
        The model and what was left out or assumed; None where no length was asked for.

    Raises
    ------
    BadInput
        When what is given does not go together.
    """
    from clew.checks.instruments.length_budget import Pull, Reel, length_model

    if given.length_m is None:
        return None
    left = {
        "error of the circumference": given.circumference_error_m,
        "error of the turns": given.turn_error,
        "the reel's scatter": given.reel_cv,
    }
    missing = [name for name, value in left.items() if value is None]
    said = [f"Not given, and left out: {', '.join(missing)}."] if missing else []
    pull = None
    if given.tension_cn is not None:
        if given.modulus_cn_per_tex is None or given.count_tex is None:
            raise BadInput(
                Fault("a pull without a modulus and a count", "--modulus and --count too",
                      key="--tension")
            )  # fmt: skip
        if given.modulus_cv is None:
            said.append(f"The modulus is known to {100 * MODULUS_CV:g} %: assumed.")
        pull = Pull(
            given.tension_cn,
            given.tension_sd_cn or 0.0,
            given.modulus_cn_per_tex,
            MODULUS_CV if given.modulus_cv is None else given.modulus_cv,
            given.count_tex,
            given.stated_tension_cn or 0.0,
        )
    else:
        said.append("Length as reeled: the reel's pull is not known.")
    reel = Reel(
        given.circumference_m or 1.0,
        given.circumference_error_m or 0.0,
        given.turn_error or 0.0,
        given.reel_cv or 0.0,
    )
    return length_model(given.length_m, reel, pull), said


def read_mill(folder: Path) -> Mill:
    """Read the mill with every check there is."""
    from clew.cli.options import checked_mill

    return checked_mill(folder)
