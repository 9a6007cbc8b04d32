"""What a ball costs is the same number on Orders, on Case, for programs and in the command."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient
from tests.web.orders.test_orders_page import NOW, api, rows_of, said

from clew.cli.main import main
from clew.mill.model import Mill
from clew.plan.costing.ball_cost import ball_cost


def test_the_cost_of_a_ball_is_one_number_everywhere(
    client: TestClient, demo_folder: Path, demo_mill: Mill
) -> None:
    head, *rows = rows_of(said(client), "What a first-quality ball costs by the time it leaves")
    usual = head.index("With a usual change")
    runs = api(client, "sequence")["lines"][0]["runs"]
    assert [row[0] for row in rows] == [one["run"] for one in runs]
    for row, run in zip(rows, runs, strict=True):
        asked = {"ball": run["ball"], "lot": run["lot"], "line": "Line 1"}
        asked |= {"run_balls": str(run["balls"]), "worth": "no"}
        room = ball_cost(demo_mill, run["ball"], run["lot"], "Line 1", run_balls=run["balls"]).total
        told = CliRunner().invoke(
            main,
            ["plan", "cost", run["ball"], "--lot", run["lot"], "--line", "Line 1", "--json",
             "--balls", asked["run_balls"], "--no-sensitivities", "--mill", str(demo_folder)],
        )  # fmt: skip
        by_command = json.loads(told.stdout)["money_per_ball"]
        by_program = client.get("/api/plan/cost", params=asked).json()["money_per_ball"]
        assert by_program == by_command == room
        assert row[usual] == f"{room:.3f}"
        case = html.unescape(client.get("/case", params=asked | {"worth": ""}).text)
        case = case.replace("\u00a0", " ")
        assert f"A ball of {run['ball']} costs {room:.2f} GBP, between " in case
        _, *stages = rows_of(case, "What a first-quality ball costs, GBP")
        assert stages[-1][2] == f"{room:.4f}"


def test_a_run_with_its_own_change_costs_what_the_room_says_of_that_change(
    client: TestClient, demo_mill: Mill
) -> None:
    """Its cost is the same function's, with the plan's change before it, not the usual one."""
    from datetime import datetime

    from clew.plan.orders.asked import orders_of_mill
    from clew.plan.orders.materials import materials_for
    from clew.plan.sequence.calendar import work_time_of
    from clew.plan.sequence.plan import sequence_plan

    zone = work_time_of(demo_mill, "Line 1").zone
    plan = sequence_plan(
        demo_mill, materials_for(demo_mill, orders_of_mill(demo_mill)).runs,
        now=datetime.fromisoformat(NOW["now"]).replace(tzinfo=zone), within_s=10.0,
    )  # fmt: skip
    head, *rows = rows_of(said(client), "What a first-quality ball costs by the time it leaves")
    shown = {row[0]: row for row in rows}
    everything = 0.0
    for one in plan.timed:
        cost = ball_cost(
            demo_mill, one.run.ball_name, one.run.lot_name, one.line_name,
            run_balls=one.run.balls, change=one.change,
        )  # fmt: skip
        row = shown[one.run.name]
        assert row[head.index("A ball costs")] == f"{cost.total:.3f}"
        assert row[head.index("Its change alone")] == f"{one.change.cost:.2f}"
        everything += cost.total * one.run.balls
    said_of_all = re.search(r"All balls of the plan cost ([\d.]+) GBP", said(client))
    assert said_of_all and float(said_of_all[1]) == pytest.approx(everything, abs=0.005)
