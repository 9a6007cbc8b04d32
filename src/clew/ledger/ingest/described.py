"""The messages described for programs that send them: a JSON Schema made from the table of kinds.

The schema says what the reader takes. Where the two differ stands in `RELATION`.
"""

from __future__ import annotations

from typing import Any

from clew.ledger.events.kinds import (
    KINDS,
    LONGEST_NAME,
    LONGEST_TEXT,
    MOST_IN_LIST,
    FieldOf,
    KindOf,
)
from clew.ledger.events.message import MILL_WORD
from clew.ledger.events.reading import LARGEST_WHOLE, MOST_LANES, NAMES
from clew.ledger.ingest.arriving import MOST_MESSAGES

DRAFT = "https://json-schema.org/draft/2020-12/schema"
VERSION = 1
"""Of the messages: a later one adds, and takes nothing away."""

RELATION = (
    "Whatever the schema refuses, the ledger refuses, but for two things that it forgives: a kind "
    'in other letters or with _ for a blank ("Feed_On"), and blanks round a word from a list. '
    "What the schema takes, the ledger may still refuse for what a schema cannot say: a moment "
    "that no clock shows or that lies outside 2000 to 2199, half a character (a lone surrogate), "
    "a name twice in one object, and a key that another message of the same source has. "
    "Numbers out of the range that a field's words give are kept and flagged, not refused."
)

_MOMENT = (
    r"^\s*[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,9})?)?"
    r"(Z|[+-][0-9]{2}:?[0-9]{2})?\s*$"
)
_NO_CONTROL = {"not": {"type": "string", "pattern": "[\\u0000-\\u001f\\u007f-\\u009f]"}}
_NO_CONTROL_BUT_LINES = {
    "not": {"type": "string", "pattern": "[\\u0000-\\u0008\\u000b-\\u001f\\u007f-\\u009f]"}
}
_NAME_WORDS = {
    "ball": "number of the ball on that lane's winder",
    "run": "the run",
    "cone": "the cone",
    "lot": "the dye lot or lot",
    "package": "the case or pallet",
    "token": "the ball's token or tray",
}


def slug(kind: str) -> str:
    """Write a kind as one word: ``feed on`` is ``feed_on``."""
    return kind.replace(" ", "_")


def definitions(*, line_known: bool = False) -> dict[str, Any]:
    """Describe every kind, by its slug.

    Parameters
    ----------
    line_known : bool
        Whether something else, such as the topic, names the line where the message does not.

    Returns
    -------
    dict
        JSON Schemas, that refer to one another under ``#/$defs/``.
    """
    parts = {
        "name": {"type": "string", "maxLength": LONGEST_NAME, "pattern": r"\S", **_NO_CONTROL},
        "name_or_none": {"type": ["string", "null"], "maxLength": LONGEST_NAME, **_NO_CONTROL},
        "nothing": {
            "description": "not named by this kind: left out, null or empty",
            "type": ["string", "null"], "maxLength": LONGEST_NAME, "pattern": r"^\s*$",
            **_NO_CONTROL,
        },
        "moment": {
            "description": "ISO 8601 with Z or an offset; without either, by the mill's clock",
            "type": "string", "maxLength": 59, "pattern": _MOMENT,
            "examples": ["2026-03-29T05:40:00Z"],
        },
    }  # fmt: skip
    return parts | {slug(kind): _kind(kind, of, line_known) for kind, of in KINDS.items()}


def message_schema(kind: str = "", *, line_known: bool = False) -> dict[str, Any]:
    """Describe one message, of one kind or of any.

    Parameters
    ----------
    kind : str
        One of `KINDS`; any where empty.
    line_known : bool
        Whether something else names the line where the message does not.

    Returns
    -------
    dict
        JSON Schema 2020-12.
    """
    return {
        "$schema": DRAFT,
        "$id": _urn(slug(kind) or "message", line_known),
        "title": f"A message of the ledger: {kind}" if kind else "A message of the ledger",
        "description": RELATION,
        **_any_kind(kind),
        "$defs": _used(definitions(line_known=line_known), kind),
    }


def batch_schema(*, line_known: bool = False) -> dict[str, Any]:
    """Describe all that may arrive at once: one message, a list of them, or an object with one.

    Parameters
    ----------
    line_known : bool
        Whether something else names the line where the message does not.

    Returns
    -------
    dict
        JSON Schema 2020-12.
    """
    defs = definitions(line_known=line_known)
    defs["message"] = {"title": "A message of the ledger", **_any_kind("")}
    defs["messages"] = {
        "type": "array", "minItems": 1, "maxItems": MOST_MESSAGES,
        "items": {"$ref": "#/$defs/message"},
    }  # fmt: skip
    return {
        "$schema": DRAFT,
        "$id": _urn("batch", line_known),
        "title": "Messages of the ledger: one, or many at once",
        "description": RELATION,
        **arrival("#/$defs/"),
        "$defs": defs,
    }


def arrival(where: str) -> dict[str, Any]:
    """Describe what may arrive, by reference to ``message`` and ``messages`` that stand where."""
    return {
        "anyOf": [
            {"$ref": f"{where}message"},
            {"$ref": f"{where}messages"},
            {
                "type": "object",
                "properties": {"events": {"$ref": f"{where}messages"}},
                "required": ["events"],
                "additionalProperties": False,
            },
        ]
    }


def moved(schema: Any, where: str, prefix: str = "") -> Any:
    """Write a schema anew with what it refers to under ``#/$defs/`` moved elsewhere.

    Parameters
    ----------
    schema : JSON value
        A schema.
    where : str
        Where its definitions stand, such as ``#/components/schemas/``.
    prefix : str
        What is put before their names.
    """
    if isinstance(schema, dict):
        return {
            key: where + prefix + value.removeprefix("#/$defs/")
            if key == "$ref" and isinstance(value, str)
            else moved(value, where, prefix)
            for key, value in schema.items()
        }
    if isinstance(schema, list):
        return [moved(one, where, prefix) for one in schema]
    return schema


def _urn(name: str, line_known: bool) -> str:
    return f"urn:clew:ledger:{VERSION}:{name}" + (":of-line" if line_known else "")


def _any_kind(kind: str) -> dict[str, Any]:
    if kind:
        return {"$ref": f"#/$defs/{slug(kind)}"}
    return {"oneOf": [{"$ref": f"#/$defs/{slug(one)}"} for one in KINDS]}


def _used(defs: dict[str, Any], kind: str) -> dict[str, Any]:
    others = {slug(one) for one in KINDS if kind and one != kind}
    return {name: schema for name, schema in defs.items() if name not in others}


def _kind(kind: str, of: KindOf, line_known: bool) -> dict[str, Any]:
    required = ["kind", "at", "key"]
    if of.where != "mill" and not line_known:
        required.append("line")
    if of.where == "lane":
        required.append("lane")
    properties: dict[str, Any] = {
        "kind": {"const": kind},
        "at": {"$ref": "#/$defs/moment"},
        "key": {
            "$ref": "#/$defs/name",
            "description": "the source's own: new for each message, the same when sent again",
        },
        "line": _line(of, line_known),
        "lane": _lane(of),
        "source": {"$ref": "#/$defs/name_or_none", "description": "which device; optional"},
        "author": {"$ref": "#/$defs/name_or_none", "description": "the person who vouches"},
    }
    for name in NAMES:
        properties[name] = _named(name, of)
    for field in of.fields:
        if field.name not in properties:  # a correction's `at` is read as its own moment too
            properties[field.name] = _field(field)
        if field.must:
            required.append(field.name)
    return {
        "title": kind,
        "description": of.words,
        "type": "object",
        "properties": properties,
        "required": [*required, *of.must],
        "additionalProperties": False,
    }


def _line(of: KindOf, line_known: bool) -> dict[str, Any]:
    if of.where == "mill":
        return {"description": "not looked at: this belongs to no line"}
    return {
        "$ref": "#/$defs/name_or_none" if line_known else "#/$defs/name",
        "description": "the line, as the mill file names it"
        + (f"; {MILL_WORD}: the mill's own chain" if of.of_mill else ""),
    }


def _lane(of: KindOf) -> dict[str, Any]:
    if of.where == "lane":
        return {"type": "integer", "minimum": 1, "maximum": MOST_LANES}
    if of.where == "either":
        return {
            "type": ["integer", "null"], "minimum": 0, "maximum": MOST_LANES,
            "description": "the lane; 0 or left out for the whole line",
        }  # fmt: skip
    return {"enum": [0, None], "description": "the whole line: left out, or 0"}


def _named(name: str, of: KindOf) -> dict[str, Any]:
    if name == "ball":
        if "ball" in (*of.must, *of.may):
            numbers = {"minimum": 0, "maximum": LARGEST_WHOLE, "description": _NAME_WORDS[name]}
            return {"type": "integer" if name in of.must else ["integer", "null"], **numbers}
        return {"type": "null", "description": "not named by this kind"}
    if name in of.must:
        return {"$ref": "#/$defs/name", "description": _NAME_WORDS[name]}
    if name in of.may:
        return {"$ref": "#/$defs/name_or_none", "description": _NAME_WORDS[name]}
    return {"$ref": "#/$defs/nothing"}


def range_words(field: FieldOf) -> str:
    """Say what is plausible of a field; empty where anything is."""
    if field.low is None and field.high is None:
        return ""
    if field.high is None:
        return f"at least {field.low:,.12g}"
    if field.low is None:
        return f"at most {field.high:,.12g}"
    return f"{field.low:,.12g} to {field.high:,.12g}"


def _field(field: FieldOf) -> dict[str, Any]:
    said = range_words(field)
    words = f"{field.words}; {said}, else kept and flagged" if said else field.words
    described: dict[str, Any] = {"description": words}
    number = {"minimum": -LARGEST_WHOLE, "maximum": LARGEST_WHOLE}
    if field.type in ("number", "whole"):
        described |= {"type": "number" if field.type == "number" else "integer", **number}
    elif field.type == "yes":
        described |= {"type": "boolean"}
    elif field.type == "text":
        described |= {"type": "string"}
        if field.among:
            described["enum"] = list(field.among)
        else:
            described |= {"maxLength": LONGEST_TEXT, **_NO_CONTROL_BUT_LINES}
            if field.must:
                described["pattern"] = r"\S"
    elif field.type == "texts":
        text = {"type": "string", "maxLength": LONGEST_NAME, **_NO_CONTROL}
        described |= {"type": "array", "maxItems": MOST_IN_LIST, "items": text}
    else:
        described |= {
            "type": "object", "maxProperties": MOST_LANES,
            "propertyNames": {"pattern": "^[0-9]{1,4}$"},
            "additionalProperties": {"type": "number", **number},
        }  # fmt: skip
    if not field.must:
        described["type"] = [described["type"], "null"]
        if "enum" in described:
            described["enum"].append(None)
    return described
