"""A trace as events of EPCIS 2.0 (ISO/IEC 19987), the open standard for telling others of goods.

GS1 keys need a company prefix and GTINs, which no mill file holds: they are given, or else the
mill's own web addresses stand for things, as CBV 2.0 (ISO/IEC 19988) allows for private ones:
``.../obj/`` for one thing, ``.../class/`` for a lot, ``.../loc/`` for a place, ``.../bt/`` for a
delivery, ``.../party/`` for a customer.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal
from urllib.parse import quote

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.moments import local_of, show_utc
from clew.ledger.trace.answer import BackTrace, CaseIn, ForwardTrace
from clew.ledger.trace.epc_keys import (
    lgtin_link,
    lgtin_urn,
    sgln_link,
    sgln_urn,
    sscc_link,
    sscc_urn,
)
from clew.mill.gs1_keys import SSCC_LENGTH, gln_of, is_key

CONTEXT = "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"
"""Names of the standard's fields; only named here, never fetched."""
SITE = "https://mill.example"
"""Where private addresses begin, if the mill gives none: a name nobody can own (RFC 2606)."""


@dataclass(frozen=True, slots=True)
class Keys:
    """How things are named in an export.

    Attributes
    ----------
    prefix : str
        GS1 company prefix; empty: no GS1 keys.
    gtin : str
        GTIN of the ball; empty: a private class.
    gln : str
        GLN of the mill; empty: private places.
    form : {"urn", "link"}
        GS1 keys as EPC URN or as web URI (GS1 Digital Link).
    site : str
        Where private addresses begin.
    """

    prefix: str = ""
    gtin: str = ""
    gln: str = ""
    form: Literal["urn", "link"] = "urn"
    site: str = SITE

    def __post_init__(self) -> None:
        plain = self.site.isprintable() and " " not in self.site
        if not self.site.startswith(("https://", "http://")) or not plain:
            raise BadInput(
                Fault(say("no web address"), "https://...", key="site", value=self.site[:60])
            )
        if (self.gtin or self.gln) and not self.prefix and self.form == "urn":
            raise BadInput(
                Fault(
                    say("GS1 keys as URN without the company prefix"),
                    say("the prefix"),
                    key="prefix",
                )
            )
        if self.gln:
            gln_of(self.gln)

    def private(self, what: str, name: str) -> str:
        """Write a private address."""
        return f"{self.site.rstrip('/')}/{what}/{quote(name, safe='')}"

    def balls_of(self, ball_name: str, lot: str) -> str:
        """Name the balls of a dye lot."""
        if self.gtin and self.form == "urn":
            return lgtin_urn(self.gtin, lot, self.prefix)
        if self.gtin:
            return lgtin_link(self.gtin, lot)
        return self.private("class", f"{ball_name or 'ball'}.{lot or 'unknown'}")

    def package(self, name: str) -> str:
        """Name a case or pallet: by its SSCC where its name is one, else privately."""
        if is_key(name, (SSCC_LENGTH,)) and self.form == "link":
            return sscc_link(name)
        if is_key(name, (SSCC_LENGTH,)) and self.prefix and name[1:].startswith(self.prefix):
            return sscc_urn(name, self.prefix)
        return self.private("obj", name)

    def place(self, line: str) -> str:
        """Name a line, or the mill as a whole where that is empty."""
        extension = "".join(one for one in line if one.isalnum())[:20]
        if self.gln and self.form == "urn":
            return sgln_urn(self.gln, self.prefix, extension or "0")
        if self.gln:
            return sgln_link(self.gln, extension)
        return self.private("loc", line or "mill")


def epcis_document(
    trace: BackTrace | ForwardTrace,
    keys: Keys,
    *,
    made_us: int,
    zone: str,
    ball_name: str = "",
    declared_g: float | None = None,
) -> dict[str, Any]:
    """Write a trace as an EPCIS document in JSON-LD.

    Parameters
    ----------
    trace : BackTrace or ForwardTrace
        The trace.
    keys : Keys
        How things are named.
    made_us : int
        When it is written [us].
    zone : str
        The mill's time zone.
    ball_name : str
        What the balls are, where the trace does not say it.
    declared_g : float, optional
        Declared mass of a ball [g]; left out, none is written.

    Returns
    -------
    dict
        The document: what cones became balls, balls went into cases, cases onto pallets, and what
        was shipped. Events have the same ``eventID`` whenever they are written.

    Raises
    ------
    BadInput
        When a given GS1 key is none, or nothing in the trace has a time.

    Notes
    -----
    Balls are named by class (ball and dye lot), so they are made by ``creating_class_instance``;
    cases and pallets are single things, so they are commissioned. What may be but is not sure
    carries ``clew:sure`` false, a field of our own. Balls are counted; what they weigh by their
    declaration stands beside it in ``clew:declared``, in kg. Balls of trial runs among those made
    are counted in ``clew:trial``: they are not for sale. How many balls of each lot lie in a case
    with several is not told, so no class has a quantity there; ``clew:balls`` counts them all.
    """
    write = _Writing(keys, zone, declared_g)
    if isinstance(trace, BackTrace):
        name = ball_name or ("" if trace.run is None else trace.run.ball_name)
        times = [one.doffed_us for one in trace.balls if one.doffed_us is not None]
        mixed = trace.cases[0].lots if not trace.lot and len(trace.cases) == 1 else ()
        write.balls_made(
            [one.cone for one in trace.cones], name, mixed or (trace.lot,), trace.line,
            len(trace.balls), times,
            sure=all(one.sure for one in trace.cones) and len(trace.balls) == 1,
            trial=sum(one.trial for one in trace.balls),
        )  # fmt: skip
    else:
        name = ball_name
        for line in sorted({one.line for one in trace.balls}):
            balls = [one for one in trace.balls if one.line == line]
            stints = [one for one in trace.cones if one.line == line]
            lots = sorted({one.lot for one in stints})
            write.balls_made(
                [one.cone for one in stints], name, lots if len(lots) == 1 else ("",), line,
                len(balls), [one.doffed_us for one in balls if one.doffed_us is not None],
                sure=all(one.sure for one in balls), trial=sum(one.trial for one in balls),
            )  # fmt: skip
    for case in trace.cases:
        write.packed(case, name)
    for pallet in sorted({one.pallet for one in trace.cases if one.pallet}):
        write.stacked(pallet, [one for one in trace.cases if one.pallet == pallet])
    write.shipped(trace.cases)
    if not write.events:
        raise BadInput(
            Fault(say("nothing to write as events"), say("a trace that found a ball or a case"))
        )
    return {
        "@context": [CONTEXT, {"clew": f"{keys.site.rstrip('/')}/terms/"}],
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": show_utc(made_us),
        "epcisBody": {"eventList": sorted(write.events, key=lambda one: str(one["eventTime"]))},
    }


class _Writing:
    """The events of one document."""

    def __init__(self, keys: Keys, zone: str, declared_g: float | None) -> None:
        self.keys, self.zone, self.declared_g = keys, zone, declared_g
        self.events: list[dict[str, Any]] = []

    def _add(self, kind: str, at_us: int, line: str, fields: dict[str, Any]) -> None:
        offset = f"{local_of(at_us, self.zone):%z}"
        event = {
            "type": kind,
            "eventTime": show_utc(at_us),
            "eventTimeZoneOffset": f"{offset[:3]}:{offset[3:5]}",
            **fields,
            "readPoint": {"id": self.keys.place(line)},
        }
        text = json.dumps(event, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        name = uuid.uuid5(uuid.NAMESPACE_URL, f"{self.keys.site}#{text}")
        self.events.append({**event, "eventID": f"urn:uuid:{name}"})

    def _declared(self, balls: int) -> dict[str, Any]:
        """Declared mass of some balls: UN/ECE Recommendation 20 calls the kilogram KGM."""
        if self.declared_g is None:
            return {}
        value = round(balls * self.declared_g / 1000.0, 6)
        return {"clew:declared": {"value": value, "uom": "KGM"}}

    def _classes(self, ball_name: str, lots: Sequence[str], count: int) -> list[dict[str, Any]]:
        """Name balls by their classes; of several lots it is not known how many are of which."""
        balls: list[dict[str, Any]] = [
            {"epcClass": self.keys.balls_of(ball_name, lot)} for lot in lots
        ]
        if len(balls) == 1:
            balls[0]["quantity"] = count
        return balls

    def _counted(self, lots: Sequence[str], count: int) -> dict[str, Any]:
        return {"clew:balls": count} if len(lots) > 1 else {}

    def balls_made(
        self,
        cones: Sequence[str],
        ball_name: str,
        lots: Sequence[str],
        line: str,
        count: int,
        times_us: Sequence[int],
        *,
        sure: bool,
        trial: int = 0,
    ) -> None:
        """Cones became balls; where no cone is known, balls came to be."""
        if not times_us:
            return
        balls = self._classes(ball_name, lots, count)
        named = [self.keys.private("obj", one) for one in dict.fromkeys(cones) if one]
        shared = {
            "bizStep": "creating_class_instance", "disposition": "active", "clew:sure": sure,
            **self._counted(lots, count), **self._declared(count),
            **({"clew:trial": trial} if trial else {}),
        }  # fmt: skip
        if named:
            self._add(
                "TransformationEvent", max(times_us), line,
                {"inputEPCList": named, "outputQuantityList": balls, **shared},
            )  # fmt: skip
        else:
            self._add(
                "ObjectEvent", max(times_us), line,
                {"action": "ADD", "quantityList": balls, **shared},
            )  # fmt: skip

    def packed(self, case: CaseIn, ball_name: str) -> None:
        """A case came to be, with balls in it."""
        name = self.keys.package(case.case)
        self._commissioned(name, case.closed_us, case.line)
        balls = self._classes(ball_name, case.all_lots, case.balls)
        self._add(
            "AggregationEvent", case.closed_us, case.line,
            {"action": "ADD", "parentID": name, "childQuantityList": balls,
             "bizStep": "packing", "disposition": "in_progress", "clew:sure": case.sure,
             **self._counted(case.all_lots, case.balls), **self._declared(case.balls)},
        )  # fmt: skip

    def stacked(self, pallet: str, cases: Sequence[CaseIn]) -> None:
        """A pallet came to be, with those cases of the trace on it."""
        times = [rest.at_us for one in cases for rest in one.rests if rest.kind == "pallet closed"]
        at_us = max([*times, *(one.closed_us for one in cases if not times)])
        name = self.keys.package(pallet)
        self._commissioned(name, at_us, "")
        self._add(
            "AggregationEvent", at_us, "",
            {"action": "ADD", "parentID": name,
             "childEPCs": [self.keys.package(one.case) for one in cases],
             "bizStep": "packing", "disposition": "in_progress"},
        )  # fmt: skip

    def shipped(self, cases: Sequence[CaseIn]) -> None:
        """Pallets, and cases on none, left the mill."""
        told: set[tuple[str, int]] = set()
        for one in cases:
            if one.shipped_us is None or (one.pallet or one.case, one.shipped_us) in told:
                continue
            told.add((one.pallet or one.case, one.shipped_us))
            fields: dict[str, Any] = {
                "action": "OBSERVE", "epcList": [self.keys.package(one.pallet or one.case)],
                "bizStep": "shipping", "disposition": "in_transit",
            }  # fmt: skip
            if one.customer:
                party = self.keys.private("party", one.customer)
                fields["destinationList"] = [{"type": "owning_party", "destination": party}]
            if one.delivery:
                note = self.keys.private("bt", one.delivery)
                fields["bizTransactionList"] = [{"type": "desadv", "bizTransaction": note}]
            self._add("ObjectEvent", one.shipped_us, "", fields)

    def _commissioned(self, name: str, at_us: int, line: str) -> None:
        self._add(
            "ObjectEvent", at_us, line,
            {"action": "ADD", "epcList": [name], "bizStep": "commissioning",
             "disposition": "active"},
        )  # fmt: skip
