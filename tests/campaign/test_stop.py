"""Ctrl-C is heard once as a request, twice as an interruption, and only where it is ours."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator

import pytest
from swept_functions import Setting, summary

from clew.campaign.stop import stop_by_hand
from clew.campaign.sweep import SweepInterrupted, sweep


@pytest.fixture(autouse=True)
def usual_ctrl_c() -> Iterator[None]:
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


def test_the_first_is_noted_and_the_second_interrupts() -> None:
    with stop_by_hand() as stop:
        assert not stop.asked
        signal.raise_signal(signal.SIGINT)
        assert stop.asked
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_it_is_as_before_after_an_error() -> None:
    with pytest.raises(ZeroDivisionError), stop_by_hand():
        raise ZeroDivisionError
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_a_programs_own_way_with_ctrl_c_is_left_alone() -> None:
    heard: list[int] = []

    def own(number: int, _frame: object) -> None:
        heard.append(number)

    signal.signal(signal.SIGINT, own)
    with stop_by_hand() as stop:
        signal.raise_signal(signal.SIGINT)
    assert heard == [signal.SIGINT]
    assert not stop.asked
    assert signal.getsignal(signal.SIGINT) is own


def test_a_sweep_in_another_thread_leaves_ctrl_c_alone() -> None:
    found = []
    points = tuple(Setting(float(step), 1) for step in range(8))

    def work() -> None:
        found.append(sweep(summary, points, workers=2))

    thread = threading.Thread(target=work)
    thread.start()
    thread.join(60.0)
    assert found == [tuple(summary(point) for point in points)]


@pytest.mark.parametrize("workers", [1, 2])
def test_a_sweep_begins_no_point_after_the_first(workers: int) -> None:
    points = tuple(Setting(float(step), 1) for step in range(200))
    told: list[int] = []

    def once(done: int, _total: int) -> None:
        told.append(done)
        if len(told) == 3:
            signal.raise_signal(signal.SIGINT)

    with pytest.raises(SweepInterrupted) as stopped:
        sweep(summary, points, workers=workers, progress=once)
    # Those that were begun by then: one, or those handed to the threads.
    assert told[2] <= stopped.value.done <= told[2] + (0 if workers == 1 else 2 * workers)
