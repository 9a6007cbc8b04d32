"""Everything a run card says, worked out before it is arranged on paper or on a page."""

from __future__ import annotations

from dataclasses import dataclass, fields

from clew.ball.ball_answer import BallAnswer, ball_answer_of, strand_width_mm
from clew.ball.first.belief import Belief
from clew.ball.size.of_ball import size_of
from clew.ball.size.shape import BallShape
from clew.ball.wind.coverage import Coverage, coverage
from clew.languages import joined
from clew.mill.model import Mill
from clew.mill.yarns import FibreBlend
from clew.quantities import FRACTION, show
from clew.strand.bulk import BeltBalance, belt_balance
from clew.strand.fibres import fibre


@dataclass(frozen=True, slots=True)
class RunCard(BallAnswer):
    """A run card: one product, one dye lot, one line.

    Attributes
    ----------
    mill_name, line_name, ball_name, yarn_name, blend_words : str
        What is made, of what, where.
    colour_name, lot_name : str
        Colourway and dye lot; empty when no lot was chosen.
    rule_set : str
        Rule set the declarations are judged by.
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
        How the strand covers the ball, its surface with it, and any ribbon.
    knot_limit : int
        Most knots in a first-quality ball.
    band_text : tuple of str
        Lines of the ball band.
    first_balls : int
        First balls that settings and call-out band rest on; 0 for a card made before the run.
    """

    coverage: Coverage
    mill_name: str
    line_name: str
    ball_name: str
    yarn_name: str
    blend_words: str
    colour_name: str
    lot_name: str
    rule_set: str
    belt: BeltBalance
    feed_m_per_s: float
    belt_m_per_s: float
    dryer_dwell_s: float
    steam_temperature_c: float
    dryer_temperature_c: float
    longest_dwell_s: float
    shape: BallShape
    knot_limit: int
    band_text: tuple[str, ...]
    first_balls: int = 0


def blend_words(blend: FibreBlend) -> str:
    """Write a blend for people: ``55 % combed wool, 45 % acrylic``."""
    named = [(part.share_frac, fibre(part.fibre)) for part in blend.fibres]
    return joined(
        ", ", (joined(" ", (show(share, FRACTION), one.short or one.title)) for share, one in named)
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
    found = ball_answer_of(mill, ball_name, lot_name, line_name)
    card = card_of(mill, found, ball_name, lot_name, line_name)
    if belief is None:
        return card
    from clew.ball.first.card_after import card_after  # it arranges the card made here anew

    ball, line = mill.find_ball(ball_name), mill.find_line(line_name)
    return card_after(card, mill, ball, line, belief)


def card_of(
    mill: Mill, found: BallAnswer, ball_name: str, lot_name: str, line_name: str
) -> RunCard:
    """Make a card of an answer that was worked out already; arguments as for `run_card_of`."""
    ball, line = mill.find_ball(ball_name), mill.find_line(line_name)
    yarn = mill.find_yarn(ball.yarn)
    terms, answer = found.terms, found.answer
    colour_name = ""
    if lot_name:
        colour, dye_lot = mill.find_dye_lot(lot_name)
        colour_name, lot_name = colour.name, dye_lot.lot
    width_mm = strand_width_mm(answer.build.area_mm2)
    begun = {one.name: getattr(found, one.name) for one in fields(BallAnswer)}
    begun["coverage"] = coverage(terms.winding.setting, answer.build, width_mm)
    return RunCard(
        **begun,
        mill_name=mill.mill.name,
        line_name=line.name,
        ball_name=ball.name,
        yarn_name=yarn.name,
        blend_words=blend_words(mill.find_blend(yarn.blend)),
        colour_name=colour_name,
        lot_name=lot_name,
        rule_set=ball.rule_set,
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
        knot_limit=ball.knot_limit,
        band_text=ball.band_text,
    )
