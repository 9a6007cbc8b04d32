"""United States: state laws on hand-knitting thread and yarn, sold by weight or by yards."""

from __future__ import annotations

import math

from clew.checks.packages.plan import Plan
from clew.checks.packages.rule import Asked, Rule, mark_of, one_plan_only
from clew.languages import say
from clew.mill.net_content import Tables

RULE = Rule(
    key="us-thread-states",
    title=say("State laws on hand-knitting thread"),
    source=say(
        "Massachusetts G.L. c.94 s.285 and s.287; Rhode Island G.L. 6-10-1 to 6-10-4; "
        "Connecticut G.S. 43-45; Alaska 45.75.300"
    ),
    edition=say("as published by the states; Connecticut and Alaska read in part"),
    date="2026",
    market=say("Massachusetts, Rhode Island, Connecticut; Alaska for what it names"),
    covers=("mass", "length"),
    tables=("us_thread",),
    marks=(
        (say("average of at least ten balls not more than 3 % short"), "READ"),
        (say("below 2 oz the length in yards"), "READ"),
    ),
    equality=say("An average of exactly 97 % passes: the text says not more than 3 % less."),
    equality_by="text",
    moisture="none",
    commercial="no",
    at_packing=say("The laws stand beside the federal average rule, not in its place."),
)


def needs_length(declared_g: float, tables: Tables) -> bool:
    """Say whether a ball is so light that its band must give yards.

    Parameters
    ----------
    declared_g : float
        Declared mass [g].
    tables : Tables
        The tables in use.

    Returns
    -------
    bool
        True below 2 oz avoirdupois.
    """
    return declared_g < tables["us_thread"].values["length_below_g"]


def plan(asked: Asked, tables: Tables) -> Plan:
    """Lay out what the thread laws ask of a lot: its average, and nothing of a single ball.

    Parameters
    ----------
    asked : Asked
        Quantity, declaration and lot.
    tables : Tables
        The tables in use.

    Returns
    -------
    Plan
        The plan.

    Raises
    ------
    BadInput
        When a double plan is asked for.

    Notes
    -----
    Source: Massachusetts G.L. c.94 s.287, READ.
    """
    one_plan_only(RULE, asked)
    table = tables["us_thread"]
    least = round(table.values["least_balls"])
    notes = [say("the laws ask nothing of a single ball"), RULE.at_packing]
    if asked.quantity == "mass" and needs_length(asked.declared, tables):
        notes.insert(
            0,
            say("below 2 oz (56.7 g) the band must give the length in yards: judge the length too"),
        )
    if asked.lot_size < least:
        notes.insert(
            0,
            say(
                "the laws test at least {least} balls; the lot has {lot}",
                least=least,
                lot=asked.lot_size,
            ),
        )
    return Plan(
        rule=RULE.key,
        quantity=asked.quantity,
        declared=asked.declared,
        floor=asked.declared * (100.0 - table.values["short_percent"]) / 100.0,
        factor=0.0,
        average_n=least,
        stages=(),
        deficiency=math.inf,
        far_deficiency=math.inf,
        whole_lot=False,
        marks=(mark_of(table),),
        confirmed=table.confirmed,
        notes=tuple(notes),
    )
