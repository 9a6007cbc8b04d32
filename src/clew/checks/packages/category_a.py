"""United States: NIST Handbook 133, Category A sampling plans."""

from __future__ import annotations

import math

from clew.checks.packages.deficiency import band_deficiency, row_for_lot
from clew.checks.packages.plan import Plan, Stage
from clew.checks.packages.rule import Asked, Rule, mark_of, one_plan_only
from clew.languages import say
from clew.mill.net_content import Tables
from clew.quantities import POUND_G

_TWO_OUNCES_G = POUND_G / 8

RULE = Rule(
    key="us-category-a",
    title=say("NIST Handbook 133, Category A"),
    source=say("NIST Handbook 133, Checking the Net Contents of Packaged Goods, chapter 2"),
    edition=say("2026, chapter 2 read in full, Appendix A not seen"),
    date="2026",
    market=say("United States"),
    covers=("mass", "length"),
    tables=("us_category_a_plans", "us_category_a_mass", "us_category_a_length"),
    marks=(
        (say("procedure, sections 2.2 to 2.3.8"), "READ"),
        (say("that length goes by the same average test"), "MEMORY"),
        (say("an average of exactly the declaration passes (NIST's questions page)"), "READ"),
    ),
    equality=say(
        "A mean short by exactly the sample error limit passes and is flagged: the "
        "text says smaller passes, larger fails, and is silent between. A ball "
        "short by exactly the maximum allowable variation is not over it: the text "
        "counts errors beyond it."
    ),
    equality_by="choice",
    moisture="entered",
    commercial="no",
    at_packing=say(
        "Before the goods enter commerce no allowance for moisture loss applies "
        "(16 CFR 500.25(b), READ)."
    ),
)


def plan(asked: Asked, tables: Tables) -> Plan:
    """Lay out what Category A asks of a lot.

    Parameters
    ----------
    asked : Asked
        Quantity, declaration and lot.
    tables : Tables
        The tables in use.

    Returns
    -------
    Plan
        The plan. A moisture allowance lowers what the mean is held against and what a ball may
        be short by: the maximum allowable variation itself is not changed.

    Raises
    ------
    BadInput
        When a table does not reach so far, or a double plan is asked for.

    Notes
    -----
    Source: NIST Handbook 133 (2026), 2.3; sampling error limit = s x factor; READ.
    """
    one_plan_only(RULE, asked)
    plans = tables["us_category_a_plans"]
    variation = tables[f"us_category_a_{asked.quantity}"]
    row = row_for_lot(plans, asked.lot_size)
    n = asked.lot_size if row.n is None else min(row.n, asked.lot_size)
    notes = []
    marks = [mark_of(plans)]
    stages: tuple[Stage, ...] = (Stage(n, row.accept, row.accept + 1),)
    deficiency = math.inf
    if variation.off:
        stages = ()
        notes.append(
            say(
                "{title}: the table is off until a person has compared it with {source}; "
                "single balls are not judged, so nothing passes",
                title=variation.title,
                source=variation.source,
            )
        )
    else:
        deficiency = band_deficiency(variation, asked.declared) + asked.allowance
        marks.append(mark_of(variation))
    if asked.destructive:
        notes.append(say("Category A has no plan of its own for checks that destroy the ball"))
    if asked.quantity == "mass" and asked.declared < _TWO_OUNCES_G:
        notes.append(
            say(
                "below 2 oz (56.7 g) the thread laws of MA, RI and CT ask for the length "
                "in yards on the band"
            )
        )
    if asked.allowance > 0.0:
        notes.append(RULE.at_packing)
    return Plan(
        rule=RULE.key,
        quantity=asked.quantity,
        declared=asked.declared,
        floor=asked.declared - asked.allowance,
        factor=row.factor,
        average_n=n if n > 1 else 0,
        stages=stages,
        deficiency=deficiency,
        far_deficiency=math.inf,
        whole_lot=n == asked.lot_size,
        marks=tuple(marks),
        confirmed=plans.confirmed and variation.confirmed and not variation.off,
        notes=tuple(notes),
        allowance=asked.allowance,
        individual_open=variation.off,
    )
