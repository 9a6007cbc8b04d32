"""What is known before a ball is wound: the strand that arrives, what is promised, how it is wound.

Plain values only; `clew.ball.from_mill` reads them off a mill file.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from clew.ball.wind.build import WindSetting

Level = Literal["run", "winder", "cone", "ball"]
"""What a source of doubt differs between: it averages out over as many of them as a run has."""


@dataclass(frozen=True, slots=True)
class RunSize:
    """How much of everything a run has, for what averages out over it; 1 where it is not known.

    Attributes
    ----------
    winders, cones, balls : int
        How many wind, how many cones are used, how many balls are made.
    """

    winders: int = 1
    cones: int = 1
    balls: int = 1

    def number_of(self, level: Level) -> int:
        """Count how many of a level there are in the run."""
        return {"run": 1, "winder": self.winders, "cone": self.cones, "ball": self.balls}[level]


@dataclass(frozen=True, slots=True)
class Spread:
    """One source of doubt.

    Attributes
    ----------
    key : str
        Short name, stable for programs.
    words : str
        What it is, for people.
    cv : float
        Standard deviation of the natural logarithm of what it moves [-].
    level : {"run", "winder", "cone", "ball"}
        What it differs between.
    """

    key: str
    words: str
    cv: float
    level: Level

    @property
    def per_ball(self) -> bool:
        """Whether balls of one run differ in it."""
        return self.level != "run"


@dataclass(frozen=True, slots=True)
class Strand:
    """The strand as it comes off the dryer, before the winder pulls on it.

    Attributes
    ----------
    count_spun_tex : float
        Count as spun [tex], at ``regain_in_frac``.
    count_tex : float
        Count after steam, relaxed [tex], at ``regain_out_frac``.
    shrink_frac : float
        Shortening in steam [-].
    regain_in_frac, regain_out_frac : float
        Water on dry mass before steam and after the dryer [-].
    allowance_frac : float
        Agreed allowance of the blend [-], for mass on the commercial basis.
    modulus_cn_per_tex : float
        Strand modulus at the small stretch of winding [cN/tex].
    recovery_frac : float
        Share of the winding stretch that comes back [-].
    spreads : tuple of Spread
        What is uncertain in ``count_tex``; each acts on its logarithm.
    moisture : Spread
        What is uncertain in 1 + ``regain_out_frac``; acts on its logarithm.
    """

    count_spun_tex: float
    count_tex: float
    shrink_frac: float
    regain_in_frac: float
    regain_out_frac: float
    allowance_frac: float
    modulus_cn_per_tex: float
    recovery_frac: float
    spreads: tuple[Spread, ...]
    moisture: Spread


@dataclass(frozen=True, slots=True)
class Promise:
    """What the band says and what the winders are set to.

    Attributes
    ----------
    declared_mass_g, declared_length_m : float
        The declarations [g], [m].
    target_mass_g, target_length_m : float
        What the mean ball is to hold [g], [m]; not below the declarations.
    commercial : bool
        True when the mass is meant at the agreed allowance, false when as weighed off the line.
    """

    declared_mass_g: float
    declared_length_m: float
    target_mass_g: float
    target_length_m: float
    commercial: bool = False


@dataclass(frozen=True, slots=True)
class Winding:
    """How the ball is wound.

    Attributes
    ----------
    setting : WindSetting
        Mandrel, wind ratio and tilt.
    pack_density_kg_m3 : float
        Density of the wound ball under tension [kg/m3].
    pack_density_cv : float
        Its standard deviation as a share [-], from ball to ball.
    tension_cn, tension_sd_cn : float
        Winding tension and its standard deviation [cN].
    turn_length_cv : float
        How unlike winders are in length per turn, standard deviation as a share [-].
    run : RunSize
        Winders, cones and balls of the run.
    """

    setting: WindSetting
    pack_density_kg_m3: float
    pack_density_cv: float
    tension_cn: float
    tension_sd_cn: float
    turn_length_cv: float
    run: RunSize = RunSize()
