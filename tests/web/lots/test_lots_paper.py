"""Lots' paper and its JSON: the same question, the same answer as the command."""

from __future__ import annotations

import json
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from pypdf import PdfReader
from starlette.testclient import TestClient

from clew.cli.main import main

LOT = {"ball": "Querl 100", "lot": "SL-207", "size": "720"}
SEEN = {"knots_looked": "83", "knots_found": "1", "band_looked": "83", "band_found": "0"}
FAULT = {"what", "expected", "key", "value", "place"}
ADDRESSES = ["/api/lot/release", "/api/lot/test", "/api/lot/sample"]


def said_by(*called: str) -> dict[str, Any]:
    """What a command answers as JSON."""
    result = CliRunner().invoke(main, [*called, "--json"])
    assert result.exit_code in (0, 1), result.output
    said = json.loads(result.stdout)
    assert isinstance(said, dict)
    return said


def asked_of(client: TestClient, path: str, **asked: str | list[str]) -> dict[str, Any]:
    said = client.get(path, params=asked)
    assert said.status_code == 200, said.text
    found = said.json()
    assert isinstance(found, dict)
    return found


def pages(client: TestClient, asked: dict[str, str]) -> tuple[str, str]:
    """Text of the paper, and the name it is given."""
    paper = client.get("/lots/certificate.pdf", params=asked)
    assert paper.status_code == 200
    assert paper.headers["content-type"] == "application/pdf"
    told = paper.headers["content-disposition"]
    text = "".join(page.extract_text() for page in PdfReader(BytesIO(paper.content)).pages)
    return text, told


def test_the_certificate_is_that_of_the_released_lot(client: TestClient) -> None:
    text, told = pages(client, LOT | SEEN | {"order": "1041", "drawn_by": "A. Hand"})
    assert told == 'inline; filename="release-certificate-querl-100-sl-207.pdf"'
    for words in ("Release certificate", "RELEASED", "SL-207", "seed 1", "Customer 12", "A. Hand"):
        assert words in text


def test_a_lot_that_is_held_gets_a_report(client: TestClient) -> None:
    text, told = pages(client, LOT)
    assert told == 'inline; filename="lot-report-querl-100-sl-207.pdf"'
    assert "not a release" in text
    assert "HELD" in text


def test_the_release_is_what_the_command_says(client: TestClient, demo_folder: Path) -> None:
    found = asked_of(client, "/api/lot/release", **LOT, **SEEN, seed="3", drawn_by="A. Hand")
    said = said_by(
        "lot", "release", str(demo_folder / "shift-weighings.csv"), "--mill", str(demo_folder),
        "--ball", "Querl 100", "--lot", "SL-207", "--lot-size", "720", "--draw", "3",
        "--found", "knots=83,1", "--found", "band=83,0", "--drawn-by", "A. Hand",
        "--shade", str(demo_folder / "shade-readings.csv"),
    )  # fmt: skip
    assert set(found) == set(said)
    assert found.pop("pdf").startswith("/lots/certificate.pdf?")
    assert said.pop("pdf") is None
    assert found == said


def test_one_rule_set_is_judged_as_the_command_judges_it(
    client: TestClient, demo_folder: Path
) -> None:
    for rule in ("uk-2006", "eu-average"):
        found = asked_of(client, "/api/lot/test", **LOT, rule=rule, sample="file")
        said = said_by(
            "lot", "test", str(demo_folder / "shift-weighings.csv"), "--mill", str(demo_folder),
            "--ball", "Querl 100", "--lot", "SL-207", "--lot-size", "720", "--rule", rule,
        )  # fmt: skip
        assert set(found) == set(said)
        for key in ("pass", "verdict", "mean", "sd", "limit", "allowed", "title", "sheets"):
            assert found[key] == said[key], key


def test_the_plan_for_faults_is_the_command_s(client: TestClient, demo_folder: Path) -> None:
    found = asked_of(client, "/api/lot/sample", size="720")
    said = said_by("lot", "sample", "--mill", str(demo_folder), "--lot-size", "720")
    for key in ("lot_size", "kind", "stages", "whole_lot", "aoql_frac", "aoql_at_frac"):
        assert found[key] == said[key], key
    assert found["stages"] == [{"drawn": 83, "accept": 2, "reject": 3}]
    chances = [one["accepted_frac"] for one in found["curve"]]
    assert chances == sorted(chances, reverse=True)


def test_a_size_that_nobody_said_gives_no_paper(client: TestClient) -> None:
    found = asked_of(client, "/api/lot/release", lot="SL-207")
    assert found["pdf"] is None
    assert found["decision"] == "hold"


@pytest.mark.parametrize("path", ADDRESSES)
@pytest.mark.parametrize(
    "asked",
    [{"shrink": "20 %"}, {"size": "x"}, {"rule": "no such"}, {"seed": "9" * 300}, {"ball": "No"},
     {"file": "../mill.toml"}, {"lot": "BR-091"}],
)  # fmt: skip
def test_one_shape_of_fault(client: TestClient, path: str, asked: dict[str, str]) -> None:
    answer = client.get(path, params=LOT | asked)
    assert answer.status_code == 422
    assert set(answer.json()) == {"faults"}
    assert answer.json()["faults"]
    assert all(set(fault) == FAULT for fault in answer.json()["faults"])
    assert client.post(path).status_code == 405


def test_one_rule_set_at_a_time(client: TestClient) -> None:
    for rules in (["eu-average", "uk-2006"], ["eu-average,uk-2006"]):
        answer = client.get("/api/lot/test", params=LOT | {"rule": rules})
        assert answer.status_code == 422
        assert answer.json()["faults"][0]["key"] == "rule"


def test_the_addresses_are_described(client: TestClient) -> None:
    described = client.get("/openapi.json").json()["paths"]
    for path in ADDRESSES:
        names = {one["name"] for one in described[path]["get"]["parameters"]}
        assert {"ball", "lot", "file", "size", "rule", "sample", "seed"} <= names
    assert "/lots" not in described
