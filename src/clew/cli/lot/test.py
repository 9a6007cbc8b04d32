"""`clew lot test`: a sample's net content against a market's rule set."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from clew.checks.packages.plan import RULE_KEYS
from clew.cli.options import Quantity, as_json
from clew.cli.output import print_json
from clew.faults import BadInput, Fault
from clew.quantities import GAIN, MASS, read_quantity

if TYPE_CHECKING:
    from clew.checks.condition import Condition
    from clew.checks.packages.ball_terms import BallTerms
    from clew.strand.allowances import SharesOn

_COLUMNS = (
    "lot", "ball", "mass_g", "gross_g", "tare_g", "length_m", "regain_frac", "tension_cn",
)  # fmt: skip
_LENGTH_TOO = ("us-thread-states", "oiml-r87")
"""Rule sets that judge a ball's length beside its mass unless --declared says otherwise."""


@click.command()
@click.argument("data", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--rule", type=click.Choice(RULE_KEYS), help="The rule set; the ball's when left out."
)
@click.option("--declared", multiple=True, help='"100 g", "200 m"; give both to judge both.')
@click.option("--lot-size", type=int, help="Balls in the lot.")
@click.option("--lot", "lot_name", help="Only the rows of this lot.")
@click.option("--tare", type=Quantity(MASS), help="Tare of a ball: band, core, bag.")
@click.option("--allowance", help='Moisture allowance: "1 g", or "2 %" of the declaration.')
@click.option("--allowance-source", default="", help="Who gives it, and where.")
@click.option(
    "--allowance-when",
    type=click.Choice(["before", "after"]),
    default="after",
    show_default=True,
    help="Known before the test, or found after it.",
)
@click.option("--destructive", is_flag=True, help="The check destroys the ball.")
@click.option("--plan", type=click.Choice(["single", "double"]), help="Plan for single balls.")
@click.option("--division", type=Quantity(MASS), help="Division of the scale.")
@click.option(
    "--mill",
    "mill_folder",
    type=click.Path(path_type=Path),
    default=None,
    envvar="CLEW_MILL",
    help="Folder of the mill: its ball, and its own copy of the tables.",
)
@click.option("--ball", "ball_name", help="Ball of the mill file that was wound.")
@click.option("--commercial", is_flag=True, help="Judge mass at the agreed regain of the blend.")
@click.option("--regain", type=Quantity(GAIN), help="Regain at weighing, where the file has none.")
@click.option("--agreed-regain", type=Quantity(GAIN), help="The agreed regain, in place of a mill.")
@click.option(
    "--shares-on",
    type=click.Choice(["dry", "conditioned"]),
    default="dry",
    show_default=True,
    help="On which mass the blend's shares are taken.",
)
@as_json
def test(
    data: Path,
    rule: str | None,
    declared: tuple[str, ...],
    lot_size: int | None,
    lot_name: str | None,
    tare: float | None,
    allowance: str | None,
    allowance_source: str,
    allowance_when: Literal["before", "after"],
    destructive: bool,
    plan: Literal["single", "double"] | None,
    division: float | None,
    mill_folder: Path | None,
    ball_name: str | None,
    commercial: bool,
    regain: float | None,
    agreed_regain: float | None,
    shares_on: Literal["dry", "conditioned"],
    as_json: bool,
) -> None:
    """Judge a sample's net content by a market's rule set.

    DATA has a row a ball, in the order drawn: mass_g (net), or gross_g with tare_g or --tare;
    length_m of balls that were reeled. Exit code 0: pass; 1: fail, or not decided.
    """
    from clew.checks.packages.ball_terms import (
        mill_commercial,
        mill_tare,
        more_lots,
        samples_of,
    )
    from clew.checks.packages.judge_lot import judge_lot
    from clew.checks.packages.rule_sets import rule_of
    from clew.checks.packages.verdict_plain import plain_verdict
    from clew.checks.weighings import of_lot
    from clew.cli.lot.terms import read_declarations
    from clew.cli.lot.test_words import tell
    from clew.ledger.intake.weighings import read_weighings
    from clew.mill.net_content import read_tables

    if division is not None and division <= 0.0:
        raise BadInput(Fault("no division", "more than 0 g", key="--division"))
    if ball_name is not None and mill_folder is None:
        mill_folder = Path()
    ball = _ball(mill_folder, ball_name, shares_on)
    rule = rule or (ball.rule if ball else "")
    if not rule:
        raise BadInput(Fault("no rule set", "one of " + ", ".join(RULE_KEYS), key="--rule"))
    tables = read_tables(mill_folder)
    weighings = read_weighings(data, only=_COLUMNS)
    if lot_name is not None:
        weighings = of_lot(weighings, lot_name)
    contents, cautions = read_declarations(declared, rule)
    if not contents and ball:
        reeled = "length_m" in weighings.numbers and rule in _LENGTH_TOO
        contents = {k: v for k, v in ball.declared.items() if k == "mass" or reeled}
    if not contents:
        raise BadInput(Fault("nothing declared", "such as 100 g", key="--declared"))
    _check_covers(rule, contents)
    told = list(cautions) + more_lots(weighings)
    at_commercial = commercial or mill_commercial(ball, rule, told)
    tare = mill_tare(ball, weighings, tare, told)
    regains = () if at_commercial else (regain, agreed_regain)
    told += _left_aside(ball, rule, contents, regains)
    told += _other_markets(ball, rule)
    asked = _condition(ball, at_commercial, tare, regain, agreed_regain)
    if tare is not None and "mass" not in contents:
        raise BadInput(Fault("a tare, and no mass declared", "a declared mass", key="--tare"))
    samples = samples_of(weighings, contents, asked, rule)
    if lot_size is None:
        if rule != "us-thread-states":
            raise BadInput(Fault("no lot size", "balls in the lot", key="--lot-size"))
        lot_size = max(10, weighings.rows)
    verdict = judge_lot(
        rule,
        samples,
        contents,
        lot_size,
        tables,
        destructive=destructive,
        plan=plan,
        allowance=_allowance(allowance, contents.get("mass")),
        allowance_source=allowance_source,
        allowance_when=allowance_when,
        division=division,
        commercial=at_commercial,
        cautions=told,
    )
    if as_json:
        print_json({**plain_verdict(verdict, tables), "title": rule_of(rule).title})
    else:
        tell(verdict, tables)
    if verdict.passed is not True:
        raise SystemExit(1)


def _ball(folder: Path | None, name: str | None, shares_on: SharesOn) -> BallTerms | None:
    from clew.checks.packages.ball_terms import ball_terms
    from clew.cli.options import checked_mill

    return None if name is None else ball_terms(checked_mill(folder or Path()), name, shares_on)


def _left_aside(
    ball: BallTerms | None, rule: str, contents: Any, regains: tuple[float | None, ...]
) -> list[str]:
    from clew.checks.packages.rule_sets import rule_of

    told = []
    length = ball.declared.get("length") if ball else None
    if length and "length" not in contents and "length" in rule_of(rule).covers:
        told.append(f"the mill file declares {length:g} m as well: that length was not judged here")
    if any(one is not None for one in regains):
        told.append("the regain entered was not used: mass is judged as weighed (--commercial)")
    return told


def _check_covers(rule: str, contents: Any) -> None:
    from clew.checks.packages.reference_test import check_scope
    from clew.checks.packages.rule import Asked
    from clew.checks.packages.rule_sets import rule_of

    for quantity, amount in contents.items():
        if quantity not in rule_of(rule).covers:
            check_scope(rule_of(rule), Asked(quantity, amount, 1))


def _other_markets(ball: BallTerms | None, rule: str) -> list[str]:
    markets = (ball.rule, *ball.other_rules) if ball else ()
    others = ", ".join(other for other in markets if other and other != rule)
    return [f"also sold where {others} holds: judge by that too (--rule)"] if others else []


def _condition(
    ball: BallTerms | None,
    commercial: bool,
    tare: float | None,
    regain: float | None,
    agreed: float | None,
) -> Condition:
    from clew.checks.condition import Condition

    if not commercial:
        return Condition(tare_g=tare)
    if agreed is None and ball is None:
        raise BadInput(
            Fault("no agreed regain", "--ball with --mill, or --agreed-regain", key="--commercial")
        )
    words = "agreed regain as entered"
    if agreed is None and ball is not None:
        agreed, words = ball.agreed_frac, f"agreed regain: {ball.agreed_words}"
    return Condition(words, regain_from_frac=regain, regain_to_frac=agreed, tare_g=tare)


def _allowance(written: str | None, declared_g: float | None) -> float:
    if written is None:
        return 0.0
    if declared_g is None:
        raise BadInput(Fault("an allowance, and no mass declared", key="--allowance"))
    try:
        if written.strip().endswith("%"):
            return read_quantity(written, GAIN) * declared_g
        return read_quantity(written, MASS)
    except BadInput as bad:
        fault = bad.faults[0]
        expected = "such as 1 g or 2 %"
        raise BadInput(Fault(fault.what, expected, key="--allowance", value=fault.value)) from None
