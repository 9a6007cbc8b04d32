"""`clew ledger`: the record of what happened; one file a verb."""

from __future__ import annotations

from clew.cli.verbs import Verbs

VERBS: dict[str, tuple[str, str, str]] = {
    "init": ("clew.cli.ledger.init", "init", "Make the ledger of a mill."),
    "migrate": ("clew.cli.ledger.migrate", "migrate", "Bring the tables up, or back a step."),
    "log": ("clew.cli.ledger.log", "log", "What was recorded, in words or for programs."),
    "take": ("clew.cli.ledger.take", "take", "Take in a file of events, CSV or JSON lines."),
    "watch": ("clew.cli.ledger.watch", "watch", "Take in what comes into a folder, as it comes."),
    "mqtt": ("clew.cli.ledger.mqtt", "mqtt", "Take in what machines send to an MQTT broker."),
    "schema": ("clew.cli.ledger.schema", "schema", "The messages, for programs that send them."),
    "verify": ("clew.cli.ledger.verify", "verify", "Find any changed, removed or added row."),
    "anchor": ("clew.cli.ledger.anchor", "anchor", "A chain's hash, to keep elsewhere."),
    "backup": ("clew.cli.ledger.backup", "backup", "Copy the ledger while it runs."),
    "restore": ("clew.cli.ledger.restore", "restore", "Put a backup in the ledger's place."),
    "archive": ("clew.cli.ledger.archive", "archive", "Move old rows out to a file of their own."),
    "readmit": ("clew.cli.ledger.readmit", "readmit", "Take an archive's rows back in."),
    "user": ("clew.cli.ledger.user", "user", "Who may do what: names, roles, passwords."),
    "token": ("clew.cli.ledger.token", "token", "Tokens by which machines may send."),
}

ledger = Verbs(
    VERBS,
    name="ledger",
    help="The ledger: take events in, prove nothing was changed, keep it safe.",
)
