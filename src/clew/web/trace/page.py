"""What Trace asks: a band's code, a cone, a dye lot, a case or a token; and what it finds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.store.ledger import Ledger
from clew.ledger.trace.answer import BackTrace, ForwardTrace
from clew.ledger.trace.backwards import back_from_band, back_from_case, back_from_token
from clew.ledger.trace.band_code import read_band_code
from clew.ledger.trace.forwards import forward_from_cone, forward_from_lot
from clew.ledger.trace.pallets import PalletTrace, back_from_pallet
from clew.ledger.trace.tracing import Tracing
from clew.mill.model import Mill

TRACE_KEYS = ("what", "name")
WHATS: Mapping[str, str] = {
    "band": say("What a band says"),
    "cone": say("A cone"),
    "lot": say("A dye lot"),
    "case": say("A case"),
    "pallet": say("A pallet"),
    "token": say("A token or tray"),
}
"""What can be traced: key and words."""
LONGEST = 120


@dataclass(frozen=True, slots=True)
class TraceAsked:
    """What was asked.

    Attributes
    ----------
    what : str
        One of `WHATS`.
    name : str
        Its name, or the band's code; empty before anything was asked.
    """

    what: str
    name: str


def trace_asked(said: Mapping[str, str]) -> TraceAsked:
    """Read what was asked from an address.

    Raises
    ------
    BadInput
        For something that cannot be traced.
    """
    what = said.get("what", "band")
    name = " ".join(said.get("name", "").split())
    if what not in WHATS:
        raise BadInput(
            Fault(say("nothing that is traced"), say("one of {names}", names=", ".join(WHATS)),
                  key="what", value=repr(what)[:40])
        )  # fmt: skip
    if len(name) > LONGEST:
        raise BadInput(
            Fault(
                say("too long a name"),
                say("at most {most} characters", most=LONGEST),
                key="name",
            )
        )
    return TraceAsked(what, name)


def as_typed(said: Mapping[str, str]) -> TraceAsked:
    """Keep what was typed for the form, right or wrong."""
    what = said.get("what", "band")
    name = " ".join(said.get("name", "").split())
    return TraceAsked(what if what in WHATS else "band", name[: 4 * LONGEST])


def traced(mill: Mill, ledger: Ledger, asked: TraceAsked) -> BackTrace | ForwardTrace | PalletTrace:
    """Trace what was asked.

    Parameters
    ----------
    mill : Mill
        The mill.
    ledger : Ledger
        Its ledger.
    asked : TraceAsked
        What, with a name.

    Returns
    -------
    BackTrace, ForwardTrace or PalletTrace
        Back from a band, case, pallet or token; on from a cone or a dye lot.

    Raises
    ------
    BadInput
        For a code that cannot be read, or a line, winder or name that is not there.
    CannotKeep
        When the ledger does not answer.
    """
    tracing = Tracing(mill, ledger)
    if asked.what == "cone":
        return forward_from_cone(tracing, asked.name)
    if asked.what == "lot":
        return forward_from_lot(tracing, asked.name)
    if asked.what == "case":
        return back_from_case(tracing, asked.name)
    if asked.what == "pallet":
        return back_from_pallet(tracing, asked.name)
    if asked.what == "token":
        return back_from_token(tracing, asked.name)
    names = tuple(one.name for one in mill.line)
    return back_from_band(tracing, read_band_code(asked.name, mill.mill.time_zone, lines=names))
