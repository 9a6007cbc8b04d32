"""While many ask for plans, the pages of the floor answer; who would wait too long is told so."""

from __future__ import annotations

import asyncio
from collections import Counter
from collections.abc import MutableMapping
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from fastapi import FastAPI

from clew.faults import BadInput, Fault
from clew.web.app import create_app
from clew.web.few_at_once import MOST_WAITING
from clew.web.orders import page as orders_page

MANY = 60
"""More than the server has threads."""


async def asked(app: FastAPI, path: str, query: str = "") -> tuple[int, dict[str, str], str]:
    """Ask the application without a network, many at once."""
    status, headers, answer = 0, {}, b""
    scope: MutableMapping[str, Any] = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "GET",
        "path": path, "raw_path": path.encode(), "query_string": query.encode(), "scheme": "http",
        "headers": [(b"host", b"127.0.0.1")], "server": ("127.0.0.1", 80),
        "client": ("127.0.0.1", 1), "root_path": "",
    }  # fmt: skip

    async def receive() -> MutableMapping[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: MutableMapping[str, Any]) -> None:
        nonlocal status, headers, answer
        if message["type"] == "http.response.start":
            status = message["status"]
            headers = {name.decode(): value.decode() for name, value in message["headers"]}
        else:
            answer += message.get("body", b"")

    await app(scope, receive, send)
    return status, headers, answer.decode()


@pytest.mark.parametrize("path", ["/orders", "/orders/plan.csv", "/api/plan/sequence"])
def test_the_floor_does_not_wait_for_plans(
    demo_folder: Path, monkeypatch: pytest.MonkeyPatch, path: str
) -> None:
    done = Event()

    def long(*_: object, **__: object) -> None:
        done.wait(30.0)
        raise BadInput(Fault("no plan", key="orders"))

    monkeypatch.setattr(orders_page, "_planned", long)
    app = create_app(demo_folder)

    async def all_of_them() -> None:
        plans = [asyncio.create_task(asked(app, path, f"seed={one}")) for one in range(MANY)]
        try:
            refused = MANY - MOST_WAITING - 2
            async with asyncio.timeout(10.0):
                while sum(one.done() for one in plans) < refused:
                    await asyncio.sleep(0.01)
            status, _, page = await asyncio.wait_for(asked(app, "/run"), 10.0)
            assert status == 200 and "<h1" in page
        finally:
            done.set()
            answers = await asyncio.gather(*plans)
        many = Counter(status for status, *_ in answers)
        assert many == {422: MOST_WAITING + 2, 503: refused}
        _, headers, words = next(one for one in answers if one[0] == 503)
        assert headers["retry-after"].isdigit()
        assert "oo many ask at once" in words and "Traceback" not in words

    asyncio.run(all_of_them())
