"""What left together under one delivery note: packages, cases, lots, and what proves them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import select

from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.ledger.audit.anchors import anchor_at
from clew.ledger.events.message import MILL_LINE
from clew.ledger.shipping.packed import (
    CaseKept,
    PalletKept,
    cases_in,
    decisions_for,
    pallet_kept,
    taken_back,
)
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.schema import EVENT
from clew.ledger.trace.records import Kept, KeptInLedger
from clew.mill.model import Mill


@dataclass(frozen=True, slots=True)
class Parcel:
    """A pallet or a single case that leaves.

    Attributes
    ----------
    package : str
        Its name or SSCC.
    pallet : bool
        Whether it is a pallet.
    cases : tuple of CaseKept
        What is in it.
    """

    package: str
    pallet: bool
    cases: tuple[CaseKept, ...]


@dataclass(frozen=True, slots=True)
class Consignment:
    """What leaves under one delivery note.

    Attributes
    ----------
    delivery, order, customer, author : str
        Number of the note, for which order, to whom, who ships.
    at_us : int
        When [us].
    parcels : tuple of Parcel
        Pallets and single cases.
    certificates : tuple of (str, str)
        Dye lot, and the SHA-256 of the certificate it was released by [hexadecimal].
    anchors : tuple of str
        Rows of the ledger's chains on which it rests, as they stand on paper.
    before_balls : int
        Balls that left for the order before, and did not come back.
    asked_balls : int or None
        Balls of the order; None where it is not known.
    """

    delivery: str
    order: str
    customer: str
    author: str
    at_us: int
    parcels: tuple[Parcel, ...]
    certificates: tuple[tuple[str, str], ...]
    anchors: tuple[str, ...]
    before_balls: int
    asked_balls: int | None

    @property
    def cases(self) -> tuple[CaseKept, ...]:
        """All cases, pallet by pallet."""
        return tuple(one for parcel in self.parcels for one in parcel.cases)

    @property
    def balls(self) -> int:
        """All balls."""
        return sum(one.balls for one in self.cases)

    @property
    def count_words(self) -> str:
        """Say how the order stands after this note."""
        if self.asked_balls is None:
            return say("{balls} balls.", balls=self.balls)
        sent = self.before_balls + self.balls
        left = self.asked_balls - sent
        told = {"balls": self.balls, "sent": sent, "asked": self.asked_balls, "left": abs(left)}
        if left > 0:
            return say(
                "{balls} balls now, {sent} of {asked} with what left before: {left} still to come.",
                **told,
            )
        if left < 0:
            return say(
                "{balls} balls now, {sent} of {asked} with what left before: {left} over.", **told
            )
        return say(
            "{balls} balls now, {sent} of {asked} with what left before: the order is complete.",
            **told,
        )


def parcel_of(kept: Kept, package: str) -> Parcel:
    """Find a package and what is in it."""
    return Parcel(package, pallet_kept(kept, package) is not None, cases_in(kept, package))


def certificates_of(
    kept: Kept, cases: Sequence[CaseKept], upto_us: int
) -> tuple[tuple[str, str], ...]:
    """Name the certificate that each lot had been released by at a moment, each once."""
    found: dict[tuple[str, str], None] = {}
    for one in cases:
        for lot, decision in decisions_for(kept, one, upto_us):
            if decision is not None and decision.body.get("certificate"):
                found[lot, str(decision.body["certificate"])] = None
    return tuple(found)


def anchors_of(
    ledger: Ledger, kept: Kept, parcels: Sequence[Parcel], upto_us: int
) -> tuple[str, ...]:
    """Write the last row of each chain that parcels rested on when they left.

    Of a line that is the last of its case records; of the mill's own chain the last of the pallets
    and decisions. A chain holds every row before, so these prove all of them; and the same parcels
    have the same anchors whenever they are asked for.
    """
    last: dict[str, int] = {}
    for parcel in parcels:
        pallet: PalletKept | None = pallet_kept(kept, parcel.package)
        if pallet is not None:
            last[MILL_LINE] = max(last.get(MILL_LINE, 0), pallet.seq)
        for case in parcel.cases:
            last[case.line] = max(last.get(case.line, 0), case.seq)
            for _, decision in decisions_for(kept, case, upto_us):
                if decision is not None:
                    last[decision.line] = max(last.get(decision.line, 0), decision.seq)
    anchors = []
    with ledger.reading() as connection:
        for line, seq in sorted(last.items()):
            query = select(EVENT.c.hash).where(EVENT.c.line == line, EVENT.c.seq == seq)
            anchors.append(anchor_at(line, seq, bytes(connection.scalars(query).one())).text())
    return tuple(anchors)


def consignment_kept(
    ledger: Ledger, mill: Mill, delivery: str, *, asked_balls: int | None = None
) -> Consignment:
    """Read a delivery that was shipped, to print its papers again.

    Parameters
    ----------
    ledger : Ledger
        The ledger.
    mill : Mill
        The mill.
    delivery : str
        Number of its note.
    asked_balls : int, optional
        Balls of its order; those of the mill file's order where left out.

    Returns
    -------
    Consignment
        As it left, with corrections put in.

    Raises
    ------
    BadInput
        When no such delivery was shipped, or the closing of something in it was corrected away:
        its papers would say less than left.
    """
    with ledger.reading() as connection:
        kept = KeptInLedger(connection, mill.mill.time_zone)
        told = kept.of_kind(MILL_LINE, "shipped")
        found = [one for one in told if one.body.get("delivery") == delivery]
        if not found:
            what = say("no such delivery was shipped")
            raise BadInput(Fault(what, say("one that was told"), key="again", value=delivery))
        gone = [name for one in found for name in taken_back(kept, one.package)]
        if gone:
            what = say(
                "{delivery} is not printed without {packages}: the closing was corrected away",
                delivery=delivery,
                packages=joined(", ", gone),
            )
            expected = say("what left closed anew under its name, or the shipping corrected too")
            raise BadInput(Fault(what, expected, key="again"))
        first = found[0]
        order = str(first.body.get("order") or "")
        parcels = tuple(parcel_of(kept, one.package) for one in found)
        before = [
            one.package
            for one in told
            if order and one.body.get("order") == order and one.seq < first.seq
            and not _came_back(kept, one.package, one.at_us, first.at_us)
        ]  # fmt: skip
        asked = asked_balls
        if asked is None:
            asked = next((one.balls for one in mill.order if one.number == order), None)
        return Consignment(
            delivery, order, str(first.body.get("customer") or ""), first.author, first.at_us,
            parcels,
            certificates_of(
                kept, [one for parcel in parcels for one in parcel.cases], first.at_us
            ),
            anchors_of(ledger, kept, parcels, first.at_us),
            sum(one.balls for name in before for one in cases_in(kept, name)), asked,
        )  # fmt: skip


def _came_back(kept: Kept, package: str, from_us: int, upto_us: int) -> bool:
    return any(
        from_us <= one.at_us <= upto_us for one in kept.naming("package", package, ("returned",))
    )
