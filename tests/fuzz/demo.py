"""The demo mill, for targets that need one: its value, its files, a ledger with a day in it."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

from clew.mill.model import Mill


@cache
def scratch() -> Path:
    """A folder of this process, taken away at its end."""
    folder = Path(tempfile.mkdtemp(prefix="clew-fuzz-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


@cache
def demo_folder() -> Path:
    """A demo mill."""
    from clew.mill import write_demo

    write_demo(scratch() / "demo")
    return scratch() / "demo"


@cache
def demo_mill() -> Mill:
    """What its mill file says."""
    from clew.mill import read_mill

    return read_mill(demo_folder())


def demo_file(name: str, rows: int = 12) -> bytes:
    """The heading and the first rows of one of its files."""
    lines = (demo_folder() / name).read_bytes().splitlines(keepends=True)
    return b"".join(lines[: rows + 1])


def as_file(
    ending: str, use: Callable[[Path], object], head: str = "input"
) -> Callable[[bytes], None]:
    """Make of a reader of files one that is fed bytes."""

    def fed(data: bytes) -> None:
        path = scratch() / f"{head}{ending}"
        path.write_bytes(data)
        use(path)

    return fed
