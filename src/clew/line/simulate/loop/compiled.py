"""The loop as it is compiled once and kept for the next run."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from clew.line.simulate import records
from clew.line.simulate.loop.shift import run_shift
from clew.line.simulate.loop.states import RING_FULL, SOUND
from clew.line.simulate.records import LineRecord, NowRecord


def fingerprint() -> str:
    """Hash the files that the loop is made of."""
    made_of = [*sorted(Path(__file__).parent.glob("*.py")), Path(records.__file__)]
    return hashlib.sha256(b"".join(one.read_bytes() for one in made_of)).hexdigest()


def _compiled(made_of: str) -> Any:
    """Compile for the files as they are.

    The compiler's cache knows this file and what its function closes over, and would not see a
    change in the files beside it. So the function closes over their hash.
    """

    @njit(cache=True, nogil=True)
    def run(
        line: LineRecord,
        lanes: NDArray[np.void],
        hands: NDArray[np.void],
        now: NowRecord,
        tallies: NDArray[np.void],
        hand_tallies: NDArray[np.void],
        rows: NDArray[np.void],
        seed: int,
        first: int,
    ) -> int:
        fault = SOUND if len(made_of) > 0 else RING_FULL
        for one in range(tallies.shape[0]):
            fault = run_shift(
                line, lanes, hands, now, tallies[one], hand_tallies[one], rows, seed, first + one
            )
            if fault != SOUND:
                break
        return int(fault)

    return run


run_shifts = _compiled(fingerprint())
"""Run as many shifts as there are rows of tallies, from replication `first` on; see `run_shift`."""
