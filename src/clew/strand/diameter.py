"""The diameter of a yarn from its count, its fibres and how tightly they are packed."""

from __future__ import annotations

import math
from collections.abc import Sequence

from clew.faults import BadInput, Fault
from clew.strand.given import more_than_zero, zero_or_more

_SHARES_SUM_TOLERANCE = 1e-6


def _packing(packing_frac: float) -> float:
    if not 0.0 < packing_frac <= 1.0:
        raise BadInput(
            Fault(
                "packing is the part of the yarn's volume that is fibre",
                expected="more than 0, at most 1",
                key="packing",
                value=f"{packing_frac:g}",
            )
        )
    return packing_frac


def yarn_diameter_mm(count_tex: float, fibre_density_kg_m3: float, packing_frac: float) -> float:
    """Find the diameter of a yarn taken as a round rod of fibre and air.

    Parameters
    ----------
    count_tex : float
        Count [tex].
    fibre_density_kg_m3 : float
        Density of the fibre itself [kg/m3].
    packing_frac : float
        Part of the yarn's volume that is fibre, above 0 to 1 [1].

    Returns
    -------
    float
        Diameter [mm]: d = sqrt(4 T/(pi rho phi)).

    Raises
    ------
    BadInput
        When a value is not more than 0 or the packing is above 1.

    Notes
    -----
    Validity: round cross-section, packing measured on the yarn in question (a bulked yarn packs far
    looser than a spun one). Source: GATE Textile 2008, question 71, whose 4.44e-3 sqrt(tex/density)
    cm is this formula at a packing of 0.646 (form READ, packing COMPUTED).
    """
    count = more_than_zero(count_tex, "count", "tex")
    density = more_than_zero(fibre_density_kg_m3, "fibre density", "kg/m3")
    return 1000.0 * math.sqrt(4.0e-6 * count / (math.pi * density * _packing(packing_frac)))


def packing_from_diameter(
    count_tex: float, fibre_density_kg_m3: float, diameter_mm: float
) -> float:
    """Find how tightly a yarn is packed from its measured diameter.

    Parameters
    ----------
    count_tex : float
        Count [tex].
    fibre_density_kg_m3 : float
        Density of the fibre itself [kg/m3].
    diameter_mm : float
        Measured diameter [mm].

    Returns
    -------
    float
        Part of the yarn's volume that is fibre [1].

    Raises
    ------
    BadInput
        When a value is not more than 0, or the fibre would not fit into the diameter.
    """
    diameter = more_than_zero(diameter_mm, "diameter", "mm")
    solid_mm = yarn_diameter_mm(count_tex, fibre_density_kg_m3, 1.0)
    if solid_mm > diameter:
        raise BadInput(
            Fault(
                "thinner than its fibre without any air",
                expected=f"{solid_mm:.3g} mm or more",
                key="diameter",
                value=f"{diameter:g} mm",
            )
        )
    return (solid_mm / diameter) ** 2


def twist_angle_deg(diameter_mm: float, twist_per_m: float) -> float:
    """Find the angle of the surface fibres to the yarn axis: tan(alpha) = pi d t.

    Parameters
    ----------
    diameter_mm : float
        Yarn diameter [mm].
    twist_per_m : float
        Twist in the yarn [turns/m].

    Returns
    -------
    float
        Twist angle [deg].

    Raises
    ------
    BadInput
        When the diameter is not more than 0 or the twist is negative.

    Notes
    -----
    Validity: ideal helical yarn of constant twist. Source: standard helix geometry (DERIVED).
    """
    diameter = more_than_zero(diameter_mm, "diameter", "mm")
    twist = zero_or_more(twist_per_m, "twist", "turns/m")
    return math.degrees(math.atan(math.pi * diameter * 1.0e-3 * twist))


def blend_density_kg_m3(dry_shares: Sequence[float], densities_kg_m3: Sequence[float]) -> float:
    """Find the density of a blend: volumes add, so 1/rho = sum(w_i/rho_i).

    Parameters
    ----------
    dry_shares : sequence of float, shape (n,)
        Shares of the dry mass, summing to 1 [1].
    densities_kg_m3 : sequence of float, shape (n,)
        Density of each fibre [kg/m3].

    Returns
    -------
    float
        Density of the fibre mixture without air [kg/m3].

    Raises
    ------
    BadInput
        When the two differ in length, a value is not more than 0, or the shares do not sum to 1.

    Notes
    -----
    Validity: no change of volume on mixing. Source: DERIVED.
    """
    if not dry_shares or len(dry_shares) != len(densities_kg_m3):
        raise BadInput(Fault("a share and a density are needed for every fibre", key="blend"))
    shares = [more_than_zero(share, "share") for share in dry_shares]
    total = math.fsum(shares)
    if abs(total - 1.0) > _SHARES_SUM_TOLERANCE:
        raise BadInput(
            Fault("shares do not sum to 100 %", expected="100 %", value=f"{100 * total:g} %")
        )
    volume = math.fsum(
        share / more_than_zero(density, "fibre density", "kg/m3")
        for share, density in zip(shares, densities_kg_m3, strict=True)
    )
    return total / volume
