"""The player sends each thing its way when it is due, and waits for what is not acknowledged."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest

from clew.cli.play.pace import Pace
from clew.cli.play.player import Ways, play
from clew.cli.play.unruly import Sending


class Kept:
    """A way that keeps, with the moment, what it is given; it may be slow to acknowledge."""

    def __init__(self, now: list[float], slow_s: float = 0.0) -> None:
        self.now, self.slow_s = now, slow_s
        self.taken: list[tuple[float, str]] = []
        self.refused: list[str] = []
        self.trouble = ""

    def take(self, messages: Iterable[dict[str, Any]]) -> None:
        """Keep."""
        self.taken += [(self.now[0], one["key"]) for one in messages]

    def pump(self) -> None:
        """Do nothing."""
        self.trouble = "slow" if self.waiting() else ""

    def waiting(self) -> int:
        """Count what is younger than the slowness."""
        return sum(self.now[0] < at_s + self.slow_s for at_s, _ in self.taken)

    def close(self) -> None:
        """Do nothing."""


def sending(at_s: float, kind: str = "turns", **more: str) -> Sending:
    return Sending(at_s, "in time", {"kind": kind, "key": f"{kind} {at_s:g}", **more})


def run(sendings: list[Sending], ways: Ways, pace: Pace, now: list[float], **more: Any) -> Any:
    def sleep(for_s: float) -> None:
        now[0] += max(for_s, 1e-3)

    return list(play(sendings, ways, pace, clock=lambda: now[0], sleep=sleep, **more))[-1]


@pytest.mark.parametrize("speed", [1.0, 10.0])
def test_each_is_sent_when_it_is_due(speed: float) -> None:
    now = [100.0]
    way = Kept(now)
    sendings = [sending(at_s) for at_s in (-5.0, 0.0, 1.0, 2.5, 30.0)]
    last = run(sendings, Ways(way), Pace(speed, 1e6 if speed > 1.0 else 0.0), now)
    for (sent_s, key), at_s in zip(way.taken, (-5.0, 0.0, 1.0, 2.5, 30.0), strict=True):
        assert key == f"turns {at_s:g}"
        assert 0.0 <= sent_s - 100.0 - max(at_s, 0.0) / speed < 0.06
    assert (last.sent, last.of, last.waiting) == (5, 5, 0)


def test_hands_machines_and_the_scale_go_their_own_ways() -> None:
    now = [0.0]
    hands, machines, scale = Kept(now), Kept(now), Kept(now)
    sendings = [
        sending(0.0), sending(0.1, "weighing"), sending(0.2, "tie", author="Mara Teal"),
        sending(0.3, "doff"),
    ]  # fmt: skip
    run(sendings, Ways(hands, machines, scale), Pace(), now)
    assert [key for _, key in hands.taken] == ["tie 0.2"]
    assert [key for _, key in machines.taken] == ["turns 0", "doff 0.3"]
    assert [key for _, key in scale.taken] == ["weighing 0.1"]


def test_without_ways_of_their_own_all_go_over_http() -> None:
    now = [0.0]
    hands = Kept(now)
    run([sending(0.0), sending(0.1, "weighing")], Ways(hands), Pace(), now)
    assert len(hands.taken) == 2


def test_it_waits_for_acknowledgements_but_not_for_ever() -> None:
    now = [0.0]
    last = run([sending(0.0)], Ways(Kept(now, slow_s=5.0)), Pace(), now, patience_s=10.0)
    assert last.waiting == 0
    assert 5.0 <= now[0] < 6.0
    now = [0.0]
    last = run([sending(0.0)], Ways(Kept(now, slow_s=1e9)), Pace(), now, patience_s=10.0)
    assert last.waiting == 1
    assert 10.0 <= now[0] < 11.0
