"""What the lead's forms on Run keep: a start, a change or an end, each form once."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.ledger.events.message import Message, Record
from clew.ledger.runs.end import EndQuestion, end_message
from clew.ledger.runs.setting import SetQuestion, set_message
from clew.ledger.runs.start import StartQuestion, start_message
from clew.ledger.state.known import LineState
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import records_in_time, records_naming
from clew.mill.lines import Line
from clew.mill.model import Mill
from clew.papers.fingerprint import inputs_fingerprint
from clew.quantities import MASS, read_quantity
from clew.web.asked.decimal_marks import with_any_point
from clew.web.asked.form_body import key_typed
from clew.web.door.who import Who
from clew.web.run.hand_page import voided_by
from clew.web.run.next import OF_RUN, record_at

_LOOKED_AT = 40


@dataclass(frozen=True, slots=True)
class LeadForm:
    """A form as a lead sent it.

    Attributes
    ----------
    ledger : Ledger
        Where it is kept.
    mill : Mill
        The mill.
    line : Line
        The line it is about.
    state : LineState
        What the line does now.
    typed : mapping of str to str
        What was typed, by name.
    who : Who
        Who sent it.
    """

    ledger: Ledger
    mill: Mill
    line: Line
    state: LineState
    typed: Mapping[str, str]
    who: Who

    def said(self, name: str) -> str:
        """What was typed into a field, without blanks around it."""
        return self.typed.get(name, "").strip()


def keep_form(form: LeadForm, name: str) -> None:
    """Keep what a form asks for; sent again it is kept once.

    Parameters
    ----------
    form : LeadForm
        The form.
    name : str
        Which: one of `FORMS`.

    Raises
    ------
    BadInput
        With everything that is wrong with it; and for a form that was kept before with something
        else in it, or taken back since: it must not be said to be kept.
    CannotKeep
        When the ledger cannot write.
    """
    make, same = _DEEDS[name]
    before = _kept_before(form)
    if before is None:
        (taken,) = form.ledger.append([make(form)])
        if taken.outcome == "clash":  # the same form, at the same moment
            before = record_at(form.ledger, form.line.name, taken.seq)
    if before is not None and not (before.kind == f"run {name}" and same(form, before)):
        raise _sent_before()


def _kept_before(form: LeadForm) -> Record | None:
    key = form.said("key")
    lately = list(
        records_in_time(
            form.ledger, form.line.name, kinds=(*OF_RUN, "correction"), latest_first=True,
            most=_LOOKED_AT,
        )
    )  # fmt: skip
    before = next((one for one in lately if key and one.key == key), None)
    if before is not None and before.seq in voided_by(lately):
        raise _sent_before()
    return before


def _sent_before() -> BadInput:
    return BadInput(
        Fault(
            say("this form was sent before, with something else in it; nothing more is recorded"),
            say("look above how the line is set; if this is meant, send it again"),
        )
    )


def _common(form: LeadForm) -> dict[str, Any]:
    return {
        "at_us": form.ledger.clock(),
        "author": form.who.name,
        "source": form.who.source or "tablet",
        "key": key_typed(form.typed) or secrets.token_hex(12),
    }


def _started(form: LeadForm) -> Message:
    ball, lot, line = form.typed.get("ball", ""), form.typed.get("lot", ""), form.line.name
    question = StartQuestion(
        ball, lot, line, **_common(form), order=form.said("order"),
        trial=bool(form.typed.get("trial")), card=inputs_fingerprint(form.mill, ball, lot, line),
    )  # fmt: skip

    def used(name: str) -> bool:
        return next(records_naming(form.ledger, "run", name), None) is not None

    return start_message(
        form.mill, question, form.state.run, used, last_run=form.state.last_run
    ).message


def _same_start(form: LeadForm, before: Record) -> bool:
    body: dict[str, Any] = before.fields()
    kept = (before.lot, body.get("ball_name"), body.get("order", ""), bool(body.get("trial")))
    asked = (form.typed.get("lot"), form.typed.get("ball"), form.said("order"))
    return kept == (*asked, bool(form.typed.get("trial")))


def _change_asked(form: LeadForm) -> SetQuestion:
    """Read what is to be changed; raises `BadInput` with everything that is no number."""
    counts: dict[int, float] = {}
    values: dict[str, float] = {}
    faults: list[Fault] = []
    for winder in form.line.winder:
        text = form.said(f"winder-{winder.number}")
        if not text:
            continue
        try:
            counts[winder.number] = float(with_any_point(text))
        except ValueError:
            faults.append(Fault(say("no counter setting"), say("a number"),
                                key=f"winder {winder.number}", value=repr(text)[:40]))  # fmt: skip
        except BadInput as bad:
            faults.append(replace(bad.faults[0], key=f"winder {winder.number}"))
    target = form.said("target")
    if target:
        try:
            values["target_g"] = read_quantity(with_any_point(target), MASS)
        except BadInput as bad:
            faults.append(replace(bad.faults[0], key="target", value=repr(target)[:40]))
    if faults:
        raise BadInput(faults)
    return SetQuestion(**_common(form), why=form.typed.get("why", ""), counts=counts, values=values)


def _changed(form: LeadForm) -> Message:
    return set_message(form.line, _change_asked(form), form.state.run)


def _same_change(form: LeadForm, before: Record) -> bool:
    """Say whether a form asks for the change that was kept; what stayed as it was is not in it."""
    body: dict[str, Any] = before.fields()
    asked, run = _change_asked(form), form.state.run
    now = {} if run is None else run.counts
    counts = {str(winder): value for winder, value in asked.counts.items()}
    target_g, kept_g = asked.values.get("target_g"), body.get("target_g")
    stays = kept_g is None and run is not None and target_g == run.target_g
    return (
        body.get("why") == asked.why.strip()
        and {**now, **counts} == {**now, **body.get("counts", {})}
        and (target_g == kept_g or stays)
    )


def _ended(form: LeadForm) -> Message:
    question = EndQuestion(**_common(form), why=form.typed.get("why", ""))
    return end_message(form.line.name, question, form.state.run)


def _same_end(form: LeadForm, before: Record) -> bool:
    return bool(before.fields().get("why") == form.said("why"))


_DEEDS: dict[str, tuple[Callable[[LeadForm], Message], Callable[[LeadForm, Record], bool]]] = {
    "start": (_started, _same_start),
    "set": (_changed, _same_change),
    "end": (_ended, _same_end),
}
FORMS = tuple(_DEEDS)
"""Names of the lead's forms."""
