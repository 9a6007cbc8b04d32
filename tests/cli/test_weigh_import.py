"""`clew weigh import`: what is in a file of weighings, and each refused row by its line."""

import csv
import json
import tempfile
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from hypothesis import given
from hypothesis import strategies as st

from clew.cli.main import main
from clew.faults import BadInput
from clew.ledger.intake.weighings import read_weighings, scan_file
from clew.ledger.intake.weighings_writing import clean_rows, shown_time, write_together

SOUND = "time,winder,lot,mass_g,length_m\n10:00:00,1,a,101.2,\n10:01:00,2,a,99,200\n"
BAD = "winder;mass_g;length_m\n1;49,6;\n2;nan;x\n3;3.5 oz;\n4;50,1;1;2\n"


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, ["weigh", "import", *map(str, arguments)])


def file_of(folder: Path, text: str) -> Path:
    file = folder / "w.csv"
    file.write_text(text, encoding="utf-8")
    return file


def as_json(*arguments: object) -> tuple[int, dict[str, Any]]:
    result = run(*arguments, "--json")
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return result.exit_code, found


def test_a_sound_file_in_words(tmp_path: Path) -> None:
    result = run(file_of(tmp_path, SOUND))
    assert result.exit_code == 0
    assert result.stdout.startswith(
        "2 balls, 2 winders, 1 dye lot, 10:00:00 to 10:01:00; 1 reeled. No row was refused.\n"
    )
    assert "Net mass as weighed; not corrected for moisture." in result.stdout


def test_the_keys_programs_rely_on(tmp_path: Path) -> None:
    code, found = as_json(file_of(tmp_path, SOUND))
    assert code == 0
    assert list(found) == [
        "file", "rows", "good", "bad", "columns", "weighed", "reeled", "counted", "lots",
        "time_from", "time_to", "time_span_s", "mass_is", "mass_of", "by", "means", "hints",
        "bad_rows", "out", "rejected",
    ]  # fmt: skip
    assert (found["rows"], found["good"], found["bad"]) == (2, 2, 0)
    assert found["counted"] == {"winder": 2, "lot": 1}
    assert found["time_span_s"] == 60.0
    assert found["means"][1] == {
        "name": "2", "balls": 1, "n_mass_g": 1, "mean_mass_g": 99.0, "sd_mass_g": None,
        "n_length_m": 1, "mean_length_m": 200.0, "sd_length_m": None,
    }  # fmt: skip


def test_bad_rows_are_named_and_kept_as_they_stood(tmp_path: Path) -> None:
    file = file_of(tmp_path, BAD)
    out, rejected = tmp_path / "new" / "clean.csv", tmp_path / "bad.csv"
    result = run(file, "--out", out, "--rejected", rejected)
    assert result.exit_code == 1
    assert "1 ball, 1 winder" in result.stdout
    assert "3 rows of 4 refused:" in result.stdout
    assert "line 3: mass_g: not a number (got 'nan')" in result.stdout
    assert "line 4: mass_g: a point where other cells of the column write a comma" in result.stdout
    assert out.read_text() == "winder,mass_g,length_m\n1,49.6,\n"
    with rejected.open(newline="") as text:
        rows = list(csv.reader(text))
    assert rows[0] == ["line", "reason", "row"]
    assert [(row[0], row[2]) for row in rows[1:]] == [
        ("3", "2;nan;x"), ("4", "3;3.5 oz;"), ("5", "4;50,1;1;2"),
    ]  # fmt: skip
    assert "; length_m: not a number" in rows[1][1]
    assert oct(out.stat().st_mode & 0o777) == "0o644"
    assert not list(tmp_path.glob(".*"))


def test_no_good_row_is_no_clean_file(tmp_path: Path) -> None:
    file = file_of(tmp_path, "winder,mass_g\n1,x\n")
    code, found = as_json(file, "--out", tmp_path / "out.csv", "--rejected", tmp_path / "bad.csv")
    assert (code, found["good"], found["out"]) == (1, 0, None)
    assert not (tmp_path / "out.csv").exists()
    result = run(file, "--out", tmp_path / "out.csv")
    assert result.stdout.startswith("No row is good.\n1 row of 1 refused:")
    assert "out.csv was not written" in result.stdout


def test_many_bad_rows_are_counted(tmp_path: Path) -> None:
    file = file_of(tmp_path, "mass_g\n" + "x\n" * 203 + "5\n")
    assert "  and 183 more; --rejected FILE writes them all\n" in run(file).stdout
    code, found = as_json(file, "--rejected", tmp_path / "bad.csv")
    assert (code, found["bad"], len(found["bad_rows"])) == (1, 203, 200)
    assert len((tmp_path / "bad.csv").read_text().splitlines()) == 204


def test_gross_mass_without_a_tare_is_called_so(tmp_path: Path) -> None:
    _, found = as_json(file_of(tmp_path, "gross_g\n103\n"))
    assert found["mass_of"] == "gross"
    assert found["mass_is"] == "Gross mass: the file has no tare for every row."
    _, found = as_json(file_of(tmp_path, "gross_g,tare_g\n103,2\n"))
    assert (found["mass_of"], found["means"][0]["mean_mass_g"]) == ("net", 101.0)
    result = run(file_of(tmp_path, "winder,length_m\n1,200\n"))
    assert result.stdout == (
        "1 ball, 1 winder; 0 weighed, 1 reeled. No row was refused.\nNo column of mass.\n"
    )


def test_lengths_in_yards_among_metres_are_hinted_at(tmp_path: Path) -> None:
    rows = "".join(f"{200 + step / 10}\n" for step in range(6))
    yards = "".join(f"{218.7 + step / 10}\n" for step in range(3))
    code, found = as_json(file_of(tmp_path, f"length_m\n{rows}{yards}"))
    assert code == 0
    assert "3 of 9 lengths are 1.093 times the rest" in found["hints"][0]
    assert "(lines 8, 9, 10)" in found["hints"][0]
    # A winder that runs 2 % long is nothing of the kind, nor is a spread over the whole range.
    for text in ("200\n200.1\n200.2\n204\n204.1\n204.2\n", "200\n206\n212\n218\n224\n230\n"):
        assert as_json(file_of(tmp_path, f"length_m\n{text}"))[1]["hints"] == []


def test_a_regain_that_may_be_percent_is_asked_about(tmp_path: Path) -> None:
    _, found = as_json(file_of(tmp_path, "mass_g,regain_frac\n100,1.5\n100,9 %\n100,\n"))
    assert found["hints"] == [
        '1 regain of 50 % and more, up to 150 % (line 2); if percent are meant, write "1.5 %".'
    ]


@pytest.mark.parametrize("text", ["", "mass_g\n", "mas_g\n1\n", "1,2\n"])
def test_a_file_that_cannot_be_used_is_exit_code_2(tmp_path: Path, text: str) -> None:
    out = tmp_path / "out.csv"
    result = run(file_of(tmp_path, text), "--out", out, "--rejected", tmp_path / "bad.csv")
    assert result.exit_code == 2
    assert result.stderr.startswith("clew: ")
    assert len(result.stderr.splitlines()) == 1
    assert not out.exists()


def test_nothing_is_written_over_unless_asked(tmp_path: Path) -> None:
    file = file_of(tmp_path, SOUND)
    out = tmp_path / "out.csv"
    out.write_text("mine")
    result = run(file, "--out", out)
    assert (result.exit_code, out.read_text()) == (2, "mine")
    assert "there already; expected another name, or --overwrite" in result.stderr
    assert run(file, "--out", out, "--overwrite").exit_code == 0
    assert out.read_text().startswith("time,lot,winder,mass_g,length_m\n")
    for options in (("--out", file), ("--rejected", file), ("--out", out, "--rejected", out)):
        result = run(file, *options, "--overwrite")
        assert result.exit_code == 2
        assert "would be written over" in result.stderr
    assert file.read_text() == SOUND


def test_two_files_are_written_together_or_not_at_all(tmp_path: Path) -> None:
    blocked = tmp_path / "blocked"
    blocked.write_text("")
    with pytest.raises(BadInput, match="cannot be written"):
        write_together([(tmp_path / "a.csv", [["1"]]), (blocked / "b.csv", [["1"]])])
    assert [path.name for path in tmp_path.iterdir()] == ["blocked"]


@pytest.mark.parametrize(
    "times",
    [
        ("23:59", "00:01", "00:01:30"),
        ("2026-11-25T10:15:30", "2026-11-25T10:15:30.250000"),
        ("1969-11-25T10:15:30+00:00", "2026-11-25T10:15:30+00:00"),
        ("0.125", "86400"),
    ],
)
def test_times_are_written_so_that_they_read_the_same(tmp_path: Path, times: tuple[str]) -> None:
    file = file_of(tmp_path, "time\n" + "\n".join(times) + "\n")
    scan = scan_file(file)
    again = file_of(tmp_path, "\n".join(row[0] for row in clean_rows(scan)) + "\n")
    found = read_weighings(again).numbers["time_s"]
    np.testing.assert_array_equal(found, scan.table.numbers["time_s"])
    assert shown_time(float(found[-1]), scan.time_kind) == times[-1]


def test_times_to_the_minute_stay_so_and_balls_alike_in_one_are_kept(tmp_path: Path) -> None:
    for minute in ("10:15", "2026-11-25T10:15"):
        text = f"time,winder,mass_g\n{minute},4,101.2\n{minute},4,101.2\n"
        file, out = file_of(tmp_path, text), tmp_path / "clean.csv"
        result = run(file, "--out", out, "--overwrite")
        assert f"{minute} to {minute}." in result.stdout
        assert (result.exit_code, out.read_text()) == (0, text)


def test_the_manual_shows_what_the_command_prints(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = (Path(__file__).parents[2] / "docs" / "weigh_import.md").read_text(encoding="utf-8")
    blocks = [block.strip("\n") for block in page.split("```text\n")[1:]]
    shift, shift_words, night, night_run, night_words, clean = (
        block.split("\n```")[0] for block in blocks
    )
    demo = Path(str(resources.files("clew.mill") / "demo"))
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    Path("my-mill").symlink_to(demo)
    Path("night.csv").write_text(night + "\n", encoding="utf-8")
    for command, words in ((shift, shift_words), (night_run, night_words)):
        printed = CliRunner().invoke(main, command.split()[1:]).stdout
        assert [line.rstrip() for line in printed.splitlines()] == words.splitlines()
    assert Path("clean.csv").read_text().rstrip() == clean
    for row in list(csv.reader(Path("refused.csv").read_text().splitlines()))[1:]:
        assert row[2] in night


CELLS = st.sampled_from(
    ["", "1", "49.6", "3.5 oz", " a b ", 'q"x', "é", "-1", "10:15:07", "10:15", "0.1 %"]
)
COLUMNS = ("time", "lot", "winder", "ball", "mass_g", "gross_g", "length_m", "regain_frac")


@given(
    st.lists(st.sampled_from(COLUMNS), min_size=1, unique=True).flatmap(
        lambda head: st.tuples(
            st.just(head), st.lists(st.lists(CELLS, min_size=len(head), max_size=len(head)))
        )
    )
)
def test_what_was_written_clean_is_read_again_as_the_same_balls(
    case: tuple[list[str], list[list[str]]],
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        first, second = Path(folder) / "w.csv", Path(folder) / "clean.csv"
        write_together([(first, [case[0], *case[1]])])
        try:
            scan = scan_file(first)
        except BadInput:
            assert not any(cell for row in case[1] for cell in row)
            return
        if not scan.table.rows:
            return
        write_together([(second, clean_rows(scan))])
        again = scan_file(second)
    assert again.bad == []
    assert again.rows == scan.table.rows
    for name, values in scan.table.numbers.items():
        np.testing.assert_array_equal(again.table.numbers[name], values)
    for name, factor in scan.table.factors.items():
        found = again.table.factors[name]
        assert found.names == factor.names
        np.testing.assert_array_equal(found.codes, factor.codes)
