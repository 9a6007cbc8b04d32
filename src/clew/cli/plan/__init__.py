"""`clew plan`: before the shift."""

from __future__ import annotations

from clew.cli.verbs import Verbs

_AT = "clew.cli.plan"
plan = Verbs(
    {
        "materials": (f"{_AT}.materials", "materials", "Do the cones in stock suffice?"),
        "sequence": (f"{_AT}.sequence", "sequence", "Which order next, on which line?"),
        "shift": (f"{_AT}.shift", "shift", "What this shift does: cones, crew, finish."),
        "pack": (f"{_AT}.pack", "pack", "Which bag, case and pallet a ball goes in."),
        "cost": (f"{_AT}.cost", "cost", "What a ball costs by the time it leaves."),
    },
    name="plan",
    help="Before the shift: materials, colour order, packing, cost.",
)
