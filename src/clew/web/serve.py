"""Serving the workbench on this machine."""

from __future__ import annotations

from pathlib import Path

from clew.faults import BadInput, Fault

HOST = "127.0.0.1"
PORT = 8340


def serve(mill_folder: Path, *, host: str = HOST, port: int = PORT) -> None:
    """Serve the workbench until it is stopped.

    Parameters
    ----------
    mill_folder : Path
        Folder that holds mill.toml.
    host : str
        Address to listen on; this machine alone unless told otherwise.
    port : int
        Port to listen on.

    Raises
    ------
    BadInput
        When the port is taken or the address is not this machine's.
    """
    import socket

    import uvicorn

    from clew.web.app import create_app
    from clew.web.guard import LOOPBACK

    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    door = socket.socket(family, socket.SOCK_STREAM)
    door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        door.bind((host, port))
        door.listen()  # so that whoever reads the address below is let in at once
    except OSError as error:
        door.close()
        raise BadInput(
            Fault(
                "cannot listen there",
                expected="a free port of this machine, by --port",
                key="port",
                value=f"{host}:{port}, {error.strerror}",
            )
        ) from None
    shown = f"[{host}]" if ":" in host else host
    hosts = LOOPBACK if host in ("127.0.0.1", "::1", "localhost") else ("*",)
    print(f"The workbench is open at http://{shown}:{door.getsockname()[1]}/", flush=True)
    print("Stop it with Ctrl+C.", flush=True)
    config = uvicorn.Config(
        create_app(mill_folder, hosts=hosts),
        log_level="warning",
        access_log=False,
        server_header=False,
    )
    try:
        uvicorn.Server(config).run(sockets=[door])
    except KeyboardInterrupt:
        pass
    finally:
        door.close()
    print("The workbench is closed.", flush=True)
