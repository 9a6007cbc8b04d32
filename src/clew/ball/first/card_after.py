"""The run card after first balls: every winder set as they advise, the band by what they left."""

from __future__ import annotations

import math
from dataclasses import replace

from clew.ball.ball_answer import CALL_OUT_CONFIDENCE, scale_log_sd_of
from clew.ball.bounds import Interval, interval_around
from clew.ball.first.about import about_of, check_about
from clew.ball.first.belief import Belief
from clew.ball.first.line_settings import balls_of_lot, expected_wind, line_settings
from clew.ball.first.next_balls import NextBalls
from clew.ball.from_mill import lot_for
from clew.ball.run_card import RunCard
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.balls import Ball
from clew.mill.lines import Line
from clew.mill.model import Mill


def card_after(card: RunCard, mill: Mill, ball: Ball, line: Line, belief: Belief) -> RunCard:
    """Set a card's winders and its call-out band by what first balls said.

    Parameters
    ----------
    card : RunCard
        The card before any ball was weighed, with its dye lot.
    mill, ball, line : Mill, Ball, Line
        What it was made from.
    belief : Belief
        What the balls said.

    Returns
    -------
    RunCard
        The card with settings as `clew ball first-balls` advises them.

    Raises
    ------
    BadInput
        When the belief is about something else.

    Notes
    -----
    The one call-out band holds for every winder: its middle is the geometric mean of the winders'
    middles, its variance the mean of their variances and of the squares of what still parts the
    middles. On the basis of the promise, what only the scale sees of regain is taken off. Source:
    DERIVED (moments of a mixture).
    """
    if not card.lot_name:
        raise BadInput(
            Fault(say("a belief without its dye lot"), say("a dye lot, such as the belief's own"))
        )
    if not check_about(belief.about, about_of(mill, ball.name, card.lot_name, line.name)):
        then = belief.about.dye_lot if belief.about else ""
        raise BadInput(
            Fault(
                say(
                    "a belief about dye lot {then}, not {lot_name}",
                    then=then,
                    lot_name=card.lot_name,
                ),
                say("one that first-balls saved for {lot_name}", lot_name=card.lot_name),
            )
        )
    terms, answer = card.terms, card.answer
    lot = lot_for(mill, ball, card.lot_name)
    cone_mass_g = mill.find_yarn(ball.yarn).cone_mass_g
    advice = line_settings(
        belief,
        expected_wind(terms, answer),
        terms,
        ball,
        line,
        answer,
        mill.prices,
        lot_balls=balls_of_lot(answer.as_weighed_g, lot.cones, cone_mass_g),
    )
    basis = answer.mass_g / answer.as_weighed_g
    ahead: dict[int, NextBalls] = {}
    counts: dict[int, int] = {}
    for one in advice:
        number = int(one.winder)
        ahead[number] = one.proposed if one.worth_it else one.present
        counts[number] = one.counts if one.worth_it else one.present_counts
    settings = tuple(
        replace(
            row,
            counts=counts[row.winder],
            turns=ahead[row.winder].turns,
            mass_g=ahead[row.winder].mass_mean_g.middle * basis,
            length_m=ahead[row.winder].length_mean_m.middle,
            scale_mass_g=ahead[row.winder].mass_mean_g.middle,
        )
        for row in card.settings
    )
    balls = list(ahead.values())
    mass_g, mass_var = _mixed([(one.mass_ball_g.middle, one.mass_ball_sd) for one in balls])
    length_m, length_var = _mixed([(one.length_ball_m.middle, one.length_ball_sd) for one in balls])
    promised_var = mass_var - scale_log_sd_of(terms, answer) ** 2 + answer.mass_log_sd**2
    return replace(
        card,
        settings=settings,
        call_out_mass_g=_band(mass_g * basis, promised_var),
        call_out_length_m=_band(length_m, length_var),
        call_out_scale_g=_band(mass_g, mass_var),
        first_balls=len(belief.balls),
    )


def _mixed(parts: list[tuple[float, float]]) -> tuple[float, float]:
    """Middle, and variance of the logarithm, of balls that come from several winders alike."""
    logs = [math.log(middle) for middle, _ in parts]
    mean = math.fsum(logs) / len(logs)
    spread = math.fsum(
        sd * sd + (log - mean) ** 2 for log, (_, sd) in zip(logs, parts, strict=True)
    )
    return math.exp(mean), spread / len(parts)


def _band(middle: float, log_var: float) -> Interval:
    return interval_around(middle, math.sqrt(max(0.0, log_var)), CALL_OUT_CONFIDENCE)
