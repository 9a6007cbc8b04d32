"""Ending a run."""

from __future__ import annotations

from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.message import Message
from clew.ledger.runs.setting import person_faults, running_or_fault, text_faults
from clew.ledger.state.known import Run


@dataclass(frozen=True, slots=True)
class EndQuestion:
    """What somebody wants to end.

    Attributes
    ----------
    at_us : int
        When it ended [us].
    author : str
        Who ends it.
    source, key : str
        Who sends the message, and its own key.
    why : str
        Why, in words.
    note : str
        What else is worth knowing.
    """

    at_us: int
    author: str
    source: str
    key: str
    why: str
    note: str = ""


def end_message(line_name: str, question: EndQuestion, running: Run | None) -> Message:
    """Make the message that ends a run.

    Parameters
    ----------
    line_name : str
        The line.
    question : EndQuestion
        Who ends it, when and why.
    running : Run or None
        The run in progress on it.

    Returns
    -------
    Message
        To hand to the ledger.

    Raises
    ------
    BadInput
        Without a run in progress, without a person or a reason, or before the run began.
    """
    run = running_or_fault(line_name, running)
    faults = person_faults(question.author, question.why) + text_faults("note", question.note)
    if question.at_us < run.started_us:
        faults.append(Fault(say("before the run began"), say("a moment after its start"), key="at"))
    if faults:
        raise BadInput(faults)
    body = {"why": question.why.strip()}
    if question.note.strip():
        body["note"] = question.note.strip()
    return Message(
        line_name, "run end", question.at_us, question.source, question.key,
        question.author.strip(), run=run.run, body=body,
    )  # fmt: skip
