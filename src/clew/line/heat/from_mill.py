"""Read off a mill what decides steam, drying and speed of a ball's yarn on a line."""

from __future__ import annotations

from clew.ball.from_mill import lot_for, strand_of
from clew.line.heat.speed_limits import WindingTerms
from clew.line.heat.terms import HeatDoubts, HeatTerms
from clew.line.layout_from_mill import across_of, breaks_per_km, mend_time_of, wound_ball_m
from clew.mill.model import Mill


def heat_terms(mill: Mill, line_name: str, ball_name: str, lot_name: str = "") -> HeatTerms:
    """Read the terms of steam and drying off a mill.

    Parameters
    ----------
    mill : Mill
        The mill.
    line_name : str
        Name of the line; empty for the only one.
    ball_name : str
        Name of the ball.
    lot_name : str
        Name of the dye lot it is made from; empty for the yarn as nominal.

    Returns
    -------
    HeatTerms
        Yarn and line.

    Raises
    ------
    BadInput
        When a name is not in the mill file, the dye lot is of another yarn, or of a fibre nothing
        is known under heat.
    """
    line = mill.find_line(line_name)
    ball = mill.find_ball(ball_name)
    yarn = mill.find_yarn(ball.yarn)
    blend = mill.find_blend(yarn.blend)
    strand = strand_of(yarn, blend, lot_for(mill, ball, lot_name) if lot_name else None)
    return HeatTerms(
        fibres=tuple((part.fibre, part.share_frac) for part in blend.fibres),
        lanes=line.lanes,
        count_tex=strand.count_spun_tex,
        shrink_frac=strand.shrink_frac,
        regain_in_frac=strand.regain_in_frac,
        regain_wanted_frac=strand.regain_out_frac,
        feed_m_per_s=line.feed_speed_m_per_s,
        belt_m_per_s=line.belt_speed_m_per_s,
        belt_width_m=line.belt_width_mm / 1000.0,
        steamer_m=line.steamer_length_m,
        dryer_m=line.dryer_length_m,
        steam_c=line.steam_temperature_c,
        dryer_c=line.dryer_temperature_c,
        longest_dwell_s=line.longest_dwell_s,
        ball_name=ball.name,
        yarn_name=yarn.name,
        line_name=line.name,
        currency=mill.prices.currency,
        room_c=line.room_temperature_c,
        room_humidity=line.room_humidity_frac,
        air_kpa=line.air_pressure_kpa,
        supply_gauge_kpa=line.steam_supply_gauge_kpa,
        dryness_frac=line.steam_dryness_frac,
        steam_losses_kg_per_h=line.steam_losses_kg_per_h,
        wet_pick_up_frac=line.wet_pick_up_frac,
        full_bulk_c=line.full_bulk_temperature_c,
        bulk_tau_s=line.bulk_time_constant_s,
        air_way=line.dryer_air,
        air_speed_m_per_s=line.dryer_air_speed_m_per_s,
        fresh_air_kg_per_h=line.fresh_air_kg_per_h,
        dryer_fixed_kw=line.dryer_fixed_kw,
        lay_density_kg_per_m3=line.lay_density_kg_m3,
        critical_regain_frac=line.critical_regain_frac,
        drying_factor=line.drying_factor,
        fuel_per_kwh=mill.prices.fuel_per_kwh,
        heat_efficiency_frac=line.heat_efficiency_frac,
    )


def heat_doubts(mill: Mill, line_name: str) -> HeatDoubts:
    """Read how unsure a line's inputs are; raises `BadInput` for a line that is not there.

    Notes
    -----
    Only the doubt of the drying rate is the mill's; the others are assumed.
    """
    return HeatDoubts(drying_factor_cv=mill.find_line(line_name).drying_factor_cv)


def winding_terms(mill: Mill, line_name: str, ball_name: str, lot_name: str = "") -> WindingTerms:
    """Read winders and hands of a line off a mill.

    Parameters
    ----------
    mill : Mill
        The mill.
    line_name, ball_name, lot_name : str
        As `heat_terms`.

    Returns
    -------
    WindingTerms
        Winders and hands.

    Raises
    ------
    BadInput
        When a name is not in the mill file.

    Notes
    -----
    Ball, breaks and ways are those of the simulated shift, `clew.line.layout_from_mill`.
    """
    line = mill.find_line(line_name)
    ball = mill.find_ball(ball_name)
    yarn = mill.find_yarn(ball.yarn)
    dye_lot = lot_for(mill, ball, lot_name) if lot_name else None
    strand = strand_of(yarn, mill.find_blend(yarn.blend), dye_lot)
    kept = 1.0 - strand.shrink_frac
    feed_breaks, wind_breaks = breaks_per_km(line, mill.knots.line_breaks_per_km, kept)
    return WindingTerms(
        wind_m_per_s=line.wind_speed_m_per_s,
        ball_m=kept * wound_ball_m(ball, strand),
        cone_m=1000.0 * yarn.cone_mass_g / strand.count_spun_tex,
        doff_s=line.doff_time_s,
        tie_s=line.tie_time_s,
        cone_load_s=line.cone_load_time_s,
        mend_s=mend_time_of(line),
        hands=line.crew,
        at_work_frac=1.0 - line.crew_breaks * line.crew_break_s / line.shift_time_s,
        lane_spacing_m=line.lane_spacing_m,
        across_m=across_of(line),
        walk_m_per_s=line.walk_speed_m_per_s,
        feed_breaks_per_km=feed_breaks,
        wind_breaks_per_km=wind_breaks,
        fastest_feed_m_per_s=line.fastest_feed_m_per_s,
    )
