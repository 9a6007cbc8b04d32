"""Serving the workbench: on this machine, or to others who sign in."""

from __future__ import annotations

import ipaddress
import socket
import ssl
from dataclasses import dataclass
from pathlib import Path

from clew.faults import BadInput, Fault

HOST = "127.0.0.1"
PORT = 8340
_LAST_S = 3
"""How long answers that are being given may still take when the workbench is stopped [s]."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where the workbench is served, and to whom.

    Attributes
    ----------
    host : str
        Address to listen on; this machine alone unless told otherwise.
    port : int
        Port to listen on; 0 for any that is free.
    cert, key : Path or None
        Certificate and its key, for TLS.
    proxies : tuple of str
        Addresses or networks of proxies whose word on scheme and reader is taken.
    names : tuple of str
        Host names to answer to, beside bare addresses and this machine's own name.
    """

    host: str = HOST
    port: int = PORT
    cert: Path | None = None
    key: Path | None = None
    proxies: tuple[str, ...] = ()
    names: tuple[str, ...] = ()

    @property
    def sign_in(self) -> bool:
        """Whether readers must sign in: wherever others than this machine can ask."""
        return bool(self.proxies) or not is_loopback(self.host)

    @property
    def scheme(self) -> str:
        """How this process itself is asked."""
        return "http" if self.cert is None else "https"


def is_loopback(host: str) -> bool:
    """Say whether an address is one at which only this machine asks."""
    if host.lower() == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def hosts_of(place: Place) -> tuple[str, ...]:
    """Name the hosts that the workbench answers to at a place.

    Parameters
    ----------
    place : Place
        Where it is served.

    Returns
    -------
    tuple of str
        At this machine alone its own names; elsewhere bare addresses too, this machine's name,
        the one that is listened on and those that were given.
    """
    from clew.web.door.guard import ANY_ADDRESS, LOOPBACK

    if not place.sign_in:
        return (*LOOPBACK, *place.names)
    own = socket.gethostname().lower()
    return (*LOOPBACK, ANY_ADDRESS, own, f"{own}.local", place.host.lower(), *place.names)


def check_place(place: Place, *, anybody: bool) -> tuple[str, ...]:
    """Refuse a place at which the workbench would stand open, and say what is to be minded.

    Parameters
    ----------
    place : Place
        Where it is to be served.
    anybody : bool
        Whether there is anybody who may sign in.

    Returns
    -------
    tuple of str
        Warnings.

    Raises
    ------
    BadInput
        For a key without its certificate, one that cannot be used, a proxy that is no address, or
        a place where readers sign in while there is nobody who could.
    """
    faults = []
    if (place.cert is None) != (place.key is None):
        faults.append(Fault("certificate and key go together", "--cert and --key, or neither"))
    for proxy in place.proxies:
        try:
            ipaddress.ip_network(proxy, strict=False)
        except ValueError:
            faults.append(
                Fault("no address of a proxy", "such as 127.0.0.1 or 10.0.0.0/24",
                      key="--behind-proxy", value=repr(proxy)[:60])
            )  # fmt: skip
    if place.sign_in and not anybody:
        faults.append(
            Fault(
                "nobody may sign in yet, and readers must where others than this machine can ask",
                "clew ledger user add NAME --role lead",
                key="--behind-proxy" if place.proxies else "--host",
                value=", ".join(place.proxies) or place.host,
            )
        )
    if faults:
        raise BadInput(faults)
    if place.cert is not None and place.key is not None:
        _tls(place)
    if place.sign_in and place.cert is None and not place.proxies:
        return (
            "without TLS whoever is on the same network can read passwords and change what is "
            "entered; give --cert and --key, or serve behind a proxy that has them",
        )
    return ()


def _tls(place: Place) -> ssl.SSLContext:
    """Make TLS 1.2 or newer of a certificate and its key."""
    assert place.cert is not None and place.key is not None
    for path in (place.cert, place.key):
        if not path.is_file():
            raise BadInput(Fault("no such file", "a file in PEM form", file=str(path)))
    made = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    made.minimum_version = ssl.TLSVersion.TLSv1_2
    try:
        made.load_cert_chain(place.cert, place.key, password=lambda: "")
    except (OSError, ValueError) as error:
        raise BadInput(
            Fault(
                "certificate and key cannot be used",
                "a pair in PEM form, the key without a password",
                file=f"{place.cert}, {place.key}",
                value=str(error)[:80],
            )
        ) from None
    return made


def _listen(place: Place) -> socket.socket:
    family = socket.AF_INET6 if ":" in place.host else socket.AF_INET
    # the protocol is named, for only then does asyncio send small answers without waiting 40 ms
    door = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        door.bind((place.host, place.port))
        door.listen()  # so that whoever reads the address below is let in at once
    except OSError as error:
        door.close()
        raise BadInput(
            Fault(
                "cannot listen there",
                expected="a free port of this machine, by --port",
                key="port",
                value=f"{place.host}:{place.port}, {error.strerror}",
            )
        ) from None
    return door


def serve(
    mill_folder: Path, place: Place | None = None, *, host: str = HOST, port: int = PORT
) -> None:
    """Serve the workbench until it is stopped.

    Parameters
    ----------
    mill_folder : Path
        Folder that holds mill.toml.
    place : Place, optional
        Where and to whom; seen to by `check_place`.
    host, port : str, int
        The place where none is given.

    Raises
    ------
    BadInput
        When the port is taken or the address is not this machine's.
    """
    import uvicorn

    from clew.web.app import create_app

    place = place or Place(host, port)
    door = _listen(place)
    shown = f"[{place.host}]" if ":" in place.host else place.host
    print(f"The workbench is open at {place.scheme}://{shown}:{door.getsockname()[1]}/", flush=True)
    if place.sign_in:
        print("Readers sign in; machines send a token.", flush=True)
    print("Stop it with Ctrl+C.", flush=True)
    app = create_app(mill_folder, hosts=hosts_of(place), sign_in=place.sign_in, warmed=True)

    class Server(uvicorn.Server):
        async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
            app.state.bench.closing = True  # pages that follow the line would never be done
            await super().shutdown(sockets)

    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        # the word of a proxy that was not named is not taken for anything
        proxy_headers=bool(place.proxies),
        forwarded_allow_ips=",".join(place.proxies) or None,
        timeout_graceful_shutdown=_LAST_S,
        ssl_certfile=place.cert,
        ssl_keyfile=place.key,
        ssl_context_factory=None if place.cert is None else lambda _config, _made: _tls(place),
    )
    try:
        Server(config).run(sockets=[door])
    except KeyboardInterrupt:
        pass
    finally:
        door.close()
    print("The workbench is closed.", flush=True)
