"""What a bad network does to true messages: by seed, in the shares asked for, keys kept."""

from __future__ import annotations

import math
from collections import Counter
from typing import Any

import pytest

from clew.cli.play.unruly import NEVER_LOST, unruly
from clew.ledger.events.kinds import KINDS

MESSAGES: list[dict[str, Any]] = [{"kind": "turns", "key": str(n)} for n in range(20_000)]
AT_S = [0.5 * n for n in range(20_000)]


def test_without_a_share_all_is_sent_once_in_order() -> None:
    found = unruly(MESSAGES, AT_S, seed=1, share=0.0)
    assert [one.message for one in found.sendings] == MESSAGES
    assert [one.send_s for one in found.sendings] == AT_S
    assert found.lost == ()


def test_the_seed_alone_decides() -> None:
    one = unruly(MESSAGES, AT_S, seed=1, share=0.02)
    assert one == unruly(MESSAGES, AT_S, seed=1, share=0.02)
    assert one != unruly(MESSAGES, AT_S, seed=2, share=0.02)


@pytest.mark.parametrize("how", ["late", "again", "swapped", "lost"])
def test_as_many_are_spoilt_each_way_as_asked_for(how: str) -> None:
    found = unruly(MESSAGES, AT_S, seed=5, share=0.03).counts()
    n, p = len(MESSAGES), 0.03
    assert abs(found[how] - n * p) < 4.0 * math.sqrt(n * p * (1.0 - p))


def test_every_message_is_sent_once_or_twice_or_lost() -> None:
    found = unruly(MESSAGES, AT_S, seed=5, share=0.1)
    sent = Counter(one.message["key"] for one in found.sendings)
    twice = {one.message["key"] for one in found.sendings if one.how == "again"}
    lost = {one["key"] for one in found.lost}
    assert set(sent) | lost == {one["key"] for one in MESSAGES}
    assert not set(sent) & lost
    assert {key for key, times in sent.items() if times == 2} == twice
    assert max(sent.values()) == 2


def test_sendings_stand_in_their_order_and_none_before_it_happened() -> None:
    found = unruly(MESSAGES, AT_S, seed=5, share=0.1)
    moments = [one.send_s for one in found.sendings]
    assert moments == sorted(moments)
    for one in found.sendings:
        assert one.send_s >= AT_S[int(one.message["key"])]


def test_swapped_messages_come_after_their_next() -> None:
    found = unruly(MESSAGES, AT_S, seed=5, share=0.05)
    first = {one.message["key"]: place for place, one in reversed(list(enumerate(found.sendings)))}
    how = {one.message["key"]: one.how for one in found.sendings}
    swapped = [int(key) for key, of in how.items() if of == "swapped"]
    came_after = [
        first[str(n)] > first[str(n + 1)] for n in swapped if how.get(str(n + 1)) == "in time"
    ]
    assert came_after
    assert all(came_after)


def test_what_a_tablet_keeps_is_never_lost() -> None:
    assert set(KINDS) >= NEVER_LOST
    kept = [{"kind": kind, "key": f"{kind} {n}"} for kind in NEVER_LOST for n in range(200)]
    found = unruly(kept, [float(n) for n in range(len(kept))], seed=9, share=0.25)
    assert found.lost == ()
    assert {one.message["key"] for one in found.sendings} == {one["key"] for one in kept}


@pytest.mark.parametrize("share", [-0.01, 0.26])
def test_an_impossible_share_is_refused(share: float) -> None:
    with pytest.raises(ValueError, match="share"):
        unruly(MESSAGES, AT_S, seed=1, share=share)
