"""`clew ledger mqtt`: take in what machines send to an MQTT broker, until it is stopped."""

from __future__ import annotations

import json
import os
import re
import signal
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from clew.cli.options import as_json, checked_mill, mill_folder
from clew.faults import BadInput, Fault

if TYPE_CHECKING:
    from clew.ledger.ingest.delivered import Delivery, Tally

USER, PASSWORD = "CLEW_MQTT_USER", "CLEW_MQTT_PASSWORD"
SAY_EVERY_S = 10.0
"""How often what was taken in is said [s]."""


@click.command()
@mill_folder
@click.option("--broker", default="", help="mqtt://host:1883, mqtts:// for TLS; else mill.toml's.")
@click.option(
    "--client-id", default="", help="Name at the broker, always the same; clew-<mill> otherwise."
)
@click.option(
    "--mqtt-version",
    type=click.Choice(["5", "3.1.1"]),
    default="5",
    show_default=True,
    help="Version of MQTT that the broker speaks.",
)
@click.option(
    "--ca",
    "ca_file",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Certificates that vouch for the broker; the system's otherwise.",
)
@as_json
def mqtt(
    mill_folder: Path,
    broker: str,
    client_id: str,
    mqtt_version: str,
    ca_file: Path | None,
    as_json: bool,
) -> None:
    """Take in what machines publish to clew/1/<line>/<source>, until Ctrl-C.

    A message is acknowledged once it is on the disk; what could not be kept comes again. User and
    password are read from CLEW_MQTT_USER and CLEW_MQTT_PASSWORD.
    """
    from clew.ledger.ingest.delivered import take_deliveries
    from clew.ledger.ingest.mqtt import Listener, read_broker
    from clew.ledger.store.opening import open_ledger, url_of
    from clew.ledger.store.trouble import CannotKeep
    from clew.mill import mill_file

    mill = checked_mill(mill_folder)
    url = broker or mill.ledger.mqtt
    if not url:
        raise BadInput(
            Fault("no broker", "--broker mqtt://host:1883, or mqtt under [ledger] in mill.toml",
                  key="--broker")
        )  # fmt: skip
    listens_to = read_broker(
        url, user=os.environ.get(USER, ""), password=os.environ.get(PASSWORD, ""),
        ca_file="" if ca_file is None else str(ca_file), version=mqtt_version,
    )  # fmt: skip
    name = client_id or "clew-" + re.sub(r"[^a-z0-9]+", "-", mill.mill.name.casefold()).strip("-")
    say = _Saying(as_json)
    try:
        ledger = open_ledger(url_of(mill_file(mill_folder).parent, mill.ledger.database))
    except CannotKeep as trouble:
        click.echo(f"clew: the ledger cannot keep anything: {trouble.reason}", err=True)
        sys.exit(2)
    lines = frozenset(one.name for one in mill.line)
    zone = mill.mill.time_zone

    def take(deliveries: list[Delivery]) -> Tally:
        tally = take_deliveries(ledger, deliveries, zone=zone, lines=lines)
        say.count(tally)
        return tally

    try:
        listener = Listener(listens_to, name, take, say)
        for sign in (signal.SIGINT, signal.SIGTERM):
            signal.signal(sign, lambda *_: listener.stop())
        total = listener.run()
    finally:
        ledger.close()
    say.flush()
    say("stopped", f"stopped; {_words(total)} in all")


class _Saying:
    """Says what happens, one line each; what was taken in only every some seconds."""

    def __init__(self, as_json: bool) -> None:
        from clew.ledger.ingest.delivered import Tally

        self._as_json = as_json
        self._none = self._since = Tally()
        self._said_at = 0.0

    def __call__(self, what: str, words: str) -> None:
        self.flush()
        self._line(what, words)

    def _line(self, what: str, words: str) -> None:
        line = json.dumps({"what": what, "words": words}, ensure_ascii=False)
        click.echo(line if self._as_json else words)
        sys.stdout.flush()

    def count(self, tally: Tally) -> None:
        import time

        self._since += tally
        if time.monotonic() - self._said_at >= SAY_EVERY_S:
            self._said_at = time.monotonic()
            self.flush()

    def flush(self) -> None:
        since, self._since = self._since, self._none
        if since != self._none:
            self._line("taken", _words(since))


def _words(tally: Tally) -> str:
    words = f"{tally.kept} kept, {tally.already} kept already, {tally.refused} refused"
    return words + (" and set aside with their reasons" if tally.refused else "")
