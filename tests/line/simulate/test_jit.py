"""The compiler's cache: a change in any file of the loop is a change of what is compiled."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from clew.line.simulate import records
from clew.line.simulate.loop import compiled

LOOP = sorted(Path(compiled.__file__).parent.glob("*.py"))


@pytest.fixture
def copied(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The files of the loop somewhere else, and the fingerprint taken of those."""
    shutil.copytree(Path(compiled.__file__).parent, tmp_path / "loop")
    shutil.copy(records.__file__, tmp_path / "records.py")
    monkeypatch.setattr(compiled, "__file__", str(tmp_path / "loop" / "compiled.py"))
    monkeypatch.setattr(records, "__file__", str(tmp_path / "records.py"))
    return tmp_path


def test_the_fingerprint_is_of_the_text_alone(copied: Path) -> None:
    before = compiled.fingerprint()
    for path in copied.rglob("*.py"):
        path.touch()
    assert compiled.fingerprint() == before
    assert len(before) == 64


@pytest.mark.parametrize("name", [*(path.name for path in LOOP), "../records.py"])
def test_a_change_in_any_file_changes_the_fingerprint(copied: Path, name: str) -> None:
    before = compiled.fingerprint()
    path = copied / "loop" / name
    path.write_text(path.read_text(encoding="utf-8") + "\n# changed", encoding="utf-8")
    assert compiled.fingerprint() != before


def test_a_new_file_changes_the_fingerprint(copied: Path) -> None:
    before = compiled.fingerprint()
    (copied / "loop" / "another.py").write_text("X = 1\n", encoding="utf-8")
    assert compiled.fingerprint() != before


def test_the_loop_imports_nothing_of_the_house_but_what_is_hashed() -> None:
    """A part that lay elsewhere could change and leave the cache as it is."""
    hashed = ("clew.line.simulate.loop.", "clew.line.simulate.records ")
    for path in LOOP:
        for line in path.read_text(encoding="utf-8").splitlines():
            if line.startswith(("from clew", "import clew")):
                own = line.split(maxsplit=1)[1]
                assert own.startswith(hashed) or line.endswith(" import records"), (path, line)


def test_what_is_compiled_closes_over_the_fingerprint() -> None:
    """The cache is looked up by what the function closes over."""
    closed_over = [cell.cell_contents for cell in compiled.run_shifts.py_func.__closure__]
    assert compiled.fingerprint() in closed_over


def test_two_fingerprints_are_two_entries_of_the_cache() -> None:
    """Functions of equal text that close over unlike hashes are not taken for each other."""
    keys = [compiled._compiled(one)._cache._index_key((), _Codegen()) for one in ("a", "b", "a")]
    assert keys[0] == keys[2]
    assert keys[0] != keys[1]


class _Codegen:
    """Stands for the machine the loop is compiled for."""

    def magic_tuple(self) -> tuple[str, ...]:
        return ("any machine",)
