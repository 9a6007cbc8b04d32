"""What `clew weigh target` is asked, read from options, a file of balls and a mill's folder."""

from __future__ import annotations

from pathlib import Path

from clew.checks.target.given import Given
from clew.checks.target.question import Question

_COLUMNS = ("lot", "cone", "lane", "winder", "mass_g", "length_m", "regain_frac")


def question_asked(
    given: Given,
    data: Path | None,
    mill_folder: Path | None,
    ball_name: str | None,
    dye_lot: str,
) -> Question:
    """Read what is named, and put the question together.

    Raises
    ------
    BadInput
        When something is missing or out of reach; one line names the option that gives it.
    """
    from clew.checks.target.ball_now import wound_now
    from clew.checks.target.question import question_of
    from clew.cli.lot.terms import read_declarations
    from clew.cli.options import checked_mill
    from clew.ledger.intake.weighings import read_weighings
    from clew.mill.net_content import read_tables

    of_mill = None
    if ball_name is not None:
        of_mill = wound_now(checked_mill(mill_folder or Path()), ball_name, dye_lot)
    balls = None if data is None else read_weighings(data, need=("mass_g",), only=_COLUMNS)
    return question_of(given, balls, of_mill, read_tables(mill_folder), read_declarations)
