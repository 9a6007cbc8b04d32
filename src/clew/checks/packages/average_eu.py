"""European Union: the average-quantity directive with its reference test."""

from __future__ import annotations

from dataclasses import replace

from clew.checks.packages.plan import Plan
from clew.checks.packages.reference_test import reference_plan
from clew.checks.packages.rule import Asked, Rule
from clew.languages import say
from clew.mill.net_content import Tables

RULE = Rule(
    key="eu-average",
    title=say("Directive 76/211/EEC, average quantity"),
    source=say("Directive 76/211/EEC, Annexes I and II (consolidated text)"),
    edition=say("consolidated text on legislation.gov.uk"),
    date="1976",
    market=say("European Union"),
    covers=("mass",),
    tables=(
        "tne",
        "reference_double",
        "reference_single",
        "reference_destructive",
        "reference_mean",
        "reference_mean_destructive",
        "uk_small_batch",
    ),
    marks=(
        (say("the three rules of Annex I: mean, tolerable negative error, twice it"), "READ"),
        (say("double and destructive plans, mean criterion of Annex II"), "READ"),
        (say("the same plans, factors and mean in France, order of 20 October 1978"), "READ"),
        (say("a batch below 100: the Directive leaves the number open, the UK's is used"), "OURS"),
    ),
    equality=say(
        "A mean exactly at the limit passes and is flagged: the table of the "
        "Directive says greater or equal (so does France's order, in words too), "
        "its paragraph says greater. A ball of exactly the declaration less the "
        "tolerable negative error is not defective, by the text."
    ),
    equality_by="choice",
    at_packing=say(
        "The packer answers for the mean of the batch; the measuring error is at "
        "most a fifth of the tolerable negative error."
    ),
)


def plan(asked: Asked, tables: Tables) -> Plan:
    """Lay out the Directive's reference test; its own plan for single balls is the double one.

    Parameters
    ----------
    asked : Asked
        Declaration and batch.
    tables : Tables
        The tables in use.

    Returns
    -------
    Plan
        The plan; unconfirmed where a number is the United Kingdom's.

    Raises
    ------
    BadInput
        When the rule set does not cover it.
    """
    found = reference_plan(RULE, asked, tables, own="double")
    if found.whole_lot:
        note = say("the 5 % of a batch below 100 is the United Kingdom's; the Directive names none")
        named = bool(tables["uk_small_batch"].confirmed_by)
        return replace(found, confirmed=found.confirmed and named, notes=(*found.notes, note))
    if asked.plan == "single" and not asked.destructive:
        note = say("the single plan is the United Kingdom's; the Directive's own is double")
        return replace(found, notes=(*found.notes, note))
    return found
