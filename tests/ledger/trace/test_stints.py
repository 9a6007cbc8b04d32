"""Which cone was at the feed when: the first one of a run, and a tie told twice."""

from __future__ import annotations

from typing import Any

from tests.ledger.trace.truth import LINE

from clew.ledger.state.known import Effective
from clew.ledger.trace.answer import ConeStint
from clew.ledger.trace.stints import stints_of

MIN = 60_000_000
T0 = 1_764_000_000_000_000


def event(minute: float, kind: str, cone: str = "", *, lot: str = "", **body: Any) -> Effective:
    at_us = T0 + round(minute * MIN)
    lane = 0 if kind.startswith("run") else 1
    return Effective(
        LINE, round(1000 * minute) + 100_000, at_us, kind, "t", f"{kind}{minute}{cone}", "", lane,
        None, "R", cone, lot, "", "", body,
    )  # fmt: skip


def minutes(one: ConeStint) -> tuple[float | None, ...]:
    times = (
        one.from_earliest_us, one.from_latest_us, one.upto_earliest_us, one.upto_latest_us,
    )  # fmt: skip
    return tuple(None if at_us is None else (at_us - T0) / MIN for at_us in times)


def only(found: tuple[ConeStint, ...], cone: str) -> ConeStint:
    (one,) = [one for one in found if one.cone == cone]
    return one


def test_the_first_cone_of_a_run_feeds_from_its_start() -> None:
    told = [
        event(-60, "cone loaded", "A"), event(0, "run start"), event(9, "cone loaded", "B"),
        event(20, "tie", "B", cone_off="A"),
    ]  # fmt: skip
    first = only(stints_of(told), "A")
    assert minutes(first) == (0.0, 0.0, 20.0, 20.0) and first.why == ""
    # told as loaded when the run went on already: it may have fed from the start
    late = [event(5, "cone loaded", "A"), *told[1:]]
    assert minutes(only(stints_of(late), "A")) == (0.0, 5.0, 20.0, 20.0)
    # without a run start nothing is known but the load and the next tie
    bare = only(stints_of([told[0], *told[2:]]), "A")
    assert minutes(bare) == (-60.0, 20.0, -60.0, 20.0) and bare.why


def test_the_first_cone_after_another_run_needs_the_old_one_gone() -> None:
    old = [event(-300, "run start"), event(-290, "tie", "P"), event(-60, "run end")]
    new = [
        event(-20, "cone loaded", "A"), event(0, "run start"), event(9, "cone loaded", "B"),
        event(20, "tie", "B"),
    ]  # fmt: skip
    assert minutes(only(stints_of([*old, *new]), "A"))[:2] == (-20.0, 20.0)  # P may have fed on
    off = event(-30, "cone off", "P")
    # B may have come on before the tie that names it is told of another cone
    assert minutes(only(stints_of([*old, off, *new]), "A")) == (0.0, 0.0, 20.0, 20.0)
    late_off = event(5, "cone off", "P")
    assert minutes(only(stints_of([*old, late_off, *new]), "A"))[:2] == (-20.0, 20.0)


def test_the_first_cone_is_not_sure_beside_one_that_was_never_told_off() -> None:
    told = [
        event(-70, "cone loaded", "Z"), event(-60, "cone loaded", "A"), event(0, "run start"),
        event(9, "cone loaded", "B"), event(20, "tie", "B", cone_off="A"),
    ]  # fmt: skip
    assert minutes(only(stints_of(told), "A"))[1] == 20.0


def test_a_first_cone_that_feeds_yet_and_one_that_waits() -> None:
    told = [event(-60, "cone loaded", "A"), event(0, "run start")]
    assert minutes(only(stints_of(told), "A")) == (0.0, 0.0, None, None)
    waits = [*told, event(9, "cone loaded", "B")]
    assert minutes(only(stints_of(waits), "A")) == (0.0, 0.0, 9.0, None)


def test_a_tie_that_takes_the_tail_of_a_first_cone_ends_it_though_its_own_load_is_lost() -> None:
    told = [event(-60, "cone loaded", "A"), event(0, "run start"), event(20, "tie", "B")]
    assert minutes(only(stints_of(told), "A")) == (0.0, 0.0, 20.0, None)


def test_a_cone_told_after_the_one_that_followed_it_still_fed_before_that() -> None:
    told = [
        event(0, "run start"), event(9, "cone loaded", "B"), event(12, "cone loaded", "A"),
        event(20, "tie", "B", cone_off="A"),
    ]  # fmt: skip
    found = [one for one in stints_of(told) if one.cone == "A"]
    assert any(minutes(one)[2:] == (20.0, 20.0) and minutes(one)[0] is None for one in found)


def test_a_cone_taken_off_untied_before_the_next_run_is_not_of_that_run() -> None:
    told = [
        event(-60, "run start"), event(-50, "tie", "P"), event(-40, "cone loaded", "A"),
        event(-20, "run end"), event(-19, "cone off", "P"), event(-18, "cone off", "A"),
        event(0, "run start"),
    ]  # fmt: skip
    waited = only(stints_of(told), "A")
    assert minutes(waited) == (-40.0, -18.0, -40.0, -18.0)
    assert all(rest.kind != "run start" for rest in waited.rests)


def test_a_tie_told_by_the_hand_and_by_the_feed_is_one() -> None:
    told = [
        event(0, "cone loaded", "B", lot="SL-207"), event(5, "tie", "A"),
        event(20, "tie", "B"), event(24, "tie", "B"), event(50, "tie", "C"),
    ]  # fmt: skip
    found = stints_of(told)
    assert minutes(only(found, "B")) == (20.0, 24.0, 50.0, 50.0)
    assert only(found, "B").lot == "SL-207"
    assert minutes(only(found, "A")) == (5.0, 5.0, 20.0, 24.0)
    # two ties far apart are two: a name was used again, and a tie between is not told
    apart = [*told[:2], event(20, "tie", "B"), event(90, "tie", "B")]
    assert len([one for one in stints_of(apart) if one.cone == "B"]) == 2
