"""How sure it is that yarn comes off dry enough, in words that pages and commands share."""

from __future__ import annotations

from clew.line.heat.answer import HeatAnswer
from clew.line.heat.exit_doubt import ExitDoubt
from clew.line.heat.terms import DOUBT_WORDS

SURE, LIKELY = 0.95, 0.8
"""Shares of the cases from which on dry enough is said outright, and with a probably [1]."""
_ALIKE = 0.03
"""Shares of the doubt that lie so near each other are named together [1]."""
_KNOWN = ", as far as yarn and dryer are known"
_WHAT_IT_IS = {"critical_cv": ", below which drying slows down"}


def dryness_verdict(answer: HeatAnswer) -> str:
    """Say whether the yarn comes off dry enough, as surely as it is known.

    Parameters
    ----------
    answer : HeatAnswer
        The answer.

    Returns
    -------
    str
        ``Dry enough`` where 95 of 100 cases are, ``Probably dry enough`` from 80, below that
        ``Perhaps`` with how many are too damp. ``Not dry enough`` where the answer itself is too
        damp, whatever part of the cases is not.
    """
    if not answer.dry_enough:
        return "Not dry enough"
    if any(one.key == "over_dried" for one in answer.warnings):
        return "Drier than it need be"
    dry = 1.0 - answer.doubt.too_damp_share
    if dry >= SURE:
        return "Dry enough"
    if dry >= LIKELY:
        return "Probably dry enough"
    damp = max(2, round(10.0 * answer.doubt.too_damp_share))
    return f"Perhaps dry enough, but {damp} in 10 too damp"


def sure_of_it(doubt: ExitDoubt) -> str:
    """Say in how many cases the yarn is dry enough.

    Parameters
    ----------
    doubt : ExitDoubt
        How unsure the regain is.

    Returns
    -------
    str
        A sentence without its end.
    """
    if doubt.too_damp_share == 0.0:
        return f"Dry enough in every one of {doubt.draws} cases{_KNOWN}"
    if doubt.too_damp_share == 1.0:
        return f"Too damp in every one of {doubt.draws} cases{_KNOWN}"
    dry = round(100.0 * (1.0 - doubt.too_damp_share))
    return f"Dry enough in {min(max(dry, 1), 99)} of 100 cases{_KNOWN}"


def largest_doubts(doubt: ExitDoubt) -> str:
    """Say what makes the largest part of the doubt.

    Parameters
    ----------
    doubt : ExitDoubt
        How unsure the regain is.

    Returns
    -------
    str
        Words without their end, two sources where they make nearly as much; empty where nothing
        is in doubt.
    """
    if not doubt.shares:
        return ""
    most = doubt.shares[0][1]
    first, *others = (key for key, share in doubt.shares[:2] if share >= most - _ALIKE)
    said = DOUBT_WORDS[first] + _WHAT_IT_IS.get(first, "")
    if not others:
        return f"the largest part of the doubt is {said}"
    comma = "," if first in _WHAT_IT_IS else ""
    (other,) = others
    more = DOUBT_WORDS[other] + _WHAT_IT_IS.get(other, "")
    return f"the largest parts of the doubt are {said}{comma} and {more}"
