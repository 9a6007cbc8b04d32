"""The report of a shift, read from a ledger, with the anchor it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.ledger.events.message import Record
from clew.ledger.events.moments import read_moment
from clew.ledger.reports.shift_report import ShiftReport, shift_report
from clew.ledger.state.answer import Shift
from clew.ledger.state.effective import effective_events
from clew.ledger.state.shifts import shift_of
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import chain_records, head_of, records_in_time
from clew.mill.model import Mill

BEFORE_US = 16 * 24 * 3_600_000_000
"""A run, or a stop, that began longer before the shift is not looked for [us]: assumed."""
_REPORTED = (
    "run start", "run set", "run end", "stop", "go on", "doff", "pulled", "tie", "colour", "retie",
    "weighing", "case closed", "rework", "cone off", "cone loaded", "check", "handover", "note",
    "at the tablet", "length check", "banded", "seen", "correction",
)  # fmt: skip
_BEGINS = ("run start", "run set", "run end", "stop", "go on", "correction")


@dataclass(frozen=True, slots=True)
class AnchoredReport:
    """A report, and the place in the chain up to which it was read.

    Attributes
    ----------
    report : ShiftReport
        The shift.
    head_seq : int
        Last place of the line's chain then; 0 for none.
    head_hash : bytes
        Its hash.
    """

    report: ShiftReport
    head_seq: int
    head_hash: bytes


def shift_named(name: str, mill: Mill, now_us: int) -> Shift:
    """Find a shift: by a moment in it, or the one in progress where no moment is named.

    Parameters
    ----------
    name : str
        A moment by the mill's clock, such as ``2026-11-25 06:00``; empty for now.
    mill : Mill
        The mill, for its clock and when its shifts begin.
    now_us : int
        Now [us].

    Raises
    ------
    BadInput
        For a text that is no moment.
    """
    at_us = now_us
    if name:
        try:
            at_us = read_moment(name, mill.mill.time_zone).at_us
        except BadInput:
            raise BadInput(
                Fault("no moment of a shift", "such as 2026-11-25 06:00", key="shift", value=name)
            ) from None
    return shift_of(at_us, mill.mill.shift_starts, mill.mill.time_zone)


def _moved_in(ledger: Ledger, line: str, records: Sequence[Record], head_seq: int) -> list[Record]:
    """Read what a correction of its time may move into the shift, as after a clock that was ahead.

    What corrects those is read as well: a correction may itself have been corrected.
    """
    known = {one.seq for one in records}
    wanted = sorted(
        {
            int(body["of_seq"])
            for one in records
            if one.kind == "correction"
            and '"at"' in str((body := one.fields()).get("change") or "")
        }
        - known
    )
    found: list[Record] = []
    for one_seq in wanted:
        if one_seq <= head_seq:
            found += chain_records(ledger, line, after_seq=one_seq - 1, upto_seq=one_seq)
    return [one for one in found if one.kind in _REPORTED]


def report_of_shift(ledger: Ledger, mill: Mill, line_name: str, shift: Shift) -> AnchoredReport:
    """Read a shift off the ledger and add it up.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    mill : Mill
        The mill.
    line_name : str
        A line of it.
    shift : Shift
        Which shift.

    Returns
    -------
    AnchoredReport
        The report; what is recorded while it is read may be in it or not, never half.
    """
    line = mill.find_line(line_name)
    seq, digest = head_of(ledger, line.name)
    begins = records_in_time(
        ledger, line.name, from_us=shift.from_us - BEFORE_US, upto_us=shift.from_us - 1,
        kinds=_BEGINS,
    )  # fmt: skip
    within = records_in_time(
        ledger, line.name, from_us=shift.from_us, upto_us=shift.upto_us, kinds=_REPORTED
    )
    # what is entered after the shift may correct it
    mends = records_in_time(ledger, line.name, from_us=shift.upto_us, kinds=("correction",))
    records = [one for part in (begins, within, mends) for one in part if one.seq <= seq]
    records += _moved_in(ledger, line.name, records, seq)
    found = effective_events(records, zone=mill.mill.time_zone)
    report = shift_report(line.name, line.lanes, shift, ledger.clock(), found.events)
    return AnchoredReport(report, seq, digest)
