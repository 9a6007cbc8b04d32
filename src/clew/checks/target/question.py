"""What a target is asked of, put together from what is said, weighed balls and a mill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from clew.checks.packages.plan import Plan, Quantity
from clew.checks.target.ball_now import OfMill
from clew.checks.target.chances import LotMake
from clew.checks.target.given import Given
from clew.checks.target.inspected import Condition, MeanBall
from clew.checks.target.question_condition import condition_seen, inspector_of, regain_weighed
from clew.checks.target.question_plans import Declare, plans_asked
from clew.checks.target.question_spread import OPTION, first_balls, spread_asked
from clew.checks.target.spread import LevelName, Spread
from clew.faults import BadInput, Fault
from clew.languages import joined, say

if TYPE_CHECKING:
    from clew.checks.target.from_balls import FromBalls
    from clew.checks.weighings import Weighings
    from clew.mill.net_content import Tables


@dataclass(frozen=True, slots=True)
class Question:
    """Everything the target is worked out from.

    Attributes
    ----------
    plans : tuple of Plan
        What the rule sets ask.
    ball : MeanBall
        Mass and length that the same turns give.
    length_known : bool
        Whether that length is one, or only stands for none.
    spread : Spread
        How balls differ.
    lot : LotMake
        The lot that is inspected.
    condition : Condition
        Regain and doubts of the inspection.
    present_g : float or None
        Mean ball now, as weighed [g]; none where it is not known.
    price_per_kg : float or None
        Price of the yarn [money/kg].
    ball_price, short_price : float or None
        Price of a ball that holds its declaration, and of one that does not [money].
    currency : str
        That of the mill; empty without one.
    balls_a_year : int or None
        Balls made in a year.
    risk : float
        Largest share of lots that may fail [-].
    spread_from : str
        Where the spread comes from.
    notes : tuple of str
        What was assumed or cannot be told.
    of_mill : OfMill or None
        The ball as the mill winds it now; none without a mill.
    """

    plans: tuple[Plan, ...]
    ball: MeanBall
    length_known: bool
    spread: Spread
    lot: LotMake
    condition: Condition
    present_g: float | None
    price_per_kg: float | None
    ball_price: float | None
    short_price: float | None
    currency: str
    balls_a_year: int | None
    risk: float
    spread_from: str
    notes: tuple[str, ...]
    of_mill: OfMill | None


def _of_weighed(balls: Weighings | None, tare_g: float | None) -> tuple[FromBalls | None, str]:
    """Find how weighed balls differ; the sentence names their condition."""
    if balls is None:
        return None, say("Mass as weighed.")
    from clew.checks.condition import Condition as Weighed
    from clew.checks.condition import net_mass
    from clew.checks.target.from_balls import spread_from_balls

    mass_g, words = net_mass(balls, Weighed(tare_g=tare_g))
    return spread_from_balls(mass_g, balls.numbers.get("length_m"), balls.factors), words


def mean_ball(
    given: Given, said: dict[Quantity, float], of_mill: OfMill | None, found: FromBalls | None
) -> tuple[MeanBall, float | None, bool, list[str]]:
    """Mass and length that the same turns give; the mean now; whether the length is known.

    Parameters
    ----------
    given : Given
        What is said by hand.
    said : dict of str to float
        Declared contents [g or m].
    of_mill : OfMill or None
        The ball of the mill file.
    found : FromBalls or None
        What weighed balls say.

    Returns
    -------
    MeanBall, float or None, bool, list of str
        The ball, its mean mass now [g], whether its length is known, and what was assumed.

    Raises
    ------
    BadInput
        When the mass is not known, or a length is declared and the count is not known.
    """
    notes: list[str] = []
    present = given.mean_g
    if present is None and found is not None:
        present = found.mean_mass_g
    if present is None and of_mill is not None:
        present = of_mill.answer.as_weighed_g
    mass = said.get("mass") if present is None else present
    if mass is None:
        raise BadInput(
            Fault(say("the mass of the ball is not known"), say('such as "101 g"'), key="--mean")
        )
    if given.count_tex is not None:
        if given.count_tex <= 0.0:
            raise BadInput(Fault(say("no count"), say("above 0 tex"), key="--count"))
        return MeanBall(mass, 1000.0 * mass / given.count_tex), present, True, notes
    if found is not None and found.mean_length_m is not None:
        length = found.mean_length_m * mass / found.mean_mass_g
        notes.append(say("count in the ball from {reeled} reeled balls", reeled=found.reeled))
        return MeanBall(mass, length), present, True, notes
    if of_mill is not None:
        length = of_mill.answer.length_m * mass / of_mill.answer.as_weighed_g
        return MeanBall(mass, length), present, True, notes
    if "mass" in said and "length" in said:
        notes.append(
            say(
                "count taken from the declarations: {count:.4g} tex; --count says the real one",
                count=1000 * said["mass"] / said["length"],
            )
        )
        return MeanBall(mass, said["length"] * mass / said["mass"]), present, True, notes
    if "length" in said:
        raise BadInput(
            Fault(say("the count is not known"), say('such as "500 tex"'), key="--count")
        )
    return MeanBall(mass, 1.0), present, False, notes


def lot_made(
    given: Given,
    lot_size: int,
    spread: Spread,
    of_mill: OfMill | None,
    balls: Weighings | None,
) -> LotMake:
    """The lot: balls, balls of a cone, winders; a level that varies must say its number.

    Raises
    ------
    BadInput
        When cones or winders differ and it is not known how many balls share one.
    """
    from clew.checks.target.from_balls import seen_balls_per_cone, seen_number

    per_cone, winders = given.balls_per_cone, given.winders
    if balls is not None:
        per_cone = per_cone or seen_balls_per_cone(balls.factors)
        winders = winders or seen_number(balls.factors, ("winder", "lane"))
    if of_mill is not None:
        yarn = of_mill.mill.find_yarn(of_mill.ball.yarn)
        per_cone = per_cone or max(round(yarn.cone_mass_g / of_mill.ball.declared_mass_g), 1)
        winders = winders or of_mill.terms.winding.run.winders
    for wanted, level, key in (
        (per_cone, spread.cone, "--balls-per-cone"),
        (winders, spread.winder, "--winders"),
    ):
        if wanted is None and not (level.mass.none and level.length.none):
            raise BadInput(
                Fault(
                    say("how many share a cone is not known")
                    if "cone" in key
                    else say("how many share a winder is not known"),
                    expected=say("a whole number"),
                    key=key,
                )
            )
    return LotMake(lot_size, per_cone or 1, winders or 1)


def question_of(
    given: Given,
    balls: Weighings | None,
    of_mill: OfMill | None,
    tables: Tables,
    declare: Declare | None = None,
) -> Question:
    """Put everything together.

    Parameters
    ----------
    given : Given
        What is said by hand.
    balls : Weighings or None
        Weighed balls, with mass; none where the spread is said otherwise.
    of_mill : OfMill or None
        A ball of a mill.
    tables : Tables
        The tables of the net-content rules.
    declare : callable, optional
        Reads what is declared by hand, for one rule set.

    Returns
    -------
    Question
        All that the target is worked out from.

    Raises
    ------
    BadInput
        When something is missing or out of reach; one line names the option that gives it.
    """
    tare_g = given.tare_g
    if tare_g is None and of_mill is not None:
        tare_g = of_mill.ball.tare_mass_g
    found, as_weighed = _of_weighed(balls, tare_g)
    size = given.lot_size
    if size is None and of_mill is not None:
        size = of_mill.terms.winding.run.balls
    if size is None:
        raise BadInput(
            Fault(say("no lot size"), say("balls in an inspected lot"), key="--lot-size")
        )
    plans, said, notes = plans_asked(given, of_mill, size, tables, declare)
    ball, present, length_known, more = mean_ball(given, said, of_mill, found)
    spread, spread_from = spread_asked(given, ball, of_mill, found)
    lot = lot_made(given, size, spread, of_mill, balls)
    weighed = regain_weighed(given, of_mill.terms if of_mill is not None else None, balls)
    mill = of_mill.mill if of_mill is not None else None
    ball_name = of_mill.ball.name if of_mill is not None else None
    inspector = inspector_of(given, mill, ball_name, plans, weighed)
    condition = condition_seen(given, ball, found, weighed, inspector)
    risk = of_mill.mill.checks.inspection_risk_frac if of_mill is not None else 0.01
    prices = of_mill.mill.prices if of_mill is not None else None
    price, full, short = given.price_per_kg, given.ball_price, given.short_price
    if of_mill is not None and prices is not None:
        price = prices.yarn_per_kg if price is None else price
        full = of_mill.ball.price if full is None else full
        if short is None and full is not None:
            short = full * prices.second_quality_share_frac
    told = [*_of_balls(found, given, of_mill), *_alike(given, spread)]
    if not first_balls(given, of_mill) and given.sds["lot"] is None and not spread.lot.mass.none:
        told.append(say("as if no first ball set a lot anew; --first-balls says how many do"))
    year = given.balls_a_year
    if year is None and of_mill is not None:
        year = of_mill.ball.made_a_year or None
    return Question(
        plans=plans,
        ball=ball,
        length_known=length_known,
        spread=spread,
        lot=lot,
        condition=condition,
        present_g=present,
        price_per_kg=price,
        ball_price=full,
        short_price=short,
        currency=prices.currency if prices is not None else "",
        balls_a_year=year,
        risk=given.risk if given.risk is not None else risk,
        spread_from=spread_from,
        notes=_once([as_weighed, inspector.words, *notes, *more, *told]),
        of_mill=of_mill,
    )


def _of_balls(found: FromBalls | None, given: Given, of_mill: OfMill | None) -> list[str]:
    """What the balls cannot tell, but for what an option or the mill has told in their place."""
    if found is None:
        return []
    told = given.sds["lot"] is not None or (of_mill is not None and found.few_lots)
    notes = [one for one in found.notes if not told or " lots " not in one]
    if told and given.sds["lot"] is None:
        notes.append(
            say("so few dye lots do not tell how lots vary: that is taken from the mill file")
        )
    return notes


def _alike(given: Given, spread: Spread) -> list[str]:
    """Say which levels are taken not to vary because nothing says how far they do."""
    words: dict[LevelName, str] = {
        "lot": say("dye lots"),
        "cone": say("cones"),
        "winder": say("winders"),
    }
    alike = [one for one in words if spread.level(one).mass.none and given.sds[one] is None]
    if not alike:
        return []
    options = ", ".join(OPTION[one] for one in alike)
    return [
        say(
            "{levels} taken as alike, the mildest case: {options} to say how far they differ",
            levels=joined(", ", (words[one] for one in alike)),
            options=options,
        )
    ]


def _once(notes: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(notes))
