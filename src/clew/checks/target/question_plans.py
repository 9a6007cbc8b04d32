"""What the rule sets ask, as a target is asked: of what was typed, or of a ball of the mill."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from clew.checks.packages.plan import Plan, Quantity
from clew.checks.target.ball_now import OfMill
from clew.checks.target.given import Given
from clew.faults import BadInput, Fault
from clew.languages import say

if TYPE_CHECKING:
    from clew.mill.net_content import Tables

Declare = Callable[[Sequence[str], str], tuple[dict[Quantity, float], tuple[str, ...]]]
"""Reads declarations as typed, for one rule set: contents, and which of two governs."""


def plans_asked(
    given: Given,
    of_mill: OfMill | None,
    lot_size: int,
    tables: Tables,
    declare: Declare | None = None,
) -> tuple[tuple[Plan, ...], dict[Quantity, float], list[str]]:
    """Lay out the plans of every rule set for everything declared that it covers.

    Parameters
    ----------
    given : Given
        What is said by hand.
    of_mill : OfMill or None
        The ball of the mill file.
    lot_size : int
        Balls in the lot.
    tables : Tables
        Tables of the rule sets.
    declare : callable or None
        Reads declarations as typed.

    Returns
    -------
    tuple of Plan
        The plans.
    dict of str to float
        Declared contents [g or m].
    list of str
        What is declared and not judged.

    Raises
    ------
    BadInput
        When no rule set is named anywhere, or none judges what is declared.
    """
    from clew.checks.packages.ball_terms import ball_terms
    from clew.checks.packages.rule_sets import plan_of, rule_of

    rules, said, notes = list(given.rules), dict[Quantity, float](), list[str]()
    if of_mill is not None:
        terms = ball_terms(of_mill.mill, of_mill.ball.name)
        said = terms.declared
        rules = rules or [one for one in (terms.rule, *terms.other_rules) if one]
    if not rules:
        raise BadInput(
            Fault(say("no rule set"), say("one or more, such as eu-average"), key="--rule")
        )
    plans: list[Plan] = []
    for rule in dict.fromkeys(rules):
        contents, cautions = said, tuple[str, ...]()
        if given.declared and declare is not None:
            contents, cautions = declare(given.declared, rule)
        notes += cautions
        covered = [one for one in contents if one in rule_of(rule).covers]
        plans += [
            plan_of(rule, one, contents[one], lot_size, tables, destructive=one == "length")
            for one in covered
        ]
        for one in contents:
            if one not in covered:
                notes.append(
                    say("{rule} judges no mass: the declared mass is not in this target", rule=rule)
                    if one == "mass"
                    else say(
                        "{rule} judges no length: the declared length is not in this target",
                        rule=rule,
                    )
                )
    if not plans:
        raise BadInput(
            Fault(
                say("nothing declared that the rule sets judge"),
                expected=say('such as "100 g"'),
                key="--declared",
            )
        )
    if given.declared and declare is not None:
        said = declare(given.declared, rules[0])[0]
    return tuple(plans), said, notes
