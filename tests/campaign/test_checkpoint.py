"""The checkpoint: exact, whole after a crash, and only for the sweep it was begun with."""

from __future__ import annotations

import errno
import functools
import json
import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from swept_functions import Setting, Summary, plain_sum, scaled, summary

from clew.campaign.checkpoint import Checkpoint
from clew.campaign.sweep import sweep
from clew.faults import BadInput

POINTS = tuple(Setting(1.0 + step / 7.0, step % 3) for step in range(6))
EXPECTED = tuple(summary(point) for point in POINTS)

plain_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)


def begun(path: Path, *, seed: int = 7) -> Checkpoint[Summary]:
    return Checkpoint.of(Summary, path, seed=seed)


def finished(path: Path, *, workers: int = 1) -> bytes:
    """Sweep all points into a file and give what it holds."""
    assert sweep(summary, POINTS, workers=workers, checkpoint=begun(path)) == EXPECTED
    return path.read_bytes()


@given(results=st.lists(plain_values, min_size=1, max_size=5))
def test_plain_results_come_back_exactly(
    tmp_path_factory: pytest.TempPathFactory, results: list[Any]
) -> None:
    checkpoint = Checkpoint[Any](tmp_path_factory.mktemp("kept") / "sweep.jsonl")
    with checkpoint.opened(plain_sum, results) as kept:
        kept.add(enumerate(results))
    with checkpoint.opened(plain_sum, results) as kept:
        assert repr(kept.finished) == repr(dict(enumerate(results)))


def test_a_finished_sweep_is_read_and_not_worked_out(tmp_path: Path, calls: Path) -> None:
    points = tuple(Setting(float(step), 1, str(calls)) for step in range(6))
    checkpoint = begun(tmp_path / "sweep.jsonl")
    first = sweep(summary, points, checkpoint=checkpoint)
    told: list[tuple[int, int]] = []
    again = sweep(
        summary,
        points,
        checkpoint=checkpoint,
        progress=lambda done, total: told.append((done, total)),
    )
    assert again == first
    assert told == [(6, 6)]
    assert len(list(calls.iterdir())) == 6


def test_a_cut_last_line_is_dropped_wherever_it_is_cut(tmp_path: Path) -> None:
    path = tmp_path / "sweep.jsonl"
    whole = finished(path)
    last = whole.rstrip(b"\n").rindex(b"\n") + 1
    for cut in range(last, len(whole)):
        path.write_bytes(whole[:cut])
        with begun(path).opened(summary, POINTS) as kept:
            assert sorted(kept.finished) == [0, 1, 2, 3, 4]
        assert sweep(summary, POINTS, workers=1, checkpoint=begun(path)) == EXPECTED
        assert path.read_bytes() == whole


def test_a_cut_header_begins_anew(tmp_path: Path) -> None:
    path = tmp_path / "sweep.jsonl"
    whole = finished(path)
    for cut in range(whole.index(b"\n") + 1):
        path.write_bytes(whole[:cut])
        with begun(path).opened(summary, POINTS) as kept:
            assert kept.finished == {}
    assert finished(path) == whole


@pytest.mark.parametrize(
    "spoilt", [b"\0" * 40, b'{"point": 2}', b'{"point": 99, "result": {}}', b""]
)
def test_a_spoilt_last_line_is_dropped_but_no_other(tmp_path: Path, spoilt: bytes) -> None:
    path = tmp_path / "sweep.jsonl"
    lines = finished(path).splitlines()
    path.write_bytes(b"\n".join([*lines[:4], spoilt]) + b"\n")
    with begun(path).opened(summary, POINTS) as kept:
        assert sorted(kept.finished) == [0, 1, 2]
    path.write_bytes(b"\n".join([*lines[:3], spoilt, *lines[4:]]) + b"\n")
    before = path.read_bytes()
    with pytest.raises(BadInput) as bad:
        sweep(summary, POINTS, checkpoint=begun(path))
    assert f"{path}:4: is damaged" in str(bad.value)
    assert path.read_bytes() == before


def test_what_an_interruption_left_half_written_is_written_over(tmp_path: Path) -> None:
    path = tmp_path / "sweep.jsonl"
    with begun(path).opened(summary, POINTS) as kept:
        kept.add([(0, EXPECTED[0])])
        with path.open("ab") as other:
            other.write(b'{"point": 1, "resu' + b"x" * 5000)
        kept.add([(1, EXPECTED[1])])
    with begun(path).opened(summary, POINTS) as kept:
        assert kept.finished == {0: EXPECTED[0], 1: EXPECTED[1]}


OTHERS: dict[str, tuple[Any, Any, Any, str]] = {
    "seed": (summary, POINTS, 8, "seed 7, not 8"),
    "more points": (summary, (*POINTS, POINTS[0]), 7, "number of points 6, not 7"),
    "order": (summary, POINTS[::-1], 7, "other points"),
    "value": (summary, (*POINTS[:-1], Setting(9.0, 1)), 7, "other points"),
    "function": (plain_sum, POINTS, 7, "function swept_functions.summary, not swept_functions.pl"),
    "fixed": (functools.partial(summary), POINTS, 7, "other fixed arguments"),
}


@pytest.mark.parametrize("what", OTHERS)
def test_a_file_of_another_sweep_is_refused_and_left_alone(tmp_path: Path, what: str) -> None:
    path = tmp_path / "sweep.jsonl"
    before = finished(path)
    function, points, seed, words = OTHERS[what]
    with pytest.raises(BadInput) as bad:
        sweep(function, points, checkpoint=begun(path, seed=seed))
    (fault,) = bad.value.faults
    assert fault.what == "holds another sweep"
    assert fault.file == str(path)
    assert words in fault.value
    assert "another file" in fault.expected
    assert "\n" not in str(bad.value)
    assert path.read_bytes() == before


def test_another_version_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "sweep.jsonl"
    finished(path)
    later = Checkpoint.of(Summary, path, seed=7, version="99")
    with pytest.raises(BadInput, match=r"version .*, not 99"):
        sweep(summary, POINTS, checkpoint=later)


def test_what_a_partial_fixes_tells_sweeps_apart(tmp_path: Path) -> None:
    checkpoint = Checkpoint[dict[str, float]](tmp_path / "sweep.jsonl")
    double = functools.partial(scaled, factor=2.0)
    assert sweep(double, (1.5,), checkpoint=checkpoint) == ({"scaled": 3.0},)
    assert sweep(functools.partial(scaled, factor=2.0), (1.5,), checkpoint=checkpoint)
    with pytest.raises(BadInput, match="other fixed arguments"):
        sweep(functools.partial(scaled, factor=4.0), (1.5,), checkpoint=checkpoint)


@pytest.mark.parametrize(
    "content", ["notes of mine", "notes\nof mine\n", '{"a": 1}\n', "[]\n", "\n"]
)
def test_a_file_that_is_no_checkpoint_is_never_written_to(tmp_path: Path, content: str) -> None:
    path = tmp_path / "notes.txt"
    path.write_text(content)
    with pytest.raises(BadInput, match="is no checkpoint of a sweep"):
        sweep(summary, POINTS, checkpoint=begun(path))
    assert path.read_text() == content


def test_a_file_in_use_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "sweep.jsonl"
    with (
        begun(path).opened(summary, POINTS),
        pytest.raises(BadInput, match="is in use by another sweep"),
    ):
        sweep(summary, POINTS, checkpoint=begun(path))
    assert sweep(summary, POINTS, checkpoint=begun(path)) == EXPECTED


@pytest.mark.parametrize("where", ["", "no such folder/sweep.jsonl"])
def test_a_path_that_cannot_be_used_is_a_plain_fault(tmp_path: Path, where: str) -> None:
    with pytest.raises(BadInput) as bad:
        sweep(summary, POINTS, checkpoint=begun(tmp_path / where))
    assert bad.value.faults[0].what == "cannot be used as a checkpoint"
    assert bad.value.faults[0].file == str(tmp_path / where)


def test_what_is_no_file_is_a_plain_fault() -> None:
    with pytest.raises(BadInput, match=r"/dev/zero: cannot be used .* \(got not a file\)"):
        sweep(summary, POINTS, checkpoint=begun(Path("/dev/zero")))


def test_a_full_disk_is_a_plain_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "sweep.jsonl"

    def full(_handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with begun(path).opened(summary, POINTS) as kept:
        kept.add([(0, EXPECTED[0])])
        monkeypatch.setattr("os.fsync", full)
        with pytest.raises(BadInput, match="No space left on device"):
            kept.add([(1, EXPECTED[1])])
        assert kept.finished == {0: EXPECTED[0]}


def test_a_result_that_would_not_come_back_exactly_is_refused(tmp_path: Path) -> None:
    lossy = Checkpoint[dict[str, float]](
        tmp_path / "sweep.jsonl",
        encode=lambda result: {name: round(value, 6) for name, value in result.items()},
    )
    with pytest.raises(TypeError, match="does not come back"):
        sweep(scaled, (math.pi,), checkpoint=lossy)


def test_only_a_function_others_can_find_has_a_checkpoint(tmp_path: Path) -> None:
    with pytest.raises(TypeError, match="top of a module"):
        sweep(lambda point: point, (1,), checkpoint=Checkpoint(tmp_path / "sweep.jsonl"))


def test_each_line_is_json(tmp_path: Path) -> None:
    header, *lines = finished(tmp_path / "sweep.jsonl", workers=2).splitlines()
    assert set(json.loads(header)) == {
        "clew_sweep", "fingerprint", "function", "fixed", "seed", "version", "points",
        "points_sha256",
    }  # fmt: skip
    assert sorted(json.loads(line)["point"] for line in lines) == list(range(6))
