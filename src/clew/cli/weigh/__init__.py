"""`clew weigh`: what the scale at the end of the row says; one file a verb."""

from __future__ import annotations

from clew.cli.verbs import Verbs

VERBS: dict[str, tuple[str, str, str]] = {
    "import": (
        "clew.cli.weigh.importing",
        "import_",
        "Read a file of weighings; bad rows go to a file of their own.",
    ),
    "charts": ("clew.cli.weigh.charts", "charts", "Chart weighings: limits, signals, in words."),
    "arl": (
        "clew.cli.weigh.arl",
        "arl",
        "How long a chart runs before it calls; which chart sees a shift soonest.",
    ),
    "components": (
        "clew.cli.weigh.components",
        "components",
        "What varies: dye lot, cone, lane, winder and the ball itself.",
    ),
    "correct": (
        "clew.cli.weigh.correct",
        "correct",
        "Who drifted, and by how many whole turns to correct each winder.",
    ),
    "scale": ("clew.cli.weigh.scale", "scale", "The scale and the reel themselves; tare."),
    "target": (
        "clew.cli.weigh.target",
        "target",
        "The least lawful target, and what a gram of spread is worth.",
    ),
}

weigh = Verbs(
    VERBS,
    name="weigh",
    help="Weights and lengths: import, charts, what varies, corrections, the scale, the target.",
)
