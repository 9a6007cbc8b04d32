"""What the ledger holds of packages: cases, pallets, where they went, and decisions on lots."""

from __future__ import annotations

from dataclasses import dataclass

from clew.languages import say
from clew.ledger.events.message import MILL_LINE
from clew.ledger.lots.decided import decision_on
from clew.ledger.state.known import Effective
from clew.ledger.trace.facts import closed_with, others_in
from clew.ledger.trace.records import Kept

DECIDED = {
    "hold": say("on hold"), "rework": say("sent to rework"), "refuse": say("refused"),
    "release": say("released"),
}  # fmt: skip
"""What a decision makes of a lot, in words."""
UNDECIDED = say("not decided on")


@dataclass(frozen=True, slots=True)
class CaseKept:
    """A case that was closed.

    Attributes
    ----------
    package : str
        Its name or SSCC.
    line, run, lot, ball_name : str
        Where it was filled, with what; empty where not told.
    balls : int
        Balls in it.
    gtin : str
        The case's GTIN; empty where it has none.
    closed_us : int
        When [us].
    seq : int
        The record's place in its line's chain.
    lots : tuple of str
        All dye lots in it where there are several; empty where ``lot`` is the only one.
    order : str
        The order it was packed for; empty where not told.
    """

    package: str
    line: str
    run: str
    lot: str
    ball_name: str
    balls: int
    gtin: str
    closed_us: int
    seq: int
    lots: tuple[str, ...] = ()
    order: str = ""

    @property
    def all_lots(self) -> tuple[str, ...]:
        """The dye lots in it, each once."""
        return tuple(dict.fromkeys((self.lot, *self.lots)))


@dataclass(frozen=True, slots=True)
class PalletKept:
    """A pallet that was closed.

    Attributes
    ----------
    package : str
        Its name or SSCC.
    cases : tuple of str
        Names of its cases.
    closed_us : int
        When [us].
    seq : int
        The record's place in the mill's chain.
    """

    package: str
    cases: tuple[str, ...]
    closed_us: int
    seq: int


def case_kept(kept: Kept, name: str) -> CaseKept | None:
    """Find a case that was closed, corrections put in; None where none was."""
    found = kept.naming("package", name, ("case closed",)) if name else []
    return _case_of(found[-1]) if found else None


def _case_of(event: Effective) -> CaseKept:
    return CaseKept(
        event.package, event.line, event.run, event.lot, str(event.body.get("ball_name") or ""),
        int(event.body.get("balls") or 0), str(event.body.get("gtin") or ""), event.at_us,
        event.seq, others_in(event), str(event.body.get("order") or ""),
    )  # fmt: skip


def cases_of_lot(kept: Kept, lot: str) -> tuple[CaseKept, ...]:
    """Find all cases with balls of a dye lot; one told twice counts once, as it was told last."""
    found = {one.package: _case_of(one) for one in closed_with(kept, lot)}
    return tuple(found.values())


def pallet_kept(kept: Kept, name: str) -> PalletKept | None:
    """Find a pallet that was closed, corrections put in; None where none was."""
    found = kept.naming("package", name, ("pallet closed",)) if name else []
    return _pallet_of(found[-1]) if found else None


def _pallet_of(event: Effective) -> PalletKept:
    cases = tuple(dict.fromkeys(str(one) for one in event.body.get("cases") or ()))
    return PalletKept(event.package, cases, event.at_us, event.seq)


def came_back(kept: Kept, case: str, since_us: int) -> bool:
    """Say whether a case by itself was sent back since a moment, whatever pallet it left on."""
    return any(one.at_us >= since_us for one in kept.naming("package", case, ("returned",)))


def stands_on(kept: Kept, case: str, pallets: dict[str, str]) -> str:
    """Name the pallet a case stands on; empty where it is on none, or came back without it.

    Parameters
    ----------
    kept : Kept
        The records.
    case : str
        The case.
    pallets : dict of str to str
        As `pallets_since` gives them.
    """
    pallet = pallets.get(case, "")
    left = shipment_of(kept, pallet) if pallet else None
    return "" if left is not None and came_back(kept, case, left.at_us) else pallet


def pallets_since(kept: Kept, since_us: int) -> dict[str, str]:
    """Say of each case that went onto a pallet since a moment, onto which; the last counts."""
    found: dict[str, str] = {}
    for one in kept.of_kind(MILL_LINE, "pallet closed", from_us=since_us):
        for case in one.body.get("cases") or ():
            found[str(case)] = one.package
    return found


def shipment_of(kept: Kept, package: str) -> Effective | None:
    """Find the record by which a package left; None where it did not, or came back since."""
    last = None
    for one in kept.naming("package", package, ("shipped", "returned")):
        last = one if one.kind == "shipped" else None
    return last


def shipments_for(kept: Kept, order: str) -> tuple[Effective, ...]:
    """Find what left for an order and did not come back, in order of time."""
    told = [
        one for one in kept.of_kind(MILL_LINE, "shipped") if one.body.get("order") == order
    ]  # fmt: skip
    return tuple(one for one in told if _still(kept, one))


def _still(kept: Kept, shipped: Effective) -> bool:
    last = shipment_of(kept, shipped.package)
    return last is not None and last.seq == shipped.seq


def cases_in(kept: Kept, package: str) -> tuple[CaseKept, ...]:
    """Give the cases of a package: those of a pallet, or the case itself."""
    pallet = pallet_kept(kept, package)
    names = (package,) if pallet is None else pallet.cases
    return tuple(one for one in (case_kept(kept, name) for name in names) if one is not None)


def taken_back(kept: Kept, package: str) -> tuple[str, ...]:
    """Name what a package is said to hold and nothing closes any more.

    Parameters
    ----------
    kept : Kept
        The records.
    package : str
        A pallet, or a case by itself.

    Returns
    -------
    tuple of str
        Cases of the pallet, or the package itself, of which a correction said that they were not
        closed.
    """
    pallet = pallet_kept(kept, package)
    names = (package,) if pallet is None else pallet.cases
    return tuple(one for one in names if case_kept(kept, one) is None)


def decisions_for(
    kept: Kept, case: CaseKept, upto_us: int | None = None
) -> tuple[tuple[str, Effective | None], ...]:
    """Find the decision that counts for each dye lot in a case; None where nobody decided on it."""
    alone = len(case.all_lots) == 1
    return tuple(
        (lot, decision_on(kept, lot, case.run if alone else "", upto_us)) for lot in case.all_lots
    )


def not_shipped_yet(lot: str, decided: str) -> str:
    """Say that a lot's cases may not ship, by what was decided on it."""
    return say("{lot} is {decided}: its cases may not ship yet", lot=lot, decided=decided)


def not_yet(kept: Kept, case: CaseKept) -> list[str]:
    """Say which dye lots of a case are not released yet, in words."""
    minded = []
    for lot, decision in decisions_for(kept, case):
        said = "" if decision is None else str(decision.body.get("decision"))
        if said != "release":
            minded.append(not_shipped_yet(lot, DECIDED.get(said, UNDECIDED)))
    return minded
