"""What heat and damp do to the fibres Clew knows: specific heat, regain, what is too hot.

Every number carries its mark. A fibre that is not here is refused by name, never guessed at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from clew.faults import BadInput, Fault
from clew.languages import joined, say

Mark = Literal["READ", "MEMORY", "assumed", "none"]

WATER_KJ_PER_KG_K = 4.19
"""Specific heat of water in the yarn [kJ/(kg K)]."""


@dataclass(frozen=True, slots=True)
class FibreHeat:
    """A fibre under heat and damp.

    Attributes
    ----------
    key : str
        Our key of the fibre.
    heat_kj_per_kg_k : float
        Specific heat of the dry fibre [kJ/(kg K)].
    heat_mark : {"READ", "MEMORY", "assumed", "none"}
        How far that was confirmed.
    regain_65_frac : float
        Regain in air of 65 % relative humidity at 20 °C [1].
    regain_mark : {"READ", "MEMORY", "assumed", "none"}
        How far that was confirmed.
    softens_c : float or None
        Where it softens or sticks [°C]; none for a fibre that does not.
    harsh_c : float
        Air above which it yellows or turns harsh in long drying [°C].
    hot_mark : {"READ", "MEMORY", "assumed", "none"}
        How far both were confirmed.
    """

    key: str
    heat_kj_per_kg_k: float
    heat_mark: Mark
    regain_65_frac: float
    regain_mark: Mark
    softens_c: float | None
    harsh_c: float
    hot_mark: Mark


_FIBRES = (
    FibreHeat("wool_combed", 1.36, "READ", 0.16, "READ", None, 130.0, "MEMORY"),
    FibreHeat("wool_carded", 1.36, "READ", 0.16, "READ", None, 130.0, "MEMORY"),
    FibreHeat("silk", 1.38, "READ", 0.10, "READ", None, 130.0, "assumed"),
    FibreHeat("cotton", 1.28, "READ", 0.075, "READ", None, 120.0, "MEMORY"),
    FibreHeat("cotton_mercerised", 1.28, "assumed", 0.10, "assumed", None, 120.0, "MEMORY"),
    FibreHeat("flax", 1.28, "assumed", 0.07, "READ", None, 120.0, "assumed"),
    FibreHeat("hemp", 1.28, "assumed", 0.08, "READ", None, 120.0, "assumed"),
    FibreHeat("jute", 1.28, "assumed", 0.12, "READ", None, 120.0, "assumed"),
    FibreHeat("viscose", 1.45, "READ", 0.13, "MEMORY", None, 120.0, "MEMORY"),
    FibreHeat("modal", 1.45, "assumed", 0.13, "assumed", None, 120.0, "assumed"),
    FibreHeat("lyocell", 1.45, "assumed", 0.13, "assumed", None, 120.0, "assumed"),
    FibreHeat("acetate", 1.4, "assumed", 0.06, "MEMORY", None, 120.0, "assumed"),
    FibreHeat("acrylic", 1.30, "MEMORY", 0.015, "MEMORY", 190.0, 120.0, "MEMORY"),
    FibreHeat("modacrylic", 1.30, "assumed", 0.015, "assumed", 140.0, 110.0, "assumed"),
    FibreHeat("polyamide_staple", 1.46, "READ", 0.041, "MEMORY", 170.0, 130.0, "MEMORY"),
    FibreHeat("polyamide_filament", 1.46, "READ", 0.041, "MEMORY", 170.0, 130.0, "MEMORY"),
    FibreHeat("polyester", 1.03, "READ", 0.004, "MEMORY", 230.0, 150.0, "MEMORY"),
    FibreHeat("polypropylene", 1.8, "assumed", 0.0005, "assumed", 140.0, 110.0, "MEMORY"),
)
"""Source: specific heats of Morton & Hearle, Physical Properties of Textile Fibres, Table 6.1,
and regains at 65 % quoted from it (READ where so marked, in excerpts; ranges by their middle);
softening and yellowing from trade memory. The lower limit of nylon 6 stands for all nylon."""

_BY_KEY = {one.key: one for one in _FIBRES}


@dataclass(frozen=True, slots=True)
class BlendHeat:
    """A blend under heat and damp.

    Attributes
    ----------
    heat_kj_per_kg_k : float
        Specific heat of the dry blend [kJ/(kg K)].
    regain_65_frac : float
        Its regain at 65 % relative humidity and 20 °C [1].
    softens_c : float or None
        Lowest temperature at which one of its fibres softens [°C].
    softens_first : str
        Key of that fibre; empty where none softens.
    harsh_c : float
        Lowest air temperature at which one of its fibres yellows or turns harsh [°C].
    harsh_first : str
        Key of that fibre.
    unsure : tuple of str
        Keys of fibres of which a number is assumed.
    """

    heat_kj_per_kg_k: float
    regain_65_frac: float
    softens_c: float | None
    softens_first: str
    harsh_c: float
    harsh_first: str
    unsure: tuple[str, ...]


def fibre_heat(key: str) -> FibreHeat:
    """Find what heat and damp do to a fibre.

    Parameters
    ----------
    key : str
        Our key, such as ``acrylic``.

    Returns
    -------
    FibreHeat
        Its numbers with their marks.

    Raises
    ------
    BadInput
        When Clew has no such numbers for it.
    """
    if key not in _BY_KEY:
        raise BadInput(
            Fault(
                say("a fibre whose heat and damp are not known"),
                say("one of {names}", names=joined(", ", _BY_KEY)),
                key="fibre",
                value=key,
            )
        )
    return _BY_KEY[key]


def blend_heat(fibres: Sequence[tuple[str, float]]) -> BlendHeat:
    """Find what heat and damp do to a blend, by shares of the dry mass.

    Parameters
    ----------
    fibres : sequence of (str, float)
        Key and share of the dry mass [1] of each fibre.

    Returns
    -------
    BlendHeat
        Means by mass, and which fibre suffers first.

    Raises
    ------
    BadInput
        When a fibre is not known or the shares do not fill the blend.

    Notes
    -----
    Validity: specific heats and absorbed water add by mass; a blend's fibres share one air. Source:
    mass balance (DERIVED).
    """
    faults: list[Fault] = []
    parts: list[tuple[FibreHeat, float]] = []
    for key, share in fibres:
        try:
            parts.append((fibre_heat(key), share))
        except BadInput as bad:
            faults.extend(bad.faults)
    total = sum(share for _, share in fibres)
    if not abs(total - 1.0) <= 1e-3 or any(share <= 0.0 for _, share in fibres):
        faults.append(
            Fault(
                say("shares that do not fill the blend"),
                say("shares above 0 that add up to 100 %"),
                key="fibres",
                value=f"{100 * total:.4g} %",
            )
        )
    if faults:
        raise BadInput(faults)
    soft = min(
        (one for one, _ in parts if one.softens_c is not None),
        key=lambda one: one.softens_c or 0.0,
        default=None,
    )
    harsh = min((one for one, _ in parts), key=lambda one: one.harsh_c)
    return BlendHeat(
        heat_kj_per_kg_k=sum(one.heat_kj_per_kg_k * share for one, share in parts) / total,
        regain_65_frac=sum(one.regain_65_frac * share for one, share in parts) / total,
        softens_c=None if soft is None else soft.softens_c,
        softens_first="" if soft is None else soft.key,
        harsh_c=harsh.harsh_c,
        harsh_first=harsh.key,
        unsure=tuple(
            one.key
            for one, _ in parts
            if "assumed" in (one.heat_mark, one.regain_mark, one.hot_mark)
        ),
    )
