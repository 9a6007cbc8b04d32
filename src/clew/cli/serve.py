"""`clew serve`: the workbench, on this machine, or for others who sign in."""

from __future__ import annotations

from contextlib import closing, suppress
from pathlib import Path

import click

from clew.cli.options import mill_folder

_FILE = click.Path(path_type=Path, dir_okay=False)


@click.command()
@mill_folder
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="Address to listen on; on any other than this machine's own, readers sign in.",
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8340,
    show_default=True,
    help="Port; 0 for any that is free.",
)
@click.option("--cert", type=_FILE, help="Certificate for TLS, with its chain, in PEM form.")
@click.option("--key", type=_FILE, help="The certificate's key, in PEM form.")
@click.option(
    "--behind-proxy",
    "proxies",
    multiple=True,
    metavar="ADDRESS",
    help="A proxy that readers come through; may be given several times. Its word on their "
    "address and on TLS is taken, nobody else's.",
)
@click.option(
    "--name",
    "names",
    multiple=True,
    metavar="HOST",
    help="A host name to answer to; may be given several times.",
)
def serve(
    mill_folder: Path, host: str, port: int, cert: Path | None, key: Path | None,
    proxies: tuple[str, ...], names: tuple[str, ...],
) -> None:  # fmt: skip
    """Open the workbench in a browser on this machine. Ctrl-C stops it.

    On this machine nobody signs in. On any other address, or behind a proxy, readers sign in with
    a name and a password (clew ledger user add), and machines send a token (clew ledger token
    add).
    """
    from clew.ball.mill_checks import MILL_CHECKS
    from clew.mill import read_mill
    from clew.web.serve import Place, check_place
    from clew.web.serve import serve as open_workbench

    read_mill(mill_folder, MILL_CHECKS)
    place = Place(host, port, cert, key, proxies, names)
    for warning in check_place(place, anybody=place.sign_in and _anybody(mill_folder)):
        click.echo(f"clew: {warning}", err=True)
    _warn_of_loss(mill_folder)
    open_workbench(mill_folder, place)


def _anybody(folder: Path) -> bool:
    """Say whether anybody may sign in; a ledger that is not there yet holds nobody."""
    from clew.cli.ledger.people_terms import opened_ledger
    from clew.faults import BadInput
    from clew.ledger.people.people import is_anybody

    try:
        with opened_ledger(folder, make=False) as ledger:
            return is_anybody(ledger)
    except BadInput as bad:
        if bad.faults[0].what == "there is no ledger yet":
            return False
        raise


def _warn_of_loss(folder: Path) -> None:
    """Say that the ledger's server does not wait for its disk; what else is amiss pages say."""
    from clew.cli.ledger.mill_ledger import ledger_url, warn_of_loss
    from clew.faults import BadInput
    from clew.ledger.store.opening import open_ledger
    from clew.ledger.store.trouble import CannotKeep
    from clew.mill import read_mill

    url = ledger_url(read_mill(folder), folder)
    if url.startswith("sqlite"):
        return
    with suppress(BadInput, CannotKeep), closing(open_ledger(url, make=False)) as ledger:
        warn_of_loss(ledger)
