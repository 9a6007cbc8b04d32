"""`clew ledger schema` and what `clew ledger mqtt` refuses before it listens."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from jsonschema import Draft202012Validator

from clew.cli.main import main
from clew.ledger.events.kinds import KINDS


def run(*terms: str) -> Result:
    return CliRunner().invoke(main, ["ledger", *terms])


def test_the_schema_of_all_kinds() -> None:
    said = run("schema")
    assert said.exit_code == 0
    schema = json.loads(said.output)
    Draft202012Validator.check_schema(schema)
    assert {kind.replace(" ", "_") for kind in KINDS} <= set(schema["$defs"])


@pytest.mark.parametrize("kind", ["cone loaded", "Cone_Loaded"])
def test_the_schema_of_one_kind(kind: str) -> None:
    schema = json.loads(run("schema", "--kind", kind).output)
    said = {
        "kind": "cone loaded", "line": "Line 1", "lane": 1, "cone": "C 7", "key": "1",
        "at": "2026-09-01T05:40:00Z",
    }  # fmt: skip
    validator = Draft202012Validator(schema)
    assert validator.is_valid(said)
    assert not validator.is_valid({**said, "kind": "doff"})
    assert "doff" not in schema["$defs"]


def test_the_description_of_topics() -> None:
    said = json.loads(run("schema", "--async").output)
    assert said["channels"]["events"]["address"] == "clew/1/{line}/{source}"


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        (("--kind", "yarn bomb"), "no such kind of event"),
        (("--async", "--kind", "doff"), "--async describes all kinds"),
    ],
)
def test_what_there_is_no_schema_of(terms: tuple[str, ...], words: str) -> None:
    found = run("schema", *terms)
    assert found.exit_code == 2
    assert words in found.output


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        ((), "no broker"),
        (("--broker", "http://broker"), "no address of a broker"),
        (("--broker", "mqtts://127.0.0.1", "--ca", "nowhere.pem"), "cannot be read"),
    ],
)
def test_mqtt_without_a_broker_to_listen_to(
    mill_dir: Path, terms: tuple[str, ...], words: str
) -> None:
    found = run("mqtt", "--mill", str(mill_dir), *terms)
    assert found.exit_code == 2
    assert words in found.output


def test_mqtt_on_a_ledger_that_is_damaged(mill_dir: Path) -> None:
    (mill_dir / "mill.db").write_bytes(b"no database at all, " * 100)
    found = run("mqtt", "--mill", str(mill_dir), "--broker", "mqtt://127.0.0.1:1")
    assert found.exit_code == 2
    assert found.output.startswith("clew: the ledger cannot keep anything: the ledger's file is")
