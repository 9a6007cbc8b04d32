"""Read a ball's terms off a mill: the strand of a dye lot, the promise, the winding."""

from __future__ import annotations

import math
from dataclasses import dataclass

from clew.ball.terms import Promise, RunSize, Spread, Strand, Winding
from clew.ball.wind.build import WindSetting
from clew.languages import joined, say, say_many
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


def _lot_count(yarn: Yarn, dye_lot: DyeLot | None) -> tuple[float, float, float, str]:
    """Find a lot's mean count [tex] and the regain it is stated at, how surely, and where from.

    The nominal count with the spread of lots about it, and the cones measured with theirs, are
    weighed by precision, in logarithms: one cone moves it a little, many nearly all the way. Where
    the mill states no spread of lots, the measured count stands alone. Source: DERIVED, the normal
    distribution with known variances.
    """
    regain, lots_cv = yarn.regain_in_frac, yarn.count_spun_cv
    nominal = yarn.count_spun_tex
    words = say("how far a dye lot's mean count stands from the nominal")
    if dye_lot is None:
        return nominal, regain, lots_cv, words
    if dye_lot.regain_measured_frac is not None:
        nominal *= (1.0 + dye_lot.regain_measured_frac) / (1.0 + regain)
        regain = dye_lot.regain_measured_frac
    if dye_lot.count_measured_tex is None:
        return nominal, regain, lots_cv, words
    cones = max(dye_lot.cones_measured, 1)
    words = say_many(
        "mean count of the lot, from {n} cone measured",
        "mean count of the lot, from {n} cones measured",
        cones,
    )
    measured = dye_lot.count_measured_tex
    sample_cv = math.hypot(yarn.count_cone_cv, yarn.count_within_cv) / math.sqrt(cones)
    if lots_cv == 0.0 or sample_cv == 0.0:
        return measured, regain, sample_cv, words
    share = lots_cv**2 / (lots_cv**2 + sample_cv**2)
    count = nominal * (measured / nominal) ** share
    words = say_many(
        "mean count of the lot, from {n} cone measured and the nominal",
        "mean count of the lot, from {n} cones measured and the nominal",
        cones,
    )
    return count, regain, sample_cv * math.sqrt(share), words


def strand_of(yarn: Yarn, blend: FibreBlend, dye_lot: DyeLot | None = None) -> Strand:
    """What arrives at the winder when a dye lot of a yarn is run.

    Parameters
    ----------
    yarn : Yarn
        The yarn as the mill file has it.
    blend : FibreBlend
        Its blend.
    dye_lot : DyeLot, optional
        The dye lot; where its cones were measured, they are weighed with the nominal count.

    Returns
    -------
    Strand
        Count after steam with its spreads.
    """
    count, regain_in, mean_cv, words = _lot_count(yarn, dye_lot)
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
            Spread("count_mean", words, mean_cv, "run"),
            Spread(
                "shrink",
                say("shrink of the run"),
                yarn.shrink_sd_frac / (1 - yarn.shrink_frac),
                "run",
            ),
            Spread("count_cone", say("count from cone to cone"), yarn.count_cone_cv, "cone"),
            Spread("count_within", say("count within a cone"), yarn.count_within_cv, "ball"),
        ),
        moisture=Spread(
            "regain",
            say("regain off the dryer"),
            yarn.regain_out_sd_frac / (1 + yarn.regain_out_frac),
            "ball",
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


def run_size_of(mill: Mill, ball: Ball, dye_lot: DyeLot | None, line_name: str = "") -> RunSize:
    """Count winders, cones and balls of a run.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball : Ball
        The ball.
    dye_lot : DyeLot, optional
        The dye lot, with its cones in stock; without one, what the creel holds at once.
    line_name : str
        The line; empty for the only one, or for the one with the fewest lanes.

    Returns
    -------
    RunSize
        Winders, cones, balls.
    """
    line = mill.find_line(line_name) if line_name else min(mill.line, key=lambda one: one.lanes)
    cones = (
        dye_lot.cones if dye_lot is not None and dye_lot.cones else line.lanes * line.cones_per_lane
    )
    balls = int(cones * mill.find_yarn(ball.yarn).cone_mass_g / ball.declared_mass_g)
    return RunSize(line.lanes, cones, max(balls, 1))


def winding_of(ball: Ball, run: RunSize | None = None) -> Winding:
    """How a ball is wound, and over how much it averages out."""
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
        run=run or RunSize(),
    )


def terms_of(mill: Mill, ball_name: str, lot_name: str = "", line_name: str = "") -> Terms:
    """Terms of a ball, and of the dye lot it is to be made from.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name : str
        Name of the ball.
    lot_name : str
        Name of the dye lot; empty for the yarn as nominal.
    line_name : str
        Name of the line; empty for the only one, or for the one with the fewest lanes.

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
    run = run_size_of(mill, ball, dye_lot, line_name)
    return Terms(strand, promise_of(ball), winding_of(ball, run))


def lots_of(mill: Mill, ball: Ball) -> tuple[str, ...]:
    """Name the dye lots of a ball's yarn."""
    return tuple(
        lot.lot for colour in mill.colour for lot in colour.dye_lot if lot.yarn == ball.yarn
    )


def lot_for(mill: Mill, ball: Ball, lot_name: str) -> DyeLot:
    """Find a dye lot and see that it is of the ball's yarn; raises `BadInput` otherwise."""
    from clew.faults import BadInput, Fault

    _, dye_lot = mill.find_dye_lot(lot_name)
    if mill.find_yarn(dye_lot.yarn).name != mill.find_yarn(ball.yarn).name:
        raise BadInput(
            Fault(
                say(
                    "dye lot {lot} is of {its_yarn}, {ball} is made of {yarn}",
                    lot=dye_lot.lot,
                    its_yarn=dye_lot.yarn,
                    ball=ball.name,
                    yarn=ball.yarn,
                ),
                expected=say("one of {names}", names=joined(", ", lots_of(mill, ball))),
                key="dye lot",
                value=repr(lot_name),
            )
        )
    return dye_lot
