"""Files of weighings in the mill's folder: listed by bare name, read once, never by a path."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from clew.faults import BadInput
from clew.web.band import files as room
from clew.web.band.files import WeighingFiles

GOOD = "winder,mass_g\n1,101.2\n2,100.8\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A mill's folder with no mill file: none is needed to list."""
    return tmp_path


def test_only_weighings_are_listed_the_newest_first(folder: Path) -> None:
    files = {
        "old.csv": GOOD,
        "new.csv": "sep=;\nwinder;gross_g\n1;103,1\n",
        "lines.jsonl": '\n{"winder": "4", "mass_g": 101.2}\n',
        "tabs.CSV": '"winder"\t"length_m"\n1\t200.1\n',
        "events.csv": "at,lane,event\n05:30:00,1,turns\n",
        "first.csv": "ball,winder,cone,counts,mass\n",
        "no.jsonl": "not json\n",
        "list.ndjson": "[1, 2]\n",
        "empty.csv": "",
        "notes.txt": GOOD,
        ".hidden.csv": GOOD,
    }
    for place, (name, text) in enumerate(files.items()):
        (folder / name).write_text(text, encoding="utf-8")
        os.utime(folder / name, (1000 + place, 1000 + place))
    (folder / "folder.csv").mkdir()
    assert WeighingFiles(folder).names() == ("tabs.CSV", "lines.jsonl", "new.csv", "old.csv")


def test_a_misspelt_column_is_listed_and_named_when_it_is_read(folder: Path) -> None:
    (folder / "shift.csv").write_text("windr,mass_g\n1,101\n", encoding="utf-8")
    files = WeighingFiles(folder)
    assert files.names() == ("shift.csv",)
    with pytest.raises(BadInput) as bad:
        files.read("shift.csv")
    assert bad.value.faults[0].key == "windr"
    assert bad.value.faults[0].file == "shift.csv"


def test_a_file_is_read_once_while_it_stays_as_it_is(folder: Path) -> None:
    path = folder / "shift.csv"
    path.write_text(GOOD, encoding="utf-8")
    files = WeighingFiles(folder)
    first = files.read("shift.csv")
    assert files.read("shift.csv") is first
    before = files.stamp("shift.csv")
    path.write_text(GOOD + "3,99.9\n", encoding="utf-8")
    os.utime(path, (5000, 5000))
    assert files.stamp("shift.csv") != before
    assert files.read("shift.csv").rows == first.rows + 1


@pytest.mark.parametrize(
    "name", ["../shift.csv", "sub/shift.csv", "/etc/passwd", "", "shift.csv\x00", "other.csv", "."]
)
def test_no_path_is_made_of_what_an_address_says(folder: Path, name: str) -> None:
    inner = folder / "mill"
    (inner / "sub").mkdir(parents=True)
    for place in (folder, inner, inner / "sub"):
        (place / "shift.csv").write_text(GOOD, encoding="utf-8")
    files = WeighingFiles(inner)
    for asked in (files.read, files.stamp, files.clocks):
        with pytest.raises(BadInput) as bad:
            asked(name)
        assert bad.value.faults[0].key == "file"


def test_faults_name_the_file_barely_and_are_kept_too(folder: Path) -> None:
    (folder / "shift.csv").write_text("winder,mass_g\n1,x\n2,-4\n", encoding="utf-8")
    files = WeighingFiles(folder)
    for _ in range(2):
        with pytest.raises(BadInput) as bad:
            files.read("shift.csv")
        assert [one.line for one in bad.value.faults] == [2, 3]
        assert str(folder) not in str(bad.value)


def test_a_file_too_large_for_a_page_is_left_to_the_commands(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(room, "MOST_BYTES", 10)
    (folder / "shift.csv").write_text(GOOD, encoding="utf-8")
    with pytest.raises(BadInput, match="too large a file for a page"):
        WeighingFiles(folder).read("shift.csv")


def test_a_folder_that_is_not_there_has_no_files(tmp_path: Path) -> None:
    assert WeighingFiles(tmp_path / "none").names() == ()


def test_the_mill_file_itself_may_be_named(folder: Path) -> None:
    (folder / "mill.toml").write_text("", encoding="utf-8")
    (folder / "shift.csv").write_text(GOOD, encoding="utf-8")
    assert WeighingFiles(folder / "mill.toml").names() == ("shift.csv",)


def test_only_so_many_files_are_kept(folder: Path) -> None:
    files = WeighingFiles(folder)
    for place in range(6):
        (folder / f"{place}.csv").write_text(GOOD, encoding="utf-8")
    first = files.read("0.csv")
    for place in range(1, 6):
        files.read(f"{place}.csv")
    again = files.read("0.csv")
    assert again is not first
    assert again.rows == first.rows


def test_whether_a_file_tells_times_of_day(folder: Path) -> None:
    (folder / "clock.csv").write_text("time,mass_g\n2026-11-23T06:01:19,101\n", encoding="utf-8")
    (folder / "count.csv").write_text("time,mass_g\n12,101\n", encoding="utf-8")
    files = WeighingFiles(folder)
    assert files.clocks("clock.csv")
    assert not files.clocks("count.csv")
