"""Writing the demo mill into a folder: a mill file to start from, and the first balls of a lot."""

from __future__ import annotations

import os
from pathlib import Path

from clew.faults import BadInput, Fault

DEMO_FILES = (
    "mill.toml",
    "first-balls.csv",
    "line_events.csv",
    "shift-weighings.csv",
    "shade-readings.csv",
    "orders.csv",
)


def demo_text(name: str) -> str:
    """Read a file of the demo mill as it is shipped.

    Parameters
    ----------
    name : str
        One of `DEMO_FILES`.

    Returns
    -------
    str
        Its text.
    """
    from importlib import resources

    return resources.files("clew.mill").joinpath("demo", name).read_text(encoding="utf-8")


def write_demo(folder: Path) -> list[Path]:
    """Write the demo mill into a folder.

    Parameters
    ----------
    folder : Path
        The folder; made when it is not there.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    BadInput
        When one of the files is there already, or the folder cannot be written to. Nothing is
        left half written.
    """
    targets = [folder / name for name in DEMO_FILES]
    try:
        there = [target for target in targets if os.path.lexists(target)]
        if there:
            raise BadInput(
                Fault("there already", "a folder without it", str(target)) for target in there
            )
        folder.mkdir(parents=True, exist_ok=True)
        _write_all(folder, targets)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "not a name"
        raise BadInput(
            Fault("cannot be written", "a folder that can be written to", str(folder), value=reason)
        ) from None
    return targets


def _write_all(folder: Path, targets: list[Path]) -> None:
    """Write beside the targets first; take their names only when every one is whole."""
    from tempfile import TemporaryDirectory

    with TemporaryDirectory(prefix=".demo-", dir=folder) as beside:
        for target in targets:
            with (Path(beside) / target.name).open("w", encoding="utf-8", newline="\n") as stream:
                stream.write(demo_text(target.name))
                stream.flush()
                os.fsync(stream.fileno())
        placed: list[Path] = []
        try:
            for target in targets:
                (Path(beside) / target.name).rename(target)
                placed.append(target)
        except OSError:
            for target in placed:
                target.unlink()
            raise
