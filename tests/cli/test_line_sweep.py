"""The command of sweeps over a line: each point is its shift, and a stopped sweep goes on."""

from __future__ import annotations

import csv
import importlib
import io
import json
import shlex
import signal
import subprocess
import sys
import time
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from clew.cli.line.layout_terms import with_tried
from clew.cli.line.sweep import sweep
from clew.faults import BadInput
from clew.line.layout import Layout
from clew.line.layout_from_mill import layout_of
from clew.line.simulate.answer import shift_answer
from clew.mill.model import Mill

line_sweep = importlib.import_module("clew.cli.line.sweep")

LINE = ("--line", "Line 1", "--ball", "Querl 200", "--seed", "7")
QUICK = (*LINE, "--replications", "10")
TWO = ("--over", "hands=1..3", "--over", "buffer=300 m..900 m/3")


def run(mill: Path, *arguments: object, first: tuple[str, ...] = QUICK) -> Result:
    return CliRunner().invoke(sweep, ["--mill", str(mill), *first, *map(str, arguments)])


def run_json(mill: Path, *arguments: object) -> dict[str, Any]:
    result = run(mill, *arguments, "--json")
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


def refused(mill: Path, *arguments: object) -> list[tuple[str, str]]:
    result = run(mill, *arguments)
    assert isinstance(result.exception, BadInput), result.output
    return [(fault.key, fault.value) for fault in result.exception.faults]


def over(*axes: str) -> list[str]:
    return [part for axis in axes for part in ("--over", axis)]


def base(demo_mill: Mill) -> Layout:
    return layout_of(demo_mill, "Line 1", "Querl 200")


def test_every_point_is_its_shift(mill_dir: Path, demo_mill: Mill) -> None:
    found = run_json(mill_dir, *TWO)
    grid = [(hands, buffer_m) for hands in (1, 2, 3) for buffer_m in (300.0, 600.0, 900.0)]
    assert [(one["hands"], one["buffer_m"]) for one in found["points"]] == grid
    for one in found["points"]:
        layout = with_tried(base(demo_mill), {"hands": one["hands"], "buffer_m": one["buffer_m"]})
        # The buffer brought its restarts with it, and is of strand after steam.
        assert layout.buffer_m == pytest.approx(one["buffer_m"] / 0.8)
        assert layout.loose_m / layout.buffer_m == pytest.approx(
            base(demo_mill).loose_m / base(demo_mill).buffer_m
        )
        answer = shift_answer(layout, replications=10, seed=7)
        first = answer.measures["first_balls"]
        assert one["balls_mean"] == answer.balls.mean
        assert one["first_balls_low"] == first.low
        assert one["feed_stop_share"] == answer.feed_stop_frac
        assert one["hand_busy_frac"] == answer.hand_busy_frac
        assert one["doff_wait_p95_s"] == answer.waits.p95_s


def test_a_point_is_what_simulate_says_of_the_same_options(mill_dir: Path) -> None:
    from clew.cli.line.simulate import simulate

    (point,) = run_json(mill_dir, "--over", "feed=280 m/min", "--hands", 3)["points"]
    said = CliRunner().invoke(
        simulate,
        ["--mill", str(mill_dir), *QUICK, "--feed", "280 m/min", "--hands", "3", "--json"],
    )
    alone = json.loads(said.stdout)
    assert [point["balls_low"], point["balls_high"]] == alone["balls_interval"]
    assert point["doff_wait_p95_s"] == alone["doff_wait_s"]["p95"]
    assert point["kg_mean"] == alone["kg_mean"]


def test_keys_that_programs_rest_on(mill_dir: Path) -> None:
    found = run_json(mill_dir, *TWO)
    assert set(found) == {
        "axes", "points", "best_point", "sparing_point", "within_frac", "shift_s",
        "replications", "seed",
    }  # fmt: skip
    assert found["axes"][1] == {
        "axis": "buffer",
        "key": "buffer_m",
        "of_strand_after_steam": True,
        "values": [300.0, 600.0, 900.0],
    }
    assert not found["axes"][0]["of_strand_after_steam"]
    points = found["points"]
    best = points[found["best_point"]]
    assert best["first_balls_mean"] == max(one["first_balls_mean"] for one in points)
    assert best["first_balls_less_than_best_mean"] == 0.0
    assert best["surely_within"]
    assert not best["told_from_best"]
    sparing = points[found["sparing_point"]]
    assert sparing["surely_within"]
    within = [one for one in points if one["surely_within"]]
    assert sparing["hands"] == min(one["hands"] for one in within)
    assert sparing["buffer_m"] == min(
        one["buffer_m"] for one in within if one["hands"] == sparing["hands"]
    )
    low, high = points[0]["first_balls_less_than_best_interval"]
    assert 0.0 < low < points[0]["first_balls_less_than_best_mean"] < high
    assert points[0]["told_from_best"]


def test_what_was_never_doffed_or_drawn_twice_is_null(mill_dir: Path) -> None:
    result = run(mill_dir, "--over", "hands=1,2", "--replications", 1, "--json")
    found = json.loads(result.stdout)
    assert found["points"][0]["balls_low"] is None
    assert found["points"][0]["surely_within"] is None
    assert found["sparing_point"] is None
    assert (
        "nothing can be told apart"
        in run(mill_dir, "--over", "hands=1,2", "--replications", 1).stdout
    )


def test_one_axis_in_words_and_a_table(mill_dir: Path) -> None:
    result = run(mill_dir, "--over", "hands=1..4")
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert lines[0] == "Line 1, Querl 200, yarn as spun: 6 lanes, a shift of 8 h."
    assert lines[1].startswith("Most first-quality balls of 4 points: hands ")
    assert "sparing most: hands 3" in result.stdout
    rows = [line for line in lines if line[:1].isdigit()]
    assert [row.split()[0] for row in rows[:4]] == ["1", "2", "3", "4"]
    assert sum("the best" in row for row in rows[:4]) == 1
    assert "10 shifts a point, seed 7: every point meets the same shifts." in lines


def test_two_axes_in_a_grid_with_the_best_marked(mill_dir: Path) -> None:
    result = run(mill_dir, *TWO)
    found = run_json(mill_dir, *TWO)
    lines = result.stdout.splitlines()
    top = next(place for place, line in enumerate(lines) if line.startswith("hands | buffer"))
    assert lines[top].split() == ["hands", "|", "buffer", "300", "m", "600", "m", "900", "m"]
    grid = [line.replace("*", "").replace("=", "").replace("+", "").split() for line in
            lines[top + 1 : top + 4]]  # fmt: skip
    assert grid == [
        [
            str(hands),
            *(f"{one['first_balls_mean']:.0f}" for one in found["points"] if one["hands"] == hands),
        ]
        for hands in (1, 2, 3)
    ]
    assert sum(line.count("*") for line in lines[top + 1 : top + 4]) == 1
    best = found["points"][found["best_point"]]
    assert f"{best['first_balls_mean']:.0f} *" in lines[top + best["hands"]]
    assert "* the best" in result.stdout
    assert "metres after steam" in result.stdout


def test_a_wide_grid_is_printed_in_parts(mill_dir: Path) -> None:
    result = run(mill_dir, *over("hands=2,3", "load=20 s..200 s/19"), "--replications", 2)
    lines = result.stdout.splitlines()
    heads = [line for line in lines if line.startswith("hands | load")]
    assert len(heads) > 1
    shown = [word for head in heads for word in head.split() if word.isdigit()]
    assert shown == [str(load) for load in range(20, 201, 10)]
    assert sum(line.count("*") for line in lines if line[:1] in "23") == 1


def test_three_axes_in_a_grid_for_each_of_the_first(mill_dir: Path) -> None:
    result = run(mill_dir, *over("lanes=4,6", "hands=1,2", "feed=280 m/min, 300 m/min"))
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert lines[0] == "Line 1, Querl 200, yarn as spun: a shift of 8 h."
    assert lines.index("lanes 4") < lines.index("lanes 6")
    assert sum(line.startswith("hands | feed") for line in lines) == 2


def test_nothing_is_spared_where_nothing_can_be(mill_dir: Path) -> None:
    arguments = over("doff=5 s, 7 s")
    assert "sparing" not in run(mill_dir, *arguments).stdout
    assert run_json(mill_dir, *arguments)["sparing_point"] is None


def test_all_numbers_as_csv(mill_dir: Path, tmp_path: Path) -> None:
    path = tmp_path / "deep" / "sweep.csv"
    found = run_json(mill_dir, *TWO, "--csv", path)
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    assert len(rows) == 9
    for row, point in zip(rows, found["points"], strict=True):
        assert (row.pop("replications"), row.pop("seed")) == ("10", "7")
        assert {key: float(value) for key, value in row.items()} == {key: point[key] for key in row}
    assert {"hands", "buffer_m", "kg_high", "winder_waiting_share"} <= set(rows[0])


@pytest.mark.parametrize(
    ("axes", "expected"),
    [
        (["speed=3 m/s"], [("--over", "speed=3 m/s")]),
        (["hands"], [("--over hands", "")]),
        (["hands=0..4"], [("--over hands", "0")]),
        (["hands=4..17"], [("--over hands", "17")]),
        (["hands=1.5"], [("--over hands", "1.5")]),
        (["hands=3..1"], [("--over hands", "3..1")]),
        (["hands=1..4/3"], [("--over hands", "1..4/3")]),
        (["hands=2,2"], [("--over hands", "2")]),
        (["hands=1,2", "hands=3"], [("--over hands", "")]),
        (["feed=200 m/min..300 m/min"], [("--over feed", "200 m/min..300 m/min")]),
        (["feed=200 m/min..300 m/min/1"], [("--over feed", "200 m/min..300 m/min/1")]),
        (["feed=200 m/min..300 m/min/20000"], [("--over feed", "200 m/min..300 m/min/20000")]),
        (["feed=200"], [("--over feed", "'200'")]),
        (["buffer=300 s"], [("--over buffer", "'300 s'")]),
        (["feed=0 m/min, 300 m/min"], [("--over feed", "0 m/min")]),
        (["buffer=0 m, 300 m"], [("--over buffer", "0 m")]),
        (["cone=1 mm, 4 km"], [("--over cone", "1 mm")]),
        (["hands=1..16", "lanes=1..64", "load=1 s..9 s/10"], [("--over", "10240")]),
        (["hands=1", "lanes=1", "load=1 s", "doff=1 s"], [("--over", "")]),
        (["speed=3", "hands=0"], [("--over", "speed=3"), ("--over hands", "0")]),
    ],
)
def test_faults_name_the_axis_and_the_value(
    mill_dir: Path,
    axes: list[str],
    expected: list[tuple[str, str]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def never(*_arguments: object) -> None:
        raise AssertionError("something was run")

    monkeypatch.setattr(line_sweep, "_run", never)
    assert refused(mill_dir, *over(*axes)) == expected


def test_values_that_do_not_go_together_name_the_point(mill_dir: Path) -> None:
    # With this buffer a faster winder stops and starts too often; only the wind is swept.
    tried = over("hands=2", "wind=300 m/min, 1000 m/min")
    found = refused(mill_dir, *tried, "--buffer", "8 m")
    assert found == [("--over", "hands 2, wind 1000 m/min")]


def test_many_faults_are_cut_short(mill_dir: Path) -> None:
    found = refused(mill_dir, *over("cone=1 mm..2 mm/50"))
    assert len(found) == 8
    assert found[0] == ("--over cone", "1 mm")


def test_other_options_that_cannot_be(mill_dir: Path, tmp_path: Path) -> None:
    hands = over("hands=1,2")
    assert refused(mill_dir, *hands, "--hands", 3) == [("--over hands", "")]
    assert refused(mill_dir, *hands, "--seed", -1) == [("--seed", "")]
    assert refused(mill_dir, *hands, "--replications", 0) == [("--replications", "")]
    both = refused(mill_dir, *hands, "--cores", 1, "--cluster", "tcp://127.0.0.1:1")
    assert [key for key, _ in both] == ["--cores"]
    same = tmp_path / "one"
    assert refused(mill_dir, *hands, "--keep", same, "--csv", same) == [("--csv", str(same))]
    assert not same.exists()
    assert run(mill_dir).exit_code == 2


@pytest.mark.parametrize(
    ("axis", "values"),
    [
        ("hands=1..3", [1, 2, 3]),
        ("hands = 2 , 1", [2, 1]),
        ("cones=1..7/3", [1, 4, 7]),
        ("buffer=0.3 km..900 m/3", [300.0, 600.0, 900.0]),
        ("feed=240 m/min..300 m/min/2", [4.0, 5.0]),
        ("load=1 min", [60.0]),
    ],
)
def test_axes_are_read_as_they_are_written(mill_dir: Path, axis: str, values: list[float]) -> None:
    found = run_json(mill_dir, "--over", axis, "--replications", 1)
    assert found["axes"][0]["values"] == pytest.approx(values)


def test_the_same_on_one_core_and_on_two(mill_dir: Path) -> None:
    one, two = (run(mill_dir, *TWO, "--cores", cores, "--json").stdout for cores in (1, 2))
    assert one == two


def stopping(points: int) -> AbstractContextManager[Any]:
    def told(done: int, _total: int) -> None:
        if done >= points:
            raise KeyboardInterrupt

    return nullcontext(told)


def test_a_kept_sweep_goes_on(
    mill_dir: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "sweep.jsonl"
    with monkeypatch.context() as patch:
        patch.setattr(line_sweep, "sweep_progress", lambda _words: stopping(4))
        stopped = run(mill_dir, *TWO, "--keep", path, "--cores", 1)
    assert isinstance(stopped.exception, KeyboardInterrupt | SystemExit)
    kept = path.read_bytes().splitlines()[1:]
    assert len(kept) == 4
    result = run(mill_dir, *TWO, "--keep", path, "--json")
    assert result.stderr == f"clew: 4 of 9 points were kept in {path}\n"
    assert result.stdout == run(mill_dir, *TWO, "--json").stdout
    assert path.read_bytes().splitlines()[1:5] == kept
    whole = run(mill_dir, *TWO, "--keep", path, "--json")
    assert whole.stderr == f"clew: 9 of 9 points were kept in {path}\n"
    assert whole.stdout == result.stdout


def test_a_file_of_another_sweep_is_left_alone(mill_dir: Path, tmp_path: Path) -> None:
    path = tmp_path / "sweep.jsonl"
    assert run(mill_dir, "--over", "hands=1,2", "--keep", path).exit_code == 0
    before = path.read_bytes()
    for other in (["--over", "hands=1,3"], ["--over", "hands=1,2", "--replications", 11]):
        result = run(mill_dir, *other, "--keep", path)
        assert isinstance(result.exception, BadInput)
        assert "holds another sweep" in str(result.exception)
    assert path.read_bytes() == before


PROGRAM = """
import shlex
import signal
from clew.cli.line.sweep import sweep
signal.signal(signal.SIGINT, signal.default_int_handler)
sweep()
"""


def test_ctrl_c_ends_with_130_and_says_what_is_kept(mill_dir: Path, tmp_path: Path) -> None:
    path = tmp_path / "sweep.jsonl"
    axes = over("load=20 s..200 s/40", "hands=1..5")
    command = [sys.executable, "-c", PROGRAM, "--mill", str(mill_dir), *LINE]
    program = subprocess.Popen(
        [*command, "--replications", "100", *axes, "--keep", str(path)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    until = time.monotonic() + 60.0
    while not path.exists() or path.read_bytes().count(b"\n") < 4:
        assert program.poll() is None and time.monotonic() < until
        time.sleep(0.01)
    program.send_signal(signal.SIGINT)
    printed, said = program.communicate(timeout=60.0)
    assert program.returncode == 130, said
    assert printed == ""
    done = path.read_bytes().count(b"\n") - 1
    assert 3 <= done < 200
    assert f"stopped with {done} of 200 points done; they are kept in {path}" in said


def test_the_page_shows_what_is_printed(mill_dir: Path, tmp_path: Path) -> None:
    page = (Path(__file__).parents[2] / "docs" / "sweeps.md").read_text(encoding="utf-8")
    blocks = page.split("## Over a line")[1].split("## Stop")[0].split("```text\n")[1:]
    blocks = [block.split("```")[0] for block in blocks]
    for command, shown in (blocks[0:2], blocks[2:4]):
        words = shlex.split(command.replace("\\\n", ""))
        assert words[:3] == ["clew", "line", "sweep"]
        places = {"mill": mill_dir, "feed.jsonl": tmp_path / "kept", "feed.csv": tmp_path / "csv"}
        result = run(*[places.get(word, word) for word in words[4:]], first=())
        assert [line.rstrip() for line in result.stdout.splitlines()] == shown.splitlines()
    result = run(mill_dir, "--over", "buffer=0 m, 300 m")
    assert f"clew: {result.exception}\n" == blocks[4]
