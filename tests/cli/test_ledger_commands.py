"""`clew ledger init|migrate|log|verify|anchor|backup|restore|archive|readmit`."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from tests.ledger.audit.tampering import NOON_US, message, tamper

from clew.ledger.events.message import Message
from clew.ledger.store.ledger import Ledger, sqlite_url
from clew.ledger.store.opening import VARIABLE, open_ledger

Run = Callable[..., Result]
RunJson = Callable[..., dict[str, Any]]
LINE = "Line 1"


@pytest.fixture(autouse=True)
def no_other_ledger(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(VARIABLE, raising=False)


@pytest.fixture
def ledger(mill_dir: Path) -> Iterator[Ledger]:
    """The demo mill's ledger with some records."""
    opened = open_ledger(sqlite_url(mill_dir / "mill.db"), clock=lambda: NOON_US + 60_000_000)
    opened.append([message(number) for number in range(1, 6)])
    opened.append(
        [
            Message(
                LINE, "run start", NOON_US + 6_000_000, "tablet", "r1", "A. Lead", run="R-1",
                lot="SL-207",
                body={"ball_name": "Fell 100", "target_g": 101.5, "counts": {"1": 985.0}},
            ),
            Message(
                LINE, "weighing", NOON_US + 7_000_000, "scale", "w1", lane=2, ball=4,
                body={"mass_g": 101.2, "gross": True},
            ),
            Message("", "shipped", NOON_US + 8_000_000, "office", "s1", "B. Office",
                    package="P-1", body={"customer": "Wool & More"}),
        ]
    )  # fmt: skip
    yield opened
    opened.close()


def test_a_ledger_is_made_once(clew: Run, clew_json: RunJson, mill_dir: Path) -> None:
    assert clew_json("ledger", "init", "--mill", mill_dir)["made"] is True
    again = clew("ledger", "init", "--mill", mill_dir)
    assert again.exit_code == 0
    assert again.output.startswith("The ledger is there already, with 0 records")
    assert clew_json("ledger", "init", "--mill", mill_dir / "mill.toml")["made"] is False


@pytest.mark.parametrize("verb", ["log", "verify", "anchor", "backup", "archive", "migrate"])
def test_without_a_ledger_each_says_so(clew: Run, mill_dir: Path, verb: str) -> None:
    found = clew("ledger", verb, "--mill", mill_dir)
    assert found.exit_code == 2
    assert "there is no ledger yet" in found.stderr
    assert not (mill_dir / "mill.db").exists()


def test_the_tables_go_back_a_step_and_up_again(
    clew: Run, clew_json: RunJson, mill_dir: Path, ledger: Ledger
) -> None:
    ledger.close()
    down = clew("ledger", "migrate", "--to", "0001", "--mill", mill_dir)
    assert down.exit_code == 0, down.output
    assert "to 0001" in down.output
    stale = clew("ledger", "log", "--mill", mill_dir)
    assert stale.exit_code == 2
    assert "another version" in stale.stderr
    assert clew_json("ledger", "migrate", "--mill", mill_dir)["from_step"] == "0001"
    assert "Nothing to do" in clew("ledger", "migrate", "--mill", mill_dir).output
    assert clew("ledger", "migrate", "--to", "9999", "--mill", mill_dir).exit_code == 2
    kept = clew("ledger", "migrate", "--to", "base", "--mill", mill_dir)
    assert kept.exit_code == 2
    assert "all 8 records would be lost" in kept.stderr
    gone = clew("ledger", "migrate", "--to", "base", "--lose-records", "--mill", mill_dir)
    assert gone.exit_code == 0


def test_the_log_is_a_line_a_record_by_the_mills_clock(
    clew: Run, mill_dir: Path, ledger: Ledger
) -> None:
    lines = clew("ledger", "log", "--mill", mill_dir).output.splitlines()
    assert len(lines) == 8
    assert lines[0] == "2025-11-25 12:00:01  Line 1 1  lane 2, ball 0  turns: counts 1, from plc"
    assert lines[5] == (
        "2025-11-25 12:00:06  Line 1 6  run start: run R-1; lot SL-207; ball name Fell 100; "
        "counts 1: 985; target 101.5 g, by A. Lead"
    )
    assert lines[6].endswith("weighing: gross yes; mass 101.2 g, from scale")
    assert lines[7].startswith("2025-11-25 12:00:08  mill 1  shipped: package P-1; customer Wool")


@pytest.mark.parametrize(
    ("options", "rows"),
    [
        (("--line", LINE), 7),
        (("--line", "(mill)"), 1),
        (("--kind", "weighing"), 1),
        (("--kind", "weighing", "--kind", "turns"), 6),
        (("--lane", "2"), 3),
        (("--lane", "0"), 2),
        (("--run", "R-1"), 1),
        (("--lot", "SL-207"), 2),
        (("--package", "P-1"), 1),
        (("--token", "T-1"), 0),
        (("--latest", "3"), 3),
        (("--from", "2025-11-25 12:00:06"), 3),
        (("--upto", "2025-11-25T12:00:02Z"), 2),
        (("--from", "2025-11-25", "--upto", "2025-11-25"), 8),
        (("--from", "2025-11-26"), 0),
    ],
)
def test_the_log_can_be_narrowed(
    clew_json: RunJson, mill_dir: Path, ledger: Ledger, options: tuple[str, ...], rows: int
) -> None:
    found = clew_json("ledger", "log", *options, "--mill", mill_dir)
    assert len(found["records"]) == rows
    moments = [one["at"] for one in found["records"]]
    assert moments == sorted(moments)


def test_the_log_for_programs(
    clew: Run, clew_json: RunJson, mill_dir: Path, ledger: Ledger
) -> None:
    found = clew_json("ledger", "log", "--kind", "weighing", "--mill", mill_dir)
    (one,) = found["records"]
    assert one["fields"] == {"gross": True, "mass_g": 101.2}
    assert one["at"] == "2025-11-25T12:00:07Z"
    assert one["at_local"] == "2025-11-25T12:00:07+00:00"
    assert one["ball"] == 4
    assert len(one["hash"]) == 64
    nothing = clew("ledger", "log", "--lane", "9", "--mill", mill_dir)
    assert nothing.output == "Nothing of the kind was recorded.\n"


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--kind", "doffing"), "--kind: no such kind"),
        (("--from", "yesterday"), "--from: no moment"),
        (("--upto", "2025-02-30"), "--upto: no such day"),
        (("--upto", "9999-12-31"), "--upto: no such day"),
    ],
)
def test_the_log_refuses_what_it_cannot_read(
    clew: Run, mill_dir: Path, ledger: Ledger, options: tuple[str, ...], words: str
) -> None:
    found = clew("ledger", "log", *options, "--mill", mill_dir)
    assert found.exit_code == 2
    assert words in found.stderr


def test_anchors_are_printed_and_held_against(
    clew: Run, clew_json: RunJson, mill_dir: Path, ledger: Ledger, tmp_path: Path
) -> None:
    printed = clew("ledger", "anchor", "--mill", mill_dir).output
    assert [one.split(" · ")[:2] for one in printed.splitlines()] == [["(mill)", "1"], [LINE, "7"]]
    code = clew("ledger", "anchor", "--line", LINE, "--code", "--mill", mill_dir).output.strip()
    assert code.startswith("clew-anchor:1:Line%201:7:")
    file = tmp_path / "anchors.txt"
    file.write_text(printed, encoding="utf-8")
    sound = clew("ledger", "verify", "--anchors", file, "--anchor", code, "--mill", mill_dir)
    assert sound.exit_code == 0, sound.output
    assert sound.output.count("The chain passes through the anchor") == 3
    assert "After the last anchor" in sound.output
    file.write_text(json.dumps(clew_json("ledger", "anchor", "--mill", mill_dir)))
    assert clew("ledger", "verify", "--anchors", file, "--mill", mill_dir).exit_code == 0
    typo = clew("ledger", "verify", "--anchor", code.replace(":7:", ":6:"), "--mill", mill_dir)
    assert typo.exit_code == 2
    assert "mistyped" in typo.stderr
    assert clew("ledger", "anchor", "--line", "Line 9", "--mill", mill_dir).exit_code == 2


def test_verify_tells_which_row(clew: Run, mill_dir: Path, ledger: Ledger) -> None:
    anchor = clew("ledger", "anchor", "--line", LINE, "--mill", mill_dir).output
    good = clew("ledger", "verify", "--mill", mill_dir)
    assert good.exit_code == 0
    assert "Line 1: rows 1 to 7 untouched." in good.output
    assert "Without an anchor" in good.output
    tamper(ledger, "UPDATE event SET lane = 3 WHERE seq = 4")
    bad = clew("ledger", "verify", "--anchor", anchor, "--mill", mill_dir)
    assert bad.exit_code == 1
    assert "Row 4 of Line 1 was changed after it was kept." in bad.output
    assert "NOT SOUND: 8 rows read." in bad.output
    plain = json.loads(clew("ledger", "verify", "--json", "--mill", mill_dir).stdout)
    assert plain["sound"] is False
    assert plain["lines"][1]["findings"][0]["first"] == 4


def test_a_line_that_is_not_there_is_no_line_without_records(
    clew: Run, mill_dir: Path, ledger: Ledger
) -> None:
    slip = clew("ledger", "log", "--line", "Line 9", "--mill", mill_dir)
    assert slip.exit_code == 2
    assert "no such line (got Line 9); expected one of Line 1" in slip.output


def test_a_backup_is_made_verified_and_restored(
    clew: Run, clew_json: RunJson, mill_dir: Path, ledger: Ledger
) -> None:
    made = clew_json("ledger", "backup", "--mill", mill_dir)
    file = Path(made["file"])
    assert file.parent == mill_dir / "backups"
    found = clew("ledger", "verify", "--backup", file, "--mill", mill_dir)
    assert found.exit_code == 0, found.output
    assert "The backup is whole" in found.output
    ledger.append([message(90)])
    ledger.close()
    kept = clew("ledger", "restore", file, "--mill", mill_dir)
    assert kept.exit_code == 2
    assert "row 8 of Line 1 is not in the backup" in kept.stderr
    done = clew("ledger", "restore", file, "--over", "--mill", mill_dir)
    assert done.exit_code == 0, done.output
    assert "Restored 8 records" in done.output
    assert "before-restore" in done.output
    assert len(clew_json("ledger", "log", "--mill", mill_dir)["records"]) == 8
    file.write_bytes(file.read_bytes() + b"x")
    assert clew("ledger", "verify", "--backup", file, "--mill", mill_dir).exit_code == 1
    assert clew("ledger", "restore", file, "--mill", mill_dir).exit_code == 2


def test_a_backup_of_a_tampered_ledger_is_made_and_answered_with_no(
    clew: Run, mill_dir: Path, ledger: Ledger, tmp_path: Path
) -> None:
    tamper(ledger, "UPDATE event SET lane = 3 WHERE seq = 4")
    made = clew("ledger", "backup", tmp_path / "copy.db", "--mill", mill_dir)
    assert made.exit_code == 1
    assert (tmp_path / "copy.db").exists()
    assert "Row 4 of Line 1 was changed" in made.output
    ledger.close()
    done = clew("ledger", "restore", tmp_path / "copy.db", "--mill", mill_dir)
    assert done.exit_code == 1


def test_old_records_go_out_and_come_back(
    clew: Run, clew_json: RunJson, mill_dir: Path, ledger: Ledger
) -> None:
    nothing = clew("ledger", "archive", "--mill", mill_dir)
    assert nothing.exit_code == 0
    assert "Nothing to move out" in nothing.output
    made = clew_json("ledger", "archive", "--before", "2025-11-26", "--mill", mill_dir)
    # the run is open: what was recorded since its start stays
    assert [(one["line"], one["rows"]) for one in made["archives"]] == [("", 1), (LINE, 5)]
    files = [one["file"] for one in made["archives"]]
    assert Path(files[0]).parent == mill_dir / "archives"
    assert (
        "rows 6 to 7 untouched, rows 1 to 5 in archives"
        in clew("ledger", "verify", "--mill", mill_dir).output
    )
    aside = Path(files[1]).with_suffix(".aside")
    shutil.move(files[1], aside)
    missing = clew("ledger", "verify", "--mill", mill_dir)
    assert missing.exit_code == 1
    assert "is not where it was put" in missing.output
    shutil.move(aside, files[1])
    back = clew("ledger", "readmit", *files, "--mill", mill_dir)
    assert back.exit_code == 0, back.output
    assert "Took in rows 1 to 5 of Line 1" in back.output
    assert len(clew_json("ledger", "log", "--mill", mill_dir)["records"]) == 8
    both = clew("ledger", "archive", "--before", "2025-11-26", "--years", "3", "--mill", mill_dir)
    assert both.exit_code == 2
    other = clew("ledger", "archive", "--line", "Line 9", "--mill", mill_dir)
    assert other.exit_code == 2


def test_a_database_that_does_not_answer_is_one_line(
    clew: Run, mill_dir: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(VARIABLE, "postgresql://clew@127.0.0.1:1/none")
    for verb in ("init", "log", "verify", "migrate", "backup"):
        found = clew("ledger", verb, "--mill", mill_dir)
        assert found.exit_code == 2
        assert found.stderr.startswith("clew: the ledger cannot keep anything: the database does")
