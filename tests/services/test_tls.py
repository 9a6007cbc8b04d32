"""`clew serve` to others: over TLS with a certificate of its own, and behind a proxy."""

from __future__ import annotations

import http.client
import os
import re
import shutil
import signal
import ssl
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest

from clew.ledger.people import passwords
from clew.ledger.people.passwords import Cost
from clew.ledger.people.people import add_person
from clew.ledger.store.ledger import sqlite_url
from clew.ledger.store.opening import open_ledger
from clew.mill import write_demo

PASSWORD = "blue lamp by the river"
FORM = {"Content-Type": "application/x-www-form-urlencoded"}
pytestmark = pytest.mark.services
Answer = tuple[int, dict[str, str], str]


class Server:
    """A `clew serve` that runs."""

    def __init__(self, folder: Path, *options: str) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "clew.cli", "serve", "--mill", str(folder), "--port", "0",
             *options],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
        )  # fmt: skip
        assert self.process.stdout is not None
        self.first = self.process.stdout.readline()
        found = re.search(r"(https?)://.*:(\d+)/", self.first)
        assert found, self.first + self.process.communicate(timeout=20)[1]
        self.scheme, self.port = found[1], int(found[2])

    def ask(
        self, method: str, path: str, *, headers: dict[str, str] | None = None,
        form: dict[str, str] | None = None, trust: Path | None = None,
    ) -> Answer:  # fmt: skip
        if self.scheme == "https":
            context = ssl.create_default_context(cafile=trust)
            connection: http.client.HTTPConnection = http.client.HTTPSConnection(
                "127.0.0.1", self.port, context=context, timeout=20
            )
        else:
            connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        try:
            body = None if form is None else urlencode(form)
            connection.request(method, path, body, {**(FORM if form else {}), **(headers or {})})
            answer = connection.getresponse()
            text = answer.read().decode("utf-8", "replace")
            return answer.status, {k.lower(): v for k, v in answer.getheaders()}, text
        finally:
            connection.close()

    def stop(self) -> str:
        self.process.send_signal(signal.SIGINT)
        out, err = self.process.communicate(timeout=20)
        assert out.endswith("The workbench is closed.\n")
        return err


Serve = Callable[..., Server]


@pytest.fixture
def mill(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A mill with one person in it."""
    folder = tmp_path / "mill"
    write_demo(folder)
    with monkeypatch.context() as cheap:
        cheap.setattr(passwords, "COST", Cost(passes=1, memory_kib=8, lanes=1))
        ledger = open_ledger(sqlite_url(folder / "mill.db"))
        add_person(ledger, "Anke", "lead", PASSWORD, author="root")
        ledger.close()
    return folder


@pytest.fixture
def serve(mill: Path) -> Iterator[Serve]:
    """Start servers; whatever still runs at the end is stopped."""
    started: list[Server] = []

    def start(*options: str) -> Server:
        started.append(Server(mill, *options))
        return started[-1]

    yield start
    for one in started:
        if one.process.poll() is None:
            one.process.kill()
        one.process.communicate(timeout=20)


@pytest.fixture(scope="module")
def pair(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A certificate for this machine, signed by itself, and its key."""
    if shutil.which("openssl") is None:
        pytest.skip("openssl makes the certificate: apt-get install openssl")
    folder = tmp_path_factory.mktemp("tls")
    cert, key = folder / "cert.pem", folder / "key.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256",
         "-nodes", "-days", "2", "-subj", "/CN=mill", "-addext", "subjectAltName=IP:127.0.0.1",
         "-keyout", str(key), "-out", str(cert)],
        check=True, capture_output=True,
    )  # fmt: skip
    return cert, key


def test_signing_in_over_tls(serve: Serve, pair: tuple[Path, Path]) -> None:
    cert, key = pair
    server = serve("--host", "0.0.0.0", "--cert", str(cert), "--key", str(key))
    assert server.first.startswith("The workbench is open at https://0.0.0.0:")
    status, headers, _ = server.ask("GET", "/steam", trust=cert)
    assert (status, headers["location"]) == (303, "/sign-in?back=/steam")
    assert headers["strict-transport-security"] == "max-age=31536000"
    said = {"name": "anke", "password": PASSWORD, "back": "/steam"}
    own = {"origin": f"https://127.0.0.1:{server.port}"}
    status, headers, _ = server.ask("POST", "/sign-in", form=said, headers=own, trust=cert)
    assert (status, headers["location"]) == (303, "/steam")
    cookie = headers["set-cookie"]
    assert cookie.startswith("__Host-clew=") and "Secure" in cookie and "HttpOnly" in cookie
    mine = {"cookie": cookie.split(";")[0]}
    status, headers, page = server.ask("GET", "/steam", headers=mine, trust=cert)
    assert (status, headers["cache-control"]) == (200, "no-store")
    assert "Anke, lead" in page
    # the same certificate is not trusted by whoever was not told of it
    with pytest.raises(ssl.SSLCertVerificationError):
        server.ask("GET", "/steam")
    # and plain HTTP is not spoken at this port
    server.scheme = "http"
    with pytest.raises((http.client.HTTPException, OSError)):
        server.ask("GET", "/steam")
    assert "without TLS" not in server.stop()


@pytest.mark.filterwarnings("ignore:ssl.TLSVersion:DeprecationWarning")
def test_tls_older_than_1_2_is_not_spoken(serve: Serve, pair: tuple[Path, Path]) -> None:
    cert, key = pair
    server = serve("--host", "0.0.0.0", "--cert", str(cert), "--key", str(key))
    spoken = {}
    for version in (ssl.TLSVersion.TLSv1_1, ssl.TLSVersion.TLSv1_2, ssl.TLSVersion.TLSv1_3):
        context = ssl.create_default_context(cafile=cert)
        context.set_ciphers("DEFAULT:@SECLEVEL=0")
        context.minimum_version = ssl.TLSVersion.MINIMUM_SUPPORTED
        context.maximum_version = version
        connection = http.client.HTTPSConnection(
            "127.0.0.1", server.port, context=context, timeout=20
        )
        try:
            connection.connect()
            spoken[version] = True
        except (ssl.SSLError, OSError):
            spoken[version] = False
        finally:
            connection.close()
    assert list(spoken.values()) == [False, True, True]


def test_without_tls_a_warning_and_a_cookie_of_another_name(serve: Serve) -> None:
    server = serve("--host", "0.0.0.0")
    said = {"name": "Anke", "password": PASSWORD}
    status, headers, _ = server.ask("POST", "/sign-in", form=said)
    assert status == 303
    assert headers["set-cookie"].startswith("clew_session=")
    assert "strict-transport-security" not in headers
    status, _, _ = server.ask("GET", "/steam", headers={"host": "elsewhere.example"})
    assert status == 421
    assert "without TLS whoever is on the same network can read passwords" in server.stop()


def test_behind_a_proxy_its_word_is_taken(serve: Serve) -> None:
    server = serve("--behind-proxy", "127.0.0.1", "--name", "mill.example")
    brought = {
        "host": "mill.example", "x-forwarded-proto": "https", "x-forwarded-for": "203.0.113.9",
        "origin": "https://mill.example",
    }  # fmt: skip
    status, _, _ = server.ask("GET", "/steam", headers=brought)
    assert status == 303  # though it came from this very machine
    said = {"name": "Anke", "password": PASSWORD}
    status, headers, _ = server.ask("POST", "/sign-in", form=said, headers=brought)
    assert status == 303
    assert headers["set-cookie"].startswith("__Host-clew=")
    assert "strict-transport-security" in headers
    # tries are counted by the reader's address, and not by the proxy's
    wrong = {"name": "Anke", "password": "wrong wrong"}
    statuses = [
        server.ask("POST", "/sign-in", form=wrong,
                   headers={**brought, "x-forwarded-for": f"6.6.6.6, 203.0.113.{n // 6}"})[0]
        for n in range(12)
    ]  # fmt: skip
    assert statuses == [401] * 5 + [429] + [401] * 5 + [429]


def test_the_word_of_a_proxy_that_was_not_named_is_not_taken(serve: Serve) -> None:
    server = serve("--behind-proxy", "192.0.2.1", "--name", "mill.example")
    brought = {"host": "mill.example", "x-forwarded-proto": "https"}
    said = {"name": "Anke", "password": PASSWORD}
    _, headers, _ = server.ask("POST", "/sign-in", form=said, headers=brought)
    assert headers["set-cookie"].startswith("clew_session=")
    assert "strict-transport-security" not in headers
    wrong = {"name": "Anke", "password": "wrong wrong"}
    statuses = [
        server.ask("POST", "/sign-in", form=wrong,
                   headers={**brought, "x-forwarded-for": f"203.0.113.{n}"})[0]
        for n in range(6)
    ]  # fmt: skip
    assert statuses == [401] * 5 + [429]


def test_it_stops_though_a_reader_still_listens(serve: Serve) -> None:
    server = serve()
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=20)
    connection.request("GET", "/run/stream")
    answer = connection.getresponse()
    assert answer.status == 200
    assert answer.readline()
    began = time.monotonic()
    server.stop()
    connection.close()
    assert time.monotonic() - began < 15.0
