"""Files that Clew wrote itself and reads again: sweeps, beliefs, backups, archives, grids."""

from __future__ import annotations

import json
import shutil
from functools import cache
from pathlib import Path

from tests.fuzz.demo import as_file, demo_file, demo_folder, scratch
from tests.fuzz.events import example
from tests.fuzz.target import Target, may_refuse, text_of

from clew.ledger.store.ledger import Ledger


def _tried(buffer_m: float, hands: int) -> dict[str, float]:
    """What is swept."""
    return {"output": buffer_m * hands}


def one_point(buffer_m: float) -> object:
    """Name a function for a sweep that is never run."""
    raise NotImplementedError(buffer_m)


def _points() -> list[dict[str, float]]:
    return [{"buffer_m": 100.0 * place, "hands": 2} for place in range(1, 5)]


def _swept(point: dict[str, float]) -> dict[str, float]:
    return _tried(point["buffer_m"], int(point["hands"]))


def _checkpoint(path: Path) -> None:
    """Opened and gone on with: what it holds is of this sweep, or it is refused and left alone."""
    from clew.campaign.checkpoint import Checkpoint

    before = path.read_bytes()
    sweep = Checkpoint(path, seed=1, version="1")
    with may_refuse() as refused, sweep.opened(_swept, _points()) as book:
        assert set(book.finished) <= set(range(4))
    assert not refused or path.read_bytes() == before, "refused, and changed"


def _checkpoint_seeds() -> list[bytes]:
    from clew.campaign.checkpoint import Checkpoint

    path = scratch() / "sweep.jsonl"
    path.unlink(missing_ok=True)
    with Checkpoint(path, seed=1, version="1").opened(_swept, _points()) as book:
        book.add([(0, {"output": 200.0}), (2, {"output": 600.0})])
    whole = path.read_bytes()
    return [whole, whole[:-9], b"", whole.split(b"\n")[0] + b"\n"]


def _axes(data: bytes) -> None:
    """Axes of a sweep as they are typed."""
    from clew.cli.line.sweep_terms import axes_of, grid_of

    with may_refuse():
        axes = axes_of(text_of(data).split("\n"), {})
        grid = grid_of(axes)
        assert 1 <= len(grid) <= 10_000
        for axis in axes:
            for value in axis.values[:20]:
                axis.shown(value)


def _belief_seeds() -> list[bytes]:
    from click.testing import CliRunner

    from clew.cli.main import main

    weighed, out = scratch() / "first.csv", scratch() / "belief.json"
    weighed.write_bytes(demo_file("first-balls.csv", 4))
    out.unlink(missing_ok=True)
    told = CliRunner().invoke(
        main,
        ["ball", "first-balls", str(weighed), "--ball", "Querl 100", "--dye-lot", "SL-207",
         "--mill", str(demo_folder()), "--save", str(out)],
    )  # fmt: skip
    assert out.exists(), told.output
    return [out.read_bytes()]


def _belief(path: Path) -> None:
    from clew.ball.first.belief import Belief
    from clew.cli.ball.belief_file import read_belief

    with may_refuse():
        found = read_belief(path)
        again = Belief.from_plain(json.loads(json.dumps(found.to_plain())))
        assert again.to_plain() == found.to_plain()


@cache
def ledger_with_a_day() -> tuple[Path, Path, Path]:
    """A ledger, a backup of it, and an archive of its first month."""
    from clew.ledger.events.reading import Sender, read_message
    from clew.ledger.safekeeping.archive import archive
    from clew.ledger.safekeeping.backup import backup
    from clew.ledger.store.ledger import sqlite_url
    from clew.ledger.store.opening import open_ledger

    folder = scratch() / "kept"
    folder.mkdir(exist_ok=True)
    path = folder / "mill.db"
    book: Ledger = open_ledger(sqlite_url(path))
    sender = Sender("scale", zone="UTC")
    for number in range(6):
        told = example("feed", f"k{number}") | {"at": f"2026-0{number + 1}-26T05:40:00Z"}
        book.append([read_message(told, sender)])
    saved = backup(book, folder / "copies").path
    gone = archive(book, "Line 1", 1_990_000_000_000_000, folder / "archive")
    book.close()
    shutil.copy(path, folder / "without.db")
    return folder / "without.db", saved, gone[0].path


def _manifest_seeds() -> list[bytes]:
    from clew.ledger.safekeeping.manifest import manifest_path

    return [manifest_path(ledger_with_a_day()[1]).read_bytes()]


def _manifest(data: bytes) -> None:
    from clew.ledger.safekeeping.backup import check_backup
    from clew.ledger.safekeeping.manifest import manifest_path, read_manifest

    copy = scratch() / "copy.db"
    if not copy.exists():
        shutil.copy(ledger_with_a_day()[1], copy)
    manifest_path(copy).write_bytes(data)
    with may_refuse():
        read_manifest(copy)
    with may_refuse():
        check_backup(copy)


def _restored(data: bytes) -> None:
    """A damaged copy is refused, and leaves nothing where it was to go."""
    from clew.ledger.safekeeping.manifest import manifest_path
    from clew.ledger.safekeeping.restore import restore
    from clew.ledger.store.ledger import sqlite_url

    folder = scratch() / "restored"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    copy = folder / "copy.db"
    copy.write_bytes(data)
    shutil.copy(manifest_path(ledger_with_a_day()[1]), manifest_path(copy))
    there = folder / "there.db"
    with may_refuse() as refused:
        restore(copy, sqlite_url(there))
    assert not refused or not there.exists(), "refused, and half-written"


def _archived(data: bytes) -> None:
    """A damaged archive is refused and the ledger stays as it was."""
    from clew.ledger.safekeeping.readmit import readmit
    from clew.ledger.store.ledger import sqlite_url
    from clew.ledger.store.opening import open_ledger

    without, _, gone = ledger_with_a_day()
    folder = scratch() / "readmitted"
    folder.mkdir(exist_ok=True)
    path, there = folder / gone.name, folder / "there.db"
    path.write_bytes(data)
    for old in folder.glob("there.db*"):
        old.unlink()
    shutil.copy(without, there)
    book = open_ledger(sqlite_url(there))
    try:
        with may_refuse():
            readmit(book, path)
    finally:
        book.close()


TARGETS = (
    Target("kept/checkpoint", _checkpoint_seeds, as_file(".jsonl", _checkpoint),
           (b'{"clew_sweep": 1', b'"index": ', b'"result": ', b"\n", b"null", b"NaN"), cases=100),
    Target(
        "kept/axes",
        lambda: [b"hands=1..4\nbuffer=300 m..1200 m/10", b"feed=300 m/min, 320 m/min",
        b"lanes=1..6/2"],
        _axes, (b"..", b"/10", b"/10000", b"hands=", b"buffer=", b"wind=", b"1e-300 m", b","),
    ),
    Target("kept/belief", _belief_seeds, as_file(".json", _belief), (b"null", b"[]", b"1e999"),
           cases=30, limit_s=4.0, most_bytes=20_000),
    Target("kept/manifest", _manifest_seeds, _manifest, (b"null", b"-1", b'""', b'"line"'),
    cases=20),
    Target("kept/backup", lambda: [ledger_with_a_day()[1].read_bytes()], _restored, cases=6,
           limit_s=8.0, most_bytes=400_000, share=0.7),
    Target("kept/archive", lambda: [ledger_with_a_day()[2].read_bytes()], _archived, cases=6,
           limit_s=8.0, most_bytes=40_000, share=0.7),
)  # fmt: skip
