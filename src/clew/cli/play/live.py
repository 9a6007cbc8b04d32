"""Workbench, watched folder and a line that plays, each a process of its own, ended together."""

from __future__ import annotations

import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from types import FrameType

from clew.faults import BadInput, Fault

HOST = "127.0.0.1"
PAST_MINUTES = 120.0
"""Minutes of the shift that are played fast, until the shift has caught up with the clock."""
_OPENS_S, _ENDS_S, _LOOK_S = 60.0, 10.0, 0.3

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Play:
    """What is played.

    Attributes
    ----------
    folder : Path
        Folder of the mill.
    port : int
        Port of the workbench; 0 for any.
    watched : str
        Name of the watched folder in it.
    speed : float
        Seconds of the shift in a second, for the hours past [1].
    seed : int
        Which shift.
    share : float
        Of the messages, that are late; as many doubled, out of order, lost [1].
    """

    folder: Path
    port: int
    watched: str
    speed: float
    seed: int
    share: float


def play_live(play: Play, say: Say) -> None:
    """Start all, say where to look, and stay until Ctrl-C.

    Parameters
    ----------
    play : Play
        What is played.
    say : callable
        Prints a line.

    Raises
    ------
    BadInput
        When the workbench does not open.
    """
    port = play.port or _free_port()
    address = f"http://{HOST}:{port}"
    with _children() as start, _ctrl_c_for_both():
        workbench = start(["clew.cli", "serve", "--mill", str(play.folder), "--port", str(port)])
        _wait_open(workbench, port)
        for words in _where(address):
            say(words)
        watch = start(["clew.cli", "ledger", "watch", "--mill", str(play.folder)])
        player = start(_player(play, address), shown=True)
        if play.speed > 1.0:
            say(f"The line plays the last {PAST_MINUTES:.0f} minutes in "
                f"{60.0 * PAST_MINUTES / play.speed:.0f} s, and then goes on as the clock does. "
                "Until then page Run\nsays that it has been silent. A few minutes later a hand "
                "puts up a cone of another dye lot.")  # fmt: skip
        ended: set[int] = set()
        try:
            while workbench.poll() is None:
                for child, words in (
                    (watch, "The watched folder is not looked at any more; what the scale wrote "
                            "waits in it."),
                    (player, "The shift is over; the workbench stays open until Ctrl-C."),
                ):  # fmt: skip
                    if child.pid not in ended and child.poll() is not None:
                        ended.add(child.pid)
                        say(words)
                time.sleep(_LOOK_S)
        except KeyboardInterrupt:
            say("\nEnding.")
            return
        raise BadInput(Fault("the workbench ended by itself", "see what it said above"))


def _where(address: str) -> tuple[str, ...]:
    return (
        "The workbench is open; Ctrl-C ends all of it. Look at",
        f"  {address}/run       the line as it runs, and what wants a hand",
        f"  {address}/run/hand  the buttons of the hands",
        f"  {address}/trace     which cones a ball is of, and which balls are of a cone",
        f"  {address}/lots      whether the lot may go",
    )


def _player(play: Play, address: str) -> list[str]:
    past = ["--minutes", f"{PAST_MINUTES:g}", "--go-on"] if play.speed > 1.0 else []
    return [
        "clew.cli.play", "--to", address, "--mill", str(play.folder), "--folder",
        str(play.folder / play.watched), "--speed", f"{play.speed:g}", "--seed", str(play.seed),
        "--unruly", f"{play.share:g}", *past,
    ]  # fmt: skip


Start = Callable[..., "subprocess.Popen[bytes]"]


@contextmanager
def _children() -> Iterator[Start]:
    """Start processes, and end them in the end, the last one first."""
    running: list[subprocess.Popen[bytes]] = []

    def start(module: Sequence[str], *, shown: bool = False) -> subprocess.Popen[bytes]:
        child = subprocess.Popen(
            [sys.executable, "-m", *module],
            stdin=subprocess.DEVNULL,
            stdout=None if shown else subprocess.DEVNULL,
            start_new_session=True,  # Ctrl-C reaches this process alone, which ends them in order
        )
        running.append(child)
        return child

    try:
        yield start
    finally:
        for child in reversed(running):
            _end(child)


def _end(child: subprocess.Popen[bytes]) -> None:
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGKILL):
        if child.poll() is not None:
            return
        child.send_signal(number)
        try:
            child.wait(_ENDS_S)
        except subprocess.TimeoutExpired:
            continue


@contextmanager
def _ctrl_c_for_both() -> Iterator[None]:
    """Take a plain request to end as Ctrl-C."""

    def interrupt(_number: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, interrupt)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _free_port() -> int:
    with socket.socket() as door:
        door.bind((HOST, 0))
        return int(door.getsockname()[1])


def _wait_open(workbench: subprocess.Popen[bytes], port: int) -> None:
    """Wait until the workbench answers."""
    upto_s = time.monotonic() + _OPENS_S
    while time.monotonic() < upto_s:
        if workbench.poll() is not None:
            raise BadInput(Fault("the workbench did not open", "see what it said above"))
        connection = HTTPConnection(HOST, port, timeout=5.0)
        try:
            connection.request("GET", "/openapi.json")
            if connection.getresponse().status == 200:
                return
        except (OSError, HTTPException):
            pass
        finally:
            connection.close()
        time.sleep(0.1)
    raise BadInput(Fault("the workbench did not open", f"an answer within {_OPENS_S:.0f} s"))
