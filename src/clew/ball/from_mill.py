"""Read a ball's terms off a mill: the strand of a dye lot, the promise, the winding."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.ball.terms import Promise, Spread, Strand, Winding
from clew.ball.wind import WindSetting
from clew.mill.balls import Ball
from clew.mill.lots import DyeLot
from clew.mill.model import Mill
from clew.mill.yarns import FibreBlend, Yarn
from clew.strand.allowances import blend_allowance
from clew.strand.bulk import steamed


@dataclass(frozen=True, slots=True)
class Terms:
    """A ball's terms, ready for `clew.ball.turns.set_turns`."""

    strand: Strand
    promise: Promise
    winding: Winding


def allowance_of(blend: FibreBlend) -> float:
    """Agreed allowance of a blend [-], shares by dry mass, from the blend's own table."""
    parts = tuple((part.fibre, part.share_frac) for part in blend.fibres)
    return blend_allowance(parts, blend.allowance_table).frac


def strand_of(yarn: Yarn, blend: FibreBlend, dye_lot: DyeLot | None = None) -> Strand:
    """What arrives at the winder when a dye lot of a yarn is run.

    Parameters
    ----------
    yarn : Yarn
        The yarn as the mill file has it.
    blend : FibreBlend
        Its blend.
    dye_lot : DyeLot, optional
        The dye lot; where its cones were measured, that count takes the place of the nominal one.

    Returns
    -------
    Strand
        Count after steam with its spreads.

    Notes
    -----
    A measured mean is known to the cone spread, within and between, over the square root of the
    cones measured. Source: DERIVED, `clew.strand.evenness`.
    """
    count, regain_in, mean_cv = yarn.count_spun_tex, yarn.regain_in_frac, yarn.count_spun_cv
    words = "how far a dye lot's mean count stands from the nominal"
    if dye_lot is not None and dye_lot.count_measured_tex is not None:
        count = dye_lot.count_measured_tex
        if dye_lot.regain_measured_frac is not None:
            regain_in = dye_lot.regain_measured_frac
        cones = max(dye_lot.cones_measured, 1)
        mean_cv = math.hypot(yarn.count_cone_cv, yarn.count_within_cv) / math.sqrt(cones)
        words = f"mean count of the lot, from {cones} cone{'s' if cones > 1 else ''} measured"
    after = steamed(
        count,
        yarn.shrink_frac,
        finish_loss_frac=yarn.finish_loss_frac,
        regain_in_frac=regain_in,
        regain_out_frac=yarn.regain_out_frac,
    )
    return Strand(
        count_spun_tex=count,
        count_tex=after.count_tex,
        shrink_frac=yarn.shrink_frac,
        regain_in_frac=regain_in,
        regain_out_frac=yarn.regain_out_frac,
        allowance_frac=allowance_of(blend),
        modulus_cn_per_tex=yarn.modulus_cn_per_tex,
        recovery_frac=yarn.stretch_recovery_frac,
        spreads=(
            Spread("count_mean", words, mean_cv, False),
            Spread(
                "shrink", "shrink of the run", yarn.shrink_sd_frac / (1 - yarn.shrink_frac), False
            ),
            Spread("count_cone", "count from cone to cone", yarn.count_cone_cv, True),
            Spread("count_within", "count within a cone", yarn.count_within_cv, True),
        ),
        moisture=Spread(
            "regain",
            "regain off the dryer",
            yarn.regain_out_sd_frac / (1 + yarn.regain_out_frac),
            True,
        ),
    )


def promise_of(ball: Ball) -> Promise:
    """What a ball promises and is aimed at; a target left out is the declaration."""
    return Promise(
        declared_mass_g=ball.declared_mass_g,
        declared_length_m=ball.declared_length_m,
        target_mass_g=ball.target_mass_g or ball.declared_mass_g,
        target_length_m=ball.target_length_m or ball.declared_length_m,
        commercial=ball.mass_basis == "commercial",
    )


def winding_of(ball: Ball) -> Winding:
    """How a ball is wound."""
    return Winding(
        setting=WindSetting(
            mandrel_diameter_mm=ball.mandrel_diameter_mm,
            mandrel_width_mm=ball.mandrel_width_mm,
            wind_ratio=ball.wind_ratio,
            tilt_turns=tuple(float(point.turn) for point in ball.tilt),
            tilt_deg=tuple(point.tilt_deg for point in ball.tilt),
            tilt_repeats=ball.tilt_repeats,
            slip_friction=ball.slip_friction,
        ),
        pack_density_kg_m3=ball.pack_density_kg_m3,
        pack_density_cv=ball.pack_density_cv,
        tension_cn=ball.tension_cn,
        tension_sd_cn=ball.tension_sd_cn,
        turn_length_cv=ball.turn_length_cv,
    )


def terms_of(mill: Mill, ball_name: str, lot_name: str = "") -> Terms:
    """Terms of a ball, and of the dye lot it is to be made from.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name : str
        Name of the ball.
    lot_name : str
        Name of the dye lot; empty for the yarn as nominal.

    Returns
    -------
    Terms
        Strand, promise, winding.

    Raises
    ------
    BadInput
        When a name is not in the mill file, or the dye lot is of another yarn than the ball.
    """
    ball = mill.find_ball(ball_name)
    yarn = mill.find_yarn(ball.yarn)
    dye_lot = lot_for(mill, ball, lot_name) if lot_name else None
    strand = strand_of(yarn, mill.find_blend(yarn.blend), dye_lot)
    return Terms(strand, promise_of(ball), winding_of(ball))


def lot_for(mill: Mill, ball: Ball, lot_name: str) -> DyeLot:
    """Find a dye lot and see that it is of the ball's yarn; raises `BadInput` otherwise."""
    from clew.faults import BadInput, Fault

    _, dye_lot = mill.find_dye_lot(lot_name)
    if mill.find_yarn(dye_lot.yarn).name != mill.find_yarn(ball.yarn).name:
        fitting = [
            lot.lot for colour in mill.colour for lot in colour.dye_lot if lot.yarn == ball.yarn
        ]
        raise BadInput(
            Fault(
                f"dye lot {dye_lot.lot} is of {dye_lot.yarn}, {ball.name} is made of {ball.yarn}",
                expected="one of " + ", ".join(fitting),
                key="dye lot",
                value=repr(lot_name),
            )
        )
    return dye_lot
