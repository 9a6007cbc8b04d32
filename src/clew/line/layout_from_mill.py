"""Read a line's layout off a mill: everything in metres before steam, belt lengths as times."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

from clew.ball.from_mill import lot_for, promise_of, strand_of, winding_of
from clew.ball.outcome import strain_of
from clew.ball.terms import Strand
from clew.ball.turns import laid_length_for
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.line.layout import KINDS, Layout
from clew.line.layout_checks import MOST_COLOURS, layout_faults
from clew.mill.balls import Ball
from clew.mill.lines import Line, restart_m
from clew.mill.model import Mill

START_BUFFER_FRAC = 0.5
"""How full the buffers are before the warm-up: assumed, and forgotten in it."""

WARM_UP_S = 7200.0
"""How long a line has run when its shift begins, so that the shift begins as shifts end."""


def layout_of(
    mill: Mill,
    line_name: str = "",
    ball_name: str = "",
    lot_name: str = "",
    *,
    shift_s: float | None = None,
    hands: int | None = None,
    colour_changes: int = 0,
) -> Layout:
    """Read the layout of a line, for a shift on one ball, off a mill.

    Parameters
    ----------
    mill : Mill
        The mill.
    line_name : str
        Name of the line; empty for the only one.
    ball_name : str
        Name of the ball; empty for the first of the mill file.
    lot_name : str
        Name of the dye lot it is made from; empty for the yarn as nominal.
    shift_s : float, optional
        Length of the shift in place of the line's own [s].
    hands : int, optional
        Hands in place of the line's own crew.
    colour_changes : int
        Changes to a next colour, evenly over the shift.

    Returns
    -------
    Layout
        The line, its hands, the shift.

    Raises
    ------
    BadInput
        When a name is not in the mill file, the dye lot is of another yarn, or no shift can be
        walked with what the file says; each fault under the file's own key.

    Notes
    -----
    A strand of L m after steam is L/(1 - shrink) m before it. Winding speed, buffer, its restarts
    and what a re-tie takes off are of steamed strand, feed speed is of strand as it comes. A ball
    holds what its winder is set to, the longer of what its target mass and its target length ask
    for, taken back by the stretch of winding. Cones are wound by mass, so a cone's length spreads
    with its mass and with the count. A change of colour loads and ties a lane's first cone of it;
    the others are loaded as any cone is. A shift shorter or longer than the line's own has rests
    in proportion. Hands walk from winders to creels along the belt. Source: DERIVED.
    """
    if not 0 <= colour_changes <= MOST_COLOURS:
        raise BadInput(
            Fault(
                say("a number that cannot be meant"),
                say("0 to {most}", most=MOST_COLOURS),
                key="colour changes",
                value=str(colour_changes),
            )
        )
    line = mill.find_line(line_name)
    ball = mill.find_ball(ball_name) if ball_name else mill.ball[0]
    yarn = mill.find_yarn(ball.yarn)
    dye_lot = lot_for(mill, ball, lot_name) if lot_name else None
    strand = strand_of(yarn, mill.find_blend(yarn.blend), dye_lot)
    kept = 1.0 - strand.shrink_frac
    belt = line.belt_speed_m_per_s
    across_m = across_of(line)
    feed_breaks, wind_breaks = breaks_per_km(line, mill.knots.line_breaks_per_km, kept)
    shift = line.shift_time_s if shift_s is None else shift_s
    layout = Layout(
        lanes=line.lanes,
        hands=line.crew if hands is None else hands,
        shift_s=shift,
        feed_m_per_s=line.feed_speed_m_per_s,
        wind_m_per_s=line.wind_speed_m_per_s / kept,
        passage_s=across_m / belt,
        steam_from_s=line.lay_down_length_m / belt,
        steam_s=line.steamer_length_m / belt,
        steam_longest_s=line.longest_dwell_s,
        dry_from_s=(line.lay_down_length_m + line.steamer_length_m) / belt,
        dry_s=line.dryer_length_m / belt,
        dry_longest_s=_or(line.longest_dryer_dwell_s, math.inf),
        buffer_m=line.buffer_m / kept,
        go_m=restart_m(line.restart_buffer_m, line.buffer_m) / kept,
        loose_m=restart_m(line.belt_restart_m, line.buffer_m) / kept,
        start_buffer_frac=START_BUFFER_FRAC,
        ball_m=wound_ball_m(ball, strand),
        cone_m=1000.0 * yarn.cone_mass_g / strand.count_spun_tex,
        cone_cv=math.hypot(yarn.cone_mass_cv, yarn.count_cone_cv),
        cones_per_lane=line.cones_per_lane,
        feed_breaks_per_km=feed_breaks,
        wind_breaks_per_km=wind_breaks,
        doff_s=line.doff_time_s,
        mend_s=mend_time_of(line),
        feed_mend_s=line.tie_time_s,
        load_s=line.cone_load_time_s + line.tie_time_s,
        change_s=_or(line.change_time_s, line.doff_time_s),
        colour_tie_s=line.cone_load_time_s + line.tie_time_s,
        service_cv=line.hand_time_cv,
        mend_waste_m=line.mend_waste_m / kept,
        spacing_m=line.lane_spacing_m,
        across_m=across_m,
        walk_m_per_s=line.walk_speed_m_per_s,
        rule=line.serve_rule,
        first=_first(line.serve_first),
        break_s=line.crew_break_s,
        breaks=int(line.crew_breaks * shift / line.shift_time_s + 1e-9),
        colour_at_s=tuple(
            shift * (place + 1) / (colour_changes + 1) for place in range(colour_changes)
        ),
        shrink_frac=strand.shrink_frac,
        count_tex=strand.count_spun_tex,
        regain_in_frac=strand.regain_in_frac,
        regain_out_frac=strand.regain_out_frac,
        finish_loss_frac=yarn.finish_loss_frac,
        warm_up_s=WARM_UP_S,
    )
    faults = layout_faults(layout)
    if faults:
        given = {"shift_s": shift_s is not None, "hands": hands is not None}
        told = {key: name for key, name in _GIVEN.items() if given.get(key, True)}
        sections = {
            "line": f'line "{line.name}"',
            "ball": f'ball "{ball.name}"',
            "yarn": f'yarn "{yarn.name}"',
        }
        raise BadInput(_as_in_the_file(faults, sections, told))
    return layout


def _or(stated: float | None, otherwise: float) -> float:
    return otherwise if stated is None else stated


def mend_time_of(line: Line) -> float:
    """Mean time of a hand to re-tie at the winder: that of a tie, where none is stated [s]."""
    return _or(line.mend_time_s, line.tie_time_s)


def wound_ball_m(ball: Ball, strand: Strand) -> float:
    """Strand before steam, unstretched, in the ball that the winder is set to [m]."""
    winding = winding_of(ball)
    laid_m = max(laid_length_for(strand, promise_of(ball), winding))
    return laid_m / (1.0 + strain_of(strand, winding)) / (1.0 - strand.shrink_frac)


def across_of(line: Line) -> float:
    """From the winders' end of the line to the creels', along the belt [m]."""
    return (
        line.lay_down_length_m
        + line.steamer_length_m
        + line.dryer_length_m
        + line.belt_after_dryer_m
    )


def breaks_per_km(line: Line, line_breaks_per_km: float, kept: float) -> tuple[float, float]:
    """Breaks at the feed and at the winder per km before steam; what is not stated is the rest."""
    feed, all_breaks = line.feed_breaks_per_km, line_breaks_per_km * kept
    if line.winder_breaks_per_km is not None:
        winder = line.winder_breaks_per_km * kept
        return _or(feed, max(all_breaks - winder, 0.0)), winder
    return _or(feed, 0.0), max(all_breaks - _or(feed, 0.0), 0.0)


def _first(named: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """Classes of calls, most urgent first; unstated, loading waits for whatever stops a lane."""
    urgent = tuple((kind,) for kind in named) or (tuple(kind for kind in KINDS if kind != "load"),)
    others = tuple(kind for kind in KINDS if not any(kind in group for group in urgent))
    return (*urgent, others) if others else urgent


def _as_in_the_file(
    faults: Iterable[Fault], sections: dict[str, str], given: dict[str, str]
) -> Iterator[Fault]:
    """Name each fault as the mill file does, once; what was given beside the file, as it is."""
    seen: set[tuple[str, str]] = set()
    for fault in faults:
        section, key = _KEYS[fault.key]
        if fault.key in given:
            section, key = "", given[fault.key]
        if (key, fault.what) not in seen:
            seen.add((key, fault.what))
            yield replace(fault, section=sections.get(section, ""), key=key)


_GIVEN = {"shift_s": "shift", "hands": "hands", "colour_at_s": "colour changes"}

_KEYS: dict[str, tuple[str, str]] = {
    "lanes": ("line", "lanes"),
    "hands": ("line", "crew"),
    "shift_s": ("line", "shift_time"),
    "feed_m_per_s": ("line", "feed_speed"),
    "wind_m_per_s": ("line", "wind_speed"),
    "passage_s": ("line", "belt_speed"),
    "steam_from_s": ("line", "lay_down_length"),
    "steam_s": ("line", "belt_speed"),
    "steam_longest_s": ("line", "longest_dwell"),
    "dry_from_s": ("line", "dryer_length"),
    "dry_s": ("line", "belt_speed"),
    "dry_longest_s": ("line", "longest_dryer_dwell"),
    "buffer_m": ("line", "buffer"),
    "go_m": ("line", "restart_buffer"),
    "loose_m": ("line", "belt_restart"),
    "ball_m": ("ball", "declared_length"),
    "cone_m": ("yarn", "cone_mass"),
    "cone_cv": ("yarn", "cone_mass_cv"),
    "cones_per_lane": ("line", "cones_per_lane"),
    "feed_breaks_per_km": ("line", "feed_breaks"),
    "wind_breaks_per_km": ("line", "winder_breaks"),
    "doff_s": ("line", "doff_time"),
    "mend_s": ("line", "mend_time"),
    "feed_mend_s": ("line", "tie_time"),
    "load_s": ("line", "cone_load_time"),
    "change_s": ("line", "change_time"),
    "colour_tie_s": ("line", "tie_time"),
    "service_cv": ("line", "hand_time_cv"),
    "mend_waste_m": ("line", "mend_waste"),
    "spacing_m": ("line", "lane_spacing"),
    "across_m": ("line", "belt_after_dryer"),
    "walk_m_per_s": ("line", "walk_speed"),
    "rule": ("line", "serve_rule"),
    "first": ("line", "serve_first"),
    "break_s": ("line", "crew_break"),
    "breaks": ("line", "crew_breaks"),
    "colour_at_s": ("line", "shift_time"),
    "shrink_frac": ("yarn", "shrink"),
    "regain_in_frac": ("yarn", "regain_in"),
    "regain_out_frac": ("yarn", "regain_out"),
    "finish_loss_frac": ("yarn", "finish_loss"),
    "count_tex": ("yarn", "count_spun"),
}
"""Where in the mill file each attribute of a layout comes from."""
