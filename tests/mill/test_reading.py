"""Every fault of a broken mill file is reported at once, each on one clear line."""

from __future__ import annotations

import copy
import datetime
import os
import re
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from clew.faults import BadInput, Fault
from clew.mill import Clash, Mill, mill_from_text, read_mill
from clew.mill.finding import find_faults
from clew.mill.reading import LARGEST_BYTES, MOST_FAULTS

HERE = Path(__file__).parent
SOUND = (HERE / "sound.toml").read_text(encoding="utf-8")
CHANGES = tomllib.loads((HERE / "broken_changes.toml").read_text(encoding="utf-8"))["case"]
FILES = tomllib.loads((HERE / "broken_files.toml").read_text(encoding="utf-8"))

PROGRAMMERS_WORDS = re.compile(
    r"Input should|valid (integer|string|number|boolean|date|tuple|list)|Field required"
    r"|Extra inputs|type=|input_value|pydantic|errors\.|Value ?[Ee]rror|NoneType|<class|unable to"
)


def rows(faults: tuple[Fault, ...]) -> list[str]:
    """Faults as the tables of expected faults have them."""
    return [
        " | ".join(
            [
                "-" if fault.line is None else str(fault.line),
                fault.section or "-",
                fault.key or "-",
                fault.value or "-",
                fault.what,
                fault.expected,
            ]
        )
        for fault in faults
    ]


def changed(case: dict[str, Any]) -> str:
    """The sound mill file with the changes of a case made."""
    text = SOUND
    for before, after in case["changes"]:
        assert text.count(before) == 1, f"{before!r} stands {text.count(before)} times"
        text = text.replace(before, after)
    return text


def faults_of(text: str) -> tuple[Fault, ...]:
    with pytest.raises(BadInput) as bad:
        mill_from_text(text, "mill.toml")
    return bad.value.faults


def test_the_mill_file_that_the_broken_ones_are_made_from_is_sound() -> None:
    assert read_mill(HERE / "sound.toml").mill.name == "Test Mill"


@pytest.mark.parametrize("case", CHANGES, ids=[case["name"] for case in CHANGES])
def test_a_changed_file_gives_these_faults_and_no_others(case: dict[str, Any]) -> None:
    assert rows(faults_of(changed(case))) == case["faults"].splitlines()


@pytest.mark.parametrize("name", sorted(path.name for path in (HERE / "broken").iterdir()))
def test_a_broken_file_gives_these_faults_and_no_others(name: str) -> None:
    path = HERE / "broken" / name
    with pytest.raises(BadInput) as bad:
        read_mill(path)
    assert rows(bad.value.faults) == FILES[name].splitlines()
    assert {fault.file for fault in bad.value.faults} == {str(path)}


def test_there_are_enough_broken_files_and_most_hold_several_faults() -> None:
    tables = [case["faults"] for case in CHANGES] + list(FILES.values())
    assert len(tables) >= 60
    assert sum(len(table.splitlines()) > 1 for table in tables) >= 40


@pytest.mark.parametrize("case", CHANGES, ids=[case["name"] for case in CHANGES])
def test_the_table_of_faults_names_lines_on_which_the_key_or_its_section_stands(
    case: dict[str, Any],
) -> None:
    """Holds the table itself to the text, without the reader's own way of finding lines."""
    lines = changed(case).splitlines()
    for row in case["faults"].splitlines():
        number, section, key, _, what, _ = row.split(" | ")
        line = lines[int(number) - 1]
        if what == "a key that is missing":
            heading = re.findall("[a-z_]+", re.sub('"[^"]*"', "", section))[-1]
            assert f"{heading}]" in line or (heading in ("tilt", "fibres") and "{" in line)
        elif key == "-":
            assert section.split()[0] in line
        else:
            assert re.sub(r" \d+$", "", key) in line or line.strip().startswith(("{", '"'))


SPREAD = next(case for case in CHANGES if case["name"] == "faults in every section")


@settings(max_examples=30)
@given(st.sets(st.sampled_from(range(len(SPREAD["changes"]))), min_size=1))
def test_no_fault_hides_another(chosen: set[int]) -> None:
    """Faults of several sections together give the faults that each gives alone."""
    alone: list[str] = []
    for number in chosen:
        alone += rows(faults_of(changed({"changes": [SPREAD["changes"][number]]})))
    together = rows(
        faults_of(changed({"changes": [SPREAD["changes"][number] for number in chosen]}))
    )
    assert sorted(together) == sorted(alone)


def test_a_fault_is_told_on_one_line_with_everything_in_it() -> None:
    text = SOUND.replace('tension = "40 cN"', "tension = 40")
    with pytest.raises(BadInput) as bad:
        mill_from_text(text, "north/mill.toml")
    assert str(bad.value) == (
        'north/mill.toml:65: [ball "Fell 100"] tension: a number without a unit (got 40); '
        "expected a force such as 8 cN or 8 gf"
    )


def test_windows_line_ends_and_a_byte_order_mark_change_nothing(tmp_path: Path) -> None:
    path = tmp_path / "mill.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SOUND.replace("\n", "\r\n").encode())
    assert read_mill(path) == mill_from_text(SOUND)
    broken = SOUND.replace("crew = 2", "crew = two").replace(
        "lock_out_keys = 6", "lock_out_keys = -6"
    )
    path.write_bytes(b"\xef\xbb\xbf" + broken.replace("\n", "\r\n").encode())
    with pytest.raises(BadInput) as bad:
        read_mill(path)
    assert rows(bad.value.faults) == rows(faults_of(broken))


def test_the_folder_of_a_mill_is_read_by_the_file_in_it(tmp_path: Path) -> None:
    (tmp_path / "mill.toml").write_text(SOUND, encoding="utf-8")
    assert read_mill(tmp_path) == read_mill(str(tmp_path / "mill.toml"))


def _one_fault(path: Path) -> Fault:
    with pytest.raises(BadInput) as bad:
        read_mill(path)
    (fault,) = bad.value.faults
    return fault


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    assert _one_fault(tmp_path) == Fault(
        "no mill.toml in this folder",
        "a mill file; clew mill init FOLDER writes one to start from",
        str(tmp_path / "mill.toml"),
    )
    fault = _one_fault(tmp_path / "nowhere")
    assert (fault.what, fault.file) == ("no such file or folder", str(tmp_path / "nowhere"))


def test_a_folder_or_a_pipe_in_the_place_of_the_file(tmp_path: Path) -> None:
    (tmp_path / "mill.toml").mkdir()
    assert _one_fault(tmp_path).what == "not a plain file"
    os.mkfifo(tmp_path / "pipe")
    assert _one_fault(tmp_path / "pipe").what == "not a plain file"
    assert _one_fault(Path("/dev/zero")).what == "not a plain file"


def test_a_file_in_the_place_of_a_folder(tmp_path: Path) -> None:
    (tmp_path / "mill").write_text("", encoding="utf-8")
    assert _one_fault(tmp_path / "mill" / "mill.toml").what == "a file where a folder is named"


def test_names_that_no_file_has(tmp_path: Path) -> None:
    assert _one_fault(Path("mill\0.toml")).what == "not the name of a file"
    assert "mill<U+0000>.toml" in str(_one_fault(Path("mill\0.toml")))
    fault = _one_fault(tmp_path / ("m" * 5000))
    assert (fault.what, bool(fault.value)) == ("cannot be read", True)
    (tmp_path / "round").symlink_to(tmp_path / "round")
    assert _one_fault(tmp_path / "round").what == "cannot be read"


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    (tmp_path / "mill.toml").write_text(SOUND, encoding="utf-8")
    monkeypatch.setattr(Path, "open", refuse)
    assert _one_fault(tmp_path).what == "may not be read"


def test_a_file_of_50_megabytes_is_refused_unread(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "mill.toml"
    with path.open("wb") as stream:
        stream.truncate(50_000_000)
    monkeypatch.setattr(Path, "open", None)
    assert _one_fault(path) == Fault(
        "too large for a mill file", "at most 2 MB", str(path), value="50 MB"
    )


def test_a_file_of_just_the_largest_size_is_read(tmp_path: Path) -> None:
    path = tmp_path / "mill.toml"
    body = SOUND.encode()
    path.write_bytes(body + b"#" * (LARGEST_BYTES - len(body)))
    assert read_mill(path).mill.name == "Test Mill"
    with path.open("ab") as stream:
        stream.write(b"#")
    assert _one_fault(path).what == "too large for a mill file"


@pytest.mark.parametrize("content", [b"", b"\n \t\n", b"\xef\xbb\xbf"])
def test_an_empty_file(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "mill.toml").write_bytes(content)
    assert _one_fault(tmp_path).what == "an empty file"


def test_text_that_is_not_utf_8(tmp_path: Path) -> None:
    path = tmp_path / "mill.toml"
    path.write_bytes(SOUND.encode("latin-1"))
    fault = _one_fault(path)
    where = SOUND.index("°")
    assert (fault.what, fault.line) == ("not UTF-8 text", SOUND.count("\n", 0, where) + 1)
    assert fault.value == f"byte 0xB0, number {where + 1} of the file"
    path.write_bytes(b"\xef\xbb\xbf# caf\xe9")
    assert _one_fault(path).value == "byte 0xE9, number 9 of the file"


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_text_in_utf_16(tmp_path: Path, encoding: str) -> None:
    (tmp_path / "mill.toml").write_bytes(SOUND.encode(encoding))
    assert _one_fault(tmp_path).what == "text in UTF-16"


def test_a_nul_character(tmp_path: Path) -> None:
    (tmp_path / "mill.toml").write_bytes(SOUND.replace("Mere 50", "Mere\0 50", 1).encode())
    fault = _one_fault(tmp_path)
    assert (fault.what, fault.line) == ("a NUL character", 71)


def test_very_many_faults_are_cut_short_and_counted() -> None:
    text = "".join(f"[[ball]]\nname = {number}\n" for number in range(1000)) + SOUND
    faults = faults_of(text)
    assert len(faults) == MOST_FAULTS + 1
    assert [fault.line for fault in faults[:2]] == [1, 1]
    missing_keys = 12
    assert faults[-1].what == f"{1000 * (missing_keys + 1) - MOST_FAULTS} more faults"


def test_very_many_unknown_keys_are_read_in_a_moment() -> None:
    text = SOUND + "".join(f"waste_kg_per_kgz_{number} = 1\n" for number in range(30_000))
    faults = faults_of(text)
    assert faults[0].expected == "waste_kg_per_kg, perhaps"
    assert faults[-1].what == f"{30_000 - MOST_FAULTS} more faults"


def test_further_checks_are_made_of_what_could_be_read() -> None:
    """What a room further on knows, such as the names of fibres, is told with all other faults."""

    def no_cotton(have: Any) -> list[Clash]:
        return [
            Clash(("fibre_blend", blend, "fibres", part, "fibre"), "no cotton here", "wool")
            for blend, entry in enumerate(have.fibre_blend or ())
            for part, fibre in enumerate(entry.fibres or ())
            if fibre.fibre == "cotton"
        ]

    for text, others in ((SOUND, 0), (SOUND.replace("crew = 2", "crew = 0"), 1)):
        with pytest.raises(BadInput) as bad:
            mill_from_text(text, "mill.toml", [no_cotton])
        assert rows(bad.value.faults)[0] == (
            '18 | fibre_blend "pure cotton" fibres 1 | fibre | "cotton" | no cotton here | wool'
        )
        assert len(bad.value.faults) == 1 + others


# ---------------------------------------------------------------- whatever stands in the file

ODD_NUMBERS: list[Any] = [0, -1, 7, 10**30, 0.0, -0.5, 1e300, float("nan"), float("-inf")]
ODD_TEXTS = ["", " ", "word", "12", "12 g", "-3 m", "nan %", "\u202eg", "x" * 500]
ODD_DAYS = [
    datetime.date(2026, 1, 2),
    datetime.time(8),
    datetime.datetime(2026, 1, 2, tzinfo=datetime.UTC),
]
ODD_LISTS: list[Any] = [[], [1], ["a"], [[]], [{}], {}, {"a": 1}, {"name": "Fell"}]
ODD_VALUES = [*ODD_NUMBERS, True, False, *ODD_TEXTS, *ODD_DAYS, *ODD_LISTS]


def _places(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    inner: list[tuple[str | int, ...]] = []
    pairs = (
        value.items()
        if isinstance(value, dict)
        else enumerate(value)
        if isinstance(value, list)
        else ()
    )
    for key, one in pairs:
        inner += [(*path, key), *_places(one, (*path, key))]
    return inner


RAW = tomllib.loads(SOUND)
PLACES = _places(RAW)


def _found(raw: Any, path: tuple[str | int, ...]) -> Any:
    for part in path:
        raw = raw[part]
    return raw


LEAVES = [path for path in PLACES if not isinstance(_found(RAW, path), dict | list)]
HOLDERS = {path[-1]: path for path in PLACES if isinstance(_found(RAW, path), dict | list)}


@pytest.mark.parametrize("shift", range(len(ODD_VALUES)))
def test_no_word_of_a_programmer_reaches_the_reader_whatever_stands_in_any_place(
    shift: int,
) -> None:
    """Each odd value once in every plain place, and in place of each sort of table and list."""
    everywhere = copy.deepcopy(RAW)
    for number, path in enumerate(LEAVES):
        _found(everywhere, path[:-1])[path[-1]] = ODD_VALUES[(number + shift) % len(ODD_VALUES)]
    spoilt = [everywhere]
    for path in HOLDERS.values():
        spoilt.append(copy.deepcopy(RAW))
        _found(spoilt[-1], path[:-1])[path[-1]] = ODD_VALUES[shift]
    for raw in spoilt:
        for clash in find_faults(raw):
            assert clash.what
            assert clash.expected
            assert not PROGRAMMERS_WORDS.search(f"{clash.what} {clash.expected}"), clash


@settings(max_examples=300)
@given(
    st.lists(
        st.tuples(st.sampled_from(PLACES), st.none() | st.sampled_from(ODD_VALUES)), max_size=4
    )
)
def test_faults_are_found_just_when_the_model_refuses_the_file(
    changes: list[tuple[tuple[str | int, ...], Any]],
) -> None:
    raw = copy.deepcopy(RAW)
    for path, odd in changes:
        try:
            holder = _found(raw, path[:-1])
            if odd is None:
                del holder[path[-1]]
            else:
                holder[path[-1]] = odd
        except (KeyError, IndexError, TypeError):
            continue  # what stood there went with a change before
    found = find_faults(raw)
    paths = [clash.path for clash in found]
    assert len(paths) == len(set(paths))
    try:
        Mill.model_validate(raw, by_alias=True, by_name=False)
    except ValidationError:
        assert found
    else:
        assert not found


@settings(max_examples=200)
@given(st.data())
def test_a_damaged_file_gives_a_mill_or_faults_with_lines_in_it(data: st.DataObject) -> None:
    """Pieces cut out, doubled, or put in: never anything but BadInput comes of it."""
    text = SOUND
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(text)))
        end = min(len(text), start + data.draw(st.integers(0, 40)))
        piece = data.draw(
            st.sampled_from(
                [
                    "",
                    '"',
                    "'",
                    "[",
                    "]",
                    "{",
                    "=",
                    "\n",
                    "#",
                    '"""',
                    "[[ball]]\n",
                    text[start:end] * 2,
                ]
            )
            | st.text(max_size=5)
        )
        text = text[:start] + piece + text[end:]
    try:
        assert mill_from_text(text).mill.version == 1
    except BadInput as bad:
        lines = text.count("\n") + 1
        assert bad.faults
        for fault in bad.faults:
            assert fault.line is None or 1 <= fault.line <= lines
            assert "\n" not in str(fault)
            assert not PROGRAMMERS_WORDS.search(f"{fault.what} {fault.expected}"), fault


@given(st.text(max_size=200))
def test_any_text_gives_faults(text: str) -> None:
    with pytest.raises(BadInput):
        mill_from_text(text)


def test_how_deep_a_file_may_be_does_not_depend_on_the_caller() -> None:
    """With room for any recursion the same file gives the same fault."""
    text = (HERE / "broken" / "deep_lists.toml").read_text(encoding="utf-8")
    before = sys.getrecursionlimit()
    sys.setrecursionlimit(before + 20_000)
    try:
        with pytest.raises(BadInput, match="too deep in one another"):
            mill_from_text(text)
    finally:
        sys.setrecursionlimit(before)
