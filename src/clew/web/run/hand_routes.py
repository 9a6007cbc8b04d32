"""The address of the page for hands: what is touched there goes into the ledger at once."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from clew.faults import BadInput, Fault, only_seen
from clew.languages import joined, say, spoken
from clew.ledger.events.kinds import LONGEST_NAME
from clew.ledger.events.message import Message, Taken
from clew.ledger.events.reading import Sender, is_plain, read_message
from clew.ledger.ingest.by_hand import (
    Deed,
    at_clock,
    check_message,
    deed_of,
    flag_words,
    message_of_deed,
)
from clew.ledger.people.roles import PERMISSION_NAMES, needed_for
from clew.ledger.store.chain import body_text
from clew.ledger.store.ledger import Ledger, now_us
from clew.ledger.store.reading import chain_records
from clew.ledger.store.trouble import CannotKeep
from clew.mill.lines import Line
from clew.mill.model import Mill
from clew.web.answers import faults_body, refuse_not_asked
from clew.web.asked.decimal_marks import with_any_point
from clew.web.asked.form_body import form_lists, key_typed
from clew.web.door.who import Who, who_of
from clew.web.mill_on_disk import UnusableMill
from clew.web.run.hand_page import HAND_KEYS, HandPage, hand_page, may_undo
from clew.web.workbench import Workbench

Typed = dict[str, str]


def hand_router(bench: Workbench) -> APIRouter:
    """Serve the page for hands, take what is touched there, and take it back."""
    router = APIRouter()

    @router.get("/run/hand", include_in_schema=False)
    def hand(request: Request) -> Response:
        refuse_not_asked(request, HAND_KEYS)
        mill = bench.mill.read().mill
        asked = request.query_params
        line = line_asked(mill, asked.get("line", ""))
        lane = lane_asked(line, asked.get("lane", ""))
        clock = asked.get("clock", "").strip()[:8]
        shown = only_seen(clock)
        faults = {}
        if clock:
            try:
                at_clock(clock, now_us(), mill.mill.time_zone)
            except BadInput as bad:
                faults = {"clock": bad.faults[0].what}
        page = hand_page(mill, line, _readable(bench), lane=lane, clock=shown,
                         author=who_of(request).name)  # fmt: skip
        done = _place(asked.get("kept", "")), _place(asked.get("taken_back", ""))
        return _show(bench, request, page, 422 if faults else 200, faults=faults, done=done,
                     again=bool(asked.get("again")))  # fmt: skip

    @router.post("/run/hand", include_in_schema=False)
    async def press(request: Request) -> Response:
        typed = await form_lists(request)
        return await run_in_threadpool(_press, bench, request, typed)

    @router.post("/run/hand/undo", include_in_schema=False)
    async def undo(request: Request) -> Response:
        typed = await form_lists(request)
        return await run_in_threadpool(_undo, bench, request, typed)

    return router


def line_asked(mill: Mill, name: str) -> Line:
    """Find the line that was named, or the first; raises `BadInput` for a name it has not."""
    return mill.find_line(name) if name else mill.line[0]


def lane_asked(line: Line, text: str) -> int | None:
    """Read a lane's number; None where none was named; raises `BadInput` for one that is not."""
    if not text:
        return None
    if text.isascii() and text.isdecimal() and len(text) < 5 and 1 <= int(text) <= line.lanes:
        return int(text)
    raise BadInput(
        Fault(
            say("no such lane"),
            say("1 to {lanes}", lanes=line.lanes),
            key="lane",
            value=repr(text)[:20],
        )
    )


def _place(text: str) -> int:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 16 else 0


def _readable(bench: Workbench) -> Ledger | None:
    try:
        return bench.ledger.ledger()
    except CannotKeep:
        return None


def _press(bench: Workbench, request: Request, lists: dict[str, list[str]]) -> Response:
    typed = {name: values[-1] for name, values in lists.items()}
    try:
        mill, who = bench.mill.read().mill, who_of(request)
        line = line_asked(mill, typed.get("line", ""))
        lane = lane_asked(line, typed.get("lane", ""))
    except BadInput as bad:
        if _for_script(request):
            # a mill file that is just being mended is no fault of the entry: it waits for it
            status = 503 if isinstance(bad, UnusableMill) else 422
            return JSONResponse(faults_body(bad.faults), status_code=status)
        raise
    try:
        taken = _keep(bench, mill, line, lane, typed, lists, who)
    except CannotKeep as trouble:
        return _refused(bench, request, mill, line, lane, typed, None, str(trouble), 503)
    except OtherHand as other:  # it waits on the tablet until its author signs in
        return _refused(bench, request, mill, line, lane, typed, other, "", 401)
    except BadInput as bad:
        return _refused(bench, request, mill, line, lane, typed, bad, "", 422)
    if _for_script(request):
        odd = [spoken(flag_words(one)) for one in taken.flags]
        return JSONResponse(
            {"outcome": taken.outcome, "seq": taken.seq, "flags": taken.flags, "odd": odd}
        )
    again = "&again=1" if taken.outcome == "already" else ""
    where = f"/run/hand?line={_quoted(line.name)}&kept={taken.seq}{again}"
    return RedirectResponse(where + (f"&lane={lane}" if lane else ""), status_code=303)


def _keep(
    bench: Workbench, mill: Mill, line: Line, lane: int | None, typed: Typed,
    lists: dict[str, list[str]], who: Who,
) -> Taken:  # fmt: skip
    ledger = bench.ledger.ledger()
    here_us, zone = ledger.clock(), mill.mill.time_zone
    clock = typed.get("clock", "").strip()
    at_us: int | None = at_clock(clock, here_us, zone) if clock else here_us
    if not clock and typed.get("at"):
        from clew.ledger.events.moments import read_moment

        at_us = read_moment(typed["at"]).at_us
    author = _pressed_by(typed, who)
    sender = Sender(who.source or "tablet", author, line.name, zone, at_us, key_typed(typed))
    if typed.get("deed") in ("start-up", "shut-down"):
        ticked = frozenset(
            int(one) for one in lists.get("done", ()) if one.isdecimal() and len(one) < 4
        )
        what: Any = typed["deed"]
        message = check_message(what, ticked, typed.get("note", ""), sender)
    else:
        deed = deed_of(typed.get("deed", ""))
        message = message_of_deed(deed, _with_points(deed, typed), sender, lane=lane)
    if not who.may(needs := needed_for(message.kind)):
        raise BadInput(
            Fault(
                say("not for you to enter"),
                say("somebody who may {deed}", deed=PERMISSION_NAMES[needs]),
                key="deed",
            )
        )
    if not who.may_write_to(line.name):
        raise BadInput(
            Fault(say("not for this sender"), say("only {line}", line=who.line), key="line")
        )
    (taken,) = ledger.append([message])
    if taken.outcome == "clash":
        return _pressed_twice(ledger, message, taken)
    return taken


def _with_points(deed: Deed, typed: Typed) -> Typed:
    """Write what was weighed or reeled with a decimal point; raises `BadInput`."""
    plain, faults = dict(typed), []
    for asked in deed.asked:
        if asked.ask in ("mass", "length") and asked.name in typed:
            try:
                plain[asked.name] = with_any_point(typed[asked.name])
            except BadInput as bad:
                faults.append(replace(bad.faults[0], key=asked.name))
    if faults:
        raise BadInput(faults)
    return plain


class OtherHand(BadInput):
    """An entry that waited on the tablet is of somebody else than who is signed in now."""


def _pressed_by(typed: Typed, who: Who) -> str:
    """Say who made an entry: what waited on the tablet stays its author's, whoever comes next.

    Raises
    ------
    OtherHand
        When somebody else is signed in: it is theirs to send.
    """
    by = " ".join(typed.get("by", "").split())
    if by in ("", who.name):
        return who.name
    if who.how != "tablet":
        raise OtherHand(
            Fault(
                say("entered by somebody else"),
                say("{name} signed in", name=by),
                key="by",
                value=by,
            )
        )
    if len(by) > LONGEST_NAME or not is_plain(by):
        raise BadInput(
            Fault(
                say("no name"),
                say("at most {most} characters", most=LONGEST_NAME),
                key="by",
            )
        )
    return by


def _pressed_twice(ledger: Ledger, message: Message, clash: Taken) -> Taken:
    """Take two presses of one button for one: the second differs in its moment only.

    And in its author, where somebody else came to the tablet before it could be sent again: said
    to be refused, it would be entered once more.
    """
    (first,) = chain_records(ledger, clash.line, after_seq=clash.seq - 1, upto_seq=clash.seq)
    names = ("kind", "lane", "ball", "run", "cone", "lot", "package", "token")
    same = all(getattr(first, name) == getattr(message, name) for name in names)
    if same and first.body == body_text(message.body):
        return replace(clash, outcome="already")
    raise BadInput(
        Fault(say("this button was used for something else"), say("the page opened anew"))
    )


def _undo(bench: Workbench, request: Request, lists: dict[str, list[str]]) -> Response:
    mill, who = bench.mill.read().mill, who_of(request)
    typed = {name: values[-1] for name, values in lists.items()}
    line = line_asked(mill, typed.get("line", ""))
    lane = lane_asked(line, typed.get("lane", ""))
    seq = _place(typed.get("seq", ""))
    try:
        ledger = bench.ledger.ledger()
        record = next(chain_records(ledger, line.name, after_seq=seq - 1, upto_seq=seq), None)
        own = who.how != "token" and record is not None  # a machine has no name: nothing is its own
        if record is None or not own or not may_undo(record, who.name, ledger.clock()):
            raise BadInput(
                Fault(
                    say("that can no longer be taken back here"), say("a correction, by the lead")
                )
            )
        found = {"kind": "correction", "of_seq": seq, "void": True,
                 "why": "taken back at the tablet"}  # fmt: skip
        sender = Sender(who.source or "tablet", who.name, line.name, "", ledger.clock(),
                        f"undo-{seq}")  # fmt: skip
        ledger.append([read_message(found, sender)])
    except CannotKeep as trouble:
        return _refused(bench, request, mill, line, lane, typed, None, str(trouble), 503)
    except BadInput as bad:
        return _refused(bench, request, mill, line, lane, typed, bad, "", 422)
    where = f"/run/hand?line={_quoted(line.name)}&taken_back={seq}"
    return RedirectResponse(where + (f"&lane={lane}" if lane else ""), status_code=303)


def _quoted(name: str) -> str:
    from urllib.parse import quote_plus

    return quote_plus(name)


def _for_script(request: Request) -> bool:
    return "application/json" in request.headers.get("accept", "")


def _refused(
    bench: Workbench, request: Request, mill: Mill, line: Line, lane: int | None, typed: Typed,
    bad: BadInput | None, trouble: str, status: int,
) -> Response:  # fmt: skip
    """Say what was wrong beside the button, and keep what was typed."""
    faults = () if bad is None else bad.faults
    if _for_script(request):
        body = faults_body(faults or (Fault(trouble),))
        return JSONResponse(body, status_code=status)
    typed = {name: only_seen(text) for name, text in typed.items()}
    page = hand_page(mill, line, None if trouble else _readable(bench), lane=lane,
                     clock=typed.get("clock", ""), author=who_of(request).name)  # fmt: skip
    by_name = {
        one.key: joined("; ", (one.what, one.expected)) if one.expected else one.what
        for one in faults
    }
    page = replace(page, typed=typed, faults=by_name, refused=typed.get("deed", ""))
    return _show(bench, request, page, status, faults=by_name, trouble_now=trouble)


def _show(
    bench: Workbench, request: Request, page: HandPage, status: int, *,
    faults: dict[str, str], done: tuple[int, int] = (0, 0), again: bool = False,
    trouble_now: str = "",
) -> Response:  # fmt: skip
    kept, back = done
    return bench.show(
        request, "hand.html", at="run", status=status, page=page, faults=faults, kept=kept,
        taken_back=back, again=again, trouble_now=trouble_now, who=who_of(request),
        lines=[one.name for one in bench.mill.read().mill.line],
    )  # fmt: skip
