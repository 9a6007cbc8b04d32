"""What a rule set is: where it stands, what it covers, and what it leaves open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from clew.checks.packages.plan import Quantity, RuleKey
from clew.checks.packages.table_words import source_of, title_of
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.net_content_tables import Table

OFFICE = say("for in-house control; your weights-and-measures office decides")
"""What every screen and paper of a rule set carries."""


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule set with its source.

    Attributes
    ----------
    key : str
        Key of the rule set.
    title, source, edition, date, market : str
        What it is, where it stands, which edition was used, and where it holds.
    covers : tuple of str
        "mass", "length".
    tables : tuple of str
        Keys of the tables it rests on.
    marks : tuple of (str, str)
        What is taken from its text beside the tables, and how far that was seen.
    equality : str
        What happens exactly at a limit.
    equality_by : {"text", "choice"}
        Whether the text says so or the house chose it.
    moisture : {"entered", "none"}
        Whether an allowance for moisture loss may be entered.
    commercial : {"by text", "unverified", "no"}
        Whether mass may be judged at the commercial regain: "by text" where the text itself asks
        for it, "unverified" where it is trade practice and in no text read.
    at_packing : str
        What differs at the place of packing.
    """

    key: RuleKey
    title: str
    source: str
    edition: str
    date: str
    market: str
    covers: tuple[Quantity, ...]
    tables: tuple[str, ...]
    marks: tuple[tuple[str, str], ...]
    equality: str
    equality_by: Literal["text", "choice"]
    moisture: Literal["entered", "none"] = "none"
    commercial: Literal["by text", "unverified", "no"] = "unverified"
    at_packing: str = ""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a plan is asked for.

    Attributes
    ----------
    quantity : str
        "mass" or "length".
    declared : float
        Declared content [g or m].
    lot_size : int
        Balls in the lot.
    destructive : bool
        The check destroys the ball.
    plan : str or None
        "single" or "double"; None takes the rule set's own.
    allowance : float
        Moisture allowance [g].
    """

    quantity: Quantity
    declared: float
    lot_size: int
    destructive: bool = False
    plan: Literal["single", "double"] | None = None
    allowance: float = 0.0


def mark_of(table: Table) -> str:
    """Say on one line what a table rests on."""
    if table.confirmed_by:
        return say(
            "confirmed by {name}: {title} ({source})",
            name=table.confirmed_by,
            title=title_of(table),
            source=source_of(table),
        )
    return say(
        "{mark}: {title} ({source})",
        mark=table.mark,
        title=title_of(table),
        source=source_of(table),
    )


def mass_only(rule: Rule, asked: Asked, low_g: float, high_g: float, range_words: str) -> None:
    """Refuse what a rule set of mass does not reach.

    Parameters
    ----------
    rule : Rule
        The rule set.
    asked : Asked
        What is asked.
    low_g, high_g : float
        Smallest and largest declaration it covers [g].
    range_words : str
        The same in words.

    Raises
    ------
    BadInput
        When it is a length, or a mass outside.
    """
    if asked.quantity != "mass":
        raise BadInput(
            Fault(
                say("length is not covered by this rule set ({title})", title=rule.title),
                say("a declared mass, or another rule set for the length"),
                key="declared",
                value=f"{asked.declared:g} m",
            )
        )
    if not low_g <= asked.declared <= high_g:
        raise BadInput(
            Fault(
                say("not covered by this rule set ({title})", title=rule.title),
                range_words,
                key="declared",
                value=f"{asked.declared:g} g",
            )
        )


def one_plan_only(rule: Rule, asked: Asked) -> None:
    """Refuse a choice of plan where the rule set has none.

    Raises
    ------
    BadInput
        When a double plan is asked for.
    """
    if asked.plan == "double":
        raise BadInput(
            Fault(say("{title} has no double plan", title=rule.title), "single", key="plan")
        )
