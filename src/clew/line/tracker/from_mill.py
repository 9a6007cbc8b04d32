"""Read off a mill what the tracker must know of a line, and how unsure that is."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from clew.ball.counter import Counter
from clew.ball.from_mill import Terms, terms_of
from clew.ball.outcome import strain_of
from clew.ball.turns import TurnsAnswer, set_turns
from clew.faults import BadInput, Fault
from clew.line.layout_from_mill import START_BUFFER_FRAC, across_of
from clew.line.tracker.terms import TrackDoubt, TrackTerms
from clew.mill.model import Mill

FEED_CV = 0.003
"""Slip of a feed against its counter, the same all day: assumed."""
FEED_WALK_M = 2.0
"""Slip that comes and goes, after a kilometre fed [m]: assumed."""
TIE_SD_S = 2.0
"""Time between a tie and its message [s]: assumed."""
SEEN_SD_M = 5.0
"""Where a hand sees a tie before the winder [m, raw]: assumed."""
SENSOR_SD_S = 3.0
"""What belt time and buffer may be off by [s of feed]: assumed."""
UNANNOUNCED_FRAC = 0.05
"""Ties without a message: assumed."""
OFF_SETTING = 10.0
"""A winder set to so many times fewer, or more, turns than the ball asks for winds another ball."""


def track_terms(
    mill: Mill, line_name: str, ball_name: str, lot_name: str = "", turns: int | None = None
) -> tuple[TrackTerms, TrackDoubt, dict[int, Counter]]:
    """Read the tracker's terms off a mill.

    Parameters
    ----------
    mill : Mill
        The mill.
    line_name : str
        Name of the line; empty for the only one.
    ball_name, lot_name : str
        The ball, and the dye lot it is made from; empty for the yarn as nominal.
    turns : int, optional
        Flyer turns the winders are set to; those of `clew ball turns` where left out.

    Returns
    -------
    (TrackTerms, TrackDoubt, dict of int to Counter)
        The line, how unsure it is, and each lane's counter.

    Raises
    ------
    BadInput
        When a name is not in the mill file, or turns are given that wind another ball.

    Notes
    -----
    Buffer and winding speed of the mill file are of steamed strand, so L m of them are
    L/(1 - shrink) m raw, as in `clew.line.layout_from_mill`; as wound, the strand is stretched.
    At the start a lane is taken to hold the strand of its belt and half a buffer, which may stand
    anywhere from empty to full (uniform: 1/sqrt(12) of it). Balls unlike one another come from
    density, moisture and count, through how a ball's length goes with the strand's room in it.
    """
    line = mill.find_line(line_name)
    ball = mill.find_ball(ball_name)
    yarn = mill.find_yarn(ball.yarn)
    terms = terms_of(mill, ball_name, lot_name, line.name)
    found = set_turns(terms.strand, terms.promise, terms.winding)
    if turns is not None:
        least, most = math.ceil(found.turns / OFF_SETTING), int(found.turns * OFF_SETTING)
        if not least <= turns <= most:
            raise BadInput(
                Fault(
                    f"no setting of {ball.name}, which takes {found.turns} turns",
                    f"{least} to {most}",
                    key="turns",
                    value=str(turns),
                )
            )
        found = set_turns(terms.strand, terms.promise, terms.winding, turns=turns)
    counters = {
        one.lane: Counter(one.counter_on, one.turns_per_count, ball.wind_ratio)
        for one in line.winder
    }
    laid = found.build.cumulative_length_m
    marks = np.minimum(np.arange(laid.size, dtype=np.float64), found.build.turns)
    speed = line.belt_speed_m_per_s
    if speed <= 0.0:
        raise BadInput(Fault("a belt that stands", "a speed above 0", key="belt_speed"))
    stations = tuple(
        (name, length_m / speed)
        for name, length_m in (
            ("lay-down", line.lay_down_length_m),
            ("steamer", line.steamer_length_m),
            ("dryer", line.dryer_length_m),
            ("belt after the dryer", line.belt_after_dryer_m),
        )
    )
    passage_s = across_of(line) / speed
    buffer_m = line.buffer_m / (1.0 - terms.strand.shrink_frac)
    strain = strain_of(terms.strand, terms.winding)
    track = TrackTerms(
        lanes=line.lanes,
        feed_m_per_s=line.feed_speed_m_per_s,
        wind_m_per_s=line.wind_speed_m_per_s * (1.0 + strain),
        shrink_frac=terms.strand.shrink_frac,
        strain_frac=strain,
        passage_s=passage_s,
        buffer_m=buffer_m,
        knot_turns=marks,
        knot_laid_m=np.asarray(laid, dtype=np.float64),
        full_turns={
            lane: counter.counts_for_turns(found.turns).turns for lane, counter in counters.items()
        },
        content_m=passage_s * line.feed_speed_m_per_s + START_BUFFER_FRAC * buffer_m,
        winder_of={one.lane: one.number for one in line.winder},
        stations=stations,
        cone_m=1000.0 * yarn.cone_mass_g / terms.strand.count_spun_tex,
    )
    return track, _doubt(track, terms, found, yarn.shrink_sd_frac), counters


def with_content(
    track: TrackTerms,
    doubt: TrackDoubt,
    content_m: float | None = None,
    content_sd_m: float | None = None,
) -> tuple[TrackTerms, TrackDoubt]:
    """Put in what a lane held when its log began, and how unsure that is, where they are known.

    Parameters
    ----------
    track : TrackTerms
        The line.
    doubt : TrackDoubt
        How unsure it is.
    content_m, content_sd_m : float, optional
        Raw strand between creel and winder, and its standard deviation [m]; as they are where
        left out.

    Returns
    -------
    (TrackTerms, TrackDoubt)
        Both, with what is known.

    Raises
    ------
    BadInput
        When the belt alone holds more, or belt and full buffer hold less; for a spread beyond what
        there is between the two.
    """
    content_m = track.content_m if content_m is None else content_m
    content_sd_m = doubt.content_sd_m if content_sd_m is None else content_sd_m
    belt_m = track.passage_s * track.feed_m_per_s
    faults = []
    if not belt_m <= content_m <= belt_m + track.buffer_m:
        faults.append(
            Fault(
                "what no lane can hold",
                f"{math.ceil(belt_m)} m, the belt alone, to {belt_m + track.buffer_m:.0f} m with a "
                "full buffer, before steam",
                key="content_m",
                value=f"{content_m:g} m",
            )
        )
    if not 0.0 <= content_sd_m <= track.buffer_m:
        faults.append(
            Fault(
                "more than a lane's content can vary",
                f"at most {track.buffer_m:.0f} m, a full buffer before steam",
                key="content_sd_m",
                value=f"{content_sd_m:g} m",
            )
        )
    if faults:
        raise BadInput(faults)
    return replace(track, content_m=content_m), replace(doubt, content_sd_m=content_sd_m)


def _doubt(
    track: TrackTerms, terms: Terms, found: TurnsAnswer, shrink_sd_frac: float
) -> TrackDoubt:
    spreads = [one.cv for one in terms.strand.spreads if one.level in ("ball", "cone")]
    spreads += [terms.winding.pack_density_cv, terms.strand.moisture.cv]
    ball_cv = abs(found.area_elasticity) * math.hypot(*spreads)
    ball_raw_m = found.build.length_m * track.raw_per_laid
    return TrackDoubt(
        content_sd_m=track.buffer_m / math.sqrt(12.0),
        feed_cv=FEED_CV,
        feed_walk_m=FEED_WALK_M,
        shrink_cv=shrink_sd_frac / (1.0 - track.shrink_frac),
        turn_cv=terms.winding.turn_length_cv,
        wind_walk_m=ball_cv * math.sqrt(1000.0 * ball_raw_m),
        tie_sd_s=TIE_SD_S,
        seen_sd_m=SEEN_SD_M,
        sensor_sd_m=SENSOR_SD_S * track.feed_m_per_s,
        unannounced_frac=UNANNOUNCED_FRAC,
    )
