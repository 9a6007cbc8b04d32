"""What the tests of sweeps share: functions to sweep, importable here and in other processes."""

from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

HERE = Path(__file__).parent

if str(HERE) not in sys.path:
    sys.path.append(str(HERE))


@pytest.fixture(scope="session")
def elsewhere() -> dict[str, str]:
    """Environment in which another process finds the swept functions."""
    paths = [str(HERE), os.environ.get("PYTHONPATH", "")]
    return os.environ | {"PYTHONPATH": os.pathsep.join(path for path in paths if path)}


@pytest.fixture
def calls(tmp_path: Path) -> Path:
    """Folder in which each call of a swept function leaves a file."""
    folder = tmp_path / "calls"
    folder.mkdir()
    return folder


def calls_by_point(folder: Path) -> Counter[tuple[float, int]]:
    """Count the calls at each point, whoever made them."""
    parts = (path.name.split() for path in folder.iterdir())
    return Counter((float(feed), int(hands)) for feed, hands, _, _ in parts)


def calls_by_process(folder: Path) -> Counter[int]:
    """Count the calls of each process."""
    return Counter(int(path.name.split()[2]) for path in folder.iterdir())


StartProgram = Callable[..., "subprocess.Popen[str]"]


@pytest.fixture
def start_program(elsewhere: dict[str, str]) -> StartProgram:
    """Start the small sweeping program of this folder with some arguments."""

    def start(*arguments: object, **how: object) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, str(HERE / "sweep_program.py"), *map(str, arguments)],
            env=elsewhere,
            text=True,
            **({"stdout": subprocess.PIPE, "stderr": subprocess.PIPE} | how),
        )

    return start
