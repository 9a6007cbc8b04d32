"""`clew ledger user` and `clew ledger token`."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from clew.cli.main import main
from clew.ledger.people import passwords
from clew.ledger.people.passwords import Cost
from clew.ledger.people.signing_in import sign_in
from clew.ledger.people.tokens import token_of
from clew.ledger.store.ledger import sqlite_url
from clew.ledger.store.opening import open_ledger
from clew.ledger.store.reading import chain_records
from clew.mill import read_mill

GOOD, OTHER = "blue lamp by the river", "green door at the mill"


@pytest.fixture(autouse=True)
def cheap(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(passwords, "COST", Cost(passes=1, memory_kib=8, lanes=1))


def run(mill: Path, *arguments: str, typed: str | None = None) -> Result:
    return CliRunner().invoke(main, ["ledger", *arguments, "--mill", str(mill)], input=typed)


def add(mill: Path, name: str = "Anke", role: str = "hand") -> None:
    assert run(mill, "user", "add", name, "--role", role, typed=f"{GOOD}\n{GOOD}\n").exit_code == 0


def get(mill: Path, *arguments: str) -> dict[str, object]:
    found = json.loads(run(mill, *arguments, "--json").stdout)
    assert isinstance(found, dict)
    return found


def may_sign_in(mill: Path, name: str, password: str) -> bool:
    ledger = open_ledger(sqlite_url(mill / "mill.db"))
    try:
        return bool(sign_in(ledger, name, password, address="::1").token)
    finally:
        ledger.close()


def test_a_person_from_the_first_day_to_the_last(mill_dir: Path) -> None:
    made = run(mill_dir, "user", "add", "Anke Marten", "--role", "hand", "--by", "Jo",
               typed=f"{GOOD}\n{GOOD}\n")  # fmt: skip
    assert made.exit_code == 0
    assert made.stdout.endswith("Anke Marten may sign in as hand.\n")
    assert GOOD not in made.output
    assert may_sign_in(mill_dir, "anke marten", GOOD)
    assert run(mill_dir, "user", "role", "Anke Marten", "lead", "--by", "Jo").exit_code == 0
    changed = run(mill_dir, "user", "password", "Anke Marten", "--by", "Jo",
                  typed=f"{OTHER}\n{OTHER}\n")  # fmt: skip
    assert changed.exit_code == 0
    assert may_sign_in(mill_dir, "Anke Marten", OTHER)
    assert not may_sign_in(mill_dir, "Anke Marten", GOOD)
    ended = run(mill_dir, "user", "end", "Anke Marten", "--by", "Jo")
    assert ended.stdout == "Anke Marten may sign in no more.\n"
    assert not may_sign_in(mill_dir, "Anke Marten", OTHER)
    assert get(mill_dir, "user", "list") == {"users": []}
    (gone,) = get(mill_dir, "user", "list", "--all")["users"]  # type: ignore[misc]
    assert set(gone) == {"name", "role", "made", "changed", "ended"}
    assert gone["role"] == "lead" and gone["ended"] is not None
    ledger = open_ledger(sqlite_url(mill_dir / "mill.db"))
    assert [record.author for record in chain_records(ledger, "")] == ["Jo"] * 4
    ledger.close()


@pytest.mark.parametrize("from_stdin", [True, False])
def test_a_password_off_a_file(mill_dir: Path, tmp_path: Path, from_stdin: bool) -> None:
    path = tmp_path / "secret"
    path.write_text(GOOD + "\r\nnot this\n", encoding="utf-8")
    source, typed = ("-", GOOD + "\n") if from_stdin else (str(path), None)
    done = run(mill_dir, "user", "add", "Bo", "--role", "office", "--password-file", source,
               "--json", typed=typed)  # fmt: skip
    assert json.loads(done.stdout)["role"] == "office"
    assert may_sign_in(mill_dir, "Bo", GOOD)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (f"{GOOD}\n{OTHER}\n", "the two passwords differ"),
        ("short\nshort\n", "too short"),
        ("Bo Bo Bo Bo\nBo Bo Bo Bo\n", "tried first"),
        ("", "no password"),
    ],
)
def test_a_password_that_is_refused_adds_nobody(mill_dir: Path, typed: str, words: str) -> None:
    refused = run(mill_dir, "user", "add", "Bo", "--role", "hand", typed=typed)
    assert refused.exit_code == 2
    assert words in refused.stderr
    assert "Traceback" not in refused.output
    assert get(mill_dir, "user", "list") == {"users": []}


@pytest.mark.parametrize(
    "arguments",
    [
        ("user", "role", "Nobody", "lead"),
        ("user", "end", "Nobody"),
        ("user", "password", "Nobody"),
        ("user", "add", "Anke", "--role", "lead"),
        ("token", "end", "nothing"),
        ("token", "add", "scale", "--scope", "read", "--line", "Nowhere"),
        ("token", "add", "tablet", "--scope", "read"),
    ],
)
def test_what_cannot_be_is_one_line_and_exit_code_two(
    mill_dir: Path, arguments: tuple[str, ...]
) -> None:
    add(mill_dir)
    refused = run(mill_dir, *arguments, typed=f"{GOOD}\n{GOOD}\n")
    assert refused.exit_code == 2
    assert refused.stderr.splitlines()[-1].startswith("clew: ")


def test_a_list_says_so_when_there_is_nobody(mill_dir: Path) -> None:
    assert "there is no ledger yet" in run(mill_dir, "user", "list").stderr
    add(mill_dir)
    run(mill_dir, "user", "end", "Anke")
    assert "Nobody may sign in yet" in run(mill_dir, "user", "list").stdout
    assert "No machine has a token" in run(mill_dir, "token", "list").stdout


def test_a_token_is_shown_once(mill_dir: Path) -> None:
    line = read_mill(mill_dir).line[0].name
    made = run(mill_dir, "token", "add", "winder box", "--scope", "events:write", "--line", line)
    said = made.stdout.splitlines()[-1]
    assert f"line {line} only" in made.stdout
    ledger = open_ledger(sqlite_url(mill_dir / "mill.db"))
    kept = token_of(ledger, said)
    ledger.close()
    assert kept is not None and (kept.name, kept.line) == ("winder box", line)
    assert said not in run(mill_dir, "token", "list").stdout
    (listed,) = get(mill_dir, "token", "list")["tokens"]  # type: ignore[misc]
    assert set(listed) == {"name", "scopes", "line", "made", "made_by", "ended"}
    assert get(mill_dir, "token", "end", "winder box")["ended"]
    assert get(mill_dir, "token", "list") == {"tokens": []}
    again = run(mill_dir, "token", "add", "other box", "--scope", "read", "--json")
    assert json.loads(again.stdout)["token"].startswith("clew_")
