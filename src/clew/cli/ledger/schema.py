"""`clew ledger schema`: the messages described for programs that send them."""

from __future__ import annotations

import click

from clew.cli.output import print_json
from clew.faults import BadInput, Fault


@click.command()
@click.option("--async", "topics", is_flag=True, help="AsyncAPI 3.0 of the MQTT topics.")
@click.option("--kind", default="", help='One kind of event, such as "cone loaded".')
@click.option("--json", "_as_json", is_flag=True, help="Print JSON, as it does in any case.")
def schema(topics: bool, kind: str, _as_json: bool) -> None:
    """Print the JSON Schema of the ledger's messages.

    It is JSON Schema 2020-12 of what may arrive at once: one message, a list, or an object with
    one. With --kind it is of one message of that kind.
    """
    from clew import __version__
    from clew.ledger.events.kinds import KINDS
    from clew.ledger.ingest.described import batch_schema, message_schema
    from clew.ledger.ingest.topics import async_api

    wanted = " ".join(kind.replace("_", " ").casefold().split())
    if kind and wanted not in KINDS:
        raise BadInput(
            Fault("no such kind of event", "one of " + ", ".join(KINDS), key="--kind",
                  value=repr(kind)[:60])
        )  # fmt: skip
    if topics and kind:
        raise BadInput(Fault("--async describes all kinds", "--async or --kind", key="--kind"))
    if topics:
        print_json(async_api(__version__))
    else:
        print_json(message_schema(wanted) if wanted else batch_schema())
