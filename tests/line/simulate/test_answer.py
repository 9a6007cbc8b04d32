"""What is told of many shifts: sums, intervals, quantiles, and that cores do not matter."""

from __future__ import annotations

import math
import tracemalloc
from dataclasses import replace

import numpy as np
import pytest

from clew.faults import BadInput
from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import ShiftAnswer, shift_answer
from clew.line.simulate.measures import (
    COUNTS,
    LEVELS,
    MEASURES,
    WAIT_ENDS_S,
    Moments,
    add_handful,
    measured,
    no_sums,
)
from clew.line.simulate.packing import KIND_ORDER
from clew.line.simulate.plain import plain_shift
from clew.line.simulate.records import WAITS
from clew.line.simulate.shifts import AHEAD, AT_ONCE, Handful, handful, shifts
from clew.line.simulate.timeline import Timeline, timeline
from clew.mill.model import Mill

SHIFTS = 60


@pytest.fixture(scope="module")
def busy(demo_mill: Mill) -> Layout:
    """Twenty minutes in which everything happens: breaks, dry creels, colours, rests."""
    return replace(
        layout_of(demo_mill, "Line 1", "Querl 100"),
        shift_s=1200.0,
        hands=2,
        colour_at_s=(300.0,),
        cone_m=600.0,
        cones_per_lane=2,
        feed_breaks_per_km=0.4,
        wind_breaks_per_km=0.4,
        breaks=1,
        break_s=60.0,
        warm_up_s=0.0,
    )


@pytest.fixture(scope="module")
def answer(busy: Layout) -> ShiftAnswer:
    return shift_answer(busy, replications=SHIFTS, seed=7)


@pytest.fixture(scope="module")
def found(busy: Layout) -> list[Handful]:
    """The shifts that the answer is made of."""
    return list(shifts(busy, replications=SHIFTS, seed=7, cores=1))


def rows_of(found: list[Handful]) -> np.ndarray:
    return np.concatenate([measured(one) for one in found])


def lanes_of(found: list[Handful]) -> np.ndarray:
    return np.concatenate([one.lanes for one in found])


def test_everything_happens_in_these_shifts(answer: ShiftAnswer) -> None:
    """Or the tests below would hold of nothing."""
    for name, one in answer.measures.items():
        assert one.mean > 0.0 or name in ("second_balls", "spoilt_m"), name


def test_every_second_is_booked_once(answer: ShiftAnswer) -> None:
    assert sum(one.mean for one in answer.winder_share.values()) == pytest.approx(1.0, abs=1e-9)
    for lane in answer.lanes:
        assert sum(lane.winder_share.values()) == pytest.approx(1.0, abs=1e-9)
        assert sum(lane.feed_share.values()) < 1.0
    for cause, one in answer.feed_share.items():
        of_lanes = [lane.feed_share[cause] for lane in answer.lanes]
        assert np.mean(of_lanes) == pytest.approx(one.mean)
    assert sum(lane.balls for lane in answer.lanes) == pytest.approx(answer.balls.mean)
    assert sum(one.mean for one in answer.hand_share.values()) < 1.0
    share = answer.hand_share
    assert answer.hand_busy_frac == share["serving"].mean + share["walking"].mean


def test_the_strand_is_booked_to_the_metre(answer: ShiftAnswer) -> None:
    books = answer.books
    came_m = books.initial_m + books.laid_m
    went_m = books.raw_m + books.steamed_m + books.wound_m + books.waste_m
    assert went_m == pytest.approx(came_m, rel=1e-9)
    assert books.missed_frac < 1e-9
    assert min(books.raw_m, books.steamed_m, books.wound_m, books.waste_m) > 0.0


def test_kilograms_are_of_full_balls(answer: ShiftAnswer) -> None:
    """As they leave the line: Querl 100 is set to 101 g."""
    ball_kg = 0.101
    assert answer.kg.mean == pytest.approx(answer.balls.mean * ball_kg)
    assert answer.kg.high - answer.kg.low == pytest.approx(
        (answer.balls.high - answer.balls.low) * ball_kg
    )


@pytest.mark.parametrize("cores", [1, 2, 3])
def test_the_same_answer_on_any_number_of_cores(
    busy: Layout, answer: ShiftAnswer, cores: int
) -> None:
    again = shift_answer(busy, replications=SHIFTS, seed=7, cores=cores)
    assert again == answer
    assert plain_shift(again) == plain_shift(answer)


def test_a_shift_is_the_same_alone_and_among_others(busy: Layout) -> None:
    together = handful(busy, 7, 0, AT_ONCE)
    for number in range(AT_ONCE):
        alone = handful(busy, 7, number, 1)
        assert alone.lanes[0].tobytes() == together.lanes[number].tobytes()
        assert alone.hands[0].tobytes() == together.hands[number].tobytes()
    assert together.lanes[0].tobytes() != together.lanes[1].tobytes()


def test_another_seed_is_other_shifts(busy: Layout, answer: ShiftAnswer) -> None:
    assert shift_answer(busy, replications=SHIFTS, seed=8).measures != answer.measures


def test_the_same_breaks_meet_other_hands(busy: Layout) -> None:
    """A lane's first break comes at the same metre, whoever serves it."""

    def first_breaks(layout: Layout) -> dict[int, float]:
        first: dict[int, float] = {}
        for row in timeline(layout, seed=7).lanes:
            if (row.part, row.state) == ("feed", "broken"):
                first.setdefault(row.lane, row.at_s)
        return first

    # An unbounded buffer and endless cones: until its first break a feed never stands.
    endless = replace(busy, buffer_m=1e6, cone_m=1e6, colour_at_s=())
    few, many = (first_breaks(replace(endless, hands=hands)) for hands in (1, 4))
    assert few
    assert few == pytest.approx(many, abs=1e-6)


def test_common_chance_shows_small_differences(busy: Layout) -> None:
    """A little faster doff: what it adds spreads less when both lines meet the same shifts."""
    slow, fast = busy, replace(busy, doff_s=0.97 * busy.doff_s)

    def measure(layout: Layout, seed: int, name: str) -> np.ndarray:
        return rows_of(list(shifts(layout, replications=200, seed=seed)))[:, MEASURES.index(name)]

    for name, part in (("feed_breaks", 0.5), ("hand_serving_s", 0.8)):
        same = np.std(measure(fast, 7, name) - measure(slow, 7, name))
        other = np.std(measure(fast, 1007, name) - measure(slow, 7, name))
        assert 0.0 < same < part * other, name


def test_intervals_hold_the_truth_as_often_as_they_say(busy: Layout) -> None:
    """Of 200 answers from five shifts each 190 should; 178 to 199 do by chance, 999 times in 1000.

    The truth is the mean of 4000 other shifts.
    """
    layout = replace(busy, shift_s=600.0, colour_at_s=(), breaks=0)
    truth = shift_answer(layout, replications=4000, seed=1).measures
    names = ("laid_m", "winder_waiting_for_doff_s", "hand_walking_s")
    held = dict.fromkeys(names, 0)
    for seed in range(100, 300):
        few = shift_answer(layout, replications=5, seed=seed, cores=1).measures
        for name in names:
            held[name] += few[name].low <= truth[name].mean <= few[name].high
    for name, often in held.items():
        assert 178 <= often <= 199, name


def test_moments_are_those_of_all_rows_at_once() -> None:
    rng = np.random.default_rng(4)
    rows = rng.normal(1e6, 1.0, (37, 3))
    moments = Moments()
    for part in np.split(rows, [1, 9, 10, 30]):
        moments.add(part)
    assert moments.count == 37
    assert moments.mean == pytest.approx(rows.mean(axis=0), rel=1e-14)
    assert moments.sd == pytest.approx(rows.std(axis=0, ddof=1), rel=1e-7)
    assert moments.error == pytest.approx(rows.std(axis=0, ddof=1) / math.sqrt(37), rel=1e-7)


def test_measures_are_means_over_shifts(answer: ShiftAnswer, found: list[Handful]) -> None:
    rows = rows_of(found)
    for name, column in zip(MEASURES, rows.T, strict=True):
        one = answer.measures[name]
        assert one.mean == pytest.approx(column.mean(), abs=1e-9)
        assert one.sd == pytest.approx(column.std(ddof=1), abs=1e-9)
        # Student's quantile at 59 degrees, two-sided 95 %.
        reach = 2.0009954 * column.std(ddof=1) / math.sqrt(SHIFTS)
        assert one.high - one.mean == pytest.approx(reach, rel=1e-6, abs=1e-12)
    lanes = lanes_of(found)
    for name in COUNTS:
        assert answer.measures[name].mean == pytest.approx(lanes[name].sum() / SHIFTS)


def test_range_of_balls(answer: ShiftAnswer, found: list[Handful]) -> None:
    """One shift of 20 has fewer than the first, one of 20 more than the second."""
    balls = rows_of(found)[:, 0]
    low, high = answer.balls_range
    assert low < high
    assert (low, high) == tuple(np.quantile(balls, (0.05, 0.95), method="inverted_cdf"))


def test_joins_of_all_balls(answer: ShiftAnswer, found: list[Handful]) -> None:
    lanes = lanes_of(found)
    assert sum(answer.ball_joins) == pytest.approx(1.0)
    assert lanes["ball_joins"].sum(axis=-1) == pytest.approx(lanes["balls"])
    assert answer.joins_per_ball == pytest.approx(lanes["joins"].sum() / lanes["balls"].sum())
    classes = np.arange(len(answer.ball_joins))
    assert lanes["ball_joins"][..., -1].sum() == 0.0  # the open class, or the next would not hold
    assert answer.joins_per_ball == pytest.approx(np.dot(classes, answer.ball_joins))


def test_calls_answered(answer: ShiftAnswer) -> None:
    measures = answer.measures
    assert set(answer.served) == set(KIND_ORDER)
    most = {"doff": "balls", "mend": "wind_breaks", "feed": "feed_breaks"}
    for kind, counted in most.items():
        called = measures[counted].mean
        assert called - answer.layout.lanes <= answer.served[kind] <= called


def doff_waits_s(one: Timeline) -> list[float]:
    """Every wait for a doff, from the rows of a drawn shift."""
    called: dict[int, float] = {}
    waits = []
    for row in one.lanes:
        if row.part == "winder" and row.state == "waits for doff":
            called[row.lane] = row.at_s
        elif row.part == "winder" and row.state == "served: doff":
            waits.append(row.at_s - called.pop(row.lane))
    return waits


def test_waits_are_those_of_the_drawn_shifts(busy: Layout) -> None:
    sums = no_sums(busy)
    for one in shifts(busy, replications=10, seed=7):
        add_handful(sums, busy, one)
    waits = np.concatenate([doff_waits_s(timeline(busy, seed=7, replication=k)) for k in range(10)])
    assert len(waits) > 500
    place = np.minimum(np.searchsorted(WAIT_ENDS_S, waits, side="right"), WAITS - 1)
    assert np.array_equal(np.bincount(place, minlength=WAITS), sums.waits)
    assert sums.longest_wait_s == pytest.approx(waits.max(), abs=1e-6)
    told = shift_answer(busy, replications=10, seed=7).waits
    for share, at_most in ((0.5, told.median_s), (0.95, told.p95_s)):
        exact = float(np.quantile(waits, share, method="inverted_cdf"))
        before = WAIT_ENDS_S[at_most > WAIT_ENDS_S]
        assert (before[-1] if len(before) else 0.0) <= exact <= at_most
    for longer_s, share in told.share_longer:
        assert share == pytest.approx((waits >= longer_s).mean(), abs=1e-9)


def test_mean_wait_is_the_mean_of_the_waits(busy: Layout) -> None:
    """One hand, who rests: the mean is of the same waits as median and longest."""
    layout = replace(busy, hands=1, breaks=2, break_s=100.0)
    waits = np.concatenate(
        [doff_waits_s(timeline(layout, seed=7, replication=k)) for k in range(5)]
    )
    told = shift_answer(layout, replications=5, seed=7).waits
    assert told.longest_s == pytest.approx(waits.max(), abs=1e-6)
    assert told.mean_s == pytest.approx(waits.mean(), rel=1e-6)


def test_waits_longer_than_are_counted(busy: Layout) -> None:
    """Every wait passes the last class: half of them are not told to be shorter than all are."""
    layout = replace(
        busy, lanes=64, hands=1, shift_s=14_400.0, doff_s=10.0, service_cv=0.0, breaks=0,
        first=(("doff", "mend", "change"), ("feed", "load", "colour")), rule="longest",
        colour_at_s=(), feed_breaks_per_km=0.0, wind_breaks_per_km=0.0, cone_m=1e6,
    )  # fmt: skip
    waits = shift_answer(layout, replications=2, seed=3).waits
    assert waits.longest_s > 600.0
    assert waits.median_s == waits.p95_s == waits.longest_s


def test_levels_of_the_buffer(answer: ShiftAnswer, found: list[Handful]) -> None:
    layout = answer.layout
    level = lanes_of(found)["level_m"] / layout.buffer_m
    level = level.reshape(-1, level.shape[-1])
    one_class = 1.0 / LEVELS
    assert level[:, 0] == pytest.approx(layout.start_buffer_frac)
    assert answer.level_mean == pytest.approx(level.mean(axis=0), abs=one_class / 2.0 + 1e-9)
    for part, told in ((0.1, answer.level_low), (0.9, answer.level_high)):
        exact = np.quantile(level, part, axis=0, method="inverted_cdf")
        assert told == pytest.approx(exact, abs=one_class + 1e-9)
    assert np.all(np.array(answer.level_low) <= answer.level_high)


def test_one_shift_tells_nothing_of_its_spread(busy: Layout) -> None:
    one = shift_answer(busy, replications=1, seed=7)
    assert math.isnan(one.balls.low)
    assert math.isnan(one.balls.sd)
    assert one.balls.mean == measured(handful(busy, 7, 0, 1))[0, 0]


def test_progress_is_told_to_the_end(busy: Layout) -> None:
    told: list[tuple[int, int]] = []
    shift_answer(busy, replications=20, seed=7, progress=lambda *one: told.append(one))
    assert told == [(8, 20), (16, 20), (20, 20)]


def peak_bytes(layout: Layout, replications: int, cores: int) -> int:
    tracemalloc.start()
    try:
        shift_answer(layout, replications=replications, seed=7, cores=cores)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_memory_is_flat_in_the_replications(busy: Layout) -> None:
    """Ten times the shifts take no more room than two handfuls; all of them would take 80."""
    one = handful(busy, 7, 0, AT_ONCE)
    kept = one.lanes.nbytes + one.hands.nbytes
    shift_answer(busy, replications=2, seed=7)  # imports and compiling are not counted
    assert peak_bytes(busy, 640, 1) - peak_bytes(busy, 64, 1) < 2 * kept
    assert peak_bytes(busy, 640, 2) < (2 * AHEAD + 8) * kept


@pytest.mark.parametrize(
    ("key", "chance"),
    [
        ("seed", {"seed": -1, "replications": 1}),
        ("seed", {"seed": 2**62 + 1, "replications": 1}),
        ("replications", {"seed": 1, "replications": 0}),
        ("replications", {"seed": 1, "replications": 10_000_001}),
    ],
)
def test_chance_that_cannot_be_drawn_is_refused(
    busy: Layout, key: str, chance: dict[str, int]
) -> None:
    with pytest.raises(BadInput) as bad:
        shift_answer(busy, **chance)  # type: ignore[arg-type]
    assert [fault.key for fault in bad.value.faults] == [key]
