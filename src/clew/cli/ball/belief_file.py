"""Reading a saved belief off its file."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

from clew.ball.first.belief import Belief
from clew.faults import BadInput, Fault

LARGEST_BYTES = 20_000_000


def read_belief(path: Path) -> Belief:
    """Read a belief that ``clew ball first-balls --save`` wrote.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Belief
        The belief.

    Raises
    ------
    BadInput
        When the file cannot be read or is no belief, each fault with the file's name.
    """
    file, expected = str(path), "a belief that --save wrote"
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise BadInput(Fault("too large a file", expected, file=file))
        plain = json.loads(path.read_bytes().decode("utf-8-sig"))
        return Belief.from_plain(plain)
    except OSError as error:
        raise BadInput(
            Fault("cannot be read", expected, file=file, value=str(error.strerror))
        ) from None
    except (ValueError, RecursionError):  # no UTF-8, no JSON, or nested and figured without end
        raise BadInput(Fault("not JSON", expected, file=file)) from None
    except BadInput as bad:
        raise BadInput(replace(fault, file=file) for fault in bad.faults) from None
