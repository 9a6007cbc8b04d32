"""What the sender says in the message's stead is held to the same rules as the message."""

from __future__ import annotations

import pytest

from clew.faults import BadInput
from clew.ledger.events.kinds import LONGEST_NAME
from clew.ledger.events.reading import Sender, read_message

AT = 1_767_225_600_000_000
DOFF = {"kind": "doff", "lane": 1}


@pytest.mark.parametrize("key", ["k\x00", "k\ud800", "k\n", "k" * (LONGEST_NAME + 1)])
def test_a_key_that_no_database_writes_is_refused(key: str) -> None:
    with pytest.raises(BadInput) as bad:
        read_message(DOFF, Sender("tablet", "A", "north", "", AT, key))
    assert bad.value.faults[0].key == "key"


def test_two_machines_with_long_names_stay_two() -> None:
    sources = {
        read_message({**DOFF, "source": "x" * (LONGEST_NAME - 1) + end},
                     Sender("http", "A", "north", "", AT, "k")).source
        for end in "ab"
    }  # fmt: skip
    assert len(sources) == 2
    assert {len(one) for one in sources} == {LONGEST_NAME}
