"""What Case shows of closing and shipping: what is left to case, what is here, what left lately."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import islice

from clew.ledger.events.message import MILL_LINE
from clew.ledger.shipping.case import lots_in
from clew.ledger.shipping.made import lot_made
from clew.ledger.shipping.masses import full_case
from clew.ledger.shipping.packed import (
    DECIDED,
    UNDECIDED,
    CaseKept,
    case_kept,
    decisions_for,
    pallets_since,
)
from clew.ledger.shipping.turn import reading_once
from clew.ledger.state.known import Effective
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import lines_of
from clew.ledger.trace.facts import others_in
from clew.ledger.trace.records import KeptInLedger
from clew.mill.model import Mill

MOST_LISTED = 120
"""Cases, and pallets, that can be ticked, the latest first."""
MOST_LOTS = 4
"""Dye lots of a line that are counted, the latest first."""
MOST_LATELY = 20
_MOST_CASES, _MOST_PALLETS = 1_000, 60
_MOST_RUNS = 20
_MOST_SHIPPED = 400
Filling = tuple[tuple[str, ...], str]
"""Dye lots and run of a case: what a decision on its balls goes by."""


@dataclass(frozen=True, slots=True)
class LotLeft:
    """Balls of a dye lot on a line that lie in no case yet.

    Attributes
    ----------
    line, lot, ball_name, order : str
        Where, of what, into what it was wound, and for which order; empty where not told.
    left, full : int
        Balls that may still go into a case, and those that make a full one; 0 for a ball that the
        mill file does not have.
    running : bool
        Whether its run is in progress.
    """

    line: str
    lot: str
    ball_name: str
    order: str
    left: int
    full: int
    running: bool


@dataclass(frozen=True, slots=True)
class PackageHere:
    """A case or a pallet, and where it is.

    Attributes
    ----------
    package : str
        Its name or SSCC.
    pallet : bool
        Whether it is a pallet.
    cases : tuple of CaseKept
        Itself, or what stands on it; of pallets that left long ago not read.
    on : str
        The pallet that a case stands on; empty for none.
    left : Effective or None
        The record by which it left; None while it is here.
    closed_us : int
        When it was closed [us].
    author : str
        Who closed it.
    """

    package: str
    pallet: bool
    cases: tuple[CaseKept, ...]
    on: str
    left: Effective | None
    closed_us: int
    author: str

    @property
    def balls(self) -> int:
        """All its balls."""
        return sum(one.balls for one in self.cases)

    @property
    def lots(self) -> tuple[str, ...]:
        """Its dye lots, each once."""
        return lots_in(self.cases)


@dataclass(frozen=True, slots=True)
class Delivered:
    """Packages that left under one delivery note.

    Attributes
    ----------
    delivery, order, customer, author : str
        Number of the note, for which order, to whom, who shipped.
    at_us : int
        When [us].
    packages : tuple of str
        What left.
    back : int
        How many of them are here again.
    """

    delivery: str
    order: str
    customer: str
    author: str
    at_us: int
    packages: tuple[str, ...]
    back: int


@dataclass(frozen=True, slots=True)
class ShipState:
    """What the ledger holds of closing and shipping.

    Attributes
    ----------
    lots : tuple of LotLeft
        What is left to case, and what runs now.
    cases, pallets : tuple of PackageHere
        The latest, the latest first.
    deliveries : tuple of Delivered
        The latest, the latest first.
    held : mapping of (tuple of str, str) to tuple of (str, str)
        Which lots may not leave yet, each with what was decided on it, by a case's lots and run.
    more : bool
        Whether there are older cases or pallets that were not read.
    """

    lots: tuple[LotLeft, ...]
    cases: tuple[PackageHere, ...]
    pallets: tuple[PackageHere, ...]
    deliveries: tuple[Delivered, ...]
    held: Mapping[Filling, tuple[tuple[str, str], ...]]
    more: bool

    @property
    def nothing(self) -> bool:
        """Whether there is nothing to close and nothing was closed."""
        return not (self.lots or self.cases or self.pallets)

    @property
    def free_cases(self) -> tuple[PackageHere, ...]:
        """Cases that are here and stand on no pallet."""
        found = (one for one in self.cases if one.left is None and not one.on)
        return tuple(islice(found, MOST_LISTED))

    @property
    def pallets_here(self) -> tuple[PackageHere, ...]:
        """Pallets that are here."""
        return tuple(one for one in self.pallets if one.left is None)

    def not_released(self, cases: Iterable[CaseKept]) -> tuple[tuple[str, str], ...]:
        """Name the lots that may not leave yet, each with what was decided on it."""
        found = (pair for one in cases for pair in self.held.get((one.all_lots, one.run), ()))
        return tuple(dict.fromkeys(found))

    def package(self, name: str) -> PackageHere | None:
        """Find one of the packages; None where it is none of them."""
        return next((one for one in (*self.cases, *self.pallets) if one.package == name), None)


def ship_state(ledger: Ledger, mill: Mill) -> ShipState:
    """Read what is left to case, what is here and what left lately.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    mill : Mill
        The mill.

    Returns
    -------
    ShipState
        All of it, of one moment, corrections put in.

    Raises
    ------
    CannotKeep
        When the database does not answer.
    """
    chains = [one for one in lines_of(ledger) if one != MILL_LINE]
    now_us = ledger.clock()
    with reading_once(ledger) as connection:
        kept = KeptInLedger(connection, mill.mill.time_zone)
        lots = tuple(one for line in mill.line for one in _lots_left(kept, mill, line.name, now_us))
        closed = _latest(
            one
            for line in chains
            for one in kept.of_kind(line, "case closed", latest_first=True, most=_MOST_CASES)
        )[:_MOST_CASES]
        stacked = _latest(
            kept.of_kind(MILL_LINE, "pallet closed", latest_first=True, most=_MOST_PALLETS)
        )
        moves = _Moves(kept, min((one.at_us for one in (*closed, *stacked)), default=0))
        cases = tuple(_case_here(one, moves) for one in closed)
        known = {one.package: one.cases[0] for one in cases}
        pallets = tuple(
            PackageHere(
                one.package, True,
                _cases_on(kept, one, known)
                if place < MOST_LATELY or moves.left(one.package) is None else (),
                "", moves.left(one.package), one.at_us, one.author,
            )
            for place, one in enumerate(stacked)
        )  # fmt: skip
        more = len(closed) >= _MOST_CASES or len(stacked) >= _MOST_PALLETS
        fillings: dict[Filling, CaseKept] = {}
        for case in (case for one in (*cases, *pallets) for case in one.cases):
            fillings.setdefault((case.all_lots, case.run), case)
        held = {filling: _held(kept, case) for filling, case in fillings.items()}
        return ShipState(lots, cases, pallets, moves.deliveries(), held, more)


def _latest(events: Iterable[Effective]) -> list[Effective]:
    """Put the latest first; what was told of a package before that does not count."""
    found: dict[str, Effective] = {}
    for one in sorted(events, key=lambda one: (-one.at_us, -one.seq)):
        found.setdefault(one.package, one)
    return list(found.values())


def _held(kept: KeptInLedger, case: CaseKept) -> tuple[tuple[str, str], ...]:
    found = []
    for lot, decision in decisions_for(kept, case):
        said = "" if decision is None else str(decision.body.get("decision"))
        if said != "release":
            found.append((lot, DECIDED.get(said, UNDECIDED)))
    return tuple(found)


def _lots_left(kept: KeptInLedger, mill: Mill, line_name: str, now_us: int) -> list[LotLeft]:
    line = mill.find_line(line_name)
    starts = kept.of_kind(line_name, "run start", latest_first=True, most=_MOST_RUNS)
    ends = kept.of_kind(line_name, "run end", latest_first=True, most=1)
    full = {one.name: full_case(one) for one in mill.ball}
    known = {lot.lot for colour in mill.colour for lot in colour.dye_lot}
    found: dict[str, LotLeft] = {}
    for place, start in enumerate(starts):
        if start.lot in found or start.lot not in known or len(found) >= MOST_LOTS:
            continue
        if start.body.get("trial") is True:
            continue
        running = place == 0 and not (ends and ends[0].at_us >= start.at_us)
        ball = str(start.body.get("ball_name") or "")
        left = lot_made(kept, line, start.lot, now_us).left
        found[start.lot] = LotLeft(line_name, start.lot, ball, str(start.body.get("order") or ""),
                                   left, full.get(ball, 0), running)  # fmt: skip
    return [one for one in found.values() if one.left > 0 or one.running]


class _Moves:
    """What left and what came back since a moment: read once for all packages."""

    def __init__(self, kept: KeptInLedger, since_us: int) -> None:
        self._shipped = kept.of_kind(
            MILL_LINE, "shipped", from_us=since_us, latest_first=True, most=_MOST_SHIPPED
        )
        self._back = kept.of_kind(MILL_LINE, "returned", from_us=since_us)
        self.stands = pallets_since(kept, since_us)
        self._last: dict[str, Effective] = {}
        told = (*self._shipped, *self._back)
        for one in sorted(told, key=lambda one: (one.at_us, one.seq)):
            self._last[one.package] = one

    def left(self, package: str) -> Effective | None:
        """Find the record by which it left; None where it is here."""
        last = self._last.get(package)
        return last if last is not None and last.kind == "shipped" else None

    def stands_on(self, case: str) -> str:
        """Name the pallet a case stands on, as `clew.ledger.shipping.packed.stands_on` does."""
        pallet = self.stands.get(case, "")
        left = self.left(pallet) if pallet else None
        if left is None:
            return pallet
        came = any(one.package == case and one.at_us >= left.at_us for one in self._back)
        return "" if came else pallet

    def deliveries(self) -> tuple[Delivered, ...]:
        """Give what left, by delivery note."""
        notes: dict[str, list[Effective]] = {}
        for one in self._shipped:
            if one.body.get("delivery"):
                notes.setdefault(str(one.body["delivery"]), []).append(one)
        return tuple(
            Delivered(
                delivery, str(told[0].body.get("order") or ""),
                str(told[0].body.get("customer") or ""), told[0].author, told[0].at_us,
                tuple(one.package for one in told),
                sum(self.left(one.package) != one for one in told),
            )
            for delivery, told in notes.items()
        )  # fmt: skip


def _cases_on(
    kept: KeptInLedger, pallet: Effective, known: Mapping[str, CaseKept]
) -> tuple[CaseKept, ...]:
    names = dict.fromkeys(str(one) for one in pallet.body.get("cases") or ())
    found = (known.get(name) or case_kept(kept, name) for name in names)
    return tuple(one for one in found if one is not None)


def _case_here(event: Effective, moves: _Moves) -> PackageHere:
    case = CaseKept(
        event.package, event.line, event.run, event.lot, str(event.body.get("ball_name") or ""),
        int(event.body.get("balls") or 0), str(event.body.get("gtin") or ""), event.at_us,
        event.seq, others_in(event), str(event.body.get("order") or ""),
    )  # fmt: skip
    pallet = moves.stands_on(case.package)
    left = moves.left(case.package) or (moves.left(pallet) if pallet else None)
    return PackageHere(event.package, False, (case,), pallet, left, event.at_us, event.author)
