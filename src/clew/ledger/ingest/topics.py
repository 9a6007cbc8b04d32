"""Topics on a broker, each naming a line and a source, and their AsyncAPI description."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from urllib.parse import quote, unquote

from clew.faults import BadInput, Fault
from clew.ledger.events.kinds import KINDS, LONGEST_NAME
from clew.ledger.events.reading import is_plain
from clew.ledger.ingest.arriving import MOST_BYTES, MOST_MESSAGES
from clew.ledger.ingest.described import VERSION, batch_schema, slug

ROOT = f"clew/{VERSION}"
"""What every topic begins with: the name and the version of the messages."""
WANTED = f"{ROOT}/+/+"
"""What the ledger subscribes to."""
SCHEMA_FORMAT = "application/schema+json;version=draft-2020-12"


@dataclass(frozen=True, slots=True)
class Topic:
    """A topic that was read.

    Attributes
    ----------
    line : str
        The line it names.
    source : str
        The source it names.
    """

    line: str
    source: str


def topic_of(line: str, source: str) -> str:
    """Write the topic of a line's source; what may not stand in a topic as %2F and the like."""
    return f"{ROOT}/{quote(line, safe=' ')}/{quote(source, safe=' ')}"


def read_topic(topic: str) -> Topic:
    """Read a topic.

    Parameters
    ----------
    topic : str
        Such as ``clew/1/Line 1/scale-2``; the mill as a whole has an empty line.

    Raises
    ------
    BadInput
        When it is none.
    """
    levels = topic.split("/")
    if len(levels) == 4 and "/".join(levels[:2]) == ROOT:
        line, source = (unquote(one).strip() for one in levels[2:])
        if source and all(len(one) <= LONGEST_NAME and is_plain(one) for one in (line, source)):
            return Topic(line, source)
    raise BadInput(Fault("no topic of the ledger", f"{ROOT}/<line>/<source>", value=topic[:80]))


def async_api(version: str, broker: str = "localhost:1883") -> dict[str, Any]:
    """Describe the topics and their messages.

    Parameters
    ----------
    version : str
        Of the program.
    broker : str
        Host and port.

    Returns
    -------
    dict
        AsyncAPI 3.0.
    """
    return {
        "asyncapi": "3.0.0",
        "info": {
            "title": "Clew: the ledger over MQTT",
            "version": version,
            "description": (
                "Machines publish what happens on a line; the ledger keeps it. It acknowledges a "
                "message to the broker only once it is on the disk, so what it could not keep "
                "comes again. A message sent twice with one key is kept once. Runs, shifts, lots, "
                "shipments and corrections are a person's to enter, not a machine's."
            ),
        },
        "defaultContentType": "application/json",
        "servers": {
            "broker": {
                "host": broker,
                "protocol": "mqtt",
                "protocolVersion": "5.0",
                "description": "Any broker of MQTT 3.1.1 or 5; mqtts for TLS.",
            }
        },
        "channels": {
            "events": {
                "address": f"{ROOT}/{{line}}/{{source}}",
                "title": "What happens on a line",
                "parameters": {
                    "line": {
                        "description": (
                            "The line as the mill file names it, / + # % written %2F %2B %23 %25; "
                            "empty for what belongs to the mill as a whole."
                        ),
                        "examples": ["Line 1"],
                    },
                    "source": {
                        "description": "The machine that sends; keys are told apart within it.",
                        "examples": ["scale-2"],
                    },
                },
                "messages": {"events": {"$ref": "#/components/messages/events"}},
                "bindings": {"mqtt": {"bindingVersion": "0.2.0"}},
            }
        },
        "operations": {
            "keep": {
                "action": "receive",
                "channel": {"$ref": "#/channels/events"},
                "summary": "The ledger keeps what machines publish.",
                "messages": [{"$ref": "#/channels/events/messages/events"}],
                "bindings": {"mqtt": {"qos": 1, "retain": False, "bindingVersion": "0.2.0"}},
            }
        },
        "components": {
            "messages": {
                "events": {
                    "name": "events",
                    "title": "One message, or many",
                    "summary": (
                        f"One flat object, a list of at most {MOST_MESSAGES}, or "
                        f'{{"events": [...]}}; at most {MOST_BYTES} bytes.'
                    ),
                    "contentType": "application/json",
                    "payload": {
                        "schemaFormat": SCHEMA_FORMAT,
                        "schema": batch_schema(line_known=True),
                    },
                    "examples": [{"name": slug(kind), "payload": one} for kind, one in _EXAMPLES],
                }
            }
        },
    }


_EXAMPLES: tuple[tuple[str, dict[str, Any]], ...] = tuple(
    (kind, {"kind": kind, "at": "2026-03-29T05:40:00Z", "key": "81723", **rest})
    for kind, rest in (
        ("turns", {"lane": 2, "counts": 985}),
        ("doff", {"lane": 2, "ball": 412}),
        ("weighing", {"lane": 2, "ball": 412, "mass_g": 101.4}),
    )
    if kind in KINDS
)
