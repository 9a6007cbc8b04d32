"""A fault inside a sentence."""

from __future__ import annotations

from clew.faults import Fault
from clew.languages import joined, say


def fault_words(fault: Fault) -> str:
    """Say a fault of a room as its own line does, without a place in a file.

    Parameters
    ----------
    fault : Fault
        What is wrong.

    Returns
    -------
    str
        For example ``lanes: a value that cannot be meant (got 65); expected at most 64``.
    """
    what = fault.what
    section = f"[{fault.section}]" if fault.section else ""
    where = " ".join(part for part in (section, fault.key) if part)
    if where:
        what = joined(": ", (where, what))
    if fault.value:
        what = say("{fault} (got {value})", fault=what, value=fault.value)
    if not fault.expected:
        return what
    return say("{fault}; expected {expected}", fault=what, expected=fault.expected)
