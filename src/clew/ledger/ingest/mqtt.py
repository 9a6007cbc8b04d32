"""From an MQTT broker into the ledger: a message is acknowledged once it is on the disk.

The session on the broker outlives the connection (fixed client id, no clean start), so what was
not acknowledged is delivered again. One thread does everything in turn: it takes in what has
arrived, keeps it in one transaction, acknowledges it. While it keeps, nothing is read, and the
broker holds back.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import unquote, urlsplit
from zlib import crc32

from clew.faults import BadInput, Fault
from clew.ledger.ingest.delivered import Delivery, Tally
from clew.ledger.ingest.topics import WANTED
from clew.ledger.store.trouble import CannotKeep

if TYPE_CHECKING:
    from paho.mqtt.client import Client, MQTTMessage

MOST_AT_ONCE = 500
"""Deliveries that go into one transaction; more are not in flight."""
GATHER_S = 0.02
"""How long a delivery waits for others to go with it [s]."""
IDLE_S = 0.5
"""How often a quiet connection is looked at [s]."""
KEEP_ALIVE_S = 30
SESSION_S = 7 * 24 * 3600
"""How long a broker of MQTT 5 keeps the session of a ledger that is away [s]."""
FIRST_WAIT_S, LONGEST_WAIT_S = 0.5, 30.0
"""Before the first try anew, and before any [s]; it doubles in between."""
PORTS = {"mqtt": 1883, "mqtts": 8883}

Take = Callable[[list[Delivery]], Tally]
Say = Callable[[str, str], None]
"""Told a word for programs and a line for people."""


@dataclass(frozen=True, slots=True)
class Broker:
    """Where a broker is, and how it is spoken to.

    Attributes
    ----------
    host : str
        Its name.
    port : int
        Its port.
    tls : bool
        Whether the connection is encrypted.
    user, password : str
        Who we are; empty where it does not ask.
    ca_file : str
        Certificates that vouch for it; the system's where empty.
    version : {"5", "3.1.1"}
        Of MQTT.
    """

    host: str
    port: int
    tls: bool = False
    user: str = ""
    password: str = ""
    ca_file: str = ""
    version: str = "5"

    @property
    def url(self) -> str:
        """The address, without a password."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{'mqtts' if self.tls else 'mqtt'}://{host}:{self.port}"


def read_broker(
    url: str, *, user: str = "", password: str = "", ca_file: str = "", version: str = "5"
) -> Broker:
    """Read a broker's address.

    Parameters
    ----------
    url : str
        ``mqtt://host:1883``, or ``mqtts://`` for TLS.
    user, password, ca_file, version : str
        As in `Broker`; a user in the address stands over ``user``.

    Raises
    ------
    BadInput
        When it is none.
    """
    try:
        parts = urlsplit(url if "://" in url else f"mqtt://{url}")
        port = parts.port
    except ValueError:
        parts, port = urlsplit(""), None
    if parts.scheme not in PORTS or not parts.hostname or parts.path not in ("", "/"):
        raise BadInput(
            Fault(
                "no address of a broker", "mqtt://host:1883, or mqtts://host:8883",
                key="broker", value=repr(url.partition("@")[2] or url)[:80],
            )
        )  # fmt: skip
    return Broker(
        parts.hostname, port or PORTS[parts.scheme], parts.scheme == "mqtts",
        unquote(parts.username or "") or user, unquote(parts.password or "") or password,
        ca_file, version,
    )  # fmt: skip


class Listener:
    """A subscriber that acknowledges what has been kept.

    Parameters
    ----------
    broker : Broker
        To whom it listens.
    client_id : str
        Its name there: always the same one, for the session hangs on it.
    take : callable
        Keeps deliveries and returns once they are on the disk, or raises `CannotKeep`.
    say : callable
        Told what happens.
    """

    def __init__(self, broker: Broker, client_id: str, take: Take, say: Say) -> None:
        self.broker, self.client_id = broker, client_id
        self._take, self._say = take, say
        self._stop = False
        # several listeners do not come back at one moment, and each always waits alike
        self._share = 0.75 + 0.5 * crc32(client_id.encode()) / 2**32
        self._waiting: list[tuple[int, int, Delivery]] = []
        self._first_at = 0.0
        self._up = False
        self._lost = ""
        self.tally = Tally()
        self._client = self._made()

    def stop(self) -> None:
        """Have it stop: what has arrived is kept and acknowledged first."""
        self._stop = True

    def run(self) -> Tally:
        """Listen until it is stopped.

        Returns
        -------
        Tally
            What became of everything that came.
        """
        wait_s, before = FIRST_WAIT_S, self.tally
        while not self._stop:
            try:
                self._connect()
                if self._listen():
                    wait_s = FIRST_WAIT_S
            except CannotKeep as trouble:
                self._say(
                    "cannot keep",
                    f"the ledger cannot keep anything: {trouble.reason}; nothing of it is "
                    "acknowledged, the broker holds it",
                )
            except OSError as error:
                self._lost = f"no connection: {error.strerror or error}"
            self._let_go()
            if self._stop:
                break
            if self._lost:
                self._say("lost", f"{self.broker.url}: {self._lost}")
                self._lost = ""
            if self.tally != before:  # what came was kept: the next trouble is a new one
                wait_s, before = FIRST_WAIT_S, self.tally
            pause_s = wait_s * self._share
            self._say("waiting", f"trying again in {pause_s:.1f} s")
            self._pause(pause_s)
            wait_s = min(2.0 * wait_s, LONGEST_WAIT_S)
        return self.tally

    def _made(self) -> Client:
        from paho.mqtt.client import Client
        from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion

        five = self.broker.version == "5"
        client = Client(
            CallbackAPIVersion.VERSION2, client_id=self.client_id, manual_ack=True,
            clean_session=None if five else False,
            protocol=MQTTProtocolVersion.MQTTv5 if five else MQTTProtocolVersion.MQTTv311,
        )  # fmt: skip
        if self.broker.user:
            client.username_pw_set(self.broker.user, self.broker.password or None)
        if self.broker.tls:
            try:
                client.tls_set(self.broker.ca_file or None)
            except OSError as error:
                raise BadInput(
                    Fault("cannot be read as certificates", "a file in PEM form",
                          file=self.broker.ca_file, value=str(error.strerror or error))
                ) from None  # fmt: skip
        client.on_connect = self._on_connect
        client.on_subscribe = self._on_subscribe
        client.on_message = self._on_message
        return client

    def _connect(self) -> None:
        terms: dict[str, Any] = {}
        if self.broker.version == "5":
            from paho.mqtt.packettypes import PacketTypes
            from paho.mqtt.properties import Properties

            properties = Properties(PacketTypes.CONNECT)  # type: ignore[no-untyped-call]
            properties.SessionExpiryInterval = SESSION_S
            properties.ReceiveMaximum = MOST_AT_ONCE
            terms = {"clean_start": False, "properties": properties}
        self._up, self._lost = False, ""
        self._client.connect(self.broker.host, self.broker.port, KEEP_ALIVE_S, **terms)

    def _listen(self) -> bool:
        """Take in until the connection is gone; true when it had come about."""
        while not self._stop:
            code = self._client.loop(GATHER_S if self._waiting else IDLE_S)
            if code != 0:
                self._lost = self._lost or "the connection is gone"
                break
            if self._waiting and (
                len(self._waiting) >= MOST_AT_ONCE or time.monotonic() - self._first_at >= GATHER_S
            ):
                self._keep()
        if self._stop and self._waiting:
            self._keep()
        return self._up

    def _keep(self) -> None:
        waiting, self._waiting = self._waiting, []
        self.tally += self._take([one for _, _, one in waiting])
        for number, qos, _ in waiting:
            self._client.ack(number, qos)
        self._client.loop_write()

    def _let_go(self) -> None:
        """End the connection: numbers of deliveries belong to it, and are void with it."""
        self._waiting = []
        self._client.disconnect()
        for _ in range(3):
            if self._client.loop(0.05) != 0:
                break

    def _pause(self, wait_s: float) -> None:
        until = time.monotonic() + wait_s
        while not self._stop and time.monotonic() < until:
            time.sleep(min(0.1, wait_s))

    def _on_connect(
        self, client: Client, _data: Any, flags: Any, reason: Any, _properties: Any
    ) -> None:
        if reason.is_failure:
            self._lost = f"the broker refuses: {reason}"
            return
        self._up = True
        there = "a session that was there" if flags.session_present else "a new session"
        self._say("connected", f"listening to {self.broker.url} as {self.client_id}, {there}")
        client.subscribe(WANTED, qos=1)

    def _on_subscribe(
        self, client: Client, _data: Any, _number: int, reasons: Any, _properties: Any
    ) -> None:
        if any(one.is_failure for one in reasons):
            self._lost = f"the broker does not let {self.client_id} subscribe to {WANTED}"
            client.disconnect()

    def _on_message(self, _client: Client, _data: Any, message: MQTTMessage) -> None:
        try:
            topic = message.topic
        except UnicodeDecodeError:
            topic = ""
        if not self._waiting:
            self._first_at = time.monotonic()
        self._waiting.append((message.mid, message.qos, Delivery(topic, bytes(message.payload))))
