"""How short a single ball may be: looking it up in a table of bands."""

from __future__ import annotations

import math

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.net_content_tables import LotRow, Table

_EXACT = 1e-9
"""Of a rounding step: what binary fractions leave behind, far below any scale."""


def band_deficiency(table: Table, declared: float) -> float:
    """Look up the shortage a table allows.

    Parameters
    ----------
    table : Table
        A table of bands.
    declared : float
        Declared content, in the table's unit [g or m].

    Returns
    -------
    float
        Shortage, not rounded [g or m].

    Raises
    ------
    BadInput
        When the table does not reach so far.
    """
    for band in table.bands:
        if declared > band.over and (band.to is None or declared <= band.to):
            if band.amount is not None:
                return band.amount
            assert band.percent is not None
            return band.percent * declared / 100.0
    last = table.bands[-1].to
    raise BadInput(
        Fault(
            say("{title} does not reach so far", title=table.title),
            say("more than 0, at most {last:g}", last=last)
            if last is not None
            else say("more than 0"),
            key="declared",
            value=f"{declared:g}",
        )
    )


def round_up(value: float, step: float) -> float:
    """Round up to the next step, unmoved where it is one already.

    Parameters
    ----------
    value : float
        Any value [g].
    step : float
        The step [g].

    Returns
    -------
    float
        The least multiple of the step that is not below the value [g].
    """
    steps = math.ceil(value / step - _EXACT)
    return steps / round(1.0 / step) if step < 1.0 else steps * step


def tolerable_error(table: Table, declared_g: float) -> float:
    """Tolerable negative error of mass, rounded up as the European rules do.

    Parameters
    ----------
    table : Table
        The tolerable error, or the marketable value, by mass.
    declared_g : float
        Declared mass [g].

    Returns
    -------
    float
        To the next 0.1 g, whatever the declaration [g].

    Raises
    ------
    BadInput
        When the table does not reach so far.

    Notes
    -----
    Source: guidance to SI 2006/659 on gov.uk, "round up ... to the nearest 0.10 of a gram" with no
    end to it, and FPackV 2020, section 9; READ. Directive 76/211/EEC, Annex I 2.4, MEMORY.
    """
    return round_up(band_deficiency(table, declared_g), 0.1)


def tolerable_mass(table: Table, declared_g: float) -> float:
    """Tolerable deficiency of mass, rounded up as R 87 does.

    Parameters
    ----------
    table : Table
        T by mass.
    declared_g : float
        Declared mass [g].

    Returns
    -------
    float
        To the next 0.1 g up to 1000 g, to the next whole gram above [g].

    Raises
    ------
    BadInput
        When the table does not reach so far.

    Notes
    -----
    Source: National Trade Measurement Regulations 2009 (Australia), r. 4.36, READ.
    """
    return round_up(band_deficiency(table, declared_g), 0.1 if declared_g <= 1000.0 else 1.0)


def row_for_lot(table: Table, lot_size: int) -> LotRow:
    """Find the plan for a lot of a size.

    Parameters
    ----------
    table : Table
        A table of plans.
    lot_size : int
        Balls in the lot.

    Returns
    -------
    LotRow
        Its row.

    Raises
    ------
    BadInput
        When there is no plan for such a lot.
    """
    for row in table.lots:
        if lot_size >= row.lot_from and (row.lot_to is None or lot_size <= row.lot_to):
            return row
    raise BadInput(
        Fault(
            say("{title}: no plan for such a lot", title=table.title),
            say("{lot_from} balls or more", lot_from=table.lots[0].lot_from),
            key="lot size",
            value=str(lot_size),
        )
    )
