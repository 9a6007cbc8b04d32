"""Whether a file of weighings writes times of day."""

from __future__ import annotations

import re
from pathlib import Path

_CLOCK = re.compile(r"\d:\d\d")


def tells_clocks(path: Path) -> bool:
    """Look at a file's first rows for a time of day, rather than seconds from any start.

    Parameters
    ----------
    path : Path
        A file of weighings.

    Returns
    -------
    bool
        Whether one stands there.
    """
    with path.open(encoding="utf-8-sig", errors="replace") as file:
        head = [file.readline(4096) for _ in range(3)]
    return any(_CLOCK.search(line) for line in head)
