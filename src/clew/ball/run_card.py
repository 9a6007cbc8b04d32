"""Everything a run card says, worked out before it is arranged on paper or on a page."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from clew.ball.bounds import Interval, interval_around
from clew.ball.doubt import doubt_of
from clew.ball.first.belief import Belief
from clew.ball.first.line_settings import counter_of
from clew.ball.from_mill import Terms, terms_of
from clew.ball.size.of_ball import size_of
from clew.ball.size.shape import BallShape
from clew.ball.turns import TurnsAnswer, set_turns
from clew.ball.wind.build import build, length_at
from clew.ball.wind.coverage import Coverage, coverage
from clew.languages import joined, say
from clew.mill.balls import Ball
from clew.mill.lines import Line
from clew.mill.model import Mill
from clew.mill.yarns import FibreBlend
from clew.quantities import FRACTION, show
from clew.strand.bulk import BeltBalance, belt_balance
from clew.strand.fibres import fibre

CALL_OUT_CONFIDENCE = 0.997
"""One ball in three hundred is outside by chance: common practice, no published source."""


@dataclass(frozen=True, slots=True)
class WinderSetting:
    """What to set on one winder.

    Attributes
    ----------
    winder, lane : int
        The winder's number and the lane it stands in.
    counts : int
        What its own counter is set to.
    turns : float
        Flyer turns that gives.
    mass_g, length_m : float
        Mean ball at those turns, on the basis of the promise [g], at rest [m].
    scale_mass_g : float
        What a hand's scale shows of it, off the line [g].
    counter_words : str
        What that counter counts.
    """

    winder: int
    lane: int
    counts: int
    turns: float
    mass_g: float
    length_m: float
    scale_mass_g: float
    counter_words: str


@dataclass(frozen=True, slots=True)
class RunCard:
    """A run card: one product, one dye lot, one line.

    Attributes
    ----------
    mill_name, line_name, ball_name, yarn_name, blend_words : str
        What is made, of what, where.
    colour_name, lot_name : str
        Colourway and dye lot; empty when no lot was chosen.
    rule_set : str
        Rule set the declarations are judged by.
    terms : Terms
        What was known beforehand.
    answer : TurnsAnswer
        Turns, mean ball and intervals.
    call_out_mass_g, call_out_length_m : Interval
        Outside these a single ball is worth calling the lead for; mass on the basis of the promise.
    call_out_scale_g : Interval
        The same on a hand's scale, off the line, where regain moves the mass as well.
    settings : tuple of WinderSetting
        One row a winder.
    belt : BeltBalance
        Take-off speed, overfeed, coils and dwell in steam, for one lane.
    feed_m_per_s, belt_m_per_s : float
        Feed and belt speeds [m/s].
    dryer_dwell_s : float
        Stay in the dryer [s].
    steam_temperature_c, dryer_temperature_c : float
        Set temperatures [°C].
    longest_dwell_s : float
        Longest stay in steam [s], beyond which the yarn is second-quality.
    shape : BallShape
        Ball size wound, off the mandrel, at rest and pressed.
    coverage : Coverage
        How the strand covers the ball, and any ribbon.
    knot_limit : int
        Most knots in a first-quality ball.
    band_text : tuple of str
        Lines of the ball band.
    first_balls : int
        First balls that settings and call-out band rest on; 0 for a card made before the run.
    """

    mill_name: str
    line_name: str
    ball_name: str
    yarn_name: str
    blend_words: str
    colour_name: str
    lot_name: str
    rule_set: str
    terms: Terms
    answer: TurnsAnswer
    call_out_mass_g: Interval
    call_out_length_m: Interval
    call_out_scale_g: Interval
    settings: tuple[WinderSetting, ...]
    belt: BeltBalance
    feed_m_per_s: float
    belt_m_per_s: float
    dryer_dwell_s: float
    steam_temperature_c: float
    dryer_temperature_c: float
    longest_dwell_s: float
    shape: BallShape
    coverage: Coverage
    knot_limit: int
    band_text: tuple[str, ...]
    first_balls: int = 0


def blend_words(blend: FibreBlend) -> str:
    """Write a blend for people: ``55 % combed wool, 45 % acrylic``."""
    named = [(part.share_frac, fibre(part.fibre)) for part in blend.fibres]
    return joined(
        ", ", (joined(" ", (show(share, FRACTION), one.short or one.title)) for share, one in named)
    )


def strand_width_mm(area_mm2: float) -> float:
    """Width a strand covers on the ball.

    Parameters
    ----------
    area_mm2 : float
        Packed area of the strand [mm2].

    Returns
    -------
    float
        Side of the square of that area [mm]: as broad as it is high, so that covers and packed
        volume agree. Source: DERIVED.
    """
    return math.sqrt(area_mm2)


def winder_rows(
    terms: Terms, ball: Ball, line: Line, answer: TurnsAnswer
) -> tuple[WinderSetting, ...]:
    """Settings of a line's winders, each in its own counts, with the ball they really give.

    Parameters
    ----------
    terms : Terms
        The ball's terms.
    ball : Ball
        The ball.
    line : Line
        The line.
    answer : TurnsAnswer
        The turns asked for.

    Returns
    -------
    tuple of WinderSetting
        In the order of the lanes. Counts are the fewest whole ones that give the turns or more.
    """
    settings = {
        one.number: counter_of(line, ball, one.number).counts_for_turns(float(answer.turns))
        for one in line.winder
    }
    most = max(setting.turns for setting in settings.values())
    wound = build(terms.winding.setting, answer.build.area_mm2, turns=most)
    per_metre = answer.length_m / answer.laid_length_m
    rows = []
    for one in sorted(line.winder, key=lambda winder: winder.lane):
        setting = settings[one.number]
        laid = length_at(wound, min(setting.turns, wound.turns))
        rows.append(
            WinderSetting(
                winder=one.number,
                lane=one.lane,
                counts=setting.counts,
                turns=setting.turns,
                mass_g=laid / answer.laid_length_m * answer.mass_g,
                length_m=laid * per_metre,
                scale_mass_g=laid / answer.laid_length_m * answer.as_weighed_g,
                counter_words=counter_words(one.counter_on, one.turns_per_count),
            )
        )
    return tuple(rows)


def counter_words(counter_on: str, turns_per_count: float) -> str:
    """Say what a counter counts.

    Parameters
    ----------
    counter_on : {"flyer", "ball"}
        The shaft it counts.
    turns_per_count : float
        Revolutions of that shaft in one count [turns].

    Returns
    -------
    str
        Such as ``flyer turns`` or ``10 flyer turns a count``.
    """
    if turns_per_count == 1.0:
        return say("flyer turns") if counter_on == "flyer" else say("turns of the ball")
    return (
        say("{turns:g} flyer turns a count", turns=turns_per_count)
        if counter_on == "flyer"
        else say("{turns:g} turns of the ball a count", turns=turns_per_count)
    )


def run_card_of(
    mill: Mill,
    ball_name: str,
    lot_name: str = "",
    line_name: str = "",
    belief: Belief | None = None,
) -> RunCard:
    """Work out a run card.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name, lot_name, line_name : str
        What is to be made, of which dye lot, where; an empty lot means the nominal yarn, an empty
        line the only one.
    belief : Belief, optional
        What first balls of this ball, lot and line said: the winders are then set as they advise.

    Returns
    -------
    RunCard
        Everything the card says.

    Raises
    ------
    BadInput
        When a name is not in the mill file, the lot is of another yarn, or the belief is about
        something else.
    """
    ball, line = mill.find_ball(ball_name), mill.find_line(line_name)
    yarn = mill.find_yarn(ball.yarn)
    terms = terms_of(mill, ball_name, lot_name)
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    card = card_of(mill, ball, line, terms, answer, yarn.name, lot_name)
    if belief is None:
        return card
    from clew.ball.first.card_after import card_after  # it arranges the card made here anew

    return card_after(card, mill, ball, line, belief)


def scale_log_sd_of(terms: Terms, answer: TurnsAnswer) -> float:
    """Spread of one ball's mass as a scale sees it, off the line [-]."""
    weighed = replace(terms.promise, commercial=False)
    return doubt_of(answer.law, terms.strand, weighed, terms.winding).mass_log_sd


def card_of(
    mill: Mill,
    ball: Ball,
    line: Line,
    terms: Terms,
    answer: TurnsAnswer,
    yarn_name: str,
    lot_name: str,
) -> RunCard:
    """Gather a card around turns that were worked out already; arguments as for `run_card_of`."""
    colour_name = ""
    if lot_name:
        colour, dye_lot = mill.find_dye_lot(lot_name)
        colour_name, lot_name = colour.name, dye_lot.lot
    scale_log_sd = scale_log_sd_of(terms, answer)
    return RunCard(
        mill_name=mill.mill.name,
        line_name=line.name,
        ball_name=ball.name,
        yarn_name=yarn_name,
        blend_words=blend_words(mill.find_blend(mill.find_yarn(yarn_name).blend)),
        colour_name=colour_name,
        lot_name=lot_name,
        rule_set=ball.rule_set,
        terms=terms,
        answer=answer,
        call_out_mass_g=interval_around(answer.mass_g, answer.mass_log_sd, CALL_OUT_CONFIDENCE),
        call_out_length_m=interval_around(
            answer.length_m, answer.length_log_sd, CALL_OUT_CONFIDENCE
        ),
        call_out_scale_g=interval_around(answer.as_weighed_g, scale_log_sd, CALL_OUT_CONFIDENCE),
        settings=winder_rows(terms, ball, line, answer),
        belt=belt_balance(
            line.feed_speed_m_per_s,
            terms.strand.shrink_frac,
            line.belt_speed_m_per_s,
            count_tex=terms.strand.count_spun_tex,
            belt_width_m=line.belt_width_mm / 1000.0,
            coil_diameter_m=line.coil_diameter_mm / 1000.0,
            steam_length_m=line.steamer_length_m,
        ),
        feed_m_per_s=line.feed_speed_m_per_s,
        belt_m_per_s=line.belt_speed_m_per_s,
        dryer_dwell_s=line.dryer_length_m / line.belt_speed_m_per_s,
        steam_temperature_c=line.steam_temperature_c,
        dryer_temperature_c=line.dryer_temperature_c,
        longest_dwell_s=line.longest_dwell_s,
        shape=size_of(ball, terms.strand, terms.winding, answer.build),
        coverage=coverage(
            terms.winding.setting, answer.build, strand_width_mm(answer.build.area_mm2)
        ),
        knot_limit=ball.knot_limit,
        band_text=ball.band_text,
    )
