"""Back from a pallet: its cases, each with the balls and cones that may be in it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.trace.answer import BackTrace, CaseIn, Rest
from clew.ledger.trace.backwards import back_from_case
from clew.ledger.trace.records import rest_of
from clew.ledger.trace.tracing import Tracing


@dataclass(frozen=True, slots=True)
class PalletTrace:
    """What is known of a pallet.

    Attributes
    ----------
    asked : str
        The question, in words.
    pallet : str
        Its name.
    closed_us : int
        When it was closed [us].
    cases : tuple of CaseIn
        Its cases, as its record names them.
    traces : tuple of BackTrace
        The same cases traced back, one by one.
    missing : tuple of str
        What is missing, in words.
    rests : tuple of Rest
        The records.
    """

    asked: str
    pallet: str
    closed_us: int
    cases: tuple[CaseIn, ...]
    traces: tuple[BackTrace, ...]
    missing: tuple[str, ...]
    rests: tuple[Rest, ...]


def back_from_pallet(tracing: Tracing, pallet: str) -> PalletTrace:
    """Trace a pallet back, case by case.

    Parameters
    ----------
    tracing : Tracing
        The mill and its ledger.
    pallet : str
        What it is called.

    Returns
    -------
    PalletTrace
        Its cases; one that the pallet names and nobody closed stands under what is missing.

    Raises
    ------
    BadInput
        When no such pallet was closed.
    """
    with tracing.kept() as kept:
        closed = kept.naming("package", pallet, ("pallet closed",))
    if not closed:
        raise BadInput(
            Fault(say("no such pallet was closed"), say("one that was told"), value=pallet)
        )
    last = closed[-1]
    traces: list[BackTrace] = []
    missing: list[str] = []
    for name in dict.fromkeys(str(one) for one in last.body.get("cases", ())):
        try:
            traces.append(back_from_case(tracing, name))
        except BadInput as bad:
            missing.append(say("case {name}: {what}", name=name, what=bad.faults[0].what))
    cases = [one for trace in traces for one in trace.cases]
    elsewhere = [one for one in cases if one.pallet != pallet]
    missing += [
        say("case {case} went onto pallet {pallet} after it", case=one.case, pallet=one.pallet)
        for one in elsewhere
        if one.pallet
    ]
    missing += dict.fromkeys(said for trace in traces for said in trace.missing)
    sure = tuple(replace(one, sure=one not in elsewhere) for one in cases)
    return PalletTrace(
        say("pallet {pallet}", pallet=pallet), pallet, last.at_us, sure, tuple(traces),
        tuple(missing), (rest_of(last),),
    )  # fmt: skip
