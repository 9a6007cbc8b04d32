"""Fibre blends and yarns, as the mill file describes them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import Field

from clew.languages import figure, say
from clew.mill.fields import (
    Clash,
    CountTex,
    Frac,
    LengthM,
    MassG,
    Name,
    Number,
    RatePerKm,
    RegainFrac,
    Section,
    Several,
    Spread,
    TenacityCnPerTex,
)

SHARE_TOLERANCE = 5e-4
"""How far the shares of a blend may miss 100 %: a third that was rounded to 0.1 % three times."""


class FibreShare(Section):
    """One fibre of a blend, by its share of the dry mass."""

    fibre: Name
    share_frac: Annotated[Frac, Field(gt=0)]


class FibreBlend(Section):
    """A blend: what the yarn is made of."""

    name: Name
    fibres: Annotated[tuple[FibreShare, ...], Field(min_length=1)]
    allowance_table: Literal["eu-1007-2011", "astm-d1909"] = "eu-1007-2011"

    @classmethod
    def clashes(cls, have: Any) -> Iterator[Clash]:
        """Shares fill the blend and no fibre is named twice."""
        parts = have.fibres or ()
        shares = [part.share_frac for part in parts]
        if shares and None not in shares and abs(sum(shares) - 1.0) > SHARE_TOLERANCE:
            total = figure(f"{100 * sum(shares):.4g} %")
            yield Clash(
                ("fibres",),
                say("shares that do not fill the blend"),
                say("shares that add up to 100 %"),
                total,
            )
        seen: set[str] = set()
        for place, part in enumerate(parts):
            if part.fibre is not None and part.fibre.casefold() in seen:
                yield Clash(
                    ("fibres", place, "fibre"), say("a fibre named twice"), say("each fibre once")
                )
            elif part.fibre is not None:
                seen.add(part.fibre.casefold())


class Yarn(Section):
    """A yarn: as it is spun, how it answers to steam, and how it spreads.

    Every ``_cv`` is a coefficient of variation, every ``_sd`` a standard deviation in the unit of
    the value beside it. Regain is water on dry mass.
    """

    name: Name
    blend: Name
    plies: Several = 1
    count_spun_tex: CountTex
    count_spun_cv: Spread = 0.0
    shrink_frac: Annotated[Frac, Field(lt=0.9)]
    shrink_sd_frac: Frac = 0.0
    finish_loss_frac: Annotated[Frac, Field(lt=0.5)] = 0.0
    regain_in_frac: RegainFrac
    regain_out_frac: RegainFrac
    regain_out_sd_frac: RegainFrac = 0.0
    regain_inspection_frac: RegainFrac | None = None
    regain_inspection_sd_frac: Frac = 0.005
    modulus_cn_per_tex: TenacityCnPerTex
    stretch_recovery_frac: Frac = 1.0
    cone_mass_g: MassG
    cone_mass_cv: Spread = 0.0
    count_cone_cv: Spread
    count_within_cv: Spread = 0.0
    breaks_per_km: RatePerKm = 0.0
    breaks_counted_m: LengthM | None = None
    breaks_cv: Annotated[Number, Field(ge=0, le=10)] = 0.0

    @classmethod
    def clashes(cls, have: Any) -> Iterator[Clash]:
        """A spread of shrink that moves the count by more than a fifth is a slip of the pen."""
        shrink, spread = have.shrink_frac, have.shrink_sd_frac
        if shrink is not None and spread is not None and spread > 0.2 * (1.0 - shrink):
            most = 20.0 * (1.0 - shrink)
            yield Clash(
                ("shrink_sd",),
                say("a spread of shrink too wide to mean"),
                say("at most {limit}", limit=figure(f"{most:.3g} %")),
            )
