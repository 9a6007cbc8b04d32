"""`clew ship`: after the shift."""

from __future__ import annotations

from clew.cli.verbs import Verbs

_AT = "clew.cli.ship"
ship = Verbs(
    {
        "labels": (f"{_AT}.labels", "labels", "Sheets of bands and labels, at true size."),
        "case": (f"{_AT}.case", "case", "Close a case: its label and its record."),
        "pallet": (f"{_AT}.pallet", "pallet", "Close a pallet: its label and its record."),
        "note": (f"{_AT}.note", "note", "Ship: delivery note and packing list."),
    },
    name="ship",
    help="After the shift: bands, labels, cases, pallets, delivery notes.",
)
