"""Events over HTTP: taken in, acknowledged after the commit, read back by place in the chain."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, FastAPI, Query
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse

from clew.faults import BadInput, Fault
from clew.ledger.events.kinds import KINDS, LONGEST_NAME
from clew.ledger.events.message import Record
from clew.ledger.events.moments import show_utc
from clew.ledger.events.reading import is_plain
from clew.ledger.ingest.arriving import MOST_BYTES, MOST_MESSAGES, parts_of, read_json
from clew.ledger.ingest.described import arrival, batch_schema, moved
from clew.ledger.store.paging import chains_of, page_of_chain
from clew.ledger.store.reading import head_of
from clew.ledger.store.trouble import CannotKeep
from clew.web.answers import FaultBody, FaultsBody, faults_body, refuse_not_asked
from clew.web.api.events_taken import take_in
from clew.web.api.questions import FAULTS
from clew.web.workbench import Workbench

AGAIN_S = 5
"""When to try again a ledger that may come back by itself [s]."""
AGAIN_LATER_S = 60
"""When to try again one that somebody has to mend [s]."""
MOST_READ = 1_000
_SCHEMAS = "#/components/schemas/"
_PREFIX = "Ledger_"
_LARGEST = 2**53


class EventTaken(BaseModel):
    """What became of one message."""

    outcome: Literal["kept", "already", "refused"]
    line: str = Field(description="the chain it stands in; empty for the mill's own, or refused")
    seq: int | None = Field(description="its place in that chain; at a clash the other message's")
    flags: list[str] = Field(description="what is odd about it; it is kept all the same")
    faults: list[FaultBody] = Field(description="why it is refused")


class EventsTaken(BaseModel):
    """What became of all messages, in the order in which they were sent."""

    words: str
    kept: int
    already: int
    refused: int
    events: list[EventTaken]
    faults: list[FaultBody] = Field(description="of all that were refused, with their places")


class EventRead(BaseModel):
    """One record of the ledger."""

    line: str
    seq: int
    kind: str
    at: str
    received: str
    source: str
    key: str
    author: str
    lane: int
    ball: int | None
    run: str
    cone: str
    lot: str
    package: str
    token: str
    fields: dict[str, Any] = Field(description="the other fields of its kind")
    flags: list[str]
    hash: str


class EventsRead(BaseModel):
    """A page of a chain."""

    line: str
    head: int = Field(description="the chain's last place")
    events: list[EventRead]
    after: int = Field(description="ask for what comes after this next time")
    more: bool = Field(description="whether there is more already")


class ChainRead(BaseModel):
    """Where one chain stands."""

    line: str
    head: int
    hash: str = Field(description="of the last record: keep it elsewhere, it vouches for the rest")


class LedgerRead(BaseModel):
    """Where the ledger stands."""

    chains: list[ChainRead]
    trouble: str = Field(description="why nothing can be kept just now; empty when it can")


_POST_ANSWERS: dict[int | str, dict[str, Any]] = {
    409: {"model": EventsTaken, "description": "A lone message whose key another one has"},
    413: {"model": FaultsBody, "description": "Longer than may arrive at once"},
    415: {"model": FaultsBody, "description": "Not application/json"},
    422: {
        "model": EventsTaken | FaultsBody,
        "description": "Some were refused, the others are kept; or nothing could be read",
    },
    503: {
        "model": FaultsBody,
        "description": "The ledger cannot keep anything now; nothing was kept",
        "headers": {"Retry-After": {"schema": {"type": "integer"}, "description": "seconds"}},
    },
}
_READ_ANSWERS: dict[int | str, dict[str, Any]] = {
    **FAULTS,
    503: {"model": FaultsBody, "description": "The ledger does not answer"},
}


def api_events_router(bench: Workbench) -> APIRouter:
    """Serve the ledger to programs."""
    router = APIRouter(prefix="/api")

    @router.post(
        "/events",
        response_model=EventsTaken,
        responses=_POST_ANSWERS,
        openapi_extra={
            "requestBody": {
                "required": True,
                "content": {"application/json": {"schema": arrival(_SCHEMAS + _PREFIX)}},
            }
        },
    )
    async def take(request: Request) -> JSONResponse:
        """Keep one message or many; the answer comes once they are on the disk.

        Messages that are refused keep no other back. Sent again with the same key, a message is
        kept once and answered with `already`.
        """
        kind = request.headers.get("content-type", "").partition(";")[0].strip().casefold()
        if kind != "application/json":  # a form from elsewhere cannot say this
            fault = Fault("not JSON", "content-type: application/json", value=kind[:80])
            return JSONResponse(faults_body((fault,)), 415)
        raw = await _body(request)
        if raw is None:
            fault = Fault("too long", f"at most {MOST_BYTES} bytes and {MOST_MESSAGES} messages")
            return JSONResponse(faults_body((fault,)), 413, {"Connection": "close"})
        try:
            return await run_in_threadpool(_take, bench, request, raw)
        except CannotKeep as trouble:
            return _cannot(trouble)

    @router.get("/events", response_model=EventsRead, responses=_READ_ANSWERS)
    def read(
        request: Request,
        line: Annotated[str, Query(description="a line; empty: the mill's own chain")] = "",
        after: Annotated[int, Query(ge=0, le=_LARGEST, description="begin after this place")] = 0,
        kind: Annotated[
            list[str], Query(max_length=len(KINDS), description="only such; may be repeated")
        ] = [],  # noqa: B006 - FastAPI copies it
        most: Annotated[int, Query(ge=1, le=MOST_READ, description="no more than so many")] = 100,
    ) -> Any:
        """Records of one chain, in its order, a page at a time."""
        refuse_not_asked(request, ("line", "after", "kind", "most"))
        faults = [
            Fault("no such kind of event", "one of " + ", ".join(KINDS), key="kind",
                  value=repr(one)[:60])
            for one in kind if one not in KINDS
        ]  # fmt: skip
        if len(line) > LONGEST_NAME or not is_plain(line):
            faults.append(Fault("no line", "the name of a line", key="line"))
        if faults:
            raise BadInput(faults)
        try:
            ledger = bench.ledger.ledger(make=False)
            head = head_of(ledger, line)[0]
            found = page_of_chain(ledger, line, after_seq=after, kinds=kind, most=most + 1)
        except CannotKeep as trouble:
            return _cannot(trouble)
        more, found = len(found) > most, found[:most]
        # without more, all up to the head was looked at, whatever kinds were asked for
        upto = found[-1].seq if more else max(after, head, *(one.seq for one in found))
        return EventsRead(
            line=line, head=head, events=[_plain(one) for one in found], after=upto, more=more
        )

    @router.get("/ledger", response_model=LedgerRead, responses=_READ_ANSWERS)
    def stands() -> Any:
        """Where every chain stands, and whether anything is wrong."""
        try:
            chains = chains_of(bench.ledger.ledger(make=False))
        except CannotKeep as trouble:
            return _cannot(trouble)
        return LedgerRead(
            chains=[ChainRead(line=line, head=n, hash=h.hex()) for line, n, h in chains],
            trouble=bench.ledger.trouble(),
        )

    return router


async def _body(request: Request) -> bytes | None:
    """Read the body; None when it is too long, without reading it to its end."""
    said = request.headers.get("content-length", "")
    if said.isdecimal() and (len(said) > 12 or int(said) > MOST_BYTES):
        return None
    parts, length = [], 0
    try:
        async for part in request.stream():
            length += len(part)
            if length > MOST_BYTES:
                return None
            parts.append(part)
    except ClientDisconnect:  # half a body is none, and nobody is there to be told
        return b""
    return b"".join(parts)


def _take(bench: Workbench, request: Request, raw: bytes) -> JSONResponse:
    found, alone = parts_of(read_json(raw))
    results = take_in(bench, request, found)
    events, faults = [], []
    counts = {"kept": 0, "already": 0, "refused": 0}
    for number, one in enumerate(results, start=1):
        counts[one.outcome] += 1
        own = faults_body(one.faults)["faults"]
        events.append(
            {
                "outcome": one.outcome, "line": one.line, "seq": one.seq,
                "flags": list(one.flags), "faults": own,
            }
        )  # fmt: skip
        faults += [{**fault, "place": "" if alone else f"event {number}"} for fault in own]
    status = 200
    if counts["refused"]:
        status = 409 if alone and results[0].clash else 422
    answer = {"words": _words(counts), **counts, "events": events, "faults": faults}
    return JSONResponse(answer, status)


def _words(counts: dict[str, int]) -> str:
    kept, already, refused = counts["kept"], counts["already"], counts["refused"]
    words = f"{kept} kept, {already} kept already, {refused} refused"
    return words + ("; what is not refused is in the ledger" if refused and kept + already else "")


def _cannot(trouble: CannotKeep) -> JSONResponse:
    fault = Fault(
        "the ledger cannot keep anything; nothing of this was kept",
        "the same again later" + (", once it is mended" if trouble.for_good else ""),
        value=trouble.reason,
    )
    wait_s = AGAIN_LATER_S if trouble.for_good else AGAIN_S
    return JSONResponse(faults_body((fault,)), 503, {"Retry-After": str(wait_s)})


def _plain(record: Record) -> EventRead:
    return EventRead(
        line=record.line, seq=record.seq, kind=record.kind, at=show_utc(record.at_us),
        received=show_utc(record.received_us), source=record.source, key=record.key,
        author=record.author, lane=record.lane, ball=record.ball, run=record.run,
        cone=record.cone, lot=record.lot, package=record.package, token=record.token,
        fields=record.fields(), flags=list(record.flag_words()), hash=record.hash.hex(),
    )  # fmt: skip


def describe_events(app: FastAPI) -> None:
    """Add the messages' own schema to the description of the interface."""
    plain = app.openapi
    batch = batch_schema()
    own = {_PREFIX + name: moved(one, _SCHEMAS, _PREFIX) for name, one in batch["$defs"].items()}

    def openapi() -> dict[str, Any]:
        found = plain()
        found.setdefault("components", {}).setdefault("schemas", {}).update(own)
        return found

    app.openapi = openapi  # type: ignore[method-assign]
