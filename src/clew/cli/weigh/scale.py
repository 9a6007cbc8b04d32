"""`clew weigh scale`: the scale and the reel themselves; one file a verb."""

from __future__ import annotations

from clew.cli.verbs import Verbs

VERBS: dict[str, tuple[str, str, str]] = {
    "study": (
        "clew.cli.weigh.scale_study",
        "study",
        "What scale or reel and hands do to a reading: repeatability, reproducibility.",
    ),
    "budget": (
        "clew.cli.weigh.scale_budget",
        "budget",
        "How sure one ball's net mass and length are, and what dominates.",
    ),
    "allowed": (
        "clew.cli.weigh.scale_allowed",
        "allowed",
        "Whether the rule sets allow this scale for a declaration.",
    ),
    "tare": (
        "clew.cli.weigh.scale_tare",
        "tare",
        "Tare from some that were weighed: which to use, how many more.",
    ),
}

scale = Verbs(VERBS, name="scale", help="The scale and the reel themselves; tare.")
