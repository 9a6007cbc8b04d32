"""What a backup says of itself, in a small file beside it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from clew.faults import BadInput, Fault
from clew.ledger.audit.anchors import Anchor, anchor_at
from clew.ledger.events.moments import show_utc

VERSION = 1
END = ".json"


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup must hold.

    Attributes
    ----------
    made_us : int
        When it was made, UTC, microseconds since 1970 [us].
    step : str
        Step its tables stand at.
    came_from : str
        Kind of database it was made of.
    size_bytes : int
        Size of the file.
    sha256 : bytes
        Of the file.
    tables : dict of str to int
        Rows, by table.
    heads : tuple of Anchor
        Where every chain stood.
    """

    made_us: int
    step: str
    came_from: str
    size_bytes: int
    sha256: bytes
    tables: dict[str, int]
    heads: tuple[Anchor, ...]

    def plain(self) -> dict[str, Any]:
        """Make an object for JSON."""
        return {
            "clew_backup": VERSION, "made": show_utc(self.made_us), "made_us": self.made_us,
            "step": self.step, "came_from": self.came_from, "size_bytes": self.size_bytes,
            "sha256": self.sha256.hex(), "tables": self.tables,
            "heads": [one.plain() for one in self.heads],
        }  # fmt: skip

    def text(self) -> bytes:
        """Write it."""
        return json.dumps(self.plain(), indent=2, ensure_ascii=False).encode() + b"\n"


def manifest_path(path: Path) -> Path:
    """Say where a backup's manifest is."""
    return path.with_name(path.name + END)


def read_manifest(path: Path) -> Manifest:
    """Read the manifest of a backup.

    Parameters
    ----------
    path : Path
        The backup.

    Raises
    ------
    BadInput
        When there is none, or it is not one.
    """
    beside = manifest_path(path)
    try:
        found = json.loads(beside.read_text(encoding="utf-8"))
        if found["clew_backup"] != VERSION:
            raise BadInput(
                Fault("a backup made by a newer Clew", "that one, or newer", file=str(beside))
            )
        return Manifest(
            int(found["made_us"]), str(found["step"]), str(found["came_from"]),
            int(found["size_bytes"]), bytes.fromhex(found["sha256"]),
            {str(name): int(rows) for name, rows in found["tables"].items()},
            tuple(
                anchor_at(str(one["line"]), int(one["seq"]), bytes.fromhex(one["hash"]))
                for one in found["heads"]
            ),
        )  # fmt: skip
    except FileNotFoundError:
        what = "a backup without its manifest" if path.exists() else "no such backup"
        raise BadInput(Fault(what, "the backup and the .json beside it", file=str(path))) from None
    except (
        OSError, ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError,
    ):  # fmt: skip
        raise BadInput(Fault("no manifest of a backup", file=str(beside))) from None
