"""`clew run`: one product, one dye lot, one line, from start to end; one file a verb."""

from __future__ import annotations

from clew.cli.verbs import Verbs

VERBS: dict[str, tuple[str, str, str]] = {
    "start": ("clew.cli.run.start", "start", "Start a run from its run card."),
    "set": ("clew.cli.run.setting", "setting", "Change a setting during a run."),
    "end": ("clew.cli.run.end", "end", "End a run."),
    "report": ("clew.cli.run.report", "report", "A shift added up, on the screen and on paper."),
    "live": ("clew.cli.run.live", "live", "What the line does now: lanes, ties, balls, alarms."),
    "sheet": ("clew.cli.run.sheet", "sheet", "Tally sheets on paper, for when the tablet is dead."),
}

run = Verbs(VERBS, name="run", help="A run: start it, change its settings, watch it, end it.")
