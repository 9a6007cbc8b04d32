"""Everything Run says of a line now, made of the live answer."""

from __future__ import annotations

from typing import Any

from clew.ledger.audit.anchors import anchor_at
from clew.ledger.state.answer import LiveAnswer
from clew.mill.model import Mill
from clew.quantities import UnitSystem
from clew.web.figures import Figures, plural
from clew.web.run_view import ago, alarm_rows, clock, for_reader, lane_cards, tie_rows


def lots_shown(mill: Mill) -> list[tuple[str, str]]:
    """Give the dye lots that a run can be of, with colour, yarn and cones."""
    return [
        (lot.lot, f"{lot.lot}, {colour.name}, {lot.yarn}, {plural(lot.cones, 'cone')}")
        for colour in mill.colour
        for lot in colour.dye_lot
    ]


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
        "lanes": lane_cards(live, figures),
        "ties": tie_rows(live.ties, live.zone),
        "facts": facts(live, figures),
        "notes": live.notes,
        "running": run is not None,
        "settings": settings,
        "target": ""
        if run is None or run.target_g is None
        else f"now {figures.mass(run.target_g)}",
    }


def facts(live: LiveAnswer, figures: Figures) -> list[tuple[str, str]]:
    """Give what is known of the run, the shift and the record, a name and its words each."""
    run, zone = live.run, live.zone
    rows: list[tuple[str, str]] = []
    if run is not None:
        trial = ", a trial: not for sale" if run.trial else ""
        rows.append(("Run", f"{run.run}: {run.ball_name}, dye lot {run.lot} {live.colour}{trial}"))
        by = f" by {run.started_by}" if run.started_by else ""
        rows.append(("Started", f"{clock(run.started_us, zone)}{by}"))
        if run.changed_us is not None:
            changed = f"{plural(run.changes, 'time')}, last at {clock(run.changed_us, zone)}"
            rows.append(("Settings changed", changed))
        if run.target_g is not None:
            words = figures.mass(run.target_g)
            if run.call_low_g is not None and run.call_high_g is not None:
                words += (
                    f"; call the lead outside {figures.masses(run.call_low_g, run.call_high_g)}"
                )
            rows.append(("Target", words))
        if live.mean_g is not None:
            off = "" if live.off_target_g is None else (
                f", {figures.mass_change(live.off_target_g)} from the target"
            )  # fmt: skip
            rows.append(("Last balls of all winders", f"mean {figures.mass(live.mean_g)}{off}"))
        rows.append(("Balls since the start", f"{live.doffed} taken off, {live.pulled} pulled"))
    case = f"{live.open_case} of {live.case_balls}" if live.case_balls else str(live.open_case)
    rows.append(("Open case", f"{case} balls"))
    rows.append(
        ("Shift", f"since {live.shift.name}; at the tablet: {live.hand or 'nobody said who'}")
    )
    if live.last_age_s is not None:
        rows.append(("Last heard", ago(live.last_age_s)))
    if live.head_seq:
        anchor = anchor_at(live.line, live.head_seq, bytes.fromhex(live.head_hash))
        rows.append(("The record stands at", anchor.text()))
    return rows
