"""The paths that go through a program of Clew's: files, HTTP, and a message broker."""

from __future__ import annotations

import http.client
import json
import os
import queue
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections import defaultdict
from contextlib import suppress
from pathlib import Path
from typing import IO, Any

from tests.services import own_check
from tests.services.crash import Said
from tests.services.mosquitto import Mosquitto
from tests.services.postgres import free_port

HERE = Path(__file__).parent


class _Program:
    """One process of Clew's, with what it says in a file."""

    def __init__(self, url: str) -> None:
        self.url = url
        self.folder = Path(tempfile.mkdtemp(prefix="clew-crash-"))
        self._environment = {**os.environ, "CLEW_LEDGER": url}
        self._process: subprocess.Popen[bytes] | None = None

    def run(self, *command: str) -> None:
        with (self.folder / "said").open("ab") as said:
            self._process = subprocess.Popen(
                command, stdout=said, stderr=said, stdin=subprocess.DEVNULL, env=self._environment
            )

    def kill(self) -> None:
        process, self._process = self._process, None
        if process is not None:
            process.kill()
            process.wait()

    def close(self) -> None:
        self.kill()
        shutil.rmtree(self.folder, ignore_errors=True)


class _Command(_Program):
    """A `clew` command, forked from a process that has the modules loaded."""

    def __init__(self, url: str) -> None:
        super().__init__(url)
        self._runs = False
        self._nursery = subprocess.Popen(
            [sys.executable, str(HERE / "crash_nursery.py")],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=self._environment,
        )  # fmt: skip

    def run(self, *command: str) -> None:
        self._tell(json.dumps([str(self.folder / "said"), *command]))
        self._runs = True

    def _tell(self, line: str) -> None:
        assert self._nursery.stdin is not None
        assert self._nursery.stdout is not None
        self._nursery.stdin.write(line + "\n")
        self._nursery.stdin.flush()
        assert self._nursery.stdout.readline().strip().isdecimal()

    def kill(self) -> None:
        if self._runs:
            self._tell("kill")
        self._runs = False

    def close(self) -> None:
        self.kill()
        self._nursery.communicate()
        super().close()

    def mill(self) -> str:
        """A mill folder for it, made when first asked for."""
        from clew.mill import write_demo

        folder = self.folder / "mill"
        if not folder.exists():
            write_demo(folder)
        return str(folder)


class FileWay(_Program):
    """A machine appends lines to files in a folder that is watched.

    What the ledger says it has read of a file is its acknowledgement. The lines come torn: the
    last one of each write without its end.
    """

    name = "file"
    resends = False
    MOST_IN_FILE = 1_500

    def __init__(self, url: str) -> None:
        super().__init__(url)
        self.into = self.folder / "into"
        self.into.mkdir()
        self._ends: dict[str, list[tuple[int, str]]] = defaultdict(list)
        self._number, self._size, self._rows, self._torn = 0, 0, 0, b""
        self._asked_at = 0.0
        self._file: IO[bytes] | None = None

    def start(self) -> None:
        self.run(sys.executable, str(HERE / "crash_watcher.py"), self.url, str(self.into))

    def send(self, batch: list[Said]) -> None:
        data = self._torn
        if self._rows > self.MOST_IN_FILE:
            self._write(data)
            data, self._size, self._rows = b"", 0, 0
            self._number += 1
        for one in batch:
            line = json.dumps(one, ensure_ascii=False).encode() + b"\n"
            self._size += len(line)
            self._rows += 1
            self._ends[f"{self._number:05}.jsonl"].append((self._size, one["key"]))
            data += line
        cut = len(data) - len(data) % 97 if len(data) > 97 else len(data)
        self._write(data[:cut])
        self._torn = data[cut:]

    def _write(self, data: bytes) -> None:
        """Write on to the file that is open: it may have been moved, as finished, meanwhile."""
        name = f"{self._number:05}.jsonl"
        if self._file is None or Path(self._file.name).name != name:
            self._end_file()
            self._file = (self.into / name).open("ab", buffering=0)
        self._file.write(data)

    def _end_file(self) -> None:
        if self._file is not None:
            self._file.close()
        self._file = None

    def close(self) -> None:
        self._end_file()
        super().close()

    def acknowledged(self) -> list[str]:
        if time.monotonic() - self._asked_at < 0.02:
            return []
        self._asked_at = time.monotonic()
        if self._torn:
            self._write(self._torn)
            self._torn = b""
        try:
            read = own_check.ask(self.url, "SELECT path, bytes_read FROM file_read")
        except Exception:  # the server may just be down
            return []
        found = []
        for path, bytes_read in read:
            ends = self._ends.get(Path(path).name, [])
            while ends and ends[0][0] <= bytes_read:
                found.append(ends.pop(0)[1])
        return found


class HttpWay(_Command):
    """Senders that post to `clew serve`, each on a connection of its own."""

    name = "http"
    resends = True
    SENDERS = 3

    def __init__(self, url: str) -> None:
        super().__init__(url)
        self.port = free_port()
        self._out: queue.Queue[list[Said] | None] = queue.Queue()
        self._heard: queue.Queue[str] = queue.Queue()
        self._threads: list[threading.Thread] = []
        self._down = threading.Event()
        self.answers: set[int] = set()

    def start(self) -> None:
        self._down.clear()
        self.run("serve", "--mill", self.mill(), "--port", str(self.port))
        for _ in range(self.SENDERS):
            thread = threading.Thread(target=self._post, daemon=True)
            thread.start()
            self._threads.append(thread)

    def _post(self) -> None:
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        while (batch := self._out.get()) is not None:
            while not self._down.is_set():
                try:
                    line.request(
                        "POST", "/api/events", json.dumps(batch),
                        {"Content-Type": "application/json"},
                    )  # fmt: skip
                    answer = line.getresponse()
                    body = answer.read()
                except (OSError, http.client.HTTPException):
                    line.close()
                    time.sleep(0.02)
                    continue
                self.answers.add(answer.status)
                if answer.status == 200:
                    self._hear(batch, json.loads(body))
                    break
                time.sleep(0.02)
        line.close()

    def _hear(self, batch: list[Said], answer: dict[str, Any]) -> None:
        for one, what in zip(batch, answer["events"], strict=True):
            if what["outcome"] in ("kept", "already"):
                self._heard.put(one["key"])

    def send(self, batch: list[Said]) -> None:
        self._out.put(batch)

    def acknowledged(self) -> list[str]:
        found = []
        while not self._heard.empty():
            found.append(self._heard.get())
        return found

    def kill(self) -> None:
        super().kill()
        self._down.set()
        while not self._out.empty():  # what was not sent is sent again
            with suppress(queue.Empty):
                self._out.get_nowait()
        for _ in self._threads:
            self._out.put(None)
        for thread in self._threads:
            thread.join()
        self._threads = []

    def close(self) -> None:
        self.kill()
        super().close()


class MqttWay(_Command):
    """A machine that publishes to a broker, to which `clew ledger mqtt` listens.

    The broker's acknowledgement binds it to deliver until Clew acknowledges; the machine never
    sends again by itself. So whatever Clew acknowledged too early is missing at the end.
    """

    name = "mqtt"
    resends = False
    NOBODY_LISTENS = 0x10

    def __init__(self, url: str) -> None:
        from paho.mqtt.client import Client
        from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion

        super().__init__(url)
        self.broker = Mosquitto(self.folder, "autosave_on_changes false")
        self.broker.start()
        self._heard: queue.Queue[tuple[int, int]] = queue.Queue()
        self._sent: dict[int, tuple[str, list[Said]]] = {}
        self._client = Client(
            CallbackAPIVersion.VERSION2, client_id="scale", protocol=MQTTProtocolVersion.MQTTv5
        )
        self._client.max_inflight_messages_set(500)
        self._client.on_publish = self._published
        self._client.connect("127.0.0.1", self.broker.port)
        self._client.loop_start()

    def start(self) -> None:
        self.run("ledger", "mqtt", "--mill", self.mill(), "--broker", self.broker.url)

    def send(self, batch: list[Said]) -> None:
        by_line: dict[str, list[Said]] = defaultdict(list)
        for one in batch:
            by_line[one["line"]].append(one)
        for line, messages in by_line.items():
            self._publish(f"clew/1/{line}/scale", messages)

    def _publish(self, topic: str, messages: list[Said]) -> None:
        told = self._client.publish(topic, json.dumps(messages), qos=1)
        self._sent[told.mid] = topic, messages

    def _published(self, _c: Any, _data: Any, number: int, reason: Any, _properties: Any) -> None:
        self._heard.put((number, reason.value))

    def acknowledged(self) -> list[str]:
        found = []
        while not self._heard.empty():
            number, reason = self._heard.get()
            topic, messages = self._sent.pop(number)
            if reason == self.NOBODY_LISTENS:  # before the very first listener: not held
                self._publish(topic, messages)
            else:
                found += [one["key"] for one in messages]
        return found

    def close(self) -> None:
        self.kill()
        self._client.disconnect()
        self._client.loop_stop()
        self.broker.stop()
        super().close()
