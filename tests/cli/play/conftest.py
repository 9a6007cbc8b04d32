"""A small stand-in for the workbench: it answers as documented, and now and then not at all."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread
from typing import Any

import pytest


class Stub:
    """Keeps what is posted.

    Attributes
    ----------
    kept : dict
        Messages by source and key, in the order of arrival.
    posts : list of list
        Every batch that came.
    answers : list of int
        Statuses of the next answers, before it goes right again; 0 hangs up.
    headers : list of dict
        Of every request.
    """

    def __init__(self) -> None:
        self.kept: dict[tuple[str, str], dict[str, Any]] = {}
        self.posts: list[list[dict[str, Any]]] = []
        self.answers: list[int] = []
        self.headers: list[dict[str, str]] = []
        self.refuse: set[str] = set()
        self.url = ""

    def take(self, batch: list[dict[str, Any]]) -> dict[str, Any]:
        """Keep a batch and say what became of each."""
        self.posts.append(batch)
        events = []
        for one in batch:
            name = (one["source"], one["key"])
            outcome = "already" if name in self.kept else "kept"
            if one["key"] in self.refuse:
                outcome = "refused"
            else:
                self.kept.setdefault(name, one)
            events.append({"outcome": outcome, "faults": []})
        return {"events": events}


@contextmanager
def stub_workbench() -> Iterator[Stub]:
    """Serve a stub on a free port."""
    stub = Stub()

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_POST(self) -> None:
            raw = self.rfile.read(int(self.headers["Content-Length"]))
            stub.headers.append(dict(self.headers))
            status = stub.answers.pop(0) if stub.answers else 200
            if status == 0:
                self.close_connection = True
                self.connection.close()
                return
            found = stub.take(json.loads(raw)) if status == 200 else {"faults": []}
            if status == 200 and any(one["outcome"] == "refused" for one in found["events"]):
                status = 422
            answer = json.dumps(found).encode()
            self.send_response(status)
            self.send_header("Content-Type", "application/json")
            self.send_header("Content-Length", str(len(answer)))
            self.end_headers()
            self.wfile.write(answer)

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    thread = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    stub.url = f"http://127.0.0.1:{server.server_port}"
    try:
        yield stub
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


@pytest.fixture
def stub() -> Iterator[Stub]:
    """A stand-in for the workbench, on a free port."""
    with stub_workbench() as found:
        yield found
