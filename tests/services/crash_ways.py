"""The paths into the ledger, each with the process that is killed."""

from __future__ import annotations

import json
import queue
import subprocess
import sys
import threading
from contextlib import suppress
from pathlib import Path

from tests.services.crash import Said

HERE = Path(__file__).parent


class DirectWay:
    """Two processes that call `append` themselves, on one ledger at once."""

    name = "direct"
    resends = True

    def __init__(self, url: str, *, early: bool = False) -> None:
        self._command = [sys.executable, str(HERE / "crash_victim.py"), url]
        if early:
            self._command.append("early")
        self._procs: list[subprocess.Popen[bytes]] = []
        self._queues: list[queue.Queue[bytes | None]] = []
        self._heard: queue.Queue[str] = queue.Queue()
        self._threads: list[threading.Thread] = []
        self._turn = 0

    def start(self) -> None:
        for _ in range(2):
            process = subprocess.Popen(
                self._command,
                stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
            )  # fmt: skip
            out: queue.Queue[bytes | None] = queue.Queue()
            self._procs.append(process)
            self._queues.append(out)
            for work in (self._feed, self._listen):
                thread = threading.Thread(target=work, args=(process, out), daemon=True)
                thread.start()
                self._threads.append(thread)

    def _feed(self, process: subprocess.Popen[bytes], out: queue.Queue[bytes | None]) -> None:
        assert process.stdin is not None
        try:
            while (line := out.get()) is not None:
                process.stdin.write(line)
                process.stdin.flush()
            process.stdin.close()
        except OSError:
            pass  # it was killed; what it did not acknowledge is sent again

    def _listen(self, process: subprocess.Popen[bytes], _out: object) -> None:
        assert process.stdout is not None
        for line in process.stdout:
            if line.endswith(b"\n"):
                for key in line.decode().split():
                    self._heard.put(key)

    def kill(self) -> None:
        for process in self._procs:
            process.kill()
        self._end()

    def _end(self) -> None:
        for out in self._queues:
            out.put(None)
        for process in self._procs:
            process.wait()
        for thread in self._threads:
            thread.join()  # all that was acknowledged has been heard
        for process in self._procs:
            for pipe in (process.stdin, process.stdout):
                if pipe is not None:
                    with suppress(OSError):
                        pipe.close()
        self._procs, self._queues, self._threads = [], [], []

    def send(self, batch: list[Said]) -> None:
        self._turn += 1
        self._queues[self._turn % 2].put(json.dumps(batch).encode() + b"\n")

    def acknowledged(self) -> list[str]:
        found = []
        while not self._heard.empty():
            found.append(self._heard.get())
        return found

    def close(self) -> None:
        self._end()
