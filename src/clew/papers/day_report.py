"""The report of a day on one page: planned, made, given away, corrected, decided, sent, traced."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from clew.languages import joined, say
from clew.ledger.events.moments import local_of
from clew.ledger.reports.day_figures import CARRIED, DayFigures, RunFigures
from clew.ledger.trace.answer import BackTrace
from clew.mill.model import Mill
from clew.papers.card_content import Paper
from clew.papers.card_rows import Row
from clew.papers.printing import pdf_of
from clew.papers.shift_report import ANCHOR_WORDS, Grid

DONE = {
    "release": "released",
    "hold": "held",
    "rework": say("sent to rework"),
    "refuse": "refused",
    "": say("not decided on"),
}


@dataclass(frozen=True, slots=True)
class DayTold:
    """What a day's report tells beside what the ledger holds.

    Attributes
    ----------
    plan_words : tuple of str
        What the plan says of itself.
    put_off : tuple of str
        Runs of the plan that were not begun.
    mends : mapping of str to tuple of str
        By run: what would release its lot.
    trace : BackTrace or None
        Where the ball that came back is from.
    papers : tuple of (str, str)
        What was written, and where in the folder.
    rows : int
        Records that were verified.
    sound : bool
        Whether none of them was changed.
    anchor : str
        Where the line's chain stood.
    """

    plan_words: tuple[str, ...]
    put_off: tuple[str, ...]
    mends: Mapping[str, Sequence[str]]
    trace: BackTrace | None
    papers: tuple[tuple[str, str], ...]
    rows: int
    sound: bool
    anchor: str


@dataclass(frozen=True, slots=True)
class DayReportContent:
    """The texts of a day's report.

    Attributes
    ----------
    title, mill, headline : str
        What it is, whose, and the day in a sentence.
    paper : {"A4", "Letter"}
        Its size.
    rows : tuple of Row
        What there is to say, each under its own word.
    grid : Grid
        The runs.
    papers : Grid
        What was written, and where it lies.
    anchor, anchor_words : str
        Where the line's chain stood, and what that is good for.
    footer : str
        What stands under every page.
    """

    title: str
    mill: str
    headline: str
    paper: Paper
    rows: tuple[Row, ...]
    grid: Grid
    papers: Grid
    anchor: str
    anchor_words: str
    footer: str


def day_report_content(mill: Mill, found: DayFigures, told: DayTold) -> DayReportContent:
    """Arrange the report of a day, words first.

    Parameters
    ----------
    mill : Mill
        The mill.
    found : DayFigures
        The day as the ledger has it.
    told : DayTold
        What else there is to tell.

    Returns
    -------
    DayReportContent
        All of its texts.
    """
    zone = mill.mill.time_zone
    day = f"{local_of(found.runs[0].from_us, zone):%Y-%m-%d}" if found.runs else say("no run")
    rows = [
        Row(say("Planned"), _planned(found, told)),
        Row(say("Made"), _made(found)),
        Row(say("Given away"), _given(mill, found)),
        Row(say("Knots"), _knots(found)),
        Row(say("Winders"), _winders(found, zone)),
        Row(say("Caught"), _caught(found, zone)),
        Row(say("Lots"), _lots(found, told)),
        Row(say("Sent"), _sent(found)),
        Row(say("Came back"), _back(found, told)),
        Row(say("Ledger"), _ledger(told)),
    ]
    return DayReportContent(
        say("One day on {line}: {day}", line=found.line, day=day),
        mill.mill.name,
        headline(found),
        mill.mill.paper,
        tuple(rows),
        _runs(found, zone),
        _papers(told),
        told.anchor,
        ANCHOR_WORDS if told.anchor else "",
        f"{mill.mill.name} · {found.line} · {day}",
    )


def headline(found: DayFigures) -> str:
    """Say a day in a sentence."""
    banded = sum(one.banded for one in found.runs)
    left = sum(one.cased_balls for one in found.runs if one.delivery)
    held = list(dict.fromkeys(one.lot for one in found.runs if one.decision not in ("release", "")))
    words = say(
        "{banded} balls are banded in {count}; ",
        banded=banded,
        count=_count(len(found.runs), "run"),
    )
    words += say("{left} of them have left", left=left) if left else say("none of them has left")
    if not held:
        return f"{words}."
    return f"{words}; {' and '.join(held)} {'waits' if len(held) == 1 else 'wait'}."


def _count(number: int, what: str) -> str:
    return f"1 {what}" if number == 1 else f"{number} {what}s"


def _clock(at_us: int, zone: str) -> str:
    return f"{local_of(at_us, zone):%H:%M}"


def _planned(found: DayFigures, told: DayTold) -> str:
    asked = joined(
        ", ",
        (
            say(
                "{planned_balls} {ball} of {lot} for order {order}",
                planned_balls=one.planned_balls,
                ball=one.ball,
                lot=one.lot,
                order=one.order,
            )
            for one in found.runs
        ),
    )
    words = f"{asked}." if asked else say("No run was begun.")
    if told.plan_words:
        words += f" {told.plan_words[-1]}"
    if told.put_off:
        words += say(" Left to the next shift: {join}.", join=joined(", ", told.put_off))
    return words


def _made(found: DayFigures) -> str:
    runs = found.runs
    return say(
        "{value} balls taken off; {value2} banded, {value3} pulled to second "
        "quality, {value4} reeled for their length, {value5} part balls wound back.",
        value=sum(one.doffed for one in runs),
        value2=sum(one.banded for one in runs),
        value3=sum(one.second_quality for one in runs),
        value4=sum(one.reeled for one in runs),
        value5=sum(one.rework for one in runs),
    )


def _given(mill: Mill, found: DayFigures) -> str:
    weighed = sum(one.weighed for one in found.runs)
    if not weighed:
        return say("No banded ball was weighed.")
    given_g = sum(one.given_g for one in found.runs)
    money = sum(one.given_money for one in found.runs)
    side = "above" if given_g >= 0.0 else "below"
    return say(
        "{weighed} banded balls hold {given_g:.2f} kg {side} what their bands "
        "declare, {weighed2:.2f} g a ball: yarn for {money:.2f} {currency}.",
        weighed=weighed,
        given_g=abs(given_g) / 1000.0,
        side=side,
        weighed2=abs(given_g) / weighed,
        money=abs(money),
        currency=mill.prices.currency,
    )


def _knots(found: DayFigures) -> str:
    ties, breaks = (sum(one.ties for one in found.runs), sum(one.breaks for one in found.runs))
    seen = sum(one.seen for one in found.runs)
    return say(
        "{ties} cone ties and {count} tied again; {seen} joins were seen at the winders.",
        ties=ties,
        count=_count(breaks, "break"),
        seen=seen,
    )


def _winders(found: DayFigures, zone: str) -> str:
    found_off = [one for run in found.runs for one in run.set if one.why != CARRIED]
    if not found_off:
        return say("No winder ran off.")
    said = [
        say(
            "{clock} {why}, set from {before:g} to {counts:g} counts",
            clock=_clock(one.at_us, zone),
            why=one.why,
            before=one.before,
            counts=one.counts,
        )
        for one in found_off
    ]
    words = _sentence(joined("; ", said))
    carried = any(one.why == CARRIED for run in found.runs for one in run.set)
    return (
        say("{words} Runs after that began with these winders set so.", words=words)
        if carried
        else words
    )


def _caught(found: DayFigures, zone: str) -> str:
    said = [
        say(
            "{clock} cone {cone} of the wrong dye lot {lot} was taken off before it was tied on",
            clock=_clock(at_us, zone),
            cone=cone,
            lot=lot,
        )
        for at_us, cone, lot in found.wrong_cones
    ] + [
        say(
            "the line stood from {clock} to {clock2}: {why}",
            clock=_clock(begun, zone),
            clock2=_clock(over, zone),
            why=why,
        )
        for begun, over, why in found.stops
    ]
    return _sentence(joined("; ", said)) if said else say("Nothing went wrong.")


def _lots(found: DayFigures, told: DayTold) -> str:
    said = []
    for one in found.runs:
        words = say(
            "{lot} ({ball}) is {get}",
            lot=one.lot,
            ball=one.ball,
            get=DONE.get(one.decision, one.decision),
        )
        mends = joined(" ", told.mends.get(one.run, ()))
        said.append(f"{words}. {mends}" if mends else f"{words}.")
    return joined(" ", said) or say("No lot was made.")


def _sent(found: DayFigures) -> str:
    said = []
    for one in found.runs:
        if not one.cases:
            continue
        words = say(
            "Order {order}: {count} with {cased_balls} balls",
            order=one.order,
            count=_count(len(one.cases), "case"),
            cased_balls=one.cased_balls,
        )
        if one.pallets:
            words += say(" on {count}", count=_count(len(one.pallets), "pallet"))
        gone = (
            say(
                ", gone to {customer} with {delivery}.",
                customer=one.customer,
                delivery=one.delivery,
            )
            if one.delivery
            else say(", in store.")
        )
        said.append(words + gone)
    return joined(" ", said) or say("No case was closed.")


def _back(found: DayFigures, told: DayTold) -> str:
    back, trace = found.returned, told.trace
    if back is None or trace is None:
        return say("No ball came back.")
    cones = joined(", ", (one.cone or say("a cone without a name") for one in trace.cones)) or say(
        "none told"
    )
    which = (
        say("it is one ball")
        if trace.size == 1
        else say("it is one of {size} balls", size=trace.size)
    )
    why = say(" for {why}", why=back.why) if back.why else ""
    return say(
        "A ball of {lot} came back from {customer}{why}. By its band, {code}, "
        "{which}; its cones: {cones}. What to answer is drafted in letter.txt.",
        lot=back.lot,
        customer=back.customer,
        why=why,
        code=back.code,
        which=which,
        cones=cones,
    )


def _ledger(told: DayTold) -> str:
    state = (
        say("none was changed") if told.sound else say("they are NOT SOUND: run clew ledger verify")
    )
    return say("{rows} records were read again and verified: {state}.", rows=told.rows, state=state)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


def _runs(found: DayFigures, zone: str) -> Grid:
    columns = (
        say("Run"),
        say("Ball"),
        say("Dye lot"),
        say("From"),
        "To",
        say("Asked"),
        say("Banded"),
        say("Pulled"),
        say("Mean"),
        say("Above"),
        say("Cases"),
        say("Lot is"),
    )
    return Grid(say("Runs"), columns, tuple(_run_row(one, zone) for one in found.runs), "None.")


def _run_row(one: RunFigures, zone: str) -> tuple[str, ...]:
    return (
        one.run,
        one.ball,
        one.lot,
        _clock(one.from_us, zone),
        _clock(one.upto_us, zone),
        str(one.planned_balls),
        str(one.banded),
        str(one.second_quality),
        f"{one.mean_g:.2f} g",
        f"{one.given_g / 1000.0:.2f} kg",
        str(len(one.cases)),
        DONE.get(one.decision, "–"),
    )


def _papers(told: DayTold) -> Grid:
    """List the papers; many of one kind in one folder take one line."""
    places: dict[str, list[str]] = {}
    for words, place in told.papers:
        places.setdefault(words, []).append(place)
    rows = tuple(
        (
            words,
            found[0] if len(found) == 1 else say("{n}, from {found}", n=len(found), found=found[0]),
        )
        for words, found in places.items()
    )
    return Grid(
        say("Papers"),
        (say("Paper"), say("Where in the mill's folder")),
        rows,
        say("None was written."),
    )


def day_report_pdf(content: DayReportContent, *, made: datetime) -> bytes:
    """Print the report of a day.

    Parameters
    ----------
    content : DayReportContent
        The texts.
    made : datetime
        When it was made, with its time zone.

    Returns
    -------
    bytes
        The file, tagged to PDF/UA-1. The same content and time give the same bytes.

    Raises
    ------
    BadInput
        When the time has no time zone.
    """
    return pdf_of("day_report", content, made=made)
