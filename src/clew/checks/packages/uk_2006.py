"""United Kingdom: the Weights and Measures (Packaged Goods) Regulations 2006."""

from __future__ import annotations

from clew.checks.packages.plan import Plan
from clew.checks.packages.reference_test import reference_plan
from clew.checks.packages.rule import Asked, Rule
from clew.languages import say
from clew.mill.net_content import Tables

RULE = Rule(
    key="uk-2006",
    title=say("SI 2006/659, packaged goods"),
    source=say("Weights and Measures (Packaged Goods) Regulations 2006, SI 2006/659, Schedule 2"),
    edition=say("as in force, legislation.gov.uk"),
    date="2006",
    market=say("United Kingdom"),
    covers=("mass",),
    tables=(
        "tne",
        "reference_single",
        "reference_double",
        "reference_destructive",
        "reference_mean",
        "reference_mean_destructive",
        "uk_small_batch",
    ),
    marks=(
        (say("single and destructive plans, mean criterion, batches below 100"), "READ"),
        (say("a ball with a band, even unwrapped, is a package (trading standards sheet)"), "READ"),
    ),
    equality=say(
        "A mean exactly at the limit passes and is flagged: the table says greater "
        "or equal, the paragraph greater. A ball of exactly the declaration less "
        "the tolerable negative error is not defective, by the text."
    ),
    equality_by="choice",
    at_packing=say(
        "The packer answers for the mean of the batch; the measuring error is at "
        "most a fifth of the tolerable negative error."
    ),
)


def plan(asked: Asked, tables: Tables) -> Plan:
    """Lay out the regulations' reference test; their own plan for single balls is the single one.

    Parameters
    ----------
    asked : Asked
        Declaration and batch.
    tables : Tables
        The tables in use.

    Returns
    -------
    Plan
        The plan.

    Raises
    ------
    BadInput
        When the rule set does not cover it.
    """
    return reference_plan(RULE, asked, tables, own="single")
