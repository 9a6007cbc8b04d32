"""Exports hold what EPCIS 2.0 asks of an event, by a schema of its documented fields.

The published JSON schema is not in this repository. Where `make test` could fetch it, or it lies in
a folder named by CLEW_EPCIS_SCHEMA, exports are held against it too.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from clew.ledger.trace.answer import (
    BackTrace,
    BallFound,
    BallMaybe,
    CaseIn,
    ConeIn,
    ConeStint,
    ForwardTrace,
    Rest,
)
from clew.ledger.trace.epcis import CONTEXT, Keys, epcis_document
from clew.mill.gs1_keys import check_digit

FETCHED = Path(__file__).parents[2] / ".venv" / "epcis-schema"
PUBLISHED = Path(os.environ.get("CLEW_EPCIS_SCHEMA", FETCHED)) / "EPCISDocument.schema.json"
ZONE, T0 = "Europe/London", 1_781_000_000_000_000
URI = {"type": "string", "format": "uri", "pattern": "^[a-z]+:[^ ]+$"}
QUANTITIES = {
    "type": "array", "minItems": 1,
    "items": {
        "type": "object", "required": ["epcClass"], "additionalProperties": False,
        "properties": {"epcClass": URI, "quantity": {"type": "number"},
                       "uom": {"type": "string", "pattern": "^[A-Z0-9]{2,3}$"}},
    },
}  # fmt: skip
URIS = {"type": "array", "minItems": 1, "uniqueItems": True, "items": URI}
ACTION = {"enum": ["ADD", "OBSERVE", "DELETE"]}
PLACE = {"type": "object", "required": ["id"], "properties": {"id": URI}}


def of_kind(kind: str, fields: dict[str, Any], required: list[str], any_of: list[Any]) -> Any:
    shared = {
        "type": {"const": kind},
        "eventTime": {"type": "string", "format": "date-time"},
        "eventTimeZoneOffset": {
            "type": "string", "pattern": "^[+-]((0[0-9]|1[0-3]):[0-5][0-9]|14:00)$",
        },
        "eventID": URI,
        "bizStep": {"enum": ["commissioning", "creating_class_instance", "packing", "shipping"]},
        "disposition": {"enum": ["active", "in_progress", "in_transit"]},
        "readPoint": PLACE,
    }  # fmt: skip
    return {
        "type": "object", "properties": {**shared, **fields}, "anyOf": any_of,
        "patternProperties": {"^clew:[a-z]+$": {}}, "additionalProperties": False,
        "required": ["type", "eventTime", "eventTimeZoneOffset", *required],
    }  # fmt: skip


DOCUMENT = {
    "type": "object",
    "required": ["@context", "type", "schemaVersion", "creationDate", "epcisBody"],
    "additionalProperties": False,
    "properties": {
        "@context": {"type": "array", "contains": {"const": CONTEXT}},
        "type": {"const": "EPCISDocument"},
        "schemaVersion": {"type": "string", "pattern": r"^2(\.\d+)*$"},
        "creationDate": {"type": "string", "format": "date-time"},
        "epcisBody": {
            "type": "object", "required": ["eventList"], "additionalProperties": False,
            "properties": {"eventList": {"type": "array", "minItems": 1, "items": {"oneOf": [
                of_kind(
                    "ObjectEvent",
                    {"action": ACTION, "epcList": URIS, "quantityList": QUANTITIES,
                     "bizTransactionList": {"type": "array", "items": {
                         "type": "object", "required": ["bizTransaction"],
                         "properties": {"type": {"const": "desadv"}, "bizTransaction": URI}}},
                     "destinationList": {"type": "array", "minItems": 1, "items": {
                         "type": "object", "required": ["type", "destination"],
                         "properties": {"type": {"const": "owning_party"}, "destination": URI}}}},
                    ["action"], [{"required": ["epcList"]}, {"required": ["quantityList"]}],
                ),
                of_kind(
                    "AggregationEvent",
                    {"action": ACTION, "parentID": URI, "childEPCs": URIS,
                     "childQuantityList": QUANTITIES},
                    ["action", "parentID"],
                    [{"required": ["childEPCs"]}, {"required": ["childQuantityList"]}],
                ),
                of_kind(
                    "TransformationEvent",
                    {"inputEPCList": URIS, "inputQuantityList": QUANTITIES,
                     "outputEPCList": URIS, "outputQuantityList": QUANTITIES},
                    [],
                    [{"required": ["inputEPCList", "outputQuantityList"]}],
                ),
            ]}}},
        },
    },
}  # fmt: skip


def rest(kind: str, at_us: int) -> tuple[Rest, ...]:
    return (Rest("L1", 7, kind, at_us),)


def case(name: str, **other: Any) -> CaseIn:
    said: dict[str, Any] = {
        "case": name, "lot": "SL-207", "line": "L1", "balls": 20, "closed_us": T0 + 9_000_000,
        "from_us": T0, "upto_us": T0 + 1, "sure": True, "pallet": "P 1", "customer": "Brannock",
        "delivery": "D-1", "shipped_us": T0 + 99_000_000,
        "rests": (*rest("case closed", T0), Rest("", 3, "pallet closed", T0 + 20_000_000)),
    }  # fmt: skip
    return CaseIn(**{**said, **other})


def back(cones: tuple[str, ...]) -> BackTrace:
    ball = BallFound("L1", 4, 4, 118, "", T0 - 1, T0, 50.4, (), (), "", rest("doff", T0))
    named = tuple(ConeIn(one, "SL-207", "Harle", True, T0, T0, "", ()) for one in cones)
    return BackTrace(
        "a ball", "L1", 4, 4, "SL-207", ((T0, T0),), "rack", (ball,), "", named, None, (), (),
        (case("K1"), case("K2", pallet="")), (),
    )  # fmt: skip


def forward() -> ForwardTrace:
    stint = ConeStint("L1", "C-12", "SL-207", "Harle", 4, T0, T0, T0, T0, "", ())
    ball = BallMaybe("L1", 4, 4, 1, "", T0, True, None, (), "", ("C-12",), ())
    return ForwardTrace("cone C-12", (stint,), (ball,), (case("K1"),), ())


PREFIX = "4012345"
GTIN = PREFIX + "01234" + str(check_digit(PREFIX + "01234"))
GLN = PREFIX + "00001" + str(check_digit(PREFIX + "00001"))
SSCC = "3" + PREFIX + "123456789" + str(check_digit("3" + PREFIX + "123456789"))
NAMED = {
    "private": Keys(),
    "own site": Keys(site="https://ostrel.example/yarn"),
    "urn": Keys(PREFIX, GTIN, GLN),
    "link": Keys(PREFIX, GTIN, GLN, "link"),
}
TRACES = {"back": back(("C-12", "C-13")), "no cone": back(()), "on": forward()}


@pytest.mark.outside(
    document="EPCIS 2.0, ISO/IEC 19987; EPCIS-JSON-Schema.json",
    edition="2.0.0, 2022",
    section="EPCISDocument, ObjectEvent, AggregationEvent, TransformationEvent: required fields",
    mark="READ",
)
@pytest.mark.parametrize("keys", NAMED)
@pytest.mark.parametrize("trace", TRACES)
def test_an_export_has_the_required_fields(trace: str, keys: str) -> None:
    document = epcis_document(TRACES[trace], NAMED[keys], made_us=T0, zone=ZONE, ball_name="Q 100")
    validator = jsonschema.Draft7Validator(DOCUMENT, format_checker=jsonschema.FormatChecker())
    assert [one.message for one in validator.iter_errors(document)] == []
    if PUBLISHED.exists():
        text = PUBLISHED.read_text(encoding="utf-8")
        published = jsonschema.Draft7Validator(json.loads(text))
        assert [one.message for one in published.iter_errors(document)] == []


@pytest.mark.outside(
    document="CBV 2.0, ISO/IEC 19988", edition="2022",
    section="private object, class, location and transaction identifiers: /obj/ /class/ /loc/ /bt/",
    mark="READ",
)  # fmt: skip
def test_private_names_have_their_own_paths() -> None:
    keys = Keys(site="https://ostrel.example/")
    assert keys.package("K 1") == "https://ostrel.example/obj/K%201"
    assert keys.balls_of("Querl 100", "SL-207") == "https://ostrel.example/class/Querl%20100.SL-207"
    assert keys.place("Line 1") == "https://ostrel.example/loc/Line%201"
    assert keys.private("bt", "D/1") == "https://ostrel.example/bt/D%2F1"


@pytest.mark.outside(
    document="EPC Tag Data Standard; GS1 Digital Link", edition="2.0; 1.3",
    section="LGTIN, SSCC and SGLN as URN and as web URI", mark="MEMORY",
)  # fmt: skip
def test_gs1_names_are_urns_or_links() -> None:
    urn, link = NAMED["urn"], NAMED["link"]
    assert urn.balls_of("", "SL-207") == f"urn:epc:class:lgtin:{PREFIX}.001234.SL-207"
    assert link.balls_of("", "SL-207") == f"https://id.gs1.org/01/0{GTIN}/10/SL-207"
    assert urn.package(SSCC) == f"urn:epc:id:sscc:{PREFIX}.3123456789"
    assert link.package(SSCC) == f"https://id.gs1.org/00/{SSCC}"
    assert urn.place("Line 1") == f"urn:epc:id:sgln:{PREFIX}.00001.Line1"
    assert urn.package("K1") == "https://mill.example/obj/K1"
