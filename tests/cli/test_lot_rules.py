"""`clew lot rules`: what each rule set rests on, and a file to correct it in."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from clew.checks.packages.plan import RULE_KEYS as RULES
from clew.checks.packages.rule_sets import RULE_SETS
from clew.mill.net_content import built_in_text, read_tables

Run = Callable[..., Result]


def test_the_command_knows_every_rule_set() -> None:
    assert set(RULES) == set(RULE_SETS)


def test_all_rule_sets(clew: Run) -> None:
    ran = clew("lot", "rules")
    assert ran.exit_code == 0
    for rule in RULES:
        assert rule in ran.stdout
    assert "not checked" in ran.stdout
    assert "To confirm a table" in ran.stdout


@pytest.mark.parametrize("rule", RULES)
def test_one_rule_set(clew: Run, rule: str) -> None:
    ran = clew("lot", "rules", rule)
    assert ran.exit_code == 0
    assert RULE_SETS[rule].source in ran.stdout  # type: ignore[index]
    assert "your weights-and-measures office decides" in ran.stdout


def test_json(clew: Run) -> None:
    found = json.loads(clew("lot", "rules", "--json").stdout)
    by_key = {rule["rule"]: rule for rule in found["rules"]}
    assert set(by_key) == set(RULES)
    us = {table["key"]: table for table in by_key["us-category-a"]["tables"]}
    assert us["us_category_a_length"]["off"] is True
    assert us["us_category_a_plans"]["confirmed"] is False
    assert by_key["uk-2006"]["tables_confirmed"] is True
    assert by_key["us-category-a"]["tables_confirmed"] is False


def test_written_corrected_and_read_again(clew: Run, tmp_path: Path) -> None:
    target = tmp_path / "net_content.toml"
    assert clew("lot", "rules", "--write", target).exit_code == 0
    assert target.read_text(encoding="utf-8") == built_in_text()
    again = clew("lot", "rules", "--write", target)
    assert again.exit_code == 2
    assert "there already" in again.stderr
    text = built_in_text().replace('confirmed_by = ""', 'confirmed_by = "A. Hand, 2026-11-25, it"')
    target.write_text(text, encoding="utf-8")
    ran = clew("lot", "rules", "us-category-a", "--mill", tmp_path)
    assert "confirmed by A. Hand, 2026-11-25, it" in ran.stdout


def test_a_faulty_copy_is_told_with_its_line(clew: Run, tmp_path: Path) -> None:
    target = tmp_path / "net_content.toml"
    text = built_in_text().replace("over = 54,", "over = 55,")
    target.write_text(text, encoding="utf-8")
    line = text[: text.index("over = 55,")].count("\n") + 1
    ran = clew("lot", "rules", "--mill", tmp_path)
    assert ran.exit_code == 2
    assert f"net_content.toml:{line}:" in ran.stderr
    assert "a gap between rows" in ran.stderr


@pytest.mark.parametrize("page", ["lot_rules.md", "lot_test.md"])
def test_the_manual_shows_the_tables_that_are_shipped(page: str) -> None:
    text = (Path(__file__).parents[2] / "docs" / page).read_text(encoding="utf-8")
    assert f"Tables: built in, sha256 {read_tables().sha256[:12]}." in text
