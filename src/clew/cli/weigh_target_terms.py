"""What `clew weigh target` is asked, put together from options, a file of balls and a mill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from clew.checks.packages.plan import Plan, Quantity
from clew.checks.target.chances import LotMake
from clew.checks.target.inspected import Condition, MeanBall
from clew.checks.target.spread import (
    LEVELS,
    Level,
    LevelName,
    Sd,
    Spread,
    after_first_balls,
    sd_from_interval,
)
from clew.cli.weigh_target_condition import condition_seen, inspector_of, regain_weighed
from clew.cli.weigh_target_given import Given
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.ball.from_mill import Terms
    from clew.ball.turns import TurnsAnswer
    from clew.checks.target.from_balls import FromBalls
    from clew.checks.weighings import Weighings
    from clew.mill.balls import Ball
    from clew.mill.model import Mill

OPTION: dict[LevelName, str] = {
    "lot": "--lot-sd",
    "cone": "--cone-sd",
    "winder": "--winder-sd",
    "within": "--within-sd",
}


@dataclass(frozen=True, slots=True)
class OfMill:
    """A ball of a mill file, wound as it is now."""

    mill: Mill
    ball: Ball
    terms: Terms
    answer: TurnsAnswer


@dataclass(frozen=True, slots=True)
class Question:
    """Everything the target is worked out from.

    Attributes
    ----------
    present_g : float or None
        Mean ball now, as weighed [g]; none where it is not known.
    notes : tuple of str
        What was assumed or cannot be told.
    spread_from : str
        Where the spread comes from.
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


def read_ball(mill_folder: Path | None, ball_name: str | None, dye_lot: str) -> OfMill | None:
    """Read a ball of a mill file, and what its winders are set to now."""
    if ball_name is None:
        return None
    from clew.ball.from_mill import terms_of
    from clew.ball.turns import set_turns
    from clew.cli.options import checked_mill

    mill = checked_mill(mill_folder or Path())
    terms = terms_of(mill, ball_name, dye_lot)
    answer = set_turns(terms.strand, terms.promise, terms.winding)
    return OfMill(mill, mill.find_ball(ball_name), terms, answer)


def read_balls(
    data: Path | None, tare_g: float | None
) -> tuple[FromBalls | None, Weighings | None, str]:
    """Read weighed balls, and find how they differ; the sentence names their condition."""
    if data is None:
        return None, None, "Mass as weighed."
    from clew.checks.condition import Condition as Weighed
    from clew.checks.condition import net_mass
    from clew.checks.target.from_balls import spread_from_balls
    from clew.ledger.intake.weighings import read_weighings

    columns = ("lot", "cone", "lane", "winder", "mass_g", "length_m", "regain_frac")
    balls = read_weighings(data, need=("mass_g",), only=columns)
    mass_g, words = net_mass(balls, Weighed(tare_g=tare_g))
    found = spread_from_balls(mass_g, balls.numbers.get("length_m"), balls.factors)
    return found, balls, words


def plans_asked(
    given: Given, of_mill: OfMill | None, mill_folder: Path | None, lot_size: int
) -> tuple[tuple[Plan, ...], dict[Quantity, float], list[str]]:
    """Lay out the plans of every rule set for everything declared that it covers."""
    from clew.checks.packages.ball_terms import ball_terms
    from clew.checks.packages.rule_sets import plan_of, rule_of
    from clew.cli.lot_terms import read_declarations
    from clew.mill.net_content import read_tables

    tables = read_tables(mill_folder)
    rules, said, notes = list(given.rules), dict[Quantity, float](), list[str]()
    if of_mill is not None:
        terms = ball_terms(of_mill.mill, of_mill.ball.name)
        said = terms.declared
        rules = rules or [one for one in (terms.rule, *terms.other_rules) if one]
    if not rules:
        raise BadInput(Fault("no rule set", "one or more, such as eu-average", key="--rule"))
    plans: list[Plan] = []
    for rule in dict.fromkeys(rules):
        contents, cautions = said, tuple[str, ...]()
        if given.declared:
            contents, cautions = read_declarations(given.declared, rule)
        notes += cautions
        covered = [one for one in contents if one in rule_of(rule).covers]
        plans += [
            plan_of(rule, one, contents[one], lot_size, tables, destructive=one == "length")
            for one in covered
        ]
        said = said or contents
        for one in contents:
            if one not in covered:
                notes.append(f"{rule} judges no {one}: the declared {one} is not in this target")
    if not plans:
        raise BadInput(
            Fault(
                "nothing declared that the rule sets judge",
                expected='such as "100 g"',
                key="--declared",
            )
        )
    if given.declared:
        said = read_declarations(given.declared, rules[0])[0]
    return tuple(plans), said, notes


def mean_ball(
    given: Given, said: dict[Quantity, float], of_mill: OfMill | None, found: FromBalls | None
) -> tuple[MeanBall, float | None, bool, list[str]]:
    """Mass and length that the same turns give; the mean now; whether the length is known."""
    notes: list[str] = []
    present = given.mean_g
    if present is None and found is not None:
        present = found.mean_mass_g
    if present is None and of_mill is not None:
        present = of_mill.answer.as_weighed_g
    mass = said.get("mass") if present is None else present
    if mass is None:
        raise BadInput(Fault("the mass of the ball is not known", 'such as "101 g"', key="--mean"))
    if given.count_tex is not None:
        if given.count_tex <= 0.0:
            raise BadInput(Fault("no count", "above 0 tex", key="--count"))
        return MeanBall(mass, 1000.0 * mass / given.count_tex), present, True, notes
    if found is not None and found.mean_length_m is not None:
        length = found.mean_length_m * mass / found.mean_mass_g
        notes.append(f"count in the ball from {found.reeled} reeled balls")
        return MeanBall(mass, length), present, True, notes
    if of_mill is not None:
        length = of_mill.answer.length_m * mass / of_mill.answer.as_weighed_g
        return MeanBall(mass, length), present, True, notes
    if "mass" in said and "length" in said:
        notes.append(
            f"count taken from the declarations: {1000 * said['mass'] / said['length']:.4g} tex; "
            "--count says the real one"
        )
        return MeanBall(mass, said["length"] * mass / said["mass"]), present, True, notes
    if "length" in said:
        raise BadInput(Fault("the count is not known", 'such as "500 tex"', key="--count"))
    return MeanBall(mass, 1.0), present, False, notes


def spread_asked(
    given: Given, ball: MeanBall, of_mill: OfMill | None, found: FromBalls | None
) -> tuple[Spread, str]:
    """The spread: of the weighed balls, else of the mill file; options take the place of either."""
    spread, words = Spread(winder=Level(correlation=1.0)), "the options"
    if of_mill is not None:
        from clew.checks.target.from_mill import spread_of_contributions

        spread = spread_of_contributions(of_mill.answer.contributions)
        words = "the mill file"
    if found is not None:
        of_lots = spread.lot
        spread, words = found.spread, f"{found.balls} weighed balls"
        if of_mill is not None and found.few_lots:
            spread = spread.with_level("lot", of_lots)
            words += ", that of dye lots from the mill file"
    typed = []
    for name in LEVELS:
        said = given.sds[name]
        if said is None:
            continue
        typed.append(OPTION[name])
        sd = _sd_of(said, ball.mass_g, OPTION[name])
        old = spread.level(name)
        length = sd if name == "winder" else old.length
        spread = spread.with_level(name, Level(sd, length, old.correlation))
    if given.length_sd_m is not None:
        sd = Sd(given.length_sd_m / ball.length_m)
        spread = spread.with_level("within", replace(spread.within, length=sd))
        typed.append("--length-sd")
    if not typed and found is None and of_mill is None:
        raise BadInput(
            Fault("no spread", "DATA, or --within-sd and the like, or --ball", key="--within-sd")
        )
    if typed and (found is not None or of_mill is not None):
        words += ", with " + ", ".join(typed)
    if given.first_balls is not None:
        spread = after_first_balls(spread, given.first_balls)
        words += f"; each lot set by {given.first_balls} first balls"
    return spread, words


def _sd_of(said: tuple[float, float, float], mass_g: float, key: str) -> Sd:
    value, low, high = (one / mass_g for one in said)
    try:
        return Sd(value) if low == high else sd_from_interval(value, low, high)
    except BadInput as bad:
        fault = bad.faults[0]
        raise BadInput(Fault(fault.what, fault.expected, key=key, value=f"{said[0]:g} g")) from None


def lot_made(
    given: Given,
    lot_size: int,
    spread: Spread,
    of_mill: OfMill | None,
    balls: Weighings | None,
) -> LotMake:
    """The lot: balls, balls of a cone, winders; a level that varies must say its number."""
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
                    "how many share a " + ("cone" if "cone" in key else "winder") + " is not known",
                    expected="a whole number",
                    key=key,
                )
            )
    return LotMake(lot_size, per_cone or 1, winders or 1)


def question_of(
    given: Given,
    data: Path | None,
    mill_folder: Path | None,
    ball_name: str | None,
    dye_lot: str,
) -> Question:
    """Put everything together.

    Raises
    ------
    BadInput
        When something is missing or out of reach; one line names the option that gives it.
    """
    of_mill = read_ball(mill_folder, ball_name, dye_lot)
    tare_g = given.tare_g
    if tare_g is None and of_mill is not None:
        tare_g = of_mill.ball.tare_mass_g
    found, balls, as_weighed = read_balls(data, tare_g)
    size = given.lot_size
    if size is None and of_mill is not None:
        size = of_mill.terms.winding.run.balls
    if size is None:
        raise BadInput(Fault("no lot size", "balls in an inspected lot", key="--lot-size"))
    plans, said, notes = plans_asked(given, of_mill, mill_folder, size)
    ball, present, length_known, more = mean_ball(given, said, of_mill, found)
    spread, spread_from = spread_asked(given, ball, of_mill, found)
    lot = lot_made(given, size, spread, of_mill, balls)
    weighed = regain_weighed(given, of_mill.terms if of_mill is not None else None, balls)
    inspector = inspector_of(
        given, of_mill.mill if of_mill is not None else None, ball_name, plans, weighed
    )
    condition = condition_seen(given, ball, found, weighed, inspector)
    risk = of_mill.mill.checks.inspection_risk_frac if of_mill is not None else 0.01
    prices = of_mill.mill.prices if of_mill is not None else None
    price, full, short = given.price_per_kg, given.ball_price, given.short_price
    if of_mill is not None and prices is not None:
        price = prices.yarn_per_kg if price is None else price
        full = of_mill.ball.price if full is None else full
        if short is None and full is not None:
            short = full * prices.second_quality_share_frac
    told = _of_balls(found, given, of_mill)
    if given.first_balls is None and given.sds["lot"] is None and not spread.lot.mass.none:
        told.append("as if no first ball set a lot anew; --first-balls says how many do")
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
        notes=_once(
            [as_weighed, inspector.words, *notes, *more, *_of_balls(found, given, of_mill)]
        ),
        of_mill=of_mill,
    )


def _of_balls(found: FromBalls | None, given: Given, of_mill: OfMill | None) -> list[str]:
    """What the balls cannot tell, but for what an option or the mill has told in their place."""
    if found is None:
        return []
    told = given.sds["lot"] is not None or (of_mill is not None and found.few_lots)
    notes = [one for one in found.notes if not told or " lots " not in one]
    if told and given.sds["lot"] is None:
        notes.append("so few dye lots do not tell how lots vary: that is taken from the mill file")
    return notes


def _once(notes: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(notes))
