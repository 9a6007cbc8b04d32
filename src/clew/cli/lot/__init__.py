"""`clew lot`: may this lot be sold; one file a verb."""

from __future__ import annotations

from clew.cli.verbs import Verbs

VERBS: dict[str, tuple[str, str, str]] = {
    "test": ("clew.cli.lot.test", "test", "Judge a sample's net content by a market's rule set."),
    "rules": (
        "clew.cli.lot.rules",
        "rules",
        "The rule sets: source, edition, and which tables were checked against it.",
    ),
    "sample": (
        "clew.cli.lot.sample",
        "sample",
        "Plans for faults by attributes: how many to draw, how many may be bad.",
    ),
    "shade": ("clew.cli.lot.shade", "shade", "Shade of a dye lot against its standard."),
    "release": (
        "clew.cli.lot.release",
        "release",
        "Decide on a lot: release, hold or rework; print its certificate.",
    ),
}

lot = Verbs(VERBS, name="lot", help="A lot: test its content, sample it, release it.")
