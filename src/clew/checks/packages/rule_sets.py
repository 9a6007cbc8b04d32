"""The rule sets by their keys, and the plan that each asks of a lot."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Literal

from clew.checks.packages import average_eu, category_a, de_2020, r87, thread_states, uk_2006
from clew.checks.packages.judge import Passed, judge_many
from clew.checks.packages.plan import Plan, Quantity, RuleKey
from clew.checks.packages.rule import Asked, Rule
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.net_content import Tables

__all__ = ["RULE_SETS", "Passed", "judge_many", "plan_of", "rule_of"]

_LARGEST_LOT = 10_000_000

_PLANS: dict[RuleKey, tuple[Rule, Callable[[Asked, Tables], Plan]]] = {
    "us-category-a": (category_a.RULE, category_a.plan),
    "us-thread-states": (thread_states.RULE, thread_states.plan),
    "oiml-r87": (r87.RULE, r87.plan),
    "eu-average": (average_eu.RULE, average_eu.plan),
    "uk-2006": (uk_2006.RULE, uk_2006.plan),
    "de-2020": (de_2020.RULE, de_2020.plan),
}

RULE_SETS: Mapping[RuleKey, Rule] = MappingProxyType(
    {key: rule for key, (rule, _) in _PLANS.items()}
)
"""The rule sets by their keys."""


def rule_of(key: str) -> Rule:
    """Give a rule set.

    Parameters
    ----------
    key : str
        Its key.

    Returns
    -------
    Rule
        The rule set.

    Raises
    ------
    BadInput
        When there is none of that name.
    """
    for known, rule in RULE_SETS.items():
        if known == key:
            return rule
    raise BadInput(
        Fault(
            say("no such rule set"),
            say("one of {names}", names=", ".join(RULE_SETS)),
            key="rule",
            value=key,
        )
    )


def plan_of(
    rule: str,
    quantity: Quantity,
    declared: float,
    lot_size: int,
    tables: Tables,
    *,
    destructive: bool = False,
    plan: Literal["single", "double"] | None = None,
    allowance: float = 0.0,
) -> Plan:
    """Lay out what a rule set asks of a lot.

    Parameters
    ----------
    rule : str
        Key of the rule set.
    quantity : str
        "mass" or "length".
    declared : float
        Declared content [g or m].
    lot_size : int
        Balls in the lot.
    tables : Tables
        The tables in use.
    destructive : bool
        The check destroys the ball.
    plan : {"single", "double"}, optional
        Plan for single balls; the rule set's own when left out.
    allowance : float
        Allowance for moisture loss, entered by a person with its source [g].

    Returns
    -------
    Plan
        The plan.

    Raises
    ------
    BadInput
        When the rule set does not cover it, or what is asked is no lot or no declaration.
    """
    found = rule_of(rule)
    if not (math.isfinite(declared) and declared > 0.0):
        raise BadInput(
            Fault(
                say("no declared content"),
                say("more than zero"),
                key="declared",
                value=f"{declared:g}",
            )
        )
    if not 1 <= lot_size <= _LARGEST_LOT:
        raise BadInput(
            Fault(
                say("no such lot"), say("1 ball to 10 000 000"), key="lot size", value=str(lot_size)
            )
        )
    if not (math.isfinite(allowance) and allowance >= 0.0):
        raise BadInput(
            Fault(
                say("no such allowance"),
                say("zero or more"),
                key="allowance",
                value=f"{allowance:g}",
            )
        )
    if allowance > 0.0 and (found.moisture == "none" or quantity != "mass"):
        raise BadInput(
            Fault(
                say("{rule} gives no allowance for moisture", rule=found.title)
                if quantity == "mass"
                else say("{rule} gives no allowance for moisture to a length", rule=found.title),
                "none",
                key="allowance",
                value=f"{allowance:g}",
            )
        )
    if allowance >= declared:
        raise BadInput(
            Fault(
                say("an allowance as large as the declaration"),
                say("less than {declared:g} g", declared=declared),
                key="allowance",
                value=f"{allowance:g} g",
            )
        )
    asked = Asked(quantity, declared, lot_size, destructive, plan, allowance)
    return _PLANS[found.key][1](asked, tables)
