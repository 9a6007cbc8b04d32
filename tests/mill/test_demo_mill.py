"""The demo mill is written whole or not at all, and is a sound mill."""

from __future__ import annotations

import csv
import os
from pathlib import Path

import pytest

from clew import quantities as q
from clew.faults import BadInput
from clew.mill import Mill, read_mill, write_demo
from clew.mill import demo_mill as demo_writing


def test_the_demo_is_written_and_read(tmp_path: Path, demo_text: str) -> None:
    folder = tmp_path / "north" / "mill"
    written = write_demo(folder)
    assert written == [folder / name for name in demo_writing.DEMO_FILES]
    assert sorted(folder.iterdir()) == sorted(written)
    assert written[0].read_text(encoding="utf-8") == demo_text
    mill = read_mill(folder)
    line = mill.line[0]
    assert (line.lanes, len(mill.yarn), len(mill.ball), len(mill.colour)) == (6, 3, 4, 5)
    assert all(len(colour.dye_lot) == 2 for colour in mill.colour)


def test_a_mill_that_is_there_is_left_alone(tmp_path: Path) -> None:
    mine = tmp_path / "mill.toml"
    mine.write_text("# mine\n", encoding="utf-8")
    with pytest.raises(BadInput) as bad:
        write_demo(tmp_path)
    (fault,) = bad.value.faults
    assert (fault.what, fault.file) == ("there already", str(mine))
    assert mine.read_text(encoding="utf-8") == "# mine\n"
    assert list(tmp_path.iterdir()) == [mine]


def test_every_file_that_is_there_is_named(tmp_path: Path) -> None:
    write_demo(tmp_path)
    with pytest.raises(BadInput) as bad:
        write_demo(tmp_path)
    assert [Path(fault.file).name for fault in bad.value.faults] == [*demo_writing.DEMO_FILES]


def test_a_link_that_leads_nowhere_is_not_written_through(tmp_path: Path) -> None:
    (tmp_path / "mill.toml").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(BadInput):
        write_demo(tmp_path)
    assert not (tmp_path / "elsewhere").exists()


@pytest.mark.parametrize("failing", ["fsync", "rename"])
def test_nothing_half_written_stays_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: str
) -> None:
    """The second of two files fails, when the disk is full or its name cannot be taken."""
    calls = []

    def fail_at_the_second(*args: object) -> object:
        calls.append(args)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        return real(*args)

    if failing == "fsync":
        real = os.fsync
        monkeypatch.setattr(os, "fsync", fail_at_the_second)
    else:
        real = Path.rename
        monkeypatch.setattr(Path, "rename", fail_at_the_second)
    with pytest.raises(BadInput) as bad:
        write_demo(tmp_path)
    assert bad.value.faults[0].value == "No space left on device"
    assert list(tmp_path.iterdir()) == []


def test_a_file_in_the_place_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "mill").write_text("", encoding="utf-8")
    with pytest.raises(BadInput) as bad:
        write_demo(tmp_path / "mill")
    assert bad.value.faults[0].what == "cannot be written"


def test_a_name_that_no_folder_has() -> None:
    with pytest.raises(BadInput):
        write_demo(Path("mill\0"))


def _first_balls() -> list[dict[str, str]]:
    return list(csv.DictReader(demo_writing.demo_text("first-balls.csv").splitlines()))


def test_the_first_balls_are_two_a_winder_from_one_cone_each(demo_mill: Mill) -> None:
    rows = _first_balls()
    assert list(rows[0]) == ["ball", "winder", "cone", "counts", "mass", "length"]
    assert [int(row["ball"]) for row in rows] == list(range(1, 13))
    cones: dict[int, list[str]] = {}
    for row in rows:
        cones.setdefault(int(row["winder"]), []).append(row["cone"])
    assert sorted(cones) == [winder.number for winder in demo_mill.line[0].winder]
    assert all(len(names) == 2 and len(set(names)) == 1 for names in cones.values())
    lot = rows[0]["cone"].rpartition("-")[0]
    assert all(row["cone"].startswith(f"{lot}-") for row in rows)
    _, dye_lot = demo_mill.find_dye_lot(lot)
    assert dye_lot.yarn == demo_mill.find_ball("Querl 100").yarn


def test_the_first_balls_are_what_a_hand_could_have_weighed(demo_mill: Mill) -> None:
    """Winder 4 winds long in both its balls; some lengths were not reeled."""
    rows = _first_balls()
    masses: dict[int, list[float]] = {}
    for row in rows:
        masses.setdefault(int(row["winder"]), []).append(q.read_quantity(row["mass"], q.MASS))
    ordinary = [mass for winder, found in masses.items() if winder != 4 for mass in found]
    mean = sum(ordinary) / len(ordinary)
    assert abs(mean / demo_mill.find_ball("Querl 100").target_mass_g - 1) < 0.02
    assert min(masses[4]) > max(ordinary)
    assert max(masses[4]) / mean < 1.05
    lengths = [q.read_quantity(row["length"], q.LENGTH) for row in rows if row["length"]]
    assert len(rows) // 3 <= len(lengths) < len(rows)
    assert all(195 < length < 212 for length in lengths)


def test_every_counter_shows_the_same_turns(demo_mill: Mill) -> None:
    """Counts differ by the winders' own counters and by nothing else, to a count."""
    ratio = demo_mill.find_ball("Querl 100").wind_ratio
    worth = {
        winder.number: winder.turns_per_count * (ratio if winder.counter_on == "ball" else 1.0)
        for winder in demo_mill.line[0].winder
    }
    turns = [
        (int(row["counts"]) * worth[int(row["winder"])], worth[int(row["winder"])])
        for row in _first_balls()
    ]
    low = max(value - a_count for value, a_count in turns)
    high = min(value + a_count for value, a_count in turns)
    assert low < high
