"""A ball of the mill file before the law: its declarations, its basis of mass, its tare."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from clew.checks.condition import Condition
from clew.checks.packages.plan import Quantity
from clew.checks.packages.rule_sets import rule_of
from clew.checks.packages.sample import Sample, length_sample, mass_sample
from clew.checks.weighings import Weighings
from clew.languages import joined, say
from clew.mill.model import Mill
from clew.strand.allowances import SharesOn, blend_allowance


@dataclass(frozen=True, slots=True)
class BallTerms:
    """What the mill file says of a ball.

    Attributes
    ----------
    rule : str
        Its rule set; empty where it has none.
    other_rules : tuple of str
        Those of the other markets it is sold in.
    declared : dict of str to float
        Declared mass [g] and length [m].
    commercial : bool
        Its mass is meant at the agreed regain.
    agreed_frac : float
        Agreed regain of its blend [1].
    agreed_words : str
        By which table and convention.
    tare_g : float or None
        Its tare [g].
    """

    rule: str
    other_rules: tuple[str, ...]
    declared: dict[Quantity, float]
    commercial: bool
    agreed_frac: float
    agreed_words: str
    tare_g: float | None


def ball_terms(mill: Mill, name: str, shares_on: SharesOn = "dry") -> BallTerms:
    """Give a ball's terms.

    Parameters
    ----------
    mill : Mill
        The mill.
    name : str
        The ball's name.
    shares_on : {"dry", "conditioned"}
        On which mass the blend's shares are taken.

    Returns
    -------
    BallTerms
        The terms.

    Raises
    ------
    BadInput
        When the mill has no such ball.
    """
    ball = mill.find_ball(name)
    blend = mill.find_blend(mill.find_yarn(ball.yarn).blend)
    total = sum(part.share_frac for part in blend.fibres)
    agreed = blend_allowance(
        [(part.fibre, part.share_frac / total) for part in blend.fibres],
        blend.allowance_table,
        shares_on=shares_on,
    )
    words = (
        say("{blend}, {table}, shares of the dry mass", blend=blend.name, table=agreed.table)
        if shares_on == "dry"
        else say(
            "{blend}, {table}, shares of the conditioned mass",
            blend=blend.name,
            table=agreed.table,
        )
    )
    if agreed.from_memory:
        memory = say("from memory: {fibres}", fibres=", ".join(agreed.from_memory))
        words = joined("; ", (words, memory))
    return BallTerms(
        "" if ball.rule_set == "none" else ball.rule_set,
        ball.other_rule_sets,
        {"mass": ball.declared_mass_g, "length": ball.declared_length_m},
        ball.mass_basis == "commercial",
        agreed.frac,
        words,
        ball.tare_mass_g,
    )


def mill_commercial(ball: BallTerms | None, rule: str, told: list[str]) -> bool:
    """Follow the mill file's basis of mass, unless the rule set knows mass as weighed only.

    Parameters
    ----------
    ball : BallTerms or None
        The ball; None where no mill was given.
    rule : str
        Key of the rule set.
    told : list of str
        Cautions, added to.

    Returns
    -------
    bool
        Mass is judged at the agreed regain.
    """
    if ball is None or not ball.commercial:
        return False
    if rule_of(rule).commercial == "no":
        told.append(say("the mill file means mass at the agreed regain; judged as weighed here"))
        return False
    return True


def mill_tare(
    ball: BallTerms | None, weighings: Weighings, tare: float | None, told: list[str]
) -> float | None:
    """Take the mill file's tare where the file has gross masses and no tare of any kind.

    Parameters
    ----------
    ball : BallTerms or None
        The ball.
    weighings : Weighings
        The file.
    tare : float or None
        The tare entered [g].
    told : list of str
        Cautions, added to.

    Returns
    -------
    float or None
        The tare to take off [g].
    """
    numbers = weighings.numbers
    there = [name for name in ("gross_g", "tare_g", "mass_g") if name in numbers]
    filled = {name for name in there if not np.isnan(numbers[name]).all()}
    if tare is not None or ball is None or ball.tare_g is None or filled != {"gross_g"}:
        return tare
    told.append(say("the tare is that of the mill file"))
    return ball.tare_g


def samples_of(
    weighings: Weighings, quantities: Iterable[Quantity], condition: Condition, rule: str
) -> list[Sample]:
    """Take the samples a rule set judges, as it takes off the tare.

    Parameters
    ----------
    weighings : Weighings
        The file.
    quantities : iterable of str
        "mass", "length".
    condition : Condition
        The condition mass is meant at.
    rule : str
        Key of the rule set: Handbook 133 takes the mean tare off every ball.

    Returns
    -------
    list of Sample
        In the same order.
    """
    mean_tare = rule == "us-category-a"
    return [
        mass_sample(weighings, condition, mean_tare=mean_tare)
        if quantity == "mass"
        else length_sample(weighings)
        for quantity in quantities
    ]


def more_lots(weighings: Weighings) -> list[str]:
    """Caution of a file that holds several dye lots, judged as one."""
    lots = weighings.factors.get("lot")
    if lots is None or len(lots.names) < 2:
        return []
    return [
        say("the file holds {n} lots, judged as one; --lot takes one of them", n=len(lots.names))
    ]
