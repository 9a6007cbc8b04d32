"""Malformed forms from a tablet: each is kept whole or refused with its reason."""

from __future__ import annotations

import asyncio
import json
from collections.abc import MutableMapping
from pathlib import Path
from random import Random
from typing import Any
from urllib.parse import urlencode

import pytest
from fastapi import FastAPI

from clew.ledger.ingest.by_hand import DEEDS
from clew.ledger.store.reading import chain_records
from clew.mill import write_demo
from clew.web.app import create_app

MANY = [pytest.param(1_500, id="many"), pytest.param(10_000, id="more", marks=pytest.mark.long)]
NAMES = (
    "deed", "line", "lane", "key", "clock", "at", "cone", "lot", "mass_g", "length_m", "why", "to",
    "joins", "note", "done", "balls", "cone_mass_g", "csrf", "\0", "π", "x" * 300,
)  # fmt: skip
TEXTS = (
    "", " ", "Line 1", "Line 9", "1", "3", "7", "-1", "1e9", "9" * 40, "NaN", "Infinity", "05:41",
    "25:61", "C-118", "SL-207", "101.3", "101,3 g", "3 oz", "heavy", "stock", "moon", "too light",
    "\0", "\ud800", "<b>", "'; DROP TABLE event; --", "á" * 500, "\r\nSet-Cookie: a=b", "x" * 3000,
    "2026-11-25T05:40:00Z", "1066-10-14T09:00:00Z",
)  # fmt: skip


def form(chance: Random) -> bytes:
    """A form as no page of ours sends it, or nearly as one does."""
    if chance.random() < 0.1:
        return bytes(chance.randrange(256) for _ in range(chance.randrange(200)))
    said = [(chance.choice(NAMES), chance.choice(TEXTS)) for _ in range(chance.randrange(1, 9))]
    if chance.random() < 0.8:
        deeds = [deed.key for deed in DEEDS]
        said += [("deed", chance.choice([*deeds, "start-up", "shut-down", "sing"]))]
        said += [("lane", chance.choice(["1", "2", "6", "7", ""]))]
        said += [("key", f"k{chance.randrange(4000)}")]
    return urlencode(said, errors="surrogatepass").encode()


async def sent(app: FastAPI, body: bytes) -> tuple[int, bytes]:
    """Hand a form to the application without a network."""
    status, answer = 0, b""
    scope: MutableMapping[str, Any] = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST",
        "path": "/run/hand", "raw_path": b"/run/hand", "query_string": b"", "scheme": "http",
        "headers": [
            (b"host", b"127.0.0.1"), (b"accept", b"application/json"),
            (b"content-type", b"application/x-www-form-urlencoded"),
        ],
        "server": ("127.0.0.1", 80), "client": ("127.0.0.1", 1), "root_path": "",
    }  # fmt: skip

    async def receive() -> MutableMapping[str, Any]:
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: MutableMapping[str, Any]) -> None:
        nonlocal status, answer
        if message["type"] == "http.response.start":
            status = message["status"]
        else:
            answer += message.get("body", b"")

    await app(scope, receive, send)
    return status, answer


@pytest.mark.parametrize("forms", MANY)
def test_malformed_forms_are_refused_or_kept_whole(tmp_path: Path, forms: int) -> None:
    write_demo(tmp_path)
    app = create_app(tmp_path)
    chance = Random(20261125)
    kept, refused = {}, 0

    async def all_of_them() -> None:
        nonlocal refused
        for _ in range(forms):
            status, answer = await sent(app, form(chance))
            if status == 200:
                said = json.loads(answer)
                if said["outcome"] == "kept":
                    kept[said["seq"]] = said
            elif status == 422:
                refused += 1
                assert all(fault["what"] for fault in json.loads(answer)["faults"])
            else:
                raise AssertionError((status, answer[:300]))

    asyncio.run(all_of_them())
    records = list(chain_records(app.state.bench.ledger.ledger(), "Line 1"))
    app.state.bench.ledger.close()
    assert [one.seq for one in records] == sorted(kept)
    assert len(records) > 0.03 * forms
    assert refused > 0.3 * forms
    assert all(one.kind and one.key and one.source == "tablet" for one in records)
