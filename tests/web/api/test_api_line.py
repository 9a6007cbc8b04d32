"""The JSON beside Steam and Dry: what the commands say, and faults in the one shape."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from clew.cli.main import main
from clew.line.heat.from_mill import heat_terms
from clew.line.heat.steamer import steamed
from clew.mill.model import Mill

KEYS = {"what", "expected", "key", "value", "place"}


def said_by(command: str, folder: Path, *more: str) -> dict[str, object]:
    """What a command answers as JSON."""
    called = ["line", command, "--mill", str(folder), "--line", "Line 1", "--json", *more]
    result = CliRunner().invoke(main, called)
    assert result.exit_code in (0, 1), result.output
    said = json.loads(result.output)
    assert isinstance(said, dict)
    return said


@pytest.mark.parametrize("command", ["heat", "limits"])
def test_a_program_is_told_what_the_command_says(
    client: TestClient, demo_folder: Path, command: str
) -> None:
    for ball, lot in (("Querl 100", "SL-207"), ("Dunnow 50", "none")):
        of_lot = [] if lot == "none" else ["--lot", lot]
        said = client.get(f"/api/line/{command}", params={"ball": ball, "lot": lot})
        assert said.status_code == 200
        assert said.json() == said_by(command, demo_folder, "--ball", ball, *of_lot)


def test_what_is_asked_is_what_the_options_of_the_command_say(
    client: TestClient, demo_folder: Path
) -> None:
    asked = {
        "ball": "Querl 100", "lot": "none", "feed_speed": "390 m/min", "belt_speed": "1.5 m/min",
        "steam_temperature": "97 °C", "dryer_temperature": "110 °C", "regain_out": "8 %",
    }  # fmt: skip
    options = [
        "--ball", "Querl 100", "--feed", "390 m/min", "--belt-speed", "1.5 m/min",
        "--steam-temperature", "97 °C", "--dryer-temperature", "110 °C", "--regain-wanted", "8 %",
    ]  # fmt: skip
    heat = client.get("/api/line/heat", params=asked).json()
    assert heat == said_by("heat", demo_folder, *options)
    assert heat["regain"]["wanted_frac"] == pytest.approx(0.08)
    limits = client.get("/api/line/limits", params=asked).json()
    assert limits["feed_m_per_min"] == pytest.approx(390.0)
    assert limits["limits"][0]["station"] == "steamer"
    assert limits["limits"][0]["feed_m_per_min"] == 0.0


def test_yards_and_degrees_fahrenheit_are_read_too(client: TestClient, demo_mill: Mill) -> None:
    metric = {"feed_speed": "274.32 m/min", "steam_temperature": "99 °C"}
    yard = {"feed_speed": "300 yd/min", "steam_temperature": "210.2 °F"}
    one, other = (client.get("/api/line/heat", params=asked).json() for asked in (metric, yard))
    assert other["steam"]["zone_c"] == pytest.approx(one["steam"]["zone_c"])
    assert other["yarn_kg_per_h"] == pytest.approx(one["yarn_kg_per_h"])
    plain = client.get("/api/line/heat", params={"lot": "none"}).json()
    room = steamed(heat_terms(demo_mill, "Line 1", demo_mill.ball[0].name))
    assert plain["steam"]["dwell_s"] == room.dwell_s
    assert plain["steam"]["total_kg_per_h"] == room.demand.total_kg_per_h


@pytest.mark.parametrize(
    ("asked", "key"),
    [
        ({"feed_speed": "fast"}, "feed_speed"),
        ({"belt_speed": "700 m/min"}, "belt_speed"),
        ({"feed_speed": "7000 m/min"}, "feed_speed"),
        ({"steam_temperature": "20 °C"}, "steam_temperature"),
        ({"dryer_temperature": "300 °C"}, "dryer_temperature"),
        ({"regain_out": "120 %"}, "regain_out"),
        ({"feedspeed": "300 m/min"}, "feedspeed"),
        ({"lot": "OA-019"}, "lot"),
        ({"line": "Line 9"}, "line"),
    ],
)
def test_what_is_wrong_is_named_in_one_shape(
    client: TestClient, asked: dict[str, str], key: str
) -> None:
    for what in ("heat", "limits"):
        said = client.get(f"/api/line/{what}", params=asked)
        assert said.status_code == 422
        faults = said.json()["faults"]
        assert [fault["key"] for fault in faults] == [key] or key in ("lot", "line")
        assert all(set(fault) == KEYS and fault["what"] for fault in faults)


def test_both_addresses_are_described(client: TestClient) -> None:
    paths = client.get("/openapi.json").json()["paths"]
    assert {"/api/line/heat", "/api/line/limits"} <= set(paths)
