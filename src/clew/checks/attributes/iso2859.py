"""Standard single plans by lot size, level and AQL: normal, tightened and reduced inspection.

The tables run along diagonals: a step down the letters and a step left among the AQLs leave the
number that may be bad unchanged. So a plan is found by its place `s` on the diagonal, and where the
table has an arrow, by walking to the letter it points at. The rule stands for AQL 0.10 to 10
(percent bad); beyond it nothing is offered.

Source: MIL-STD-105E / ANSI-ASQ Z1.4 tables I, II-A, II-B, II-C, READ in a public copy (the
AQLSchemes package; tightened and reduced in a fork of it) and compared cell by cell in the tests.
ISO 2859-1 has the same tables I, 2-A and 2-B (MEMORY: its text was not read). In its edition of
1999 reduced plans reject at one more than they accept (MEMORY); in the tables read a gap is left,
in which the lot is accepted and reduced inspection ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from clew.checks.attributes.plans import AttributePlan, single_plan
from clew.faults import BadInput, Fault
from clew.strand.given import whole_number

Severity = Literal["normal", "tightened", "reduced"]
Level = Literal["S-1", "S-2", "S-3", "S-4", "I", "II", "III"]

LEVELS: tuple[Level, ...] = ("S-1", "S-2", "S-3", "S-4", "I", "II", "III")
AQLS = ("0.10", "0.15", "0.25", "0.40", "0.65", "1.0", "1.5", "2.5", "4.0", "6.5", "10")
LETTERS = "ABCDEFGHJKLMNPQR"
SOURCE = (
    "MIL-STD-105E (ANSI/ASQ Z1.4), single plans, READ in a public copy of its tables; "
    "ISO 2859-1 holds them to be the same (MEMORY)"
)

_DRAWN = (2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000)
_DRAWN_REDUCED = (2, 2, 2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800)
_FIRST_AQL = 5
"""Place of AQL 0.10 among the standard's AQLs, which begin at 0.010."""

_LOT_ENDS = (8, 15, 25, 50, 90, 150, 280, 500, 1200, 3200, 10_000, 35_000, 150_000, 500_000)
_LETTERS_BY_LOT = (
    "AAAAAAB",
    "AAAAABC",
    "AABBBCD",
    "ABBCCDE",
    "BBCCCEF",
    "BBCDDFG",
    "BCDEEGH",
    "BCDEFHJ",
    "CCEFGJK",
    "CDEGHKL",
    "CDFGJLM",
    "CDFHKMN",
    "DEGJLNP",
    "DEGJMPQ",
    "DEHKNQR",
)

_ACCEPT: dict[Severity, tuple[int, ...]] = {
    "normal": (1, 2, 3, 5, 7, 10, 14, 21),
    "tightened": (1, 2, 3, 5, 8, 12, 18),
    "reduced": (0, 1, 1, 2, 3, 5, 7, 10),
}
_REJECT_REDUCED = (2, 3, 4, 5, 6, 8, 10, 13)


@dataclass(frozen=True, slots=True)
class StandardPlan:
    """The plan that the tables give for a lot.

    Attributes
    ----------
    aql : str
        Acceptance quality limit, as the tables write it [% bad].
    level : str
        Inspection level.
    severity : str
        Normal, tightened or reduced inspection.
    letter : str
        Code letter of the lot.
    plan_letter : str
        Letter of the plan, another one where an arrow points to it.
    plan : AttributePlan or None
        What the lot itself is judged by: accepted below `reject`. None where every ball is to be
        looked at.
    gap : int
        Of reduced inspection: how many bad balls more than `accept` still let the lot pass, but
        bring normal inspection back; 0 otherwise.
    n : int
        Balls drawn, the whole lot where the table asks for as many or more.
    accept, reject : int
        The table's numbers: bad balls at which all is well, and at which the lot is rejected.
    """

    aql: str
    level: Level
    severity: Severity
    letter: str
    plan_letter: str
    plan: AttributePlan | None
    gap: int
    n: int
    accept: int
    reject: int


def code_letter(lot_size: int, level: Level = "II") -> str:
    """Read the code letter of a lot.

    Parameters
    ----------
    lot_size : int
        Balls in the lot, 2 or more.
    level : str
        Inspection level: S-1 to S-4, I, II, III.

    Returns
    -------
    str
        A letter from A to R (I and O are not used).

    Raises
    ------
    BadInput
        When the lot is smaller, or there is no such level.
    """
    lot_size = whole_number(lot_size, "balls in the lot", low=2)
    if level not in LEVELS:
        raise BadInput(Fault("no such level", f"one of {', '.join(LEVELS)}", value=str(level)))
    row = sum(lot_size > end for end in _LOT_ENDS)
    return _LETTERS_BY_LOT[row][LEVELS.index(level)]


def read_aql(text: str) -> str:
    """Find an AQL among those of the tables, however it is written.

    Parameters
    ----------
    text : str
        Such as "1.5", "1.5 %" or "4".

    Returns
    -------
    str
        As the tables write it.

    Raises
    ------
    BadInput
        When the tables have none such within 0.10 to 10.
    """
    try:
        value = float(text.strip().removesuffix("%"))
    except ValueError:
        value = -1.0
    for aql in AQLS:
        if float(aql) == value:
            return aql
    raise BadInput(
        Fault("not an AQL of the tables", f"one of {', '.join(AQLS)}", value=repr(text[:20]))
    )


def table_cell(letter: str, aql: str, severity: Severity = "normal") -> tuple[str, int, int, int]:
    """Read one cell of the tables, arrows followed.

    Parameters
    ----------
    letter : str
        Code letter.
    aql : str
        Acceptance quality limit, as the tables write it.
    severity : str
        Normal, tightened or reduced inspection.

    Returns
    -------
    (str, int, int, int)
        Letter of the plan, balls drawn, accept, reject.

    Raises
    ------
    BadInput
        When there is no such letter or AQL.
    """
    if letter not in LETTERS or len(letter) != 1:
        raise BadInput(Fault("no such code letter", "A to R without I and O", value=letter))
    if aql not in AQLS:
        raise BadInput(Fault("not an AQL of the tables", f"one of {', '.join(AQLS)}", value=aql))
    row = LETTERS.index(letter)
    while True:
        place = row + _FIRST_AQL + AQLS.index(aql) - (15 if severity == "tightened" else 14)
        step = _arrow(place, row, aql, severity)
        if step == 0:
            break
        row += step
    drawn = (_DRAWN_REDUCED if severity == "reduced" else _DRAWN)[row]
    if place == 0:
        return LETTERS[row], drawn, 0, 1
    accept = _ACCEPT[severity][place - 3]
    reject = _REJECT_REDUCED[place - 3] if severity == "reduced" else accept + 1
    return LETTERS[row], drawn, accept, reject


def _arrow(place: int, row: int, aql: str, severity: Severity) -> int:
    """Which way the table points: 1 down, -1 up, 0 where it holds a plan."""
    if place >= 3:
        return -1 if place - 3 >= len(_ACCEPT[severity]) else 0
    if place == 0:
        # At AQL 10 no plan accepts at 0: letter A of tightened inspection points down.
        return 1 if aql == AQLS[-1] else 0
    if place == 1 and severity != "tightened" and row > 0:
        return -1
    return 1


def standard_plan(
    lot_size: int, aql: str, level: Level = "II", severity: Severity = "normal"
) -> StandardPlan:
    """Look up the plan for a lot.

    Parameters
    ----------
    lot_size : int
        Balls in the lot, 2 or more.
    aql : str
        Acceptance quality limit: "0.10" to "10" [% bad].
    level : str
        Inspection level; II unless agreed otherwise.
    severity : str
        Normal, tightened or reduced inspection.

    Returns
    -------
    StandardPlan
        The plan. Where the table asks for as many balls as the lot has, or more, the whole lot is
        looked at, with the table's numbers.

    Raises
    ------
    BadInput
        When the lot is too small, or the tables have no such AQL or level.
    """
    letter = code_letter(lot_size, level)
    aql = read_aql(aql)
    plan_letter, drawn, accept, reject = table_cell(letter, aql, severity)
    whole = drawn >= lot_size
    return StandardPlan(
        aql,
        level,
        severity,
        letter,
        plan_letter,
        None if whole else single_plan(drawn, reject - 1),
        reject - accept - 1,
        lot_size if whole else drawn,
        accept,
        reject,
    )
