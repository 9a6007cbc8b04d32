"""A workbench with a shift in its ledger, that a test may stop and start again on the same port."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import urllib.request
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from clew.cli.play.shift_script import shift_script
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.store.opening import open_ledger, url_of
from clew.mill import write_demo

STARTS_WITHIN_S = 60


class LineServer:
    """`clew serve` on a mill whose line has run for a while.

    Parameters
    ----------
    folder : Path
        An empty folder for the mill.
    minutes : float
        How long the line has run [min].
    """

    def __init__(self, folder: Path, minutes: float = 30.0) -> None:
        self.folder = folder
        write_demo(folder)
        start = datetime.now(UTC) - timedelta(minutes=minutes)
        told = list(shift_script(start=start, minutes=minutes).messages)
        ledger = open_ledger(url_of(folder))
        for first in range(0, len(told), 500):
            ledger.append([read_message(one, Sender("demo")) for one in told[first : first + 500]])
        ledger.close()
        self.port = 0
        self.address = ""
        self._server: subprocess.Popen[str] | None = None

    def start(self) -> None:
        """Open the workbench."""
        self._server = subprocess.Popen(
            [sys.executable, "-m", "clew.cli", "serve", "--mill", str(self.folder),
             "--port", str(self.port)],
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1"}, start_new_session=True,
        )  # fmt: skip
        assert self._server.stdout is not None
        said = []
        for line in self._server.stdout:
            said.append(line)
            found = re.search(r"http://127\.0\.0\.1:(\d+)", line)
            if found:
                self.port, self.address = int(found[1]), found[0]
                return
        raise AssertionError("the workbench did not start:\n" + "".join(said))

    def stop(self) -> None:
        """Close it, as a power cut would."""
        if self._server is not None:
            os.killpg(self._server.pid, signal.SIGKILL)
            self._server.communicate(timeout=STARTS_WITHIN_S)
            self._server = None

    def tell(self, **said: Any) -> dict[str, Any]:
        """Send one message as a machine would."""
        body = {"line": "Line 1", "at": datetime.now(UTC).isoformat(), **said}
        request = urllib.request.Request(
            f"{self.address}/api/events",
            data=json.dumps(body).encode(),
            headers={"Content-Type": "application/json"},
        )
        with urllib.request.urlopen(request, timeout=STARTS_WITHIN_S) as answer:
            found: dict[str, Any] = json.loads(answer.read())
        return found
