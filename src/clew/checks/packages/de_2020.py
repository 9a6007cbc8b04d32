"""Germany: the Fertigpackungsverordnung of 2020, which names yarn and how it is weighed."""

from __future__ import annotations

import math

from clew.checks.packages.deficiency import row_for_lot, tolerable_error
from clew.checks.packages.plan import Plan, Stage
from clew.checks.packages.rule import Asked, Rule, mark_of, mass_only, one_plan_only
from clew.languages import say
from clew.mill.net_content import Tables
from clew.mill.net_content_tables import Table

_LEAST_G = 5.0
_MOST_G = 10_000.0
_SMALL = 100
_LARGEST_LOT = 10_000

RULE = Rule(
    key="de-2020",
    title=say("FPackV 2020, prepackages and yarn"),
    source=say("Fertigpackungsverordnung (FPackV) of 18 November 2020, sections 9 and 30, Annex 3"),
    edition=say("BGBl. I 2020, 2504, as in the open collection of German federal law"),
    date="2020",
    market=say("Germany"),
    covers=("mass",),
    tables=("de_mass", "de_marketable", "de_plans", "de_destructive", "de_full"),
    marks=(
        (
            say("the mean raised by k times the spread reaches the declaration (Annex 3, 6 a)"),
            "READ",
        ),
        (say("yarn of every kind without a wrapper is held to the same (section 30)"), "READ"),
        (
            say("mass is dry mass with the allowance of Annex IX of EU 1007/2011 (Annex 3, 6 b)"),
            "READ",
        ),
        (
            say("length: its mean goes by the range of the sample (Annex 4), not worked here"),
            "READ",
        ),
        (say("below 10 balls: the text has single balls looked at, the full test is used"), "OURS"),
    ),
    equality=say(
        "A mean exactly at its limit passes: greater or equal, says Annex 3. A "
        "ball short by exactly the tolerable error or the marketable value does "
        "not exceed it. Exactly 2 % short balls of a lot weighed whole pass: more "
        "than 2 % do not."
    ),
    equality_by="text",
    commercial="by text",
    at_packing=say(
        "The packer answers for the mean and for at most 2 % short balls; the "
        "error in use of the scale is at most a fifth of the tolerable error "
        "(Annex 7, READ)."
    ),
)


def plan(asked: Asked, tables: Tables) -> Plan:
    """Lay out the test plan of Annex 3.

    Parameters
    ----------
    asked : Asked
        Declaration and lot.
    tables : Tables
        The tables in use.

    Returns
    -------
    Plan
        The plan; unconfirmed below 10 balls, where the text leaves the mean out.

    Raises
    ------
    BadInput
        When it is a length, below 5 g or above 10 kg, a double plan is asked for, or so small a
        lot is to be destroyed.

    Notes
    -----
    Source: FPackV 2020, section 9 and Annex 3, READ.
    """
    mass_only(RULE, asked, _LEAST_G, _MOST_G, say("a declared mass of 5 g to 10 kg"))
    one_plan_only(RULE, asked)
    lot = asked.lot_size
    single, far = tables["de_mass"], tables["de_marketable"]
    rule_table = tables["de_destructive" if asked.destructive else "de_plans"]
    notes = []
    confirmed = True
    if lot > _LARGEST_LOT:
        notes.append(
            say("away from the end of the line a lot is at most 10 000; there, what an hour makes")
        )
    if asked.destructive:
        notes.append(
            say("balls with the e mark have a plan of their own when destroyed: eu-average's")
        )
    if lot < _SMALL and not asked.destructive:
        rule_table = tables["de_full"]
        n, factor = lot, 0.0
        accept = math.floor(lot * rule_table.values["defective_percent"] / 100.0 + 1e-9)
        if lot < rule_table.values["least_balls"]:
            confirmed = bool(rule_table.confirmed_by)
            notes.append(
                say(
                    "below 10 balls the text has only single balls looked at; the full test is used"
                )
            )
    else:
        row = row_for_lot(rule_table, lot)
        n = lot if row.n is None else min(lot, row.n)
        accept, factor = row.accept, row.factor
    used: tuple[Table, ...] = (single, far, rule_table)
    return Plan(
        rule=RULE.key,
        quantity="mass",
        declared=asked.declared,
        floor=asked.declared,
        factor=factor,
        average_n=n,
        stages=(Stage(n, accept, accept + 1),),
        deficiency=tolerable_error(single, asked.declared),
        far_deficiency=tolerable_error(far, asked.declared),
        whole_lot=n == lot,
        marks=tuple(mark_of(table) for table in used),
        confirmed=confirmed and all(table.confirmed for table in used),
        notes=tuple(notes),
    )
