"""Clew as somebody else has it: its wheel, in an environment that holds what it asks for, no more.

Nothing is downloaded: the wheel is built with what is installed, and the distributions that its
metadata names, with those they name in turn, are linked into the new environment one by one. What
the checkout or an extra brings along is not there.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import venv
from collections import deque
from importlib.metadata import Distribution, distribution
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).parents[2]


def build_wheel(folder: Path) -> Path:
    """Build the wheel of this checkout; give the file."""
    done = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=600,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    (wheel,) = folder.glob("*.whl")
    return wheel


def needed(requirements: list[str]) -> dict[str, Distribution]:
    """Find the installed distributions that requirements lead to, by name."""
    found: dict[str, Distribution] = {}
    ahead = deque((Requirement(one), "") for one in requirements)
    seen = set()
    while ahead:
        asked, of_extra = ahead.popleft()
        if asked.marker is not None and not asked.marker.evaluate({"extra": of_extra}):
            continue
        there = distribution(asked.name)
        name = there.metadata["Name"]
        assert asked.specifier.contains(there.version, prereleases=True), (asked, there.version)
        found[name] = there
        for extra in ("", *sorted(asked.extras)):
            if (name, extra) not in seen:
                seen.add((name, extra))
                ahead.extend((Requirement(one), extra) for one in there.requires or [])
    return found


class Bare:
    """An environment with the wheel in it.

    Parameters
    ----------
    folder : Path
        Where it is made.
    wheel : Path
        What is installed.
    requirements : list of str
        What the wheel asks for.
    """

    def __init__(self, folder: Path, wheel: Path, requirements: list[str]) -> None:
        venv.create(folder, symlinks=True, with_pip=False)
        self.bin = folder / "bin"
        (packages,) = folder.glob("lib/python*/site-packages")
        self.packages = packages
        for there in needed(requirements).values():
            self._link(there)
        # a name of a machine is not a name of a service: the checkout must not be found by chance
        self.environment = {
            key: value
            for key, value in os.environ.items()
            if not key.startswith(("CLEW", "PYTHON", "NUMBA", "VIRTUAL_ENV", "COVERAGE"))
        }
        done = self.pip("install", "--no-deps", "--no-index", "--no-compile", str(wheel))
        assert done.returncode == 0, done.stdout + done.stderr
        self._take_compiled()

    def _take_compiled(self) -> None:
        """Take along what is compiled in the checkout: to compile it anew takes a minute.

        Numba knows a file by its size and the moment it was changed.
        """
        source = ROOT / "src"
        for folder in {path.parent for path in source.rglob("*.nbi")}:
            target = self.packages / folder.relative_to(source)
            target.mkdir(exist_ok=True)
            for compiled in folder.glob("*.nb[ic]"):
                shutil.copy2(compiled, target)
            for path in target.parent.glob("*.py"):
                of_source = (folder.parent / path.name).stat()
                os.utime(path, ns=(of_source.st_atime_ns, of_source.st_mtime_ns))

    def _link(self, there: Distribution) -> None:
        """Link all that a distribution put beside others."""
        for name in {one.parts[0] for one in there.files or []} - {"..", "bin", "__pycache__"}:
            found = Path(str(there.locate_file(name)))
            target = self.packages / name
            if found.exists() and not target.exists() and found.suffix != ".pth":
                target.symlink_to(found)

    def pip(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        """Run pip for the environment, which has none of its own."""
        return subprocess.run(
            [sys.executable, "-m", "pip", "--disable-pip-version-check", "--python",
             str(self.bin / "python"), *arguments],
            capture_output=True, text=True, check=False, timeout=600,
            cwd=self.bin, env=self.environment,
        )  # fmt: skip

    def clew(self, *arguments: object, folder: Path) -> subprocess.CompletedProcess[str]:
        """Run the installed command in a folder."""
        return subprocess.run(
            [str(self.bin / "clew"), *(str(one) for one in arguments)],
            capture_output=True, text=True, check=False, timeout=600,
            cwd=folder, env=self.environment,
        )  # fmt: skip
