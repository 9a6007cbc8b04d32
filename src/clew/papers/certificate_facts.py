"""What a certificate is about, gathered from the mill file and the question."""

from __future__ import annotations

from collections.abc import Sequence

from clew.checks.release.lot import LotQuestion
from clew.faults import BadInput, Fault
from clew.mill.model import Mill
from clew.mill.net_content import Tables
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
                    f"a dye lot of {lot.yarn}, and the ball is of {ball.yarn}",
                    "a dye lot of the ball's yarn",
                    key="lot",
                    value=lot.lot,
                )
            )
    if order_number:
        orders = {order.number: order for order in mill.order}
        if order_number not in orders:
            raise BadInput(
                Fault(
                    "no such order",
                    "one of " + ", ".join(orders) if orders else "none is in the mill file",
                    key="order",
                    value=order_number,
                )
            )
        order = orders[order_number]
        customer = order.customer
        if order.ball != ball.name or (colour and order.colour != colour):
            raise BadInput(
                Fault(
                    f"an order for {order.ball}, {order.colour}",
                    "an order for what was wound",
                    key="order",
                    value=order_number,
                )
            )
    instruments = [f"scale, standard deviation of a weighing {show(line.scale_sd_g, MASS)}"]
    if "length_m" in question.weighings.numbers:
        instruments.append(f"reel, variation of a length {show(line.reel_cv, FRACTION)}")
    shares = ", ".join(
        f"{100 * part.share_frac:g} % {part.fibre.replace('_', ', ')}"
        for part in mill.find_blend(yarn.blend).fibres
    )
    return CertificateFacts(
        mill=mill.mill.name,
        ball=ball.name,
        lot_size=question.lot_size,
        line=line.name,
        yarn=yarn.name,
        blend=shares,
        colour=colour,
        dye_lot=dye_lot,
        order=order_number,
        customer=customer,
        drawn_how=drawn_how,
        drawn_by=drawn_by,
        drawn_when=drawn_when,
        instruments=tuple(instruments),
        files=tuple(files),
        tables=f"{tables.file}, SHA-256 {tables.sha256}",
        currency=mill.prices.currency,
    )
