"""How sure it is that yarn comes off dry enough, in words that pages and commands share."""

from __future__ import annotations

from clew.languages import say
from clew.line.heat.answer import HeatAnswer
from clew.line.heat.exit_doubt import ExitDoubt
from clew.line.heat.terms import DOUBT_WORDS

SURE, LIKELY = 0.95, 0.8
"""Shares of the cases from which on dry enough is said outright, and with a probably [1]."""
_ALIKE = 0.03
"""Shares of the doubt that lie so near each other are named together [1]."""
_EXPLAINED = ("critical_cv",)


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
        return say("Not dry enough")
    if any(one.key == "over_dried" for one in answer.warnings):
        return say("Drier than it need be")
    dry = 1.0 - answer.doubt.too_damp_share
    if dry >= SURE:
        return say("Dry enough")
    if dry >= LIKELY:
        return say("Probably dry enough")
    damp = max(2, round(10.0 * answer.doubt.too_damp_share))
    return say("Perhaps dry enough, but {damp} in 10 too damp", damp=damp)


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
        return say(
            "Dry enough in every one of {draws} cases, as far as yarn and dryer are known",
            draws=doubt.draws,
        )
    if doubt.too_damp_share == 1.0:
        return say(
            "Too damp in every one of {draws} cases, as far as yarn and dryer are known",
            draws=doubt.draws,
        )
    dry = round(100.0 * (1.0 - doubt.too_damp_share))
    return say(
        "Dry enough in {dry} of 100 cases, as far as yarn and dryer are known",
        dry=min(max(dry, 1), 99),
    )


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
    said = _with_its_meaning(first)
    if not others:
        return say("the largest part of the doubt is {first}", first=said)
    (other,) = others
    places = {"first": said, "second": _with_its_meaning(other)}
    if first in _EXPLAINED:
        return say("the largest parts of the doubt are {first}, and {second}", **places)
    return say("the largest parts of the doubt are {first} and {second}", **places)


def _with_its_meaning(key: str) -> str:
    if key in _EXPLAINED:
        return say("{critical}, below which drying slows down", critical=DOUBT_WORDS[key])
    return DOUBT_WORDS[key]
