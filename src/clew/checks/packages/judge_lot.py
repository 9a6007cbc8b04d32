"""Judging a lot: samples of mass and length by one rule set, to one verdict."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from clew.checks.packages.plan import Quantity
from clew.checks.packages.rule_sets import plan_of, rule_of
from clew.checks.packages.sample import Sample
from clew.checks.packages.thread_states import needs_length
from clew.checks.packages.verdict import Verdict, scale_caution, verdict_of
from clew.checks.packages.worksheet import AllowanceWhen, work_out
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.net_content import Tables


def judge_lot(
    rule: str,
    samples: Sequence[Sample],
    declared: Mapping[Quantity, float],
    lot_size: int,
    tables: Tables,
    *,
    destructive: bool = False,
    plan: Literal["single", "double"] | None = None,
    allowance: float = 0.0,
    allowance_source: str = "",
    allowance_when: AllowanceWhen = "after",
    division: float | None = None,
    commercial: bool = False,
    cautions: Sequence[str] = (),
) -> Verdict:
    """Judge a lot by its samples.

    Parameters
    ----------
    rule : str
        Key of the rule set.
    samples : sequence of Sample
        A sample of mass, of length, or of both.
    declared : mapping of str to float
        Declared content by quantity [g or m].
    lot_size : int
        Balls in the lot.
    tables : Tables
        The tables in use.
    destructive : bool
        The check destroys the ball.
    plan : {"single", "double"}, optional
        Plan for single balls; the rule set's own when left out.
    allowance : float
        Moisture allowance [g].
    allowance_source : str
        Who gives the allowance, and where; asked for with every allowance.
    allowance_when : {"before", "after"}
        Whether it is known before the test or found after it.
    division : float or None
        Division of the scale [g].
    commercial : bool
        Mass was carried to the commercial regain.
    cautions : sequence of str
        What else is doubtful.

    Returns
    -------
    Verdict
        The answer with its worksheets.

    Raises
    ------
    BadInput
        When the rule set does not cover what is declared, an allowance has no source, or mass is
        at a regain the rule set does not know.
    """
    found = rule_of(rule)
    if commercial and found.commercial == "no":
        raise BadInput(
            Fault(
                say("{title} does not judge at the commercial regain", title=found.title),
                say("mass as weighed"),
                key="commercial",
            )
        )
    if allowance > 0.0 and not allowance_source.strip():
        raise BadInput(
            Fault(
                say("an allowance without its source"),
                say("who gives it, and where"),
                key="allowance",
            )
        )
    told = list(cautions)
    if allowance > 0.0:
        told.append(
            say(
                "moisture allowance of {allowance:.6g} g, by {source}",
                allowance=allowance,
                source=allowance_source.strip(),
            )
        )
    sheets = []
    for sample in samples:
        mass = sample.quantity == "mass"
        asked = plan_of(
            rule,
            sample.quantity,
            declared[sample.quantity],
            lot_size,
            tables,
            destructive=destructive,
            plan=plan,
            allowance=allowance if mass else 0.0,
        )
        scale = division if mass else None
        sheets.append(
            work_out(asked, sample, lot_size, allowance_when=allowance_when, division=scale)
        )
        if scale is not None and scale_caution(asked, scale):
            told.append(scale_caution(asked, scale))
    missing = (
        found.key == "us-thread-states"
        and "length" not in declared
        and needs_length(declared.get("mass", 0.0), tables)
    )
    return verdict_of(found, sheets, yards_missing=missing, commercial=commercial, cautions=told)
