"""From lot to lot: each rule alone, and a long run against a plain count."""

from __future__ import annotations

import numpy as np
import pytest

from clew.checks.attributes.switching import InspectedLot, Standing, after_lot, follow
from clew.faults import BadInput

GOOD = InspectedLot(True, accept_number=3, passes_tighter=True)
SMALL = InspectedLot(True, accept_number=1)
BAD = InspectedLot(False)


def states(*lots: InspectedLot, start: Standing | None = None) -> list[str]:
    return [one.state for one in follow(lots, start)]


def test_two_of_five_rejected_tighten() -> None:
    assert states(BAD, SMALL, SMALL, SMALL, BAD)[-1] == "tightened"
    assert states(BAD, SMALL, SMALL, SMALL, SMALL, BAD)[-1] == "normal"
    assert states(BAD, BAD) == ["normal", "tightened"]


def test_five_accepted_in_a_row_bring_normal_back() -> None:
    tightened = Standing("tightened")
    assert states(*[SMALL] * 5, start=tightened) == ["tightened"] * 4 + ["normal"]
    assert states(SMALL, SMALL, SMALL, SMALL, BAD, *[SMALL] * 4, start=tightened)[-1] == "tightened"


def test_five_rejected_under_tightened_stop() -> None:
    found = follow([BAD, SMALL, BAD, SMALL, BAD, SMALL, BAD, BAD, GOOD], Standing("tightened"))
    assert [one.state for one in found] == ["tightened"] * 7 + ["stopped"]
    with pytest.raises(BadInput, match="stopped"):
        after_lot(found[-1], GOOD)


def test_the_score_reduces() -> None:
    """Three a lot that would pass a step tighter: ten lots; two a lot of small plans: fifteen."""
    assert states(*[GOOD] * 10) == ["normal"] * 9 + ["reduced"]
    assert states(*[SMALL] * 15) == ["normal"] * 14 + ["reduced"]
    unsteady = InspectedLot(True, 3, True, steady=False)
    assert states(*[unsteady] * 12)[-1] == "normal"


def test_a_lot_that_would_not_pass_a_step_tighter_starts_the_score_anew() -> None:
    narrow = InspectedLot(True, accept_number=3)
    assert follow([*[GOOD] * 9, narrow])[-1].score == 0
    assert states(*[GOOD] * 9, narrow, *[GOOD] * 9)[-1] == "normal"


@pytest.mark.parametrize(
    "lot",
    [BAD, InspectedLot(True, in_gap=True), InspectedLot(True, steady=False)],
)
def test_what_ends_reduced_inspection(lot: InspectedLot) -> None:
    assert states(GOOD, lot, start=Standing("reduced")) == ["reduced", "normal"]


def test_a_gap_is_known_only_to_reduced_inspection() -> None:
    with pytest.raises(BadInput, match="gap"):
        after_lot(Standing(), InspectedLot(True, in_gap=True))
    with pytest.raises(BadInput, match="gap"):
        after_lot(Standing("reduced"), InspectedLot(False, in_gap=True))


@pytest.mark.parametrize("rejected_frac", [0.02, 0.2, 0.5])
def test_a_long_run_against_a_plain_count(rejected_frac: float) -> None:
    """Ten thousand lots drawn by chance; every change is checked on the lots behind it."""
    drawn = np.random.default_rng(8).random(10_000) >= rejected_frac
    now, since, behind = Standing(), 0, []
    for accepted in drawn:
        before = now.state
        now = after_lot(now, InspectedLot(bool(accepted), 3, bool(accepted)))
        behind.append(bool(accepted))
        since += 1
        last = behind[-since:]
        if before == "normal":
            tighten = last[-5:].count(False) >= 2
            reduce = not tighten and last[-10:] == [True] * 10
            expected = "tightened" if tighten else "reduced" if reduce else "normal"
        elif before == "tightened":
            five = since >= 5 and all(last[-5:])
            expected = "normal" if five else "stopped" if last.count(False) >= 5 else "tightened"
        else:
            expected = "reduced" if accepted else "normal"
        assert now.state == expected
        if now.state != before:
            since = 0
            assert now.why
        if now.state == "stopped":
            now = Standing("tightened")
