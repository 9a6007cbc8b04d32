"""The lot test of a played run: a sample from the ledger's weighings, judged, and kept."""

from __future__ import annotations

import hashlib
import random
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from clew.cli.day.keeping import SOURCE
from clew.cli.day.weighed import Weighed, write_weighed
from clew.cli.output import write_whole
from clew.ledger.lots.decided import LotDecided, anchor_words, decision_on, keep_decision
from clew.ledger.trace.records import KeptInLedger

if TYPE_CHECKING:
    from clew.cli.day.keeping import DayKeeping

SHADES = "shade-readings.csv"


@dataclass(frozen=True, slots=True)
class LotTested:
    """What was decided on a lot, and why.

    Attributes
    ----------
    decision : str
        The decision as the ledger has it.
    sentence : str
        What the certificate says of it.
    mends : tuple of str
        What would release it; empty where it is released.
    tested : tuple of str
        What was weighed and found, in sentences.
    """

    decision: str
    sentence: str
    mends: tuple[str, ...]
    tested: tuple[str, ...]


def knots_looked_for(
    keeping: DayKeeping, ball: str, lot_size: int, knots: Sequence[int], *, seed: int
) -> tuple[int, int]:
    """Draw balls and look them through for knots over the limit.

    Parameters
    ----------
    keeping : DayKeeping
        Mill and ledger.
    ball : str
        What was wound.
    lot_size : int
        Balls in the lot.
    knots : sequence of int
        Joins that lie in each ball of the lot.
    seed : int
        Of the draw.

    Returns
    -------
    (int, int)
        Balls looked at, and balls over the limit.
    """
    from clew.checks.release.lot import fault_plan

    wanted = min(fault_plan(keeping.mill, lot_size).stages[0].drawn, len(knots))
    drawn = random.Random(f"{seed} looked at").sample(list(knots), wanted)
    limit = keeping.mill.find_ball(ball).knot_limit
    return wanted, sum(one > limit for one in drawn)


def decide_on_lot(
    keeping: DayKeeping,
    folder: Path,
    balls: Sequence[Weighed],
    looked: tuple[int, int],
    *,
    ball: str,
    lot: str,
    line: str,
    run: str,
    seed: int,
    author: str,
) -> LotTested:
    """Judge a lot by its weighings, write its certificate and keep the decision.

    Parameters
    ----------
    keeping : DayKeeping
        Mill and ledger.
    folder : Path
        Where papers of lots lie.
    balls : sequence of Weighed
        The banded balls of the lot.
    looked : (int, int)
        Balls looked through for knots, and those over the limit.
    ball, lot, line, run : str
        What was wound, of what, where, and the run.
    seed : int
        Of the draw.
    author : str
        Who decides.

    Returns
    -------
    LotTested
        The decision, kept.
    """
    from clew.checks.attributes.inspection import Inspection
    from clew.checks.release.lot import LotQuestion, lot_answer
    from clew.checks.weighings import drawn
    from clew.ledger.intake.shades import read_shades
    from clew.ledger.intake.weighings import read_weighings
    from clew.mill.net_content import read_tables
    from clew.papers.certificate_content import certificate_content
    from clew.papers.certificate_facts import lot_facts
    from clew.papers.printing import made_now, pdf_of

    mill, mill_folder = keeping.mill, folder.parent
    data = folder / f"weighings-{run}.csv"
    write_weighed(data, balls)
    weighings = drawn(read_weighings(data, need=("mass_g",)), seed)
    shades_path = mill_folder / SHADES
    files = [data]
    shades = []
    if shades_path.exists():
        shades = list(read_shades(shades_path))
        if any(one.lot == lot for one in shades):
            files.append(shades_path)
        else:
            shades = []
    tables = read_tables(mill_folder)
    question = LotQuestion(
        ball, lot, len(balls), weighings, (), (Inspection("knots", *looked),), tuple(shades)
    )
    answer = lot_answer(mill, question, tables)
    facts = lot_facts(
        mill, question, line_name=line,
        drawn_how=f"at random from {len(balls)} balls weighed, seed {seed} of the order",
        drawn_by=author, files=[(one.name, _sha256(one)) for one in files], tables=tables,
    )  # fmt: skip
    paper = certificate_content(
        answer.decision, answer.verdicts, facts, paper=mill.mill.paper,
        anchor=anchor_words(keeping.ledger, line),
    )  # fmt: skip
    path = certificate_path(folder, run)
    with keeping.ledger.reading() as connection:
        before = decision_on(KeptInLedger(connection, mill.mill.time_zone), lot, run)
    if before is None or before.run != run or not path.exists():
        made = made_now(mill.mill.time_zone)
        write_whole(path, pdf_of(paper, made=made))
    if before is None or before.run != run:
        decided = LotDecided(lot, answer.decision.word, paper.hash, author, run)
        keep_decision(keeping.ledger, decided, SOURCE)
    return LotTested(
        answer.decision.word, paper.sentence, paper.mends, answer.verdicts[0].sentences
    )


def certificate_path(folder: Path, run: str) -> Path:
    """Say where the certificate on a run lies."""
    return folder / f"certificate-{run}.pdf"


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
