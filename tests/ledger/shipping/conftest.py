"""A ledger with 48 good balls of SL-207 in it, on both databases."""

from __future__ import annotations

import pytest
from tests.ledger.shipping.bench import Bench, wind

from clew.ledger.store.ledger import Ledger
from clew.mill.model import Mill


@pytest.fixture
def numbered_mill(demo_mill: Mill) -> Mill:
    """The demo mill, with the company prefix of GS1's own examples."""
    info = demo_mill.mill.model_copy(update={"gs1_prefix": "9521234"})
    return demo_mill.model_copy(update={"mill": info})


@pytest.fixture
def plain_mill(demo_mill: Mill) -> Mill:
    """The demo mill without a company prefix."""
    info = demo_mill.mill.model_copy(update={"gs1_prefix": None})
    return demo_mill.model_copy(update={"mill": info})


@pytest.fixture
def bench(ledger: Ledger, numbered_mill: Mill) -> Bench:
    """A bench of a mill with a company prefix, 50 balls of SL-207 wound."""
    wind(ledger, "L1-251125-1", "SL-207", 50, pulled=2)
    return Bench(ledger, numbered_mill)
