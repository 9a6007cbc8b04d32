"""A process that has Clew's modules loaded and brings forth `clew` commands, to be killed.

Starting Python takes longer than all else in a round, so the commands are forked from here, and
run from `main` on as ever. A line of JSON on its input starts one; `kill` kills it.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import traceback


def main() -> None:
    """Bring forth and kill, as told."""
    import alembic.command
    import paho.mqtt.client
    import psycopg
    import sqlalchemy.dialects.postgresql
    import uvicorn

    import clew.cli.ledger.mqtt
    import clew.cli.serve
    import clew.ledger.ingest.mqtt
    import clew.ledger.store.opening
    import clew.web.app
    import clew.web.serve  # noqa: F401
    from clew.cli.main import main as clew_command

    assert alembic and paho and psycopg and sqlalchemy and uvicorn
    child = 0
    for line in sys.stdin:
        if line.strip() == "kill":
            os.kill(child, signal.SIGKILL)
            _, status = os.waitpid(child, 0)
            print(status, flush=True)
            continue
        arguments = json.loads(line)
        child = os.fork()
        if child == 0:
            _be(clew_command, arguments)
        print(child, flush=True)


def _be(clew_command: object, arguments: list[str]) -> None:
    """Be that command, and nothing else, until the end."""
    try:
        said = os.open(arguments.pop(0), os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        os.dup2(said, 1)
        os.dup2(said, 2)
        sys.argv = ["clew", *arguments]
        assert callable(clew_command)
        clew_command()
    except BaseException:
        traceback.print_exc()
    os._exit(3)


if __name__ == "__main__":
    main()
