"""Water in yarn, and the commercial mass of a lot.

Regain is water on *dry* mass, moisture content is water on the mass *as it stands*; 12.0 % of one
is 13.6 % of the other. They are two types that do not add, compare or stand in for each other: a
number must say which it is before it can be used.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.strand.given import fraction, more_than_zero, zero_or_more

AS_L16_LIMIT_FRAC = 0.01
"""Difference above which an invoice is adjusted, as a part of the net mass [1].

Source: AS L16-1963: only when the corrected mass differs by more than 1 % (READ).
"""

_WETTEST_REGAIN = 4.0


@dataclass(frozen=True, slots=True)
class Regain:
    """Water as a part of the dry mass.

    Attributes
    ----------
    frac : float
        Water over dry mass [1]; wet yarn may exceed 1.
    """

    frac: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.frac <= _WETTEST_REGAIN:
            raise BadInput(
                Fault(
                    say("a regain that cannot be meant"),
                    say("0 to 400 %"),
                    key="regain",
                    value=f"{self.frac:g}",
                )
            )

    def to_content(self) -> MoistureContent:
        """Turn it into moisture content: C = R/(1 + R)."""
        return MoistureContent(self.frac / (1.0 + self.frac))


@dataclass(frozen=True, slots=True)
class MoistureContent:
    """Water as a part of the mass as it stands.

    Attributes
    ----------
    frac : float
        Water over water and dry mass together [1]; below 1.
    """

    frac: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.frac <= _WETTEST_REGAIN / (1.0 + _WETTEST_REGAIN):
            raise BadInput(
                Fault(
                    say("a moisture content that cannot be meant"),
                    say("0 to 80 %"),
                    key="moisture content",
                    value=f"{self.frac:g}",
                )
            )

    def to_regain(self) -> Regain:
        """Turn it into regain: R = C/(1 - C)."""
        return Regain(min(self.frac / (1.0 - self.frac), _WETTEST_REGAIN))


def _regain_frac(moisture: Regain | MoistureContent) -> float:
    return moisture.to_regain().frac if isinstance(moisture, MoistureContent) else moisture.frac


def regain_from_sample(sample_mass_g: float, sample_dry_mass_g: float) -> Regain:
    """Find the regain of a sample from its mass before and after drying.

    Parameters
    ----------
    sample_mass_g : float
        Mass of the sample as taken from the lot [g].
    sample_dry_mass_g : float
        Its mass after oven drying [g].

    Returns
    -------
    Regain
        Water on dry mass.

    Raises
    ------
    BadInput
        When a mass is not more than 0, or the sample became heavier in the oven.

    Notes
    -----
    Source: R = W/D, many (READ).
    """
    mass = more_than_zero(sample_mass_g, "sample mass", "g")
    dry = more_than_zero(sample_dry_mass_g, "dry mass of the sample", "g")
    if dry > mass:
        raise BadInput(
            Fault(
                say("the dry sample is heavier than the sample"),
                expected=say("{mass:g} g or less", mass=mass),
                key="dry mass of the sample",
                value=f"{dry:g} g",
            )
        )
    return Regain(mass / dry - 1.0)


def dry_mass_kg(mass_kg: float, moisture: Regain | MoistureContent) -> float:
    """Find the dry mass in a mass of yarn: m/(1 + R), which is m (1 - C).

    Parameters
    ----------
    mass_kg : float
        Mass as it stands [kg].
    moisture : Regain or MoistureContent
        Its water.

    Returns
    -------
    float
        Dry mass [kg].

    Raises
    ------
    BadInput
        When the mass is not more than 0.
    """
    return more_than_zero(mass_kg, "mass", "kg") / (1.0 + _regain_frac(moisture))


def lot_dry_mass_kg(lot_mass_kg: float, sample_mass_g: float, sample_dry_mass_g: float) -> float:
    """Find the dry mass of a lot from the dry mass of a sample: D = m_lot d/s.

    Parameters
    ----------
    lot_mass_kg : float
        Net mass of the lot when the sample was taken [kg].
    sample_mass_g : float
        Mass of the sample at that time [g].
    sample_dry_mass_g : float
        Its mass after oven drying [g].

    Returns
    -------
    float
        Dry mass of the lot [kg].

    Raises
    ------
    BadInput
        When a mass is not more than 0, or the sample became heavier in the oven.

    Notes
    -----
    Validity: the sample is weighed when the lot is; a sample weighed later has changed. Source:
    correct invoice weight, D = m_lot x (d/s) (READ).
    """
    return dry_mass_kg(lot_mass_kg, regain_from_sample(sample_mass_g, sample_dry_mass_g))


def mass_at_regain_kg(mass_kg: float, present: Regain | MoistureContent, wanted: Regain) -> float:
    """Find what a mass of yarn will weigh at another regain.

    Parameters
    ----------
    mass_kg : float
        Mass as it stands [kg].
    present : Regain or MoistureContent
        Its water now.
    wanted : Regain
        The regain asked about.

    Returns
    -------
    float
        Mass at that regain [kg].

    Raises
    ------
    BadInput
        When the mass is not more than 0.
    """
    return dry_mass_kg(mass_kg, present) * (1.0 + wanted.frac)


@dataclass(frozen=True, slots=True)
class CommercialMass:
    """The commercial (invoice) mass of a lot and how it came about.

    Attributes
    ----------
    net_mass_kg : float
        Net mass as weighed [kg].
    dry_mass_kg : float
        Dry mass of the lot, before cleaning [kg].
    clean_dry_mass_kg : float
        Dry mass after the loss in cleaning [kg].
    regain_frac : float
        Regain as weighed [1].
    allowance_frac : float
        Agreed allowance on clean dry mass, without A and B [1].
    extra_a_frac, extra_b_frac : float
        Further agreed allowances A and B on clean dry mass [1].
    commercial_mass_kg : float
        Mass to invoice [kg].
    difference_frac : float
        Commercial less net mass, as a part of the net mass [1].
    adjust_as_l16 : bool
        Whether AS L16-1963 would adjust the invoice: the difference exceeds 1 %.
    """

    net_mass_kg: float
    dry_mass_kg: float
    clean_dry_mass_kg: float
    regain_frac: float
    allowance_frac: float
    extra_a_frac: float
    extra_b_frac: float
    commercial_mass_kg: float
    difference_frac: float
    adjust_as_l16: bool


def commercial_mass(
    net_mass_kg: float,
    moisture: Regain | MoistureContent,
    allowance_frac: float,
    *,
    cleaning_loss_frac: float = 0.0,
    extra_a_frac: float = 0.0,
    extra_b_frac: float = 0.0,
) -> CommercialMass:
    """Find the commercial mass of a lot: D_clean (100 + R + A + B)/100.

    Parameters
    ----------
    net_mass_kg : float
        Net mass as weighed [kg].
    moisture : Regain or MoistureContent
        Water in the lot when weighed; from a sample by `regain_from_sample`.
    allowance_frac : float
        Agreed allowance on dry mass, R/100 [1]; of a blend by
        `clew.strand.allowances.blend_allowance`.
    cleaning_loss_frac : float
        Part of the dry mass that is lost in the agreed cleaning [1].
    extra_a_frac, extra_b_frac : float
        Further allowances A and B that the parties agreed, on clean dry mass [1].

    Returns
    -------
    CommercialMass
        The mass to invoice, the dry masses, and whether AS L16-1963 would adjust for it.

    Raises
    ------
    BadInput
        When a mass is not more than 0, an allowance is negative, or the loss is not a fraction.

    Notes
    -----
    Validity: what A and B allow for is a matter of the contract. Source: correct invoice weight,
    m = D_clean (100 + R + A + B)/100 (READ); the text of ISO 6741, where the four allowances are
    defined, was not seen. The 1 % convention: AS L16-1963 (READ).
    """
    net = more_than_zero(net_mass_kg, "net mass", "kg")
    dry = dry_mass_kg(net, moisture)
    clean = dry * (1.0 - fraction(cleaning_loss_frac, "cleaning loss"))
    agreed = zero_or_more(allowance_frac, "allowance")
    extra_a = zero_or_more(extra_a_frac, "allowance A")
    extra_b = zero_or_more(extra_b_frac, "allowance B")
    commercial = clean * (1.0 + agreed + extra_a + extra_b)
    difference = commercial / net - 1.0
    return CommercialMass(
        net_mass_kg=net,
        dry_mass_kg=dry,
        clean_dry_mass_kg=clean,
        regain_frac=_regain_frac(moisture),
        allowance_frac=agreed,
        extra_a_frac=extra_a,
        extra_b_frac=extra_b,
        commercial_mass_kg=commercial,
        difference_frac=difference,
        # A difference of 1 % to the last bit of a float is not "more than 1 %".
        adjust_as_l16=abs(difference) > AS_L16_LIMIT_FRAC
        and not math.isclose(abs(difference), AS_L16_LIMIT_FRAC, rel_tol=1e-9),
    )
