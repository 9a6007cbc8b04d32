"""A trace written for trading partners, with what the mill file says of the balls put in."""

from __future__ import annotations

import json

from clew.ledger.trace.answer import BackTrace, ForwardTrace
from clew.ledger.trace.epcis import Keys, epcis_document
from clew.ledger.trace.runs_then import run_then
from clew.ledger.trace.tracing import Tracing


def epcis_file(
    tracing: Tracing, found: BackTrace | ForwardTrace, keys: Keys, *, made_us: int
) -> bytes:
    """Write a trace as a file of EPCIS 2.0 events.

    Parameters
    ----------
    tracing : Tracing
        The mill and its ledger.
    found : BackTrace or ForwardTrace
        The trace.
    keys : Keys
        How things are named.
    made_us : int
        When it is written [us].

    Returns
    -------
    bytes
        JSON-LD, UTF-8.

    Raises
    ------
    BadInput
        When a given GS1 key is none, or nothing in the trace has a time.
    """
    name = ball_name_of(tracing, found)
    declared_g = next((b.declared_mass_g for b in tracing.mill.ball if b.name == name), None)
    document = epcis_document(
        found, keys, made_us=made_us, zone=tracing.zone, ball_name=name, declared_g=declared_g
    )
    return (json.dumps(document, indent=2, ensure_ascii=False) + "\n").encode()


def ball_name_of(tracing: Tracing, found: BackTrace | ForwardTrace) -> str:
    """Say what was made of the cones, so that both ways of tracing give balls one name."""
    if not isinstance(found, ForwardTrace):
        return "" if found.run is None else found.run.ball_name
    if not found.balls:
        return ""
    at_us = max(one.doffed_us or 0 for one in found.balls)
    with tracing.kept() as kept:
        run = run_then(kept, found.balls[0].line, at_us)
    return "" if run is None else run.ball_name
