"""Every rule set from the mill file to the commands, the pages, the API and the run card."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result
from starlette.testclient import TestClient

from clew.checks.packages.plan import RULE_KEYS
from clew.papers.card_rows import RULE_WORDS
from clew.web.app import create_app

Run = Callable[..., Result]
OWN, OTHERS = RULE_KEYS[-1], RULE_KEYS[:-1]
BALL = ("--ball", "Querl 100")
LOT = ("--lot", "SL-207", "--lot-size", "720")
ASKED = {"ball": "Querl 100", "lot": "SL-207", "size": "720"}


@pytest.fixture
def mill(mill_dir: Path) -> Path:
    """The demo mill, its first ball declared under the newest rule set and sold under the rest."""
    file = mill_dir / "mill.toml"
    lines = file.read_text(encoding="utf-8").splitlines(keepends=True)
    here = next(place for place, line in enumerate(lines) if line.startswith("rule_set"))
    assert lines[here + 1].startswith("other_rule_sets")
    lines[here : here + 2] = [f'rule_set = "{OWN}"\n', f"other_rule_sets = {json.dumps(OTHERS)}\n"]
    file.write_text("".join(lines), encoding="utf-8")
    return mill_dir


def test_a_lot_is_tested_and_released_by_each(clew: Run, mill: Path) -> None:
    data = mill / "shift-weighings.csv"
    tested = clew("lot", "test", data, "--mill", mill, *BALL, *LOT, "--json")
    assert tested.exit_code in (0, 1), tested.output
    assert json.loads(tested.stdout)["rule"] == OWN
    released = clew("lot", "release", data, "--mill", mill, *BALL, *LOT, "--draw", "1", "--json")
    assert released.exit_code in (0, 1), released.output
    assert {one["rule"] for one in json.loads(released.stdout)["verdicts"]} == set(RULE_KEYS)


def test_one_target_keeps_them_all(clew: Run, mill: Path) -> None:
    data = mill / "shift-weighings.csv"
    found = clew("weigh", "target", data, "--mill", mill, *BALL, "--lot-size", "720", "--json")
    assert found.exit_code in (0, 1), found.output
    assert {need["rule"] for need in json.loads(found.stdout)["needs"]} == set(RULE_KEYS)


def test_the_run_card_names_the_law(clew: Run, mill: Path) -> None:
    folder = mill / "card"
    card = clew("ball", "card", "Querl 100", "--dye-lot", "SL-207", "--mill", mill, "--out", folder)
    assert card.exit_code == 0, card.output
    papers = "".join(one.read_text(encoding="utf-8") for one in folder.glob("*.html"))
    assert RULE_WORDS[OWN] in papers


def test_the_pages_and_the_api_judge_by_the_newest(mill: Path) -> None:
    """Every other one is judged by in the tests of the page Lots."""
    file = mill / "mill.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace(json.dumps(OTHERS), "[]"), encoding="utf-8")
    with TestClient(create_app(mill), base_url="http://127.0.0.1") as client:
        lots = client.get("/lots", params=ASKED)
        band = client.get("/band", params={"ball": "Querl 100", "law": "1"})
        told = client.get("/api/lot/test", params=ASKED)
    assert (lots.status_code, band.status_code, told.status_code) == (200, 200, 200)
    assert f'id="sheet-{OWN}-mass"' in lots.text
    assert OWN in band.text
    assert told.json()["rule"] == OWN
