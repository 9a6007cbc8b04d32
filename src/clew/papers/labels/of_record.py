"""Labels of packages that are in the ledger: what a case or pallet holds, as it was closed."""

from __future__ import annotations

from collections.abc import Sequence

from clew.languages import joined, say
from clew.ledger.shipping.case import lots_in
from clew.ledger.shipping.masses import Masses
from clew.ledger.shipping.packed import CaseKept
from clew.mill.gs1_keys import SSCC_LENGTH, is_key
from clew.mill.model import Mill
from clew.papers.labels.case_label import CaseLabel, case_labels_pdf
from clew.papers.labels.pallet_label import PalletLabel, pallet_labels_pdf
from clew.papers.printing import made_now
from clew.plan.orders.asked import OrderAsked


def closed_case_pdf(mill: Mill, found: CaseKept, order: OrderAsked | None) -> bytes:
    """Print the label of a closed case.

    Parameters
    ----------
    mill : Mill
        The mill.
    found : CaseKept
        The case as the ledger has it.
    order : OrderAsked or None
        Whose number and customer stand on it.

    Returns
    -------
    bytes
        The PDF; a mixed case names every lot and every colour.
    """
    masses, info = Masses(mill), mill.mill
    colours = {lot.lot: colour.name for colour in mill.colour for lot in colour.dye_lot}
    label = CaseLabel(
        info.name,
        info.maker or "",
        found.ball_name,
        joined(say(" and "), dict.fromkeys(colours.get(lot, "") for lot in found.all_lots)),
        joined(say(" and "), found.all_lots),
        found.balls,
        masses.net_g([found]) or 0.0,
        masses.gross_g([found]),
        found.gtin,
        found.package,
        _sscc(found.package),
        order.number if order else "",
        order.customer if order else "",
    )
    return case_labels_pdf(
        [label],
        made=made_now(info.time_zone),
        paper=info.paper,
        footer=say("{name} · case {package}", name=info.name, package=found.package),
    )


def closed_pallet_pdf(
    mill: Mill, package: str, cases: Sequence[CaseKept], order: OrderAsked | None
) -> bytes:
    """Print the label of a closed pallet.

    Parameters
    ----------
    mill : Mill
        The mill.
    package : str
        Its name.
    cases : sequence of CaseKept
        The cases on it.
    order : OrderAsked or None
        Whose number and customer stand on it.

    Returns
    -------
    bytes
        The PDF.
    """
    info = mill.mill
    label = PalletLabel(
        info.name,
        info.maker or "",
        package,
        _sscc(package),
        len(cases),
        sum(one.balls for one in cases),
        joined(", ", dict.fromkeys(one.ball_name for one in cases)),
        lots_in(cases),
        Masses(mill).pallet_gross_g(cases),
        order.number if order else "",
        order.customer if order else "",
        "",
    )
    return pallet_labels_pdf(
        [label],
        made=made_now(info.time_zone),
        paper=info.paper,
        footer=say("{name} · pallet {package}", name=info.name, package=package),
    )


def _sscc(package: str) -> str:
    return package if is_key(package, (SSCC_LENGTH,)) else ""
