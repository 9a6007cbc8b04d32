"""What a certificate is about, gathered from the mill file and the question."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import PurePath

from clew.ball.run_card import blend_words
from clew.checks.packages.rule_sets import rule_of
from clew.checks.release.lot import (
    CONSUMER_RISK_FRAC,
    PRODUCER_RISK_FRAC,
    LotQuestion,
    fault_plan,
)
from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.mill.model import Mill
from clew.mill.net_content import BUILT_IN, Tables
from clew.papers.certificate_content import CertificateFacts
from clew.quantities import FRACTION, MASS, show


def lot_facts(
    mill: Mill,
    question: LotQuestion,
    *,
    line_name: str = "",
    order_number: str = "",
    drawn_how: str = "",
    drawn_by: str = "",
    drawn_when: str = "",
    files: Sequence[tuple[str, str]] = (),
    tables: Tables,
) -> CertificateFacts:
    """Gather what stands at the head of a certificate.

    Parameters
    ----------
    mill : Mill
        The mill.
    question : LotQuestion
        The lot.
    line_name, order_number : str
        Line, the only one when empty; order, none when empty.
    drawn_how, drawn_by, drawn_when : str
        How the sample was drawn.
    files : sequence of (str, str)
        Names and SHA-256 of the files used.
    tables : Tables
        Tables of the rule sets.

    Returns
    -------
    CertificateFacts
        The facts.

    Raises
    ------
    BadInput
        When the line, the dye lot or the order is not in the mill file, or the order is for
        another ball or colour.
    """
    ball = mill.find_ball(question.ball)
    yarn = mill.find_yarn(ball.yarn)
    line = mill.find_line(line_name)
    colour = dye_lot = customer = ""
    if question.lot:
        found, lot = mill.find_dye_lot(question.lot)
        colour, dye_lot = found.name, lot.lot
        if lot.yarn != ball.yarn:
            raise BadInput(
                Fault(
                    say(
                        "a dye lot of {yarn}, and the ball is of {yarn2}",
                        yarn=lot.yarn,
                        yarn2=ball.yarn,
                    ),
                    say("a dye lot of the ball's yarn"),
                    key="lot",
                    value=lot.lot,
                )
            )
    if order_number:
        orders = {order.number: order for order in mill.order}
        if order_number not in orders:
            raise BadInput(
                Fault(
                    say("no such order"),
                    say("one of ") + joined(", ", orders)
                    if orders
                    else say("none is in the mill file"),
                    key="order",
                    value=order_number,
                )
            )
        order = orders[order_number]
        customer = order.customer
        if order.ball != ball.name or (colour and order.colour != colour):
            raise BadInput(
                Fault(
                    say("an order for {ball}, {colour}", ball=order.ball, colour=order.colour),
                    say("an order for what was wound"),
                    key="order",
                    value=order_number,
                )
            )
    told = line.model_fields_set
    assumed = say(" (assumed, the mill file says nothing)")
    scale = say("scale, standard deviation of a weighing {show}", show=show(line.scale_sd_g, MASS))
    instruments = [scale if "scale_sd_g" in told else scale + assumed]
    if _reeled(question, ball.rule_set, ball.other_rule_sets):
        reel = say("reel, variation of a length {show}", show=show(line.reel_cv, FRACTION))
        instruments.append(reel if "reel_cv" in told else reel + assumed)
    return CertificateFacts(
        mill=mill.mill.name,
        ball=ball.name,
        lot_size=question.lot_size,
        knot_limit=ball.knot_limit,
        fault_plan=_fault_plan(mill, question) if question.inspections else "",
        line=line.name,
        yarn=yarn.name,
        blend=blend_words(mill.find_blend(yarn.blend)),
        colour=colour,
        dye_lot=dye_lot,
        order=order_number,
        customer=customer,
        drawn_how=drawn_how,
        drawn_by=drawn_by,
        drawn_when=drawn_when,
        instruments=tuple(instruments),
        files=tuple(files),
        # the name only: where the folder lies on this machine says nothing to a reader
        tables=say(
            "{name}, SHA-256 {sha256}",
            name=say("built in") if tables.file == BUILT_IN else PurePath(tables.file).name,
            sha256=tables.sha256,
        ),
        currency=mill.prices.currency,
    )


def _reeled(question: LotQuestion, own: str, others: Sequence[str]) -> bool:
    """Say whether a rule set judged the lengths in the file."""
    rules = question.rules or [rule for rule in (own, *others) if rule not in ("", "none")]
    covered = any("length" in rule_of(rule).covers for rule in rules)
    return covered and "length_m" in question.weighings.numbers


def _fault_plan(mill: Mill, question: LotQuestion) -> str:
    good, bad = mill.checks.fault_good_frac, mill.checks.fault_bad_frac
    drawn = fault_plan(mill, question.lot_size).stages[0].drawn
    if drawn == question.lot_size:
        return say("every ball of the lot; at most {good:g} % may be at fault", good=100 * good)
    return say(
        "of lots with {good:g} % at fault at most {producer_risk_frac:g} % are "
        "rejected, of lots with {bad:g} % at most {consumer_risk_frac:g} % accepted",
        good=100 * good,
        producer_risk_frac=100 * PRODUCER_RISK_FRAC,
        bad=100 * bad,
        consumer_risk_frac=100 * CONSUMER_RISK_FRAC,
    )
