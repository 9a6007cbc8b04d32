"""The JSON beside Band says what the commands say of the same file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from clew.cli.main import main

FILE = "shift-weighings.csv"


def said_by(folder: Path, *called: str) -> dict[str, Any]:
    """What a command answers as JSON."""
    result = CliRunner().invoke(
        main, ["weigh", called[0], str(folder / FILE), *called[1:], "--json"]
    )
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


def asked(client: TestClient, what: str, **query: str) -> dict[str, Any]:
    """What an address answers."""
    answer = client.get(f"/api/weigh/{what}", params=query)
    assert answer.status_code == 200, answer.text
    found = answer.json()
    assert isinstance(found, dict)
    return found


@pytest.mark.parametrize("kind", ["xbar-s", "individuals", "ewma", "cusum"])
def test_charts_are_the_commands(client: TestClient, demo_folder: Path, kind: str) -> None:
    size = [] if kind == "individuals" else ["--group-size", "5"]
    command = said_by(demo_folder, "charts", "--by", "winder", "--chart", kind, *size)
    found = asked(client, "charts", chart=kind)
    assert found["charts"] == command["charts"]
    assert (found["file"], found["unit"], found["chart"]) == (FILE, "g", kind)
    assert found["condition"] == command["condition"]


def test_components_are_the_commands(client: TestClient, demo_folder: Path) -> None:
    command = said_by(demo_folder, "components")
    found = asked(client, "components")
    assert found["variances"] == pytest.approx(command["variances"])
    assert found["parts"] == command["parts"]


def test_corrections_are_the_commands(client: TestClient, demo_folder: Path) -> None:
    mill = ("--mill", str(demo_folder), "--ball", "Querl 100")
    command = said_by(demo_folder, "correct", *mill)
    found = asked(client, "corrections")
    assert {key: found[key] for key in command} == command
    assert found["lots"]["cause"] == "count"
    tried = asked(client, "corrections", target_mass="102 g")
    assert tried["target_mass_g"] == pytest.approx(102.0)
    options = said_by(demo_folder, "correct", *mill, "--target-mass", "102 g")
    # a ball set heavier has a turn more at its outside, so a count there winds a trifle more
    for one, other in zip(tried["winders"], options["winders"], strict=True):
        assert (one["winder"], one["make"]) == (other["winder"], other["make"])
        assert one["offset_g"] == pytest.approx(other["offset_g"])
        assert abs(one["counts"] - other["counts"]) <= 1


def test_the_target_is_the_commands(client: TestClient, demo_folder: Path) -> None:
    command = said_by(demo_folder, "target", "--mill", str(demo_folder), "--ball", "Querl 100")
    found = asked(client, "target")
    assert {key: found[key] for key in command} == command
    assert found["set_mass_g"] == pytest.approx(101.0)
    assert 0.0 <= found["set_fails"]["frac"] <= 1.0


@pytest.mark.parametrize("what", ["charts", "components", "corrections", "target"])
def test_what_cannot_be_answered_is_a_fault_with_its_key(client: TestClient, what: str) -> None:
    for query, key in (
        ({"file": "../x"}, "file"),
        ({"chart": "x" * 300}, "chart"),
        ({"lat": "1"}, "lat"),
    ):
        answer = client.get(f"/api/weigh/{what}", params=query)
        assert answer.status_code == 422
        assert key in [fault["key"] for fault in answer.json()["faults"]]


def test_one_lot_alone(client: TestClient) -> None:
    found = asked(client, "corrections", lot="SL-207")
    assert found["dye_lot"] == "SL-207"
    assert found["lots"] is None
