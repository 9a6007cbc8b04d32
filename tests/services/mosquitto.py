"""A real broker: mosquitto in a temporary folder, on a free port of this machine only.

It can be stopped, killed and started again with the same port and the same sessions.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

STARTS_WITHIN_S = 20.0
MISSING = "mosquitto is not installed: apt-get install mosquitto mosquitto-clients"


def binary() -> str | None:
    """Path of the broker; None where it is not installed."""
    return shutil.which("mosquitto", path=f"{os.environ.get('PATH', '')}:/usr/sbin:/usr/local/sbin")


def free_port() -> int:
    """A TCP port of this machine that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Mosquitto:
    """A broker of our own.

    Parameters
    ----------
    folder : Path
        Where its settings and its sessions are.
    more : str
        Further lines of its settings.
    """

    def __init__(self, folder: Path, more: str = "") -> None:
        found = binary()
        if found is None:
            raise FileNotFoundError(MISSING)
        self.bin = found
        self.folder = folder
        self.more = more
        self.port = free_port()
        self.server: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        """Its address."""
        return f"mqtt://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start it, and wait until it answers."""
        settings = [
            f"listener {self.port} 127.0.0.1", "allow_anonymous true", "persistence true",
            f"persistence_location {self.folder}/", "autosave_interval 1",
            "max_inflight_messages 1000", "max_queued_messages 0",
            "log_dest stderr", self.more,
        ]  # fmt: skip
        if os.geteuid() == 0:
            settings.append("user root")
        config = self.folder / "mosquitto.conf"
        config.write_text("\n".join(settings) + "\n", encoding="utf-8")
        with (self.folder / "log").open("ab") as log:
            self.server = subprocess.Popen(
                [self.bin, "-c", str(config)], stdout=log, stderr=log, stdin=subprocess.DEVNULL,
                start_new_session=True,
            )  # fmt: skip
        deadline = time.monotonic() + STARTS_WITHIN_S
        while time.monotonic() < deadline and self.server.poll() is None:
            with contextlib.suppress(OSError):
                socket.create_connection(("127.0.0.1", self.port), timeout=1.0).close()
                return
            time.sleep(0.02)
        log_text = (self.folder / "log").read_text(errors="replace")[-2000:]
        raise RuntimeError(f"mosquitto did not start:\n{log_text}")

    def stop(self, how: signal.Signals = signal.SIGTERM) -> None:
        """Stop it: SIGTERM writes its sessions first, SIGKILL is a crash."""
        server, self.server = self.server, None
        if server is not None:
            server.send_signal(how)
            server.wait(20)

    def publish(self, topic: str, lines: list[str], *, version: str = "5", qos: int = 1) -> None:
        """Publish each line as a message with mosquitto's own client."""
        name = {"5": "mqttv5", "3.1.1": "mqttv311"}[version]
        subprocess.run(
            [
                "mosquitto_pub", "-h", "127.0.0.1", "-p", str(self.port), "-V", name,
                "-q", str(qos), "-t", topic, "-l",
            ],
            input="".join(f"{one}\n" for one in lines).encode(), check=True, timeout=60,
        )  # fmt: skip


@contextlib.contextmanager
def running_mosquitto(folder: Path, more: str = "") -> Iterator[Mosquitto]:
    """A broker that runs, until the end of the block."""
    broker = Mosquitto(folder, more)
    try:
        broker.start()
        yield broker
    finally:
        broker.stop()


@pytest.fixture
def mosquitto(tmp_path: Path) -> Iterator[Mosquitto]:
    """A broker without any session."""
    if binary() is None or shutil.which("mosquitto_pub") is None:
        pytest.skip(MISSING)
    folder = tmp_path / "mosquitto"
    folder.mkdir()
    with running_mosquitto(folder) as broker:
        yield broker
