"""What a mill file says of who drifted: targets, what a count winds, prices, a reel's time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from clew.ball.first.line_settings import counter_of
from clew.ball.from_mill import terms_of
from clew.ball.last_turn import last_turn
from clew.ball.turns import basis_factor
from clew.checks.components.corrections import Aim, Count, corrections
from clew.checks.components.drifted import Drifted
from clew.checks.components.signature import Priors
from clew.checks.components.unreel import Unreeling, balls_to_know_length
from clew.checks.reel_length import ReelTerms
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.model import Mill

KNOW_SHARE = 0.005
"""Half width to which a length is asked to be known: half of one percent of it."""


@dataclass(frozen=True, slots=True)
class DriftTerms:
    """What corrections are worked out with.

    Attributes
    ----------
    aim : Aim
        Targets and prices.
    counts : dict of str to Count
        What a count of each winder winds, by winder.
    currency : str
        The mill's money; empty where there is none.
    ball_price : float
        What a ball that is unreeled was worth [money].
    hand_s, hand_per_hour : float
        Hand's time to reel one ball [s], and what an hour costs [money/h].
    how : str
        Where the counts come from, in a sentence.
    reel_terms : ReelTerms or None
        How the strand gives on a reel.
    balls_ahead : int or None
        A winder's share of the dye lot's balls; none where no dye lot is named.
    """

    aim: Aim
    counts: dict[str, Count]
    currency: str
    ball_price: float
    hand_s: float
    hand_per_hour: float
    how: str
    reel_terms: ReelTerms | None = None
    balls_ahead: int | None = None


def drift_terms(
    mill: Mill, ball_name: str, dye_lot: str, line_name: str, winders: Sequence[str]
) -> DriftTerms:
    """Take the terms of a ball on a line.

    Parameters
    ----------
    mill : Mill
        The mill.
    ball_name, dye_lot, line_name : str
        Ball, dye lot and line; empty for the yarn as spun and for the only line.
    winders : sequence of str
        Winders as the file of weighings names them.

    Returns
    -------
    DriftTerms
        The terms.

    Raises
    ------
    BadInput
        When one of them is not in the mill file, or a winder is not the line's.
    """
    terms = terms_of(mill, ball_name, dye_lot, line_name)
    ball, line = mill.find_ball(ball_name), mill.find_line(line_name)
    promise = terms.promise
    last = last_turn(terms.strand, promise, terms.winding)
    basis = basis_factor(terms.strand, promise)
    counts = {}
    for name in winders:
        if not name.isdecimal():
            raise BadInput(
                Fault(
                    say("not a winder's number"),
                    say("one of the line's"),
                    key="winder",
                    value=repr(name),
                )
            )
        each = counter_of(line, ball, int(name)).flyer_turns_per_count
        counts[name] = Count(each, each * last.mass_g, each * last.length_m)
    prices, run = mill.prices, terms.winding.run
    yarn_price = last.as_weighed_g / 1000.0 * prices.yarn_per_kg
    return DriftTerms(
        aim=Aim(
            target_mass_g=promise.target_mass_g / basis,
            target_length_m=promise.target_length_m,
            declared_mass_g=promise.declared_mass_g / basis,
            price_per_kg=prices.yarn_per_kg,
            change_cost=prices.weigh_each,
        ),
        counts=counts,
        currency=prices.currency,
        ball_price=ball.price if ball.price is not None else yarn_price,
        hand_s=mill.checks.reel_time_s,
        hand_per_hour=prices.hand_per_hour,
        how=say(
            "The last turn of {ball} is {length:.3g} m and {mass:.3g} g.",
            ball=ball.name,
            length=last.length_m,
            mass=last.mass_g,
        ),
        reel_terms=ReelTerms(
            modulus_cn_per_tex=terms.strand.modulus_cn_per_tex, count_tex=terms.strand.count_tex
        ),
        balls_ahead=max(round(run.balls / run.winders), 1) if dye_lot else None,
    )


def unreel_for(found: Drifted, terms: DriftTerms) -> Unreeling | None:
    """Find how many balls of a winder to unreel a shift; none where no length is promised.

    Parameters
    ----------
    found : Drifted
        Who drifted: the spread of its lengths is used where some were reeled.
    terms : DriftTerms
        The terms.

    Returns
    -------
    Unreeling or None
        Balls of one winder, and what they cost.
    """
    length_m = terms.aim.target_length_m
    if length_m is None:
        return None
    sd = Priors().length_sd_frac
    lengths = {one.winder: one.lengths for one in found.signatures}
    for one in found.corrections:
        standing = one.standing
        reeled = lengths.get(standing.winder, 0)
        if reeled and standing.length_se_m and standing.length_m:
            sd = standing.length_se_m / standing.length_m * reeled**0.5
            break
    return balls_to_know_length(
        KNOW_SHARE * length_m,
        within_sd_m=sd * length_m,
        ball_price=terms.ball_price,
        hand_s=terms.hand_s,
        hand_per_hour=terms.hand_per_hour,
    )


def aimed_anew(found: Drifted, terms: DriftTerms) -> Drifted:
    """Correct the same winders for other targets or prices; what the balls say stays.

    Parameters
    ----------
    found : Drifted
        Who drifted.
    terms : DriftTerms
        Other terms of the same ball.

    Returns
    -------
    Drifted
        The same with its corrections worked out anew.

    Raises
    ------
    BadInput
        When a target or a price cannot be used.
    """
    standing = tuple(one.standing for one in found.corrections)
    ahead = {one.standing.winder: one.balls_ahead for one in found.corrections}
    return replace(found, corrections=corrections(standing, terms.counts, ahead, terms.aim))
