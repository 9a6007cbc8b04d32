"""OIML R 87: quantity of product in prepackages, by mass and by length."""

from __future__ import annotations

from clew.checks.packages.deficiency import band_deficiency, row_for_lot, tolerable_mass
from clew.checks.packages.plan import Plan, Stage
from clew.checks.packages.rule import Asked, Rule, mark_of, one_plan_only
from clew.languages import say
from clew.mill.net_content import Tables

_SMALL = 100

RULE = Rule(
    key="oiml-r87",
    title=say("OIML R 87"),
    source=say(
        "OIML R 87, Quantity of product in prepackages, through the national laws that print it"
    ),
    edition=say("2004 form; the tables of the 2016 edition were not seen"),
    date="2004, 2016",
    market=say("countries that took R 87 over"),
    covers=("mass", "length"),
    tables=("r87_mass", "r87_length", "r87_plans", "r87_small_lots"),
    marks=(
        (say("tolerable deficiency of mass and length, and its rounding (Australia)"), "READ"),
        (say("no ball short by more than 2 T (Singapore, New Zealand)"), "READ"),
        (say("the mean with its factor times the spread reaches the declaration"), "MEMORY"),
        (say("small-lot plans of the 2016 edition"), say("not verified")),
    ),
    equality=say(
        "A mean exactly at the limit passes (error + factor x spread of 0 or more, "
        "recalled) and is flagged. A ball short by exactly T or 2 T is not beyond "
        "it."
    ),
    equality_by="choice",
    at_packing=say("R 87 does not recommend its plans for a packer's own control (READ)."),
)


def plan(asked: Asked, tables: Tables) -> Plan:
    """Lay out what R 87 asks of a lot.

    Parameters
    ----------
    asked : Asked
        Quantity, declaration and lot.
    tables : Tables
        The tables in use.

    Returns
    -------
    Plan
        The plan; below 100 balls by a sister law's plans, since those of 2016 were not seen.

    Raises
    ------
    BadInput
        When a table does not reach so far, or a double plan is asked for.

    Notes
    -----
    Source: National Trade Measurement Regulations 2009 (Australia), r. 4.34 and 4.36.
    """
    one_plan_only(RULE, asked)
    plans = tables["r87_small_lots" if asked.lot_size < _SMALL else "r87_plans"]
    allowed = tables[f"r87_{asked.quantity}"]
    row = row_for_lot(plans, asked.lot_size)
    n = asked.lot_size if row.n is None else min(row.n, asked.lot_size)
    tolerable = (
        tolerable_mass(allowed, asked.declared)
        if asked.quantity == "mass"
        else band_deficiency(allowed, asked.declared)
    )
    notes = [RULE.at_packing]
    if asked.lot_size < _SMALL:
        notes.append(
            say("the plan for a lot below 100 is New Zealand's; that of R 87:2016 may differ")
        )
    if asked.quantity == "length" and tolerable == 0.0:
        notes.append(say("up to 5 m no shortage at all is tolerated in a single ball"))
    if asked.destructive:
        notes.append(
            say("no plan of R 87 for checks that destroy the ball was seen; the same n is used")
        )
    return Plan(
        rule=RULE.key,
        quantity=asked.quantity,
        declared=asked.declared,
        floor=asked.declared,
        factor=row.factor,
        average_n=n,
        stages=(Stage(n, row.accept, row.accept + 1),),
        deficiency=tolerable,
        far_deficiency=2.0 * tolerable,
        whole_lot=n == asked.lot_size,
        marks=(mark_of(plans), mark_of(allowed)),
        confirmed=plans.confirmed and allowed.confirmed,
        notes=tuple(notes),
    )
