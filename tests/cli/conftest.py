"""Running the command as a program would."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from click.testing import CliRunner, Result

from clew.cli.main import main

Run = Callable[..., Result]


@pytest.fixture
def clew() -> Run:
    """Run `clew` with arguments and give what it printed and its exit code."""

    def run(*arguments: object) -> Result:
        return CliRunner().invoke(main, [str(one) for one in arguments])

    return run


@pytest.fixture
def clew_json(clew: Run) -> Callable[..., dict[str, Any]]:
    """Run `clew` with --json and give the object it printed."""

    def run(*arguments: object) -> dict[str, Any]:
        result = clew(*arguments, "--json")
        assert result.exit_code == 0, result.output
        found = json.loads(result.stdout)
        assert isinstance(found, dict)
        return found

    return run
