"""The reference test of the Directive, which the United Kingdom's regulations share."""

from __future__ import annotations

import math
from typing import Literal

from clew.checks.packages.deficiency import row_for_lot, tolerable_error
from clew.checks.packages.plan import Plan, Stage
from clew.checks.packages.rule import Asked, Rule, mark_of, mass_only
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.net_content import Tables
from clew.mill.net_content_tables import Table

_LEAST_G = 5.0
_MOST_G = 25_000.0
_SMALL = 100
_LARGEST_BATCH = 10_000


def check_scope(rule: Rule, asked: Asked) -> None:
    """Refuse what the average rules do not reach: a length, below 5 g or above 25 kg.

    Raises
    ------
    BadInput
        When it is one of them.
    """
    mass_only(rule, asked, _LEAST_G, _MOST_G, say("a declared mass of 5 g to 25 kg"))


def reference_plan(
    rule: Rule, asked: Asked, tables: Tables, *, own: Literal["single", "double"]
) -> Plan:
    """Lay out the reference test of a batch of mass.

    Parameters
    ----------
    rule : Rule
        The rule set.
    asked : Asked
        Declaration and batch.
    tables : Tables
        The tables in use.
    own : {"single", "double"}
        The rule set's own plan, taken where none is asked for.

    Returns
    -------
    Plan
        The plan.

    Raises
    ------
    BadInput
        When the rule set does not cover it, or a small batch is to be destroyed.

    Notes
    -----
    Source: Directive 76/211/EEC, Annex II; SI 2006/659, Schedule 2; READ.
    """
    check_scope(rule, asked)
    tne = tables["tne"]
    used: list[Table] = [tne]
    lot = asked.lot_size
    notes = []
    if lot > _LARGEST_BATCH:
        notes.append(
            say(
                "away from the end of the line a batch is at most 10 000; there, what an hour makes"
            )
        )
    factor = 0.0
    if lot < _SMALL:
        if asked.destructive:
            raise BadInput(
                Fault(
                    say("no plan for checks that destroy the ball in so small a batch"),
                    say("a batch of 100 or more"),
                    key="lot size",
                    value=str(lot),
                )
            )
        small = tables["uk_small_batch"]
        used.append(small)
        n = lot
        accept = math.floor(lot * small.values["defective_percent"] / 100.0 + 1e-9)
        stages: tuple[Stage, ...] = (Stage(lot, accept, accept + 1),)
    else:
        kind = "destructive" if asked.destructive else (asked.plan or own)
        contents = tables[f"reference_{kind}"]
        mean = tables["reference_mean_destructive" if asked.destructive else "reference_mean"]
        used += [contents, mean]
        row, mean_row = row_for_lot(contents, lot), row_for_lot(mean, lot)
        factor = mean_row.factor
        n = lot if mean_row.n is None else min(lot, mean_row.n)
        first = lot if row.n is None else min(lot, row.n)
        stages = (Stage(first, row.accept, row.reject),)
        if row.n_second:
            second = min(lot, row.n_second)
            stages += (Stage(second, row.accept_second, row.accept_second + 1),)
    tolerable = tolerable_error(tne, asked.declared)
    return Plan(
        rule=rule.key,
        quantity="mass",
        declared=asked.declared,
        floor=asked.declared,
        factor=factor,
        average_n=n,
        stages=stages,
        deficiency=tolerable,
        far_deficiency=2.0 * tolerable,
        whole_lot=lot < _SMALL,
        marks=tuple(mark_of(table) for table in used),
        confirmed=all(table.confirmed for table in used),
        notes=tuple(notes),
    )
