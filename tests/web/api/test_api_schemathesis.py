"""The interface against its own description: whatever it allows is answered as it says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, seed, settings
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_schema_conformance,
    status_code_conformance,
)
from starlette.testclient import TestClient

from clew.mill import write_demo
from clew.web.app import create_app
from clew.web.door.guard import LOOPBACK

FIRST = {
    "kind": "doff", "line": "Line 1", "lane": 1, "at": "2026-09-01T05:40:00Z", "key": "first",
}  # fmt: skip
EVERYWHERE = (not_a_server_error, content_type_conformance, response_schema_conformance)
AS_DESCRIBED = (*EVERYWHERE, status_code_conformance, negative_data_rejection)
FIRST_ANSWER_S = 300.0
"""A plan's first answer on a new machine compiles the search, which takes some seconds."""
OTHERS = (
    "/api/yarn", "/api/ball/path", "/api/knots/law", "/api/knots/strand", "/api/weigh/charts",
    "/api/weigh/corrections", "/api/lot/sample", "/api/lot/test", "/api/plan/pack",
    "/api/plan/cost", "/api/plan/wish",
)  # fmt: skip


@pytest.fixture(scope="module")
def api(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """The description of a workbench whose ledger holds one doff."""
    folder: Path = tmp_path_factory.mktemp("mill") / "mill"
    write_demo(folder)
    app = create_app(folder, hosts=(*LOOPBACK, "testserver"))
    client = TestClient(app, base_url="http://127.0.0.1")
    assert client.post("/api/events", json=FIRST).status_code == 200
    yield schemathesis.openapi.from_asgi("/openapi.json", app)
    app.state.bench.ledger.close()


def ask(
    operation: Any, mode: GenerationMode, checks: Sequence[Any], examples: int
) -> dict[int, int]:
    """Ask one address whatever its description allows, or whatever it does not; count answers."""
    statuses: dict[int, int] = {}

    @seed(6)
    @settings(
        max_examples=examples, deadline=None, database=None, derandomize=False,
        suppress_health_check=list(HealthCheck), phases=[Phase.explicit, Phase.generate],
    )  # fmt: skip
    @given(case=operation.as_strategy(generation_mode=mode))
    def asked(case: Any) -> None:
        answer = case.call_and_validate(checks=list(checks), timeout=FIRST_ANSWER_S)
        statuses[answer.status_code] = statuses.get(answer.status_code, 0) + 1

    asked()
    return statuses


@pytest.mark.parametrize(
    ("method", "path"), [("POST", "/api/events"), ("GET", "/api/events"), ("GET", "/api/ledger")]
)
def test_the_ledgers_addresses(api: Any, method: str, path: str) -> None:
    assert ask(api[path][method], GenerationMode.POSITIVE, AS_DESCRIBED, 60)


@pytest.mark.parametrize("method", ["POST", "GET"])
def test_the_ledgers_addresses_refuse_the_rest(api: Any, method: str) -> None:
    """What the description does not allow is refused, in the shape that it gives for that."""
    statuses = ask(api["/api/events"][method], GenerationMode.NEGATIVE, AS_DESCRIBED, 60)
    assert statuses[422] > 30


@pytest.mark.parametrize("path", OTHERS)
def test_the_other_quick_addresses(api: Any, path: str) -> None:
    """That they fail in no other way than they say; what they say to nonsense is their own."""
    assert ask(api[path]["GET"], GenerationMode.POSITIVE, EVERYWHERE, 8)
