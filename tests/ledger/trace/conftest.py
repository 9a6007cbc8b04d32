"""The way of the demo mill's line, and mills whose balls keep their names in other ways."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from tests.ledger.trace.truth import KeptInList

from clew.ledger.trace.tracing import Tracing
from clew.ledger.trace.transit import Transit
from clew.mill.model import Mill

BALL = "Querl 100"


@pytest.fixture(scope="session")
def way(demo_mill: Mill) -> Transit:
    """The way of Line 1 while it makes `BALL`."""
    return Tracing(demo_mill, KeptInList([])).transit(demo_mill.line[0], BALL)[0]


@pytest.fixture(scope="session")
def mill_with(demo_mill: Mill) -> Callable[[str], Mill]:
    """Make the demo mill with another way of keeping a ball's name."""

    def make(identity: str) -> Mill:
        line = demo_mill.line[0].model_copy(update={"ball_identity": identity})
        return demo_mill.model_copy(update={"line": (line,)})

    return make
