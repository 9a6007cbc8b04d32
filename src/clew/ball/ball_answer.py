"""What a line's winders are set to for a ball, and what it will be: what a run card begins with."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from clew.ball.bounds import Interval, interval_around
from clew.ball.doubt import doubt_of
from clew.ball.first.line_settings import counter_of
from clew.ball.from_mill import Terms, terms_of
from clew.ball.turns import TurnsAnswer, set_turns
from clew.ball.wind.build import length_at
from clew.ball.wind.growth import laid_in
from clew.ball.wind.ribbons import EquatorCover, equator_cover
from clew.languages import say
from clew.mill.balls import Ball
from clew.mill.lines import Line
from clew.mill.model import Mill

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
class BallAnswer:
    """A ball on the winders of a line.

    Attributes
    ----------
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
    coverage : EquatorCover
        How the strand covers the ball, and any ribbon.
    """

    terms: Terms
    answer: TurnsAnswer
    call_out_mass_g: Interval
    call_out_length_m: Interval
    call_out_scale_g: Interval
    settings: tuple[WinderSetting, ...]
    coverage: EquatorCover


def ball_answer_of(
    mill: Mill, ball_name: str, lot_name: str = "", line_name: str = ""
) -> BallAnswer:
    """Set the winders of a line for a ball.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name, lot_name, line_name : str
        What is to be made, of which dye lot, where; an empty lot means the nominal yarn, an empty
        line the only one.

    Returns
    -------
    BallAnswer
        Settings, mean ball, intervals.

    Raises
    ------
    BadInput
        When a name is not in the mill file, or the lot is of another yarn.
    """
    ball, line = mill.find_ball(ball_name), mill.find_line(line_name)
    terms = terms_of(mill, ball_name, lot_name)
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    scale_log_sd = scale_log_sd_of(terms, answer)
    sure = CALL_OUT_CONFIDENCE
    cover, _ = equator_cover(
        terms.winding.setting, answer.build, strand_width_mm(answer.build.area_mm2)
    )
    return BallAnswer(
        terms=terms,
        answer=answer,
        call_out_mass_g=interval_around(answer.mass_g, answer.mass_log_sd, sure),
        call_out_length_m=interval_around(answer.length_m, answer.length_log_sd, sure),
        call_out_scale_g=interval_around(answer.as_weighed_g, scale_log_sd, sure),
        settings=winder_rows(ball, line, answer),
        coverage=cover,
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


def winder_rows(ball: Ball, line: Line, answer: TurnsAnswer) -> tuple[WinderSetting, ...]:
    """Settings of a line's winders, each in its own counts, with the ball they really give.

    Parameters
    ----------
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
    wound = laid_in(answer.build.growth, most)
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


def scale_log_sd_of(terms: Terms, answer: TurnsAnswer) -> float:
    """Spread of one ball's mass as a scale sees it, off the line [-]."""
    weighed = replace(terms.promise, commercial=False)
    return doubt_of(answer.law, terms.strand, weighed, terms.winding).mass_log_sd
