"""`clew ledger take`, `clew ledger watch --once` and `clew run sheet`: words, JSON, exit codes."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from pypdf import PdfReader

from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.reading import chain_records
from clew.ledger.store.trouble import CannotKeep

Run = Callable[..., Result]
HEAD = "at,lane,kind,counts\n"
GOOD = "2026-03-02T10:00:01,1,turns,5\n"


@pytest.fixture(autouse=True)
def _plain_ledger(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CLEW_LEDGER", raising=False)


@pytest.fixture
def file(mill_dir: Path) -> Path:
    path = mill_dir / "night.csv"
    path.write_text(HEAD + GOOD)
    return path


def kinds(mill_dir: Path) -> list[tuple[str, str, str]]:
    ledger = Ledger(sqlite_url(mill_dir / "mill.db"))
    try:
        return [(one.kind, one.source, one.author) for one in chain_records(ledger, "Line 1")]
    finally:
        ledger.close()


def test_a_good_file(clew: Run, mill_dir: Path, file: Path) -> None:
    done = clew("ledger", "take", file, "--mill", mill_dir, "--by", "A. Lead")
    assert (done.exit_code, done.stdout) == (0, f"{file}: 1 row, 1 kept.\n")
    again = clew("ledger", "take", file, "--mill", mill_dir)
    assert (again.exit_code, again.stdout) == (0, f"{file}: nothing new after line 2.\n")
    assert kinds(mill_dir) == [("turns", "file", "A. Lead")]


def test_rows_in_quarantine_are_exit_code_1(clew: Run, mill_dir: Path, file: Path) -> None:
    file.write_text(HEAD + GOOD + "bad\n")
    done = clew("ledger", "take", file, "--mill", mill_dir, "--json")
    assert done.exit_code == 1
    (found,) = json.loads(done.stdout)["files"]
    assert found == {
        "file": str(file), "rows": 2, "kept": 1, "already": 0, "refused": 1, "flagged": 0,
        "flags": {}, "quarantine": str(mill_dir / "quarantine" / "night.csv"), "from_line": 2,
        "upto_line": 3,
        "read_bytes": file.stat().st_size, "size_bytes": file.stat().st_size, "replaced": False,
        "unfinished": False,
    }  # fmt: skip


def test_one_unusable_file_stops_no_other(clew: Run, mill_dir: Path, file: Path) -> None:
    other = mill_dir / "a.csv"
    other.write_text("no,such,columns\n")
    done = clew("ledger", "take", other, file, mill_dir / "none.csv", "--mill", mill_dir)
    assert done.exit_code == 2
    assert "1 row, 1 kept" in done.stdout
    assert "no column of events" in done.stderr
    assert "none.csv: cannot be read" in done.stderr
    assert len(kinds(mill_dir)) == 1


@pytest.mark.parametrize(
    ("option", "words"),
    [
        (("--day", "soon"), "--day: no day"),
        (("--zone", "Europe/Nowhere"), "--zone: no time zone"),
        (("--zone", "../etc"), "--zone: no time zone"),
        (("--line", "Line 9"), "Line 9"),
        (("--sheet", "T-1"), "--sheet: no number of a sheet"),
        (("--sheet", "T-251125-1"), "nobody typed it in"),
        (("--sheet", "T-251125-901", "--by", "x"), "no sheet of a line of this mill"),
    ],
)
def test_bad_terms_are_exit_code_2(
    clew: Run, mill_dir: Path, file: Path, option: tuple[str, ...], words: str
) -> None:
    done = clew("ledger", "take", file, "--mill", mill_dir, *option)
    assert done.exit_code == 2
    assert words in done.stderr
    assert "Traceback" not in done.output


def test_times_of_day_ask_for_their_day(clew: Run, mill_dir: Path) -> None:
    events = mill_dir / "line_events.csv"
    asked = clew("ledger", "take", events, "--mill", mill_dir)
    assert asked.exit_code == 2
    assert "--day 2026-11-25" in asked.stderr
    done = clew("ledger", "take", events, "--mill", mill_dir, "--day", "2026-11-25")
    assert (done.exit_code, done.stdout) == (0, f"{events}: 650 rows, 650 kept.\n")
    again = clew("ledger", "take", events, "--mill", mill_dir, "--day", "2026-11-25", "--again")
    assert again.stdout == f"{events}: 650 rows, 0 kept, 650 there already.\n"


def test_a_ledger_that_cannot_write(
    clew: Run, mill_dir: Path, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise CannotKeep("the disk that holds the ledger is full", for_good=True)

    monkeypatch.setattr(Ledger, "append", full)
    done = clew("ledger", "take", file, "--mill", mill_dir)
    assert done.exit_code == 2
    assert done.stderr == (
        "clew: the ledger cannot keep anything: the disk that holds the ledger is full; "
        "night.csv is taken up to line 1\n"
    )


def test_a_sheet_is_printed_filled_in_and_taken(clew: Run, mill_dir: Path, tmp_path: Path) -> None:
    out = tmp_path / "sheets.pdf"
    done = clew(
        "run", "sheet", "--mill", mill_dir, "--date", "2025-11-25", "--shift", "22:00",
        "--sheets", 2, "--out", out,
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    assert done.stdout == (
        "Line 1, Tuesday 2025-11-25, shift 22:00 to 06:00: T-251125-21, T-251125-22.\n"
        f"wrote {out}\n"
    )
    assert len(PdfReader(out).pages) == 4
    typed = tmp_path / "typed.csv"
    typed.write_text("row,at,lane,kind,count\n1,22:10,3,tie,\nB3,00:00,3,doff,5\n")
    taken = clew(
        "ledger", "take", typed, "--mill", mill_dir, "--sheet", "T-251125-21", "--by", "A. Lead"
    )
    assert taken.exit_code == 0, taken.output
    assert "2 rows, 6 kept" in taken.stdout
    assert set(kinds(mill_dir)) == {
        ("tie", "paper/T-251125-21", "A. Lead"),
        ("doff", "paper/T-251125-21", "A. Lead"),
    }


def test_a_sheet_for_now(clew_json: Callable[..., dict[str, Any]], mill_dir: Path) -> None:
    out = mill_dir / "sheet.pdf"
    found = clew_json("run", "sheet", "--mill", mill_dir, "--out", out)
    assert found["pdf"] == str(out)
    assert found["line"] == "Line 1"
    assert found["shift"] in ("06:00", "14:00", "22:00")
    assert len(found["sheets"]) == 1


@pytest.mark.parametrize(
    ("option", "words"),
    [
        (("--shift", "05:00"), "one of 06:00, 14:00, 22:00"),
        (("--date", "soon"), "--date: no day"),
        (("--date", "1999-01-01"), "no day of a sheet"),
        (("--sheets", "10"), "too many sheets"),
        (("--first", "0"), "too many sheets"),
    ],
)
def test_a_sheet_of_no_shift(
    clew: Run, mill_dir: Path, option: tuple[str, ...], words: str
) -> None:
    out = mill_dir / "sheet.pdf"
    done = clew("run", "sheet", "--mill", mill_dir, "--out", out, *option)
    assert done.exit_code == 2
    assert words in done.stderr
    assert not out.exists()


def test_a_folder_once(clew: Run, mill_dir: Path) -> None:
    incoming = mill_dir / "incoming"
    incoming.mkdir()
    (incoming / "a.csv").write_text(HEAD + GOOD)
    (incoming / "b.csv").write_text(HEAD + "bad\n")
    (incoming / "c.csv").write_text("nothing\n")
    terms = ("ledger", "watch", "--mill", mill_dir, "--once", "--settle", "0 s")
    done = clew(*terms)
    assert done.exit_code == 1
    assert f"a.csv: finished, moved to {incoming / 'taken' / 'a.csv'}." in done.stdout
    assert "c.csv:1: nothing: no column of events" in done.stderr
    assert f"it was moved to {incoming / 'quarantine' / 'c.csv'}" in done.stderr
    assert clew(*terms).exit_code == 0
    (incoming / "d.csv").write_text(HEAD + GOOD.replace("5\n", "6\n"))
    told = clew(*terms, "--json")
    (line,) = told.stdout.splitlines()
    found = json.loads(line)
    assert (found["taken"]["kept"], found["trouble"]) == (1, None)
    assert found["moved_to"] == str(incoming / "taken" / "d.csv")


def test_a_folder_that_is_not_there(clew: Run, mill_dir: Path) -> None:
    done = clew("ledger", "watch", "--mill", mill_dir, "--once", "--folder", mill_dir / "none")
    assert done.exit_code == 2
    assert "no such folder" in done.stderr


def test_a_long_file_shows_how_far_it_is(
    mill_dir: Path, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only where somebody looks; and it never goes into what is printed."""
    import clew.cli.ledger.take as command

    monkeypatch.setattr(command, "_LONG_BYTES", 1)
    monkeypatch.setattr(command.sys.stderr, "isatty", lambda: True, raising=False)
    with command._progress(file) as tell:
        assert tell is not None
        tell(1, 2)
    monkeypatch.setattr(command, "_LONG_BYTES", 10**9)
    with command._progress(file) as tell:
        assert tell is None


def test_a_correction_of_the_mills_own_chain_is_taken_and_logged(clew: Run, mill_dir: Path) -> None:
    told = [
        {"kind": "pallet closed", "package": "P-1", "cases": ["C-1"], "key": "1"},
        {"kind": "correction", "line": "(mill)", "of_seq": 1, "void": True, "why": "twice",
         "key": "2"},
    ]  # fmt: skip
    path = mill_dir / "office.jsonl"
    rows = [json.dumps({"at": f"2026-03-02T10:00:0{one['key']}Z", **one}) for one in told]
    path.write_text("\n".join(rows) + "\n")
    done = clew("ledger", "take", path, "--mill", mill_dir, "--by", "A. Lead")
    assert (done.exit_code, done.stdout) == (0, f"{path}: 2 rows, 2 kept.\n")
    log = clew("ledger", "log", "--line", "(mill)", "--mill", mill_dir).output.splitlines()
    assert log[1].startswith("2026-03-02 10:00:02  mill 2  correction: of seq 1; void yes; why twi")
