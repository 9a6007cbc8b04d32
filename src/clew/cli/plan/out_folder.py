"""Everything a plan is worked by, in one folder: plan, shift plans, pick lists, cards, labels."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from clew.cli.output import write_whole

if TYPE_CHECKING:
    from clew.cli.plan.sequence import MadePlan


@dataclass(frozen=True, slots=True)
class OutFolder:
    """What was written.

    Attributes
    ----------
    files : tuple of Path
        Every file.
    left_out : tuple of str
        What was not made, and why.
    """

    files: tuple[Path, ...]
    left_out: tuple[str, ...]


def write_out(
    made: MadePlan, folder: Path, progress: Callable[[str], None] | None = None
) -> OutFolder:
    """Write what a plan is worked by; all of it is made before any of it is written.

    Parameters
    ----------
    made : MadePlan
        The plan with what it was made from.
    folder : Path
        Where to; made where it is not there. Files of the same names are replaced.
    progress : callable, optional
        Told in words what is being made.

    Returns
    -------
    OutFolder
        ``plan.csv`` and ``plan.json``; for every shift of the plan ``shifts/…`` its shift plan and
        its pick list; ``cards/…`` a run card for each ball, dye lot and line; ``labels/…`` for
        each run a sheet of bands and the labels of its cases.

    Raises
    ------
    BadInput
        When the folder cannot be written to, or a paper cannot be made.
    """
    from clew.plan.sequence.plain import plan_plain
    from clew.plan.sequence.plan_file import plan_csv

    tell = progress or (lambda _words: None)
    plain = json.dumps(plan_plain(made.plan), indent=2, ensure_ascii=False, allow_nan=False)
    files = {
        Path("plan.csv"): plan_csv(made.plan.timed).encode("utf-8"),
        Path("plan.json"): (plain + "\n").encode("utf-8"),
    }
    tell("shift plans and pick lists")
    files |= _shifts(made)
    tell("run cards")
    files |= _cards(made)
    tell("bands and labels")
    labels, left_out = _labels(made)
    files |= labels
    for name, raw in files.items():
        write_whole(folder / name, raw)
    return OutFolder(tuple(folder / name for name in files), left_out)


def _shifts(made: MadePlan) -> dict[Path, bytes]:
    from clew.papers.pick_list_content import pick_list_content
    from clew.papers.printing import made_now, pdf_of
    from clew.papers.shift_plan_content import shift_plan_content
    from clew.plan.shift.shift_plan import shift_plan
    from clew.plan.shift.which import shifts_reached

    mill, seed = made.mill, made.plan.answer.seed
    now = made_now(mill.mill.time_zone)
    files = {}
    for begins, ends in shifts_reached(mill, made.plan.timed):
        plan = shift_plan(mill, made.plan.timed, shift_from=begins, shift_upto=ends, seed=seed)
        if not plan.lines:
            continue
        name = f"{begins:%Y-%m-%d-%H%M}"
        content = shift_plan_content(plan, mill)
        files[Path("shifts") / f"shift-plan-{name}.pdf"] = pdf_of(content, made=now)
        listed = pick_list_content(plan, mill)
        files[Path("shifts") / f"pick-list-{name}.pdf"] = pdf_of(listed, made=now)
    return files


def _cards(made: MadePlan) -> dict[Path, bytes]:
    from clew.ball.run_card import run_card_of
    from clew.cli.ball.cards import card_files

    mill = made.mill
    files: dict[Path, bytes] = {}
    several = len(mill.line) > 1
    wanted = {(one.run.ball_name, one.run.lot_name, one.line_name) for one in made.plan.timed}
    for ball, lot, line in sorted(wanted):
        name, pdf, html = card_files(run_card_of(mill, ball, lot, line), mill, mill.mill.units)
        name = f"{name}-{plain_name(line)}" if several else name
        files[Path("cards") / f"{name}.pdf"] = pdf
        files[Path("cards") / f"{name}.html"] = html
    return files


def _labels(made: MadePlan) -> tuple[dict[Path, bytes], tuple[str, ...]]:
    """Bands, a sheet a run, and a label a case; a band that breaks law is not printed."""
    from clew.checks.band.findings import judged
    from clew.checks.band.text import band_of
    from clew.cli.ship.labels import case_label_of
    from clew.ledger.shipping.masses import full_case
    from clew.papers.labels.bands import bands_pdf, sheet_for
    from clew.papers.labels.case_label import case_labels_pdf
    from clew.papers.printing import made_now

    mill = made.mill
    now, paper, footer = made_now(mill.mill.time_zone), mill.mill.paper, mill.mill.name
    files: dict[Path, bytes] = {}
    left_out = []
    for one in made.plan.timed:
        run, ball = one.run, mill.find_ball(one.run.ball_name)
        name = plain_name(run.name)
        broken = [
            found.title for found in judged(mill, ball.name, run.lot_name) if found.breaks_law
        ]
        if broken:
            left_out.append(
                f"Bands of {run.name}: {', '.join(broken)} would break the law of its markets; "
                f"clew ship labels {ball.name} says how"
            )
        else:
            band = band_of(mill, ball.name, run.lot_name)
            sheet = sheet_for(band.width_mm, band.height_mm, paper)
            copies = min(sheet.across * sheet.down, run.balls)
            files[Path("labels") / f"bands-{name}.pdf"] = bands_pdf(
                band, copies, made=now, paper=paper, footer=f"{footer} · {run.name}"
            )
        balls = full_case(ball)
        cases = [
            case_label_of(mill, ball, run.lot_name, number, run.order_number, run.customer,
                          balls=min(balls, run.balls - balls * (number - 1)))
            for number in range(1, math.ceil(run.balls / balls) + 1)
        ]  # fmt: skip
        files[Path("labels") / f"cases-{name}.pdf"] = case_labels_pdf(
            cases, made=now, paper=paper, footer=f"{footer} · {run.name}"
        )
    return files, tuple(left_out)


def plain_name(text: str) -> str:
    """Write a name in letters that every disk takes."""
    return re.sub(r"[^A-Za-z0-9]+", "-", text).strip("-").lower() or "run"
