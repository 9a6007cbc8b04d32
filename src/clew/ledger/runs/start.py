"""Starting a run: everything its card says goes into one message."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from clew.ball.run_card import RunCard, run_card_of
from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.message import Message
from clew.ledger.events.moments import local_of, show_local
from clew.ledger.runs.setting import text_faults
from clew.ledger.state.known import Run
from clew.mill.model import Mill


@dataclass(frozen=True, slots=True)
class StartQuestion:
    """What somebody wants to start.

    Attributes
    ----------
    ball_name, lot_name, line_name : str
        What is to be made, of which dye lot, where; an empty line means the only one.
    at_us : int
        When it starts [us].
    author : str
        Who starts it.
    source, key : str
        Who sends the message, and its own key.
    card : str
        Fingerprint of the run card, from `clew.papers.fingerprint`.
    trial : bool
        Whether its balls are not for sale.
    order : str
        Order it is made for.
    note : str
        What else is worth knowing.
    """

    ball_name: str
    lot_name: str
    line_name: str
    at_us: int
    author: str
    source: str
    key: str
    card: str = ""
    trial: bool = False
    order: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Started:
    """A run that is ready to be kept.

    Attributes
    ----------
    message : Message
        To hand to the ledger.
    card : RunCard
        The card it starts from.
    """

    message: Message
    card: RunCard


def start_message(
    mill: Mill,
    question: StartQuestion,
    running: Run | None,
    known_runs: Iterable[str] | Callable[[str], bool] = (),
    *,
    last_run: Run | None = None,
) -> Started:
    """Make the message that starts a run.

    Parameters
    ----------
    mill : Mill
        The mill.
    question : StartQuestion
        What is to be started.
    running : Run or None
        The run in progress on that line.
    known_runs : iterable of str, or callable
        Names that runs have had, or what says whether a name was used.
    last_run : Run, optional
        The run that ended last on that line: none may start before that.

    Returns
    -------
    Started
        Message and card. Target and call-out limits are as a scale off the line shows them.

    Raises
    ------
    BadInput
        When a run is in progress, or another had not ended yet at that moment; for a name that is
        not in the mill file, a dye lot of another yarn or without a cone in stock, an order that
        is not there or is for another ball; when nobody is named.
    """
    line = mill.find_line(question.line_name)
    ball = mill.find_ball(question.ball_name)
    colour, dye_lot = mill.find_dye_lot(question.lot_name)
    faults = []
    if running is not None:
        faults.append(
            Fault(
                say("{run} is in progress on {line}", run=running.run, line=line.name),
                say("clew run end first"), key="line",
            )
        )  # fmt: skip
    ended_us = None if last_run is None else last_run.ended_us
    if last_run is not None and ended_us is not None and question.at_us < ended_us:
        faults.append(
            Fault(
                say("{run} had not ended yet", run=last_run.run),
                say("{when} or later", when=show_local(ended_us, mill.mill.time_zone)), key="at",
            )
        )  # fmt: skip
    if not question.author.strip():
        faults.append(Fault(say("nobody is named"), say("who starts the run"), key="by"))
    if dye_lot.yarn != ball.yarn:
        faults.append(
            Fault(
                say(
                    "{lot} is {yarn}, {ball} is wound of {right_yarn}", lot=dye_lot.lot,
                    yarn=dye_lot.yarn, ball=ball.name, right_yarn=ball.yarn,
                ),
                say("a dye lot of {yarn}", yarn=ball.yarn), key="lot", value=dye_lot.lot,
            )
        )  # fmt: skip
    elif dye_lot.cones == 0:
        faults.append(
            Fault(
                say("no cone of {lot} is in stock", lot=dye_lot.lot), say("a dye lot with cones"),
                key="lot", value=dye_lot.lot,
            )
        )  # fmt: skip
    faults += text_faults("note", question.note)
    if question.order:
        faults += _order_faults(mill, question.order, ball.name, colour.name)
    if faults:
        raise BadInput(faults)
    card = run_card_of(mill, ball.name, dye_lot.lot, line.name)
    name = run_name(line.name, question.at_us, mill.mill.time_zone, known_runs)
    return Started(
        Message(
            line.name, "run start", question.at_us, question.source, question.key,
            question.author.strip(), run=name, lot=dye_lot.lot, body=_body(card, question),
        ),
        card,
    )  # fmt: skip


def _body(card: RunCard, question: StartQuestion) -> dict[str, Any]:
    limits = card.call_out_scale_g
    body: dict[str, Any] = {
        "ball_name": card.ball_name,
        "turns": card.answer.turns,
        "counts": {str(one.winder): float(one.counts) for one in card.settings},
        "target_g": round(card.answer.as_weighed_g, 3),
        "call_low_g": round(limits.low, 3),
        "call_high_g": round(limits.high, 3),
    }
    if question.trial:
        body["trial"] = True
    for name in ("card", "order", "note"):
        if getattr(question, name):
            body[name] = getattr(question, name)
    return body


def _order_faults(mill: Mill, number: str, ball_name: str, colour_name: str) -> list[Fault]:
    order = next((one for one in mill.order if one.number == number.strip()), None)
    if order is None:
        known = ", ".join(one.number for one in mill.order) or say("none is in the mill file")
        return [
            Fault(
                say("no such order"),
                say("one of {names}", names=known),
                key="order",
                value=repr(number),
            )
        ]
    if order.ball == ball_name and order.colour == colour_name:
        return []
    return [
        Fault(
            say(
                "order {number} is for {ball} in {colour}", number=order.number, ball=order.ball,
                colour=order.colour,
            ),
            say("an order for {ball} in {colour}", ball=ball_name, colour=colour_name),
            key="order", value=order.number,
        )
    ]  # fmt: skip


def run_name(
    line_name: str,
    at_us: int,
    zone: str,
    known: Iterable[str] | Callable[[str], bool] = (),
) -> str:
    """Name a run after its line, its day by the mill's clock, and its number on that day.

    Parameters
    ----------
    line_name : str
        Name of the line, such as ``Line 1``.
    at_us : int
        When it starts [us].
    zone : str
        The mill's time zone.
    known : iterable of str, or callable
        Names that were used, or what says whether one was.

    Returns
    -------
    str
        Such as ``L1-251125-1``: each word of the line's name gives its first letter, or its
        figures.
    """
    used = known if callable(known) else set(known).__contains__
    words = line_name.replace("-", " ").split()
    short = "".join(word if word.isdigit() else word[0].upper() for word in words)[:12]
    day = local_of(at_us, zone).strftime("%y%m%d")
    number = 1
    while used(f"{short}-{day}-{number}"):
        number += 1
    return f"{short}-{day}-{number}"
