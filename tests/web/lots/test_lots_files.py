"""Files of shades: which are listed, read once, and never by a path."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import pytest

from clew.faults import BadInput
from clew.web.lots.files import LotFiles
from clew.web.lots.shade_files import ShadeFiles

HEAD = "lot,cone,lightness,a,b\n"
ROW = "SL-207,SL-207-01,23.8,8.2,-18.8\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "mill.toml").write_text("", encoding="utf-8")
    (tmp_path / "old.csv").write_text(HEAD + ROW, encoding="utf-8")
    (tmp_path / "new.csv").write_text("b,a,lightness,cone,lot,hand\n", encoding="utf-8")
    (tmp_path / "weighings.csv").write_text("lot,cone,mass_g\nSL-207,1,101\n", encoding="utf-8")
    (tmp_path / ".hidden.csv").write_text(HEAD + ROW, encoding="utf-8")
    (tmp_path / "notes.txt").write_text(HEAD + ROW, encoding="utf-8")
    (tmp_path / "folder.csv").mkdir()
    os.utime(tmp_path / "old.csv", (1, 1))
    return tmp_path


def test_only_files_with_the_heading_are_listed_newest_first(folder: Path) -> None:
    assert ShadeFiles(folder).names() == ("new.csv", "old.csv")
    assert ShadeFiles(folder / "mill.toml").names() == ("new.csv", "old.csv")
    assert ShadeFiles(folder / "no" / "mill.toml").names() == ()


def test_a_file_is_read_once_until_it_changes(folder: Path) -> None:
    files = ShadeFiles(folder)
    first = files.read("old.csv")
    assert [one.cone for one in first] == ["SL-207-01"]
    assert files.read("old.csv")[0] is first[0]
    (folder / "old.csv").write_text(HEAD + ROW + ROW.replace("-01", "-02"), encoding="utf-8")
    assert [one.cone for one in files.read("old.csv")] == ["SL-207-01", "SL-207-02"]


def test_faults_name_the_file_without_its_folder(folder: Path) -> None:
    (folder / "old.csv").write_text(HEAD + ROW.replace("23.8", "dark"), encoding="utf-8")
    files = ShadeFiles(folder)
    for _ in range(2):
        with pytest.raises(BadInput) as bad:
            files.read("old.csv")
        assert {one.file for one in bad.value.faults} == {"old.csv"}
        assert bad.value.faults[0].line == 2


@pytest.mark.parametrize("name", ["../old.csv", "./old.csv", "weighings.csv", ".hidden.csv", ""])
def test_no_other_name_is_read(folder: Path, name: str) -> None:
    with pytest.raises(BadInput, match="no such file"):
        ShadeFiles(folder).read(name)
    if name != "weighings.csv":
        with pytest.raises(BadInput, match="no such file"):
            LotFiles(folder).sha256(name)


def test_the_hash_is_that_of_the_bytes_on_disk(folder: Path) -> None:
    files = LotFiles(folder)
    for name in ("old.csv", "weighings.csv"):
        for _ in range(2):
            whole = (folder / name).read_bytes()
            assert files.sha256(name) == hashlib.sha256(whole).hexdigest()
            (folder / name).write_bytes(whole + b"\n")
