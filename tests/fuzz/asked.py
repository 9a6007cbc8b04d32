"""A workbench asked without a network: requests as bytes, answers looked at for what must hold."""

from __future__ import annotations

import asyncio
import gzip
import json
import re
import shutil
from collections.abc import MutableMapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from html import unescape
from typing import Any
from urllib.parse import unquote_to_bytes, urlencode

from fastapi import FastAPI
from tests.fuzz.demo import demo_folder, scratch

BETWEEN = b"\n----\n"
"""Parts one request from the next in an input."""
MARK = "<zq onload='1'\">"
"""Put in by the mutations; a page that holds it as it is would run what a reader typed."""
_UNPRINTED = re.compile(r"[\x00-\x08\x0b\x0e-\x1f\x7f]")
_MOST_ASKED = 400
_TEXTS = ("text/", "application/json", "image/svg")


@dataclass
class Bench:
    """A workbench, the loop it runs in, and how often it was asked."""

    app: FastAPI
    loop: asyncio.AbstractEventLoop
    asked: int = 0
    open_streams: list[object] = field(default_factory=list)


_benches: dict[str, Bench] = {}


def bench_of(name: str) -> Bench:
    """A workbench with its own copy of the demo mill; made anew when it was asked often."""
    from clew.web.app import create_app

    there = _benches.get(name)
    if there is not None and there.asked < _MOST_ASKED:
        return there
    if there is not None:
        close(name)
    folder = scratch() / name
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(demo_folder(), folder)
    _benches[name] = Bench(create_app(folder), asyncio.new_event_loop())
    return _benches[name]


def close(name: str) -> None:
    """Leave a workbench."""
    there = _benches.pop(name, None)
    if there is not None:
        there.app.state.bench.ledger.close()
        if not there.loop.is_running():
            there.loop.close()


def request_of(data: bytes) -> tuple[dict[str, Any], bytes] | None:
    """Read a request: its line, its headers, an empty line, its body."""
    head, _, body = data.partition(b"\n\n")
    first, *lines = head.split(b"\n")
    method, _, address = first.partition(b" ")
    path, _, query = address.partition(b"?")
    if not path.startswith(b"/") or not method.isalpha():
        return None
    headers = {b"host": b"127.0.0.1"}
    for line in lines:
        name, colon, value = line.partition(b":")
        if colon and re.fullmatch(rb"[A-Za-z0-9-]{1,40}", name):
            headers[name.strip().lower()] = value.strip().replace(b"\r", b"").replace(b"\0", b"")
    client = "10.0.0.9" if headers.pop(b"from-elsewhere", b"") else "127.0.0.1"
    scope: dict[str, Any] = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1",
        "method": method.decode("ascii", "replace").upper(), "scheme": "http", "root_path": "",
        "path": unquote_to_bytes(path).decode("utf-8", "replace"), "raw_path": path,
        "query_string": query.replace(b"\r", b"").replace(b" ", b"+"),
        "headers": list(headers.items()),
        "server": ("127.0.0.1", 80), "client": (client, 1),
    }  # fmt: skip
    return scope, body


async def _sent(
    app: FastAPI, scope: dict[str, Any], body: bytes
) -> tuple[int, list[tuple[bytes, bytes]], bytes]:
    status, headers, answer, told = 0, list[tuple[bytes, bytes]](), b"", False

    async def receive() -> MutableMapping[str, Any]:
        nonlocal told
        if told:  # and gone: a stream ends here
            return {"type": "http.disconnect"}
        told = True
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: MutableMapping[str, Any]) -> None:
        nonlocal status, headers, answer
        if message["type"] == "http.response.start":
            status, headers = message["status"], list(message.get("headers", []))
        else:
            answer += message.get("body", b"")

    await app(scope, receive, send)
    return status, headers, answer


def ask(name: str, data: bytes) -> list[int]:
    """Ask a workbench one request after the other; give the statuses."""
    statuses = []
    for part in data.split(BETWEEN)[:4]:
        found = request_of(part)
        if found is None:
            continue
        bench = bench_of(name)
        bench.asked += 1
        try:
            status, headers, answer = bench.loop.run_until_complete(_sent(bench.app, *found))
        except BaseException:
            close(name)
            raise
        check_answer(status, headers, answer)
        statuses.append(status)
    return statuses


def check_answer(status: int, headers: Sequence[tuple[bytes, bytes]], answer: bytes) -> None:
    """See that an answer is one that a browser and a program can use."""
    assert 200 <= status < 500, f"status {status}: {answer[:300]!r}"
    kinds = [value for name, value in headers if name.lower() == b"content-type"]
    for name, value in headers:
        assert not re.search(rb"[\x00-\x08\x0a-\x1f\x7f]", name + value), (name, value[:200])
    kind = kinds[0].decode() if kinds else ""
    if not kind.startswith(_TEXTS):
        return
    if (b"content-encoding", b"gzip") in [(name.lower(), value) for name, value in headers]:
        answer = gzip.decompress(answer)
    text = answer.decode()
    assert "Traceback (most recent" not in text
    if kind.startswith("application/json"):
        json.loads(text, parse_constant=_no_constant)
    elif kind.startswith("text/html"):
        unprinted = _UNPRINTED.search(text)
        assert unprinted is None, f"an unseen character on a page: {text[:0]}{unprinted}"
        assert "<zq" not in text, "what was typed stands on the page as it is"


def _no_constant(word: str) -> None:
    raise AssertionError(f"{word} in JSON")


_WITH_FORMS = ("/run", "/run/hand", "/case", "/lots?lot_size=600", "/who")
_FORM = re.compile(r"<form\b(.*?)</form>", re.DOTALL)
_INPUT = re.compile(r"<(?:input|button)\b[^>]*>")
_SELECT = re.compile(r'<select\b[^>]*\bname="([^"]+)".*?</select>', re.DOTALL)
_ATTRIBUTE = re.compile(r'\b(name|value|method|action|type)="([^"]*)"')


@cache
def forms_on_pages() -> tuple[bytes, ...]:
    """Every form to do something with that the workbench's own pages hold, as requests."""
    deeds = dict[bytes, None]()
    for path in _WITH_FORMS:
        for form in _FORM.findall(_page(path)):
            where, method, fields = _form(form, path)
            if method == "post":
                deeds[_posted(where, fields)] = None
    close("crawl")
    return tuple(deeds)


def _page(path: str) -> str:
    found = request_of(f"GET {path}".encode())
    assert found is not None
    bench = bench_of("crawl")
    _, _, answer = bench.loop.run_until_complete(_sent(bench.app, *found))
    return answer.decode("utf-8", "replace")


def _form(form: str, path: str) -> tuple[str, str, str]:
    opening = dict(_ATTRIBUTE.findall(form.split(">", maxsplit=1)[0]))
    fields = []
    for one in _INPUT.findall(form):
        said = dict(_ATTRIBUTE.findall(one))
        if "name" in said:
            fields.append((unescape(said["name"]), unescape(said.get("value", "1"))))
    for name in _SELECT.findall(form):
        chosen = re.search(rf'name="{re.escape(name)}".*?value="([^"]*)"', form, re.DOTALL)
        fields.append((name, unescape(chosen[1]) if chosen else ""))
    where = unescape(opening.get("action", path)).split("?")[0]
    return where, opening.get("method", "get").lower(), urlencode(fields)


def _posted(where: str, fields: str, more: str = "") -> bytes:
    return (
        f"POST {where}\ncontent-type: application/x-www-form-urlencoded\n{more}\n{fields}".encode()
    )


def posted(where: str, **fields: str) -> bytes:
    """A form, as a request."""
    return _posted(where, urlencode(fields))
