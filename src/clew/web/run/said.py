"""Everything Run says of a line now, made of the live answer."""

from __future__ import annotations

from typing import Any

from clew.languages import joined, moment, say, say_many
from clew.ledger.audit.anchors import anchor_at
from clew.ledger.events.moments import local_of
from clew.ledger.state.answer import LiveAnswer, Run
from clew.ledger.state.live_words import age_words
from clew.mill.lots import DyeLot
from clew.mill.model import Mill
from clew.quantities import UnitSystem
from clew.web.drawn.figures import Figures
from clew.web.run.view import (
    alarm_rows,
    clock,
    for_reader,
    lane_cards,
    mean_words,
    tie_rows,
)


def lots_shown(mill: Mill) -> list[tuple[str, str]]:
    """Give the dye lots that a run can be of, with colour, yarn and cones."""
    return [
        (lot.lot, _lot_words(lot, colour.name)) for colour in mill.colour for lot in colour.dye_lot
    ]


def _lot_words(lot: DyeLot, colour: str) -> str:
    cones = say_many("{n} cone", "{n} cones", lot.cones)
    return joined(", ", (lot.lot, colour, lot.yarn, cones))


def live_shown(live: LiveAnswer, mill: Mill, units: UnitSystem) -> dict[str, Any]:
    """Arrange the live answer.

    Parameters
    ----------
    live : LiveAnswer
        What the line does now.
    mill : Mill
        The mill.
    units : {"metric", "yard"}
        Units of the reader.

    Returns
    -------
    dict
        What the template arranges.
    """
    figures, run = Figures(units), live.run
    line = mill.find_line(live.line)
    settings = [
        (one.number, "" if run is None else f"{run.counts.get(str(one.number), 0):g}")
        for one in line.winder
    ]
    return {
        "live": live,
        "now_clock": clock(live.now_us, live.zone, seconds=True),
        "words": tuple(for_reader(one, figures) for one in live.words),
        "alarms": alarm_rows(live.alarms, live.zone, figures),
        "lanes": lane_cards(live, figures, tare_g=_tare_g(mill, run)),
        "ties": tie_rows(live),
        "facts": facts(live, figures),
        "notes": live.notes,
        "running": run is not None,
        "settings": settings,
        "target": ""
        if run is None or run.target_g is None
        else say("now {mass}", mass=figures.mass(run.target_g)),
    }


def _tare_g(mill: Mill, run: Run | None) -> float:
    """Mass of a ball that is not yarn [g]; 0 where the mill file no longer says it."""
    known = {one.name: one.tare_mass_g for one in mill.ball}
    return 0.0 if run is None else known.get(run.ball_name) or 0.0


def facts(live: LiveAnswer, figures: Figures) -> list[tuple[str, str]]:
    """Give what is known of the run, the shift and the record, a name and its words each."""
    run, zone = live.run, live.zone
    rows: list[tuple[str, str]] = []
    if run is not None:
        rows += _of_run(live, run, figures)
    balls = (
        say("{n} of {full} balls", n=live.open_case, full=live.case_balls)
        if live.case_balls
        else say("{n} balls", n=live.open_case)
    )
    rows.append((say("Open case"), balls))
    since = moment(local_of(live.shift.from_us, zone))
    hand = live.hand or say("nobody said who")
    rows.append((say("Shift"), say("since {when}; at the tablet: {hand}", when=since, hand=hand)))
    if live.last_age_s is not None:
        heard = say("{how_long} ago", how_long=age_words(live.last_age_s))
        rows.append((say("Last heard"), heard))
    if live.head_seq:
        anchor = anchor_at(live.line, live.head_seq, bytes.fromhex(live.head_hash))
        rows.append((say("The record stands at"), anchor.text()))
    return rows


def _of_run(live: LiveAnswer, run: Run, figures: Figures) -> list[tuple[str, str]]:
    of = say(
        "{run}: {ball}, dye lot {lot} {colour}",
        run=run.run, ball=run.ball_name, lot=run.lot, colour=live.colour,
    )  # fmt: skip
    trial = (say("a trial: not for sale"),) if run.trial else ()
    rows = [(say("Run"), joined(", ", (of, *trial)))]
    at = clock(run.started_us, live.zone)
    started = say("{clock} by {name}", clock=at, name=run.started_by) if run.started_by else at
    rows.append((say("Started"), started))
    if run.changed_us is not None:
        last = clock(run.changed_us, live.zone)
        times = say_many("{n} time, last at {clock}", "{n} times, last at {clock}", run.changes,
                         clock=last)  # fmt: skip
        rows.append((say("Settings changed"), times))
    if run.target_g is not None:
        words = figures.mass(run.target_g)
        if run.call_low_g is not None and run.call_high_g is not None:
            limits = figures.masses(run.call_low_g, run.call_high_g)
            words = say("{target}; call the lead outside {limits}", target=words, limits=limits)
        rows.append((say("Target"), words))
    if live.mean_g is not None:
        words = mean_words(live.mean_g, live.off_target_g, figures)
        rows.append((say("Last balls of all winders"), words))
    made = say("{doffed} taken off, {pulled} pulled", doffed=live.doffed, pulled=live.pulled)
    rows.append((say("Balls since the start"), made))
    return rows
