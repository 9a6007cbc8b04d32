"""The ways a message can go: over HTTP, to a broker, into the watched folder.

This side knows nothing of the ledger but what is documented for machines.
"""

from __future__ import annotations

import json
import time
from collections import deque
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, Protocol
from urllib.parse import quote, urlsplit

from clew.faults import BadInput, Fault

AT_ONCE = 200
"""Messages in one HTTP request."""
_WAIT_S = 10.0
_BACK_OFF_S = (0.2, 0.5, 1.0, 2.0, 5.0)
SCALE_COLUMNS = ("at", "line", "kind", "source", "key", "lane", "ball", "lot", "mass_g", "scale")


class Way(Protocol):
    """A way to the ledger.

    Attributes
    ----------
    refused : list of str
        Why messages were refused for good.
    trouble : str
        What is wrong with the way just now; empty for nothing.
    """

    refused: list[str]
    trouble: str

    def take(self, messages: Iterable[dict[str, Any]]) -> None:
        """Take messages to be sent, in their order."""

    def pump(self) -> None:
        """Send what waits, once."""

    def waiting(self) -> int:
        """Count what is not acknowledged yet."""

    def close(self) -> None:
        """End it."""


class OverHttp:
    """Posts to ``/api/events``; keeps what was not acknowledged and sends it again.

    Parameters
    ----------
    url : str
        Address of the workbench, such as ``http://127.0.0.1:8340``.
    token : str
        Token of a machine; empty where none is asked for.
    clock : callable
        A clock that only goes on [s].
    """

    def __init__(
        self, url: str, *, token: str = "", clock: Callable[[], float] = time.monotonic
    ) -> None:
        parts = urlsplit(url if "//" in url else f"http://{url}")
        if parts.scheme not in ("http", "https") or not parts.hostname:
            raise BadInput(
                Fault("no address", "such as http://127.0.0.1:8340", key="--to", value=url)
            )
        self.secure, self.host, self.port = parts.scheme == "https", parts.hostname, parts.port
        self.path = parts.path.rstrip("/") + "/api/events"
        self.token, self.clock = token, clock
        self.queue: deque[dict[str, Any]] = deque()
        self.refused: list[str] = []
        self.trouble = ""
        self._failed, self._not_before_s = 0, 0.0
        self._connection: Any = None

    def take(self, messages: Iterable[dict[str, Any]]) -> None:
        """Take messages to be sent, in their order."""
        self.queue.extend(messages)

    def waiting(self) -> int:
        """Count what is not acknowledged yet."""
        return len(self.queue)

    def pump(self) -> None:
        """Send one batch of what waits, unless the other side was just now not there."""
        if not self.queue or self.clock() < self._not_before_s:
            return
        batch = [self.queue[place] for place in range(min(AT_ONCE, len(self.queue)))]
        try:
            status, answer = self._post(batch)
        except (OSError, ValueError) as error:
            self._fail(str(error) or type(error).__name__)
            return
        if status in (200, 409, 422) and self._each(batch, answer):
            self._failed, self.trouble = 0, ""
        elif status in (400, 415, 422):
            self.refused += [f"HTTP {status}: {str(answer)[:200]}"] * len(batch)
            self._drop(len(batch))
        else:
            self._fail(f"it answers HTTP {status}")

    def _each(self, batch: list[dict[str, Any]], answer: Any) -> bool:
        """Take in what became of each message; False where the answer does not say."""
        results = answer.get("events") if isinstance(answer, dict) else None
        if not isinstance(results, list) or len(results) != len(batch):
            return False
        for message, result in zip(batch, results, strict=True):
            outcome = result.get("outcome")
            if outcome in ("kept", "already"):
                continue
            self.refused.append(f"{message['kind']} {message['key']}: {json.dumps(result)[:200]}")
        self._drop(len(batch))
        return True

    def _drop(self, count: int) -> None:
        for _ in range(count):
            self.queue.popleft()

    def _fail(self, why: str) -> None:
        self.trouble = why
        wait_s = _BACK_OFF_S[min(self._failed, len(_BACK_OFF_S) - 1)]
        self._failed += 1
        self._not_before_s = self.clock() + wait_s
        self._hang_up()

    def _post(self, batch: list[dict[str, Any]]) -> tuple[int, Any]:
        from http.client import HTTPConnection, HTTPException, HTTPSConnection

        if self._connection is None:
            of = HTTPSConnection if self.secure else HTTPConnection
            self._connection = of(self.host, self.port, timeout=_WAIT_S)
        headers = {"Content-Type": "application/json", "Accept": "application/json"}
        if self.token:
            headers["Authorization"] = f"Bearer {self.token}"
        try:
            self._connection.request("POST", self.path, json.dumps(batch).encode(), headers)
            response = self._connection.getresponse()
            raw = response.read()
        except HTTPException as error:
            raise OSError(type(error).__name__) from None
        try:
            return response.status, json.loads(raw or b"null")
        except ValueError:
            return response.status, raw[:200].decode("utf-8", "replace")

    def _hang_up(self) -> None:
        if self._connection is not None:
            self._connection.close()
            self._connection = None

    def close(self) -> None:
        """End it."""
        self._hang_up()


class OverMqtt:
    """Publishes at QoS 1 on ``clew/1/<line>/<source>``; the client sends again by itself.

    Parameters
    ----------
    address : str
        Broker, such as ``mqtt://localhost:1883``.
    name : str
        Client's name on the broker.
    """

    def __init__(self, address: str, *, name: str) -> None:
        from paho.mqtt.client import Client
        from paho.mqtt.enums import CallbackAPIVersion

        parts = urlsplit(address if "//" in address else f"mqtt://{address}")
        if parts.scheme != "mqtt" or not parts.hostname:
            raise BadInput(
                Fault("no broker", "such as mqtt://localhost:1883", key="--mqtt", value=address)
            )
        self.refused: list[str] = []
        self.trouble = ""
        self._sent = self._acknowledged = 0
        self._client = Client(CallbackAPIVersion.VERSION2, client_id=name, clean_session=False)
        self._client.max_queued_messages_set(0)
        self._client.on_publish = self._published
        self._client.connect_async(parts.hostname, parts.port or 1883, keepalive=20)
        self._client.reconnect_delay_set(min_delay=1, max_delay=5)
        self._client.loop_start()

    def take(self, messages: Iterable[dict[str, Any]]) -> None:
        """Publish messages, in their order; what the broker has not got yet waits."""
        for one in messages:
            line, source = (quote(str(one[name]), safe=" ") for name in ("line", "source"))
            said = {key: value for key, value in one.items() if key not in ("line", "source")}
            topic = f"clew/1/{line}/{source}"
            self._sent += 1
            self._client.publish(topic, json.dumps(said), qos=1)

    def _published(self, *_: Any) -> None:
        self._acknowledged += 1

    def pump(self) -> None:
        """See whether the broker is there: its client sends by itself."""
        self.trouble = "" if self._client.is_connected() else "the broker is not there"

    def waiting(self) -> int:
        """Count what the broker has not acknowledged yet."""
        return self._sent - self._acknowledged

    def close(self) -> None:
        """End it."""
        self._client.disconnect()
        self._client.loop_stop()


class IntoFolder:
    """Writes a growing CSV file, as a scale does; whole lines at a time.

    Parameters
    ----------
    folder : Path
        The watched folder; made where it is not there.
    name : str
        Name of the file.
    columns : tuple of str
        Its columns; what else a message says is left out.
    """

    def __init__(self, folder: Path, name: str, columns: tuple[str, ...] = SCALE_COLUMNS) -> None:
        self.refused: list[str] = []
        self.trouble = ""
        folder.mkdir(parents=True, exist_ok=True)
        self.path, self.columns = folder / name, columns
        self._rows: list[dict[str, Any]] = []
        self._stem, self._parts = self.path.stem, 0

    def take(self, messages: Iterable[dict[str, Any]]) -> None:
        """Take messages to be written."""
        self._rows += messages

    def pump(self) -> None:
        """Write what waits; where the file was taken away as finished, begin the next one."""
        import csv
        import io

        if not self._rows:
            return
        text = io.StringIO()
        writer = csv.DictWriter(text, self.columns, extrasaction="ignore")
        if not self.path.exists():
            self._parts += 1
            part = f"-{self._parts}" if self._parts > 1 else ""
            self.path = self.path.with_name(f"{self._stem}{part}.csv")
            writer.writeheader()
        writer.writerows(self._rows)
        with self.path.open("a", encoding="utf-8", newline="") as file:
            file.write(text.getvalue())
        self._rows.clear()

    def waiting(self) -> int:
        """Count what is not written yet."""
        return len(self._rows)

    def close(self) -> None:
        """Write what is left."""
        self.pump()
