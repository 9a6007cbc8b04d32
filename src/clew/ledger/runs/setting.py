"""Changing a setting during a run: what changed, and why, goes into one message."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.kinds import LONGEST_TEXT
from clew.ledger.events.message import Message
from clew.ledger.events.plausible import implausible
from clew.ledger.events.reading import is_plain
from clew.ledger.state.known import Run
from clew.mill.lines import Line

SETTINGS = ("turns", "target_g", "feed_m_per_s", "belt_m_per_s", "steam_c", "dryer_c")
"""Settings of the whole line that may be changed during a run."""


@dataclass(frozen=True, slots=True)
class SetQuestion:
    """What somebody changed.

    Attributes
    ----------
    at_us : int
        When [us].
    author : str
        Who.
    source, key : str
        Who sends the message, and its own key.
    why : str
        Why, in words.
    counts : mapping of int to float
        New counter setting by winder number.
    values : mapping of str to float
        New values of `SETTINGS` [g, m/s, °C].
    """

    at_us: int
    author: str
    source: str
    key: str
    why: str
    counts: Mapping[int, float] = field(default_factory=dict)
    values: Mapping[str, float] = field(default_factory=dict)


def set_message(line: Line, question: SetQuestion, running: Run | None) -> Message:
    """Make the message that records a changed setting.

    Parameters
    ----------
    line : Line
        The line.
    question : SetQuestion
        What changed.
    running : Run or None
        The run in progress on it.

    Returns
    -------
    Message
        With what really changed, and the why. A new target moves the call-out limits by the same
        share.

    Raises
    ------
    BadInput
        Without a run in progress; for a winder that is not on the line; when nothing changed,
        nobody is named or no reason is given; for a moment before the run began.
    """
    run = running_or_fault(line.name, running)
    faults = person_faults(question.author, question.why)
    if question.at_us < run.started_us:
        faults.append(Fault(say("before the run began"), say("a moment during the run"), key="at"))
    winders = {one.number for one in line.winder}
    for winder in sorted(set(question.counts) - winders):
        known = ", ".join(str(one) for one in sorted(winders))
        faults.append(
            Fault(
                say("no such winder"),
                say("one of {names}", names=known),
                key="winder",
                value=str(winder),
            )
        )
    faults += [
        Fault(say("no such setting"), say("one of {names}", names=", ".join(SETTINGS)), key=name)
        for name in question.values
        if name not in SETTINGS
    ]
    faults += [
        Fault(say("not a setting"), say("above 0"), key=f"winder {winder}", value=f"{counts:g}")
        for winder, counts in sorted(question.counts.items())
        if not 0.0 < counts < math.inf
    ]
    faults += [
        Fault(say("not a setting"), say("above 0"), key=name, value=f"{value:g}")
        for name, value in question.values.items()
        if not 0.0 < value < math.inf
    ]
    if faults:
        raise BadInput(faults)
    body = _changed(question, run)
    if not body:
        raise BadInput(
            Fault(
                say("nothing changed"),
                say("a setting that is not what it was"),
                key="set",
                value=run.run,
            )
        )
    body["why"] = question.why.strip()
    return Message(
        line.name, "run set", question.at_us, question.source, question.key,
        question.author.strip(), run=run.run, body=body, flags=implausible("run set", body),
    )  # fmt: skip


def _changed(question: SetQuestion, run: Run) -> dict[str, Any]:
    """Keep what is not what it was."""
    body: dict[str, Any] = {}
    counts = {
        str(winder): float(value)
        for winder, value in sorted(question.counts.items())
        if run.counts.get(str(winder)) != value
    }
    if counts:
        body["counts"] = counts
    for name, value in question.values.items():
        if getattr(run, name) != value:
            body[name] = round(value) if name == "turns" else float(value)
    target_g = body.get("target_g")
    if target_g is not None and run.target_g:
        for name in ("call_low_g", "call_high_g"):
            limit_g = getattr(run, name)
            if limit_g is not None:
                body[name] = round(limit_g * target_g / run.target_g, 3)
    return body


def running_or_fault(line_name: str, running: Run | None) -> Run:
    """Give the run in progress; raises `BadInput` where there is none."""
    if running is None:
        raise BadInput(
            Fault(
                say("no run is in progress on {line}", line=line_name),
                say("clew run start first"),
                key="line",
            )
        )
    return running


def person_faults(author: str, why: str) -> list[Fault]:
    """Say what is missing of who and why."""
    faults = []
    if not author.strip():
        faults.append(Fault(say("nobody is named"), say("who does it"), key="by"))
    if not why.strip():
        faults.append(Fault(say("no reason"), say("why, in a few words"), key="why"))
    return faults + text_faults("why", why)


def text_faults(key: str, text: str) -> list[Fault]:
    """Say what a text holds that no message of the ledger may."""
    if len(text) <= LONGEST_TEXT and is_plain(text, lines=True):
        return []
    return [
        Fault(
            say("no text"),
            say("text of at most {most} characters", most=LONGEST_TEXT),
            key=key,
        )
    ]
