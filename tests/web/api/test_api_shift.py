"""The JSON beside Shift: what the command says, and a drawn shift's timeline in windows."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from clew.cli.main import main
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.timeline import timeline
from clew.mill.model import Mill
from clew.web.shift.page import open_shift, replications_for

KEYS = {"what", "expected", "key", "value", "place"}
NO_LOT = {"ball": "Querl 100", "lot": "none"}


def said_by(folder: Path, *more: str) -> dict[str, Any]:
    """What the command answers as JSON."""
    called = ["line", "simulate", "--mill", str(folder), "--ball", "Querl 100", "--json", *more]
    result = CliRunner().invoke(main, called)
    assert result.exit_code == 0, result.output
    # its progress may stand before what it answers
    said = json.loads(result.stdout)
    assert isinstance(said, dict)
    return said


def window(client: TestClient, **asked: str) -> dict[str, Any]:
    """A window of the timeline of the yarn as spun."""
    said = client.get("/api/line/shift/timeline", params=NO_LOT | asked)
    assert said.status_code == 200, said.text
    found = said.json()
    assert isinstance(found, dict)
    return found


def test_a_program_is_told_what_the_command_says(client: TestClient, demo_folder: Path) -> None:
    said = client.get("/api/line/simulate", params=NO_LOT | {"replications": "20", "seed": "7"})
    assert said.status_code == 200
    assert said.json() == said_by(demo_folder, "--replications", "20", "--seed", "7")
    lot = client.get("/api/line/simulate", params={"lot": "SL-207", "replications": "5"}).json()
    assert lot == said_by(demo_folder, "--lot", "SL-207", "--replications", "5")


def test_what_is_tried_is_what_the_options_of_the_command_say(
    client: TestClient, demo_folder: Path
) -> None:
    asked = {
        "hands": "3", "feed_speed": "280 m/min", "buffer": "400 m", "doff_time": "9 s",
        "shift_time": "6 h", "load_time": "50 s", "colour_changes": "2", "lanes": "7",
        "replications": "8",
    }  # fmt: skip
    options = [
        "--hands", "3", "--feed", "280 m/min", "--buffer", "400 m", "--doff", "9 s",
        "--shift", "6 h", "--load", "50 s", "--colour-changes", "2", "--lanes", "7",
        "--replications", "8",
    ]  # fmt: skip
    said = client.get("/api/line/simulate", params=NO_LOT | asked).json()
    assert said == said_by(demo_folder, *options)
    assert said["shift_s"] == 21_600.0
    assert sum(said["winder_share"].values()) == pytest.approx(1.0)


def test_a_busy_line_is_answered_from_fewer_shifts(demo_mill: Mill) -> None:
    page = open_shift(demo_mill, {"buffer": "20 m", "shift_time": "24 h"}, "metric")
    assert page.layout is not None
    assert 2 <= replications_for(page.layout) < 100
    assert replications_for(page.layout, 1) == 1


def test_a_window_holds_every_change_of_the_timeline(client: TestClient, demo_mill: Mill) -> None:
    found = window(client, from_s="3600", to_s="4800", seed="5")
    shift = timeline(layout_of(demo_mill, ball_name="Querl 100"), seed=5)
    states = found["states"]["winder"]
    keys = found["lane_keys"]
    assert keys[:2] == ["at_s", "winder"]
    for lane, rows in enumerate(found["lanes"]):
        assert all(len(row) == len(keys) for row in rows)
        assert rows[0][0] == 3600.0
        times = [row[0] for row in rows]
        assert times == sorted(times)
        inside = [one for one in shift.lanes if one.lane == lane and 3600.0 < one.at_s < 4800.0]
        assert len(inside) >= len(rows) - 1 > 20
        for one in inside:
            row = [row for row in rows if row[0] <= one.at_s + 0.006][-1]
            assert row[0] == pytest.approx(one.at_s, abs=0.006)
            if one.part == "winder":
                assert states[row[1]] == one.state
    hands = found["states"]["hand"]
    for hand, rows in enumerate(found["hands"]):
        for his in (one for one in shift.hands if one.hand == hand and 3601 < one.at_s < 4799):
            row = [row for row in rows if row[0] <= his.at_s + 0.006][-1]
            assert hands[row[2]] == his.state
            assert (row[3], bool(row[4])) == (his.lane, his.end == "creel")


def test_windows_side_by_side_leave_nothing_out(client: TestClient) -> None:
    both = window(client, from_s="0", to_s="2400")
    first = window(client, from_s="0", to_s="1200")
    second = window(client, from_s="1200", to_s="2400")
    for whole, one, other in zip(both["lanes"], first["lanes"], second["lanes"], strict=True):
        assert [*one, *other[1:]] == whole
        balls = both["lane_keys"].index("balls")
        assert other[0][balls] == one[-1][balls]


def test_another_shift_is_asked_by_its_number(client: TestClient, demo_mill: Mill) -> None:
    found = window(client, drawn="3", seed="5")
    shift = timeline(layout_of(demo_mill, ball_name="Querl 100"), seed=5, replication=2)
    assert found["drawn"] == 3
    first = [one for one in shift.lanes if one.lane == 0 and 0.0 < one.at_s < 1200.0]
    assert {row[0] for row in found["lanes"][0][1:]} == {round(one.at_s, 2) for one in first}
    assert client.get("/api/line/simulate", params={"drawn": "2"}).status_code == 422


def test_what_a_script_needs_is_said(client: TestClient, demo_mill: Mill) -> None:
    found = window(client)
    line = found["line"]
    layout = layout_of(demo_mill, ball_name="Querl 100")
    assert line["wind_m_per_s"] == layout.wind_m_per_s
    assert line["lane_count"] == len(found["lanes"]) == layout.lanes
    assert line["winder_numbers"] == [1, 2, 3, 4, 5, 6]
    assert set(found["words"]["doing"]) == set(found["words"]["order"])
    assert set(found["words"]["causes"]) == set(found["words"]["order"])
    assert len(found["words"]["winder"]) == len(found["states"]["winder"])
    assert found["to_s"] == 1200.0
    assert found["spoilt_keys"] == ["lane", "from_clock_s", "to_clock_s", "since_s"]
    assert all(len(row) == 4 and row[3] < 1200.0 for row in found["spoilt"])
    assert all(begins < ends for _, begins, ends in found["spoilt_balls"])


def test_the_last_window_ends_with_the_shift(client: TestClient) -> None:
    found = window(client, from_s="28000", to_s="29200")
    assert found["to_s"] == 28_800.0
    until = found["hand_keys"].index("until_s")
    assert max(row[until] for rows in found["hands"] for row in rows) == 28_800.0


@pytest.mark.parametrize(
    ("path", "asked", "key"),
    [
        ("simulate", {"hands": "17"}, "hands"),
        ("simulate", {"feed_speed": "fast"}, "feed_speed"),
        ("simulate", {"replications": "0"}, "replications"),
        ("simulate", {"replications": "100000"}, "replications"),
        ("simulate", {"seed": "-1"}, "seed"),
        ("simulate", {"doff": "7 s"}, "doff"),
        ("simulate", {"from_s": "0"}, "from_s"),
        ("shift/timeline", {"from_s": "0", "to_s": "7200"}, "to_s"),
        ("shift/timeline", {"from_s": "900", "to_s": "800"}, "to_s"),
        ("shift/timeline", {"from_s": "28800", "to_s": "29000"}, "to_s"),
        ("shift/timeline", {"from_s": "-1"}, "from_s"),
        ("shift/timeline", {"from_s": "soon"}, "from_s"),
        ("shift/timeline", {"at": "1:00"}, "at"),
    ],
)
def test_what_is_wrong_is_named_in_one_shape(
    client: TestClient, path: str, asked: dict[str, str], key: str
) -> None:
    said = client.get(f"/api/line/{path}", params=asked)
    assert said.status_code == 422
    faults = said.json()["faults"]
    assert key in [fault["key"] for fault in faults]
    assert all(set(fault) == KEYS and fault["what"] for fault in faults)


def test_a_window_is_finite_and_small(client: TestClient) -> None:
    said = client.get("/api/line/shift/timeline", params={"from_s": "0", "to_s": "1200"})
    assert len(said.content) < 100_000
    numbers = [value for rows in said.json()["lanes"] for row in rows for value in row]
    assert all(math.isfinite(value) for value in numbers)


def test_both_addresses_are_described(client: TestClient) -> None:
    paths = client.get("/openapi.json").json()["paths"]
    assert {"/api/line/simulate", "/api/line/shift/timeline"} <= set(paths)
