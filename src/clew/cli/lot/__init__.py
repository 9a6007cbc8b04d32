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
    "trace": (
        "clew.cli.lot.trace",
        "trace",
        "From a band to the ball's cones; from a cone or dye lot to its balls and cases.",
    ),
    "recall": (
        "clew.cli.lot.recall",
        "recall",
        "Every ball and case a cone or dye lot may be in, as a list to act on.",
    ),
}

lot = Verbs(VERBS, name="lot", help="A lot: test its content, sample it, release it, trace it.")
