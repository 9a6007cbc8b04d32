"""A mill file goes to JSON and comes back as the same mill; plain values come back from TOML."""

from __future__ import annotations

import datetime
import json
import math
import tomllib
from pathlib import Path
from types import NoneType
from typing import Annotated, Any, get_args, get_origin

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.mill import Mill, json_to_text, mill_from_text, mill_to_plain, text_to_json
from clew.mill.exchange import _DATES
from clew.mill.fields import WRITTEN_AS_LIST, WRITTEN_INLINE, Section
from clew.mill.toml_writing import toml_of

SOUND = (Path(__file__).parent / "sound.toml").read_text(encoding="utf-8")


def _bare(sort: Any) -> Any:
    """A type without what is said about it."""
    return get_args(sort)[0] if get_origin(sort) is Annotated else sort


def _fields(
    sort: type[Section], above: tuple[str, ...] = ()
) -> list[tuple[tuple[str, ...], Any, bool]]:
    """Every field of a section and of those inside it: path of keys, type, whether a list."""
    found: list[tuple[tuple[str, ...], Any, bool]] = []
    for info in sort.model_fields.values():
        path = (*above, str(info.alias))
        inner = get_args(info.annotation) or (info.annotation,)
        sort = next((one for one in inner if one is not NoneType), inner[0])
        inside = get_args(sort)
        many = Ellipsis in inner or Ellipsis in inside
        sort = inside[0] if inside and many and Ellipsis in inside else sort
        found.append((path, _bare(sort), many))
        if isinstance(sort, type) and issubclass(sort, Section):
            found += _fields(sort, path)
    return found


def test_text_to_json_and_back_gives_the_same_mill(demo_text: str) -> None:
    for text in (demo_text, SOUND):
        there = text_to_json(text)
        back = json_to_text(there)
        assert mill_from_text(back) == mill_from_text(text)
        assert tomllib.loads(back) == tomllib.loads(text)
        assert text_to_json(back) == there


def test_json_keeps_the_keys_and_words_of_the_file() -> None:
    plain = json.loads(text_to_json(SOUND))
    assert plain["ball"][0]["declared_mass"] == "100 g"
    assert plain["order"][0]["due"] == "2026-12-04"
    assert plain["line"][0]["winder"][1] == {
        "number": 2, "lane": 2, "counter_on": "ball", "turns_per_count": 0.1,
    }  # fmt: skip


def test_the_text_that_comes_back_is_laid_out_as_a_person_writes_it() -> None:
    back = json_to_text(text_to_json(SOUND))
    assert "\n\n[[line.winder]]\nnumber = 2\nlane = 2\n" in back
    assert 'tilt = [\n  { turn = 0, tilt = "24°" },\n' in back
    assert 'tilt = [{ turn = 0, tilt = "30°" }]\n' in back
    assert "lab = { lightness = 61.0, a = -4.0, b = 22.5 }\n" in back
    assert "due = 2026-12-04\n" in back
    assert max(map(len, back.splitlines())) <= 100


def test_dates_and_layout_are_those_of_the_model() -> None:
    """The few keys that are named outside the model are the model's own."""
    fields = _fields(Mill)
    assert {path for path, sort, _ in fields if sort is datetime.date} == _DATES
    tables = [
        (path[-1], many)
        for path, sort, many in fields
        if isinstance(sort, type) and issubclass(sort, Section)
    ]
    headed = {name for name, many in tables if many and name not in WRITTEN_INLINE}
    assert headed == WRITTEN_AS_LIST
    assert {name for name, _ in tables} >= WRITTEN_INLINE


def test_plain_values_are_in_the_inside_units_under_names_with_units() -> None:
    plain = mill_to_plain(mill_from_text(SOUND))
    assert plain == json.loads(json.dumps(plain, allow_nan=False))
    ball = plain["ball"][1]
    assert ball["declared_mass_g"] == 50.0
    assert ball["tilt"] == [{"turn": 0, "tilt_deg": 30.0}]
    assert ball["target_mass_g"] is None
    assert plain["line"][0]["shift_time_s"] == 28800.0
    assert plain["prices"]["yarn_per_kg"] == 18.0
    assert plain["yarn"][1]["count_spun_tex"] == pytest.approx(590.5413 / 1.5, rel=1e-6)
    assert plain["order"][0]["due"] == "2026-12-04"


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "not written as JSON"),
        ('{\n"mill": {,}}', "not written as JSON"),
        ("[1, 2]", "JSON that is not an object"),
        ("null", "JSON that is not an object"),
        ('{"mill": {"name": null}}', "null"),
        ('{"ball": [{"wind_ratio": NaN}]}', "a number that is not finite"),
        ('{"ball": [{"wind_ratio": -Infinity}]}', "a number that is not finite"),
        ('{"mill": {"name": "a", "name": "b"}}', "a key that stands twice in an object"),
        ('{"mill": {"name": "\\ud800"}}', "half a surrogate pair, which is no character"),
        ('{"\\udfff": 1}', "half a surrogate pair, which is no character"),
        ('{"mill": ' + "1" * 5000 + "}", "a number of very many digits"),
        ('{"mill": ' + "[" * 200 + "]" * 200 + "}", "JSON too deep in itself"),
        ('{"mill": ' + "[" * 200_000, "JSON too deep in itself"),
    ],
)
def test_json_that_makes_no_mill_file_is_refused(text: str, what: str) -> None:
    with pytest.raises(BadInput) as bad:
        json_to_text(text)
    assert bad.value.faults[0].what == what


def test_every_fault_of_json_is_told_at_its_place() -> None:
    with pytest.raises(BadInput) as bad:
        json_to_text('{"mill": {"name": null}, "line": [{"winder": [{}, {"lane": null}]}]}')
    places = [(fault.section, fault.key) for fault in bad.value.faults]
    assert places == [("mill", "name"), ("line 1 winder 2", "lane")]


def test_json_numbers_too_large_for_a_float_are_no_mill_file() -> None:
    with pytest.raises(BadInput) as bad:
        json_to_text('{"prices": {"yarn_per_kg": 1e999}}')
    assert bad.value.faults[0].what == "a number that is not finite"


@pytest.mark.parametrize("text", ["mill = [", "a = nan", "a = inf", "x"])
def test_text_that_json_cannot_hold_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        text_to_json(text)


def test_a_text_that_only_looks_like_a_date_stays_a_text() -> None:
    orders = [
        {"number": "2026-12-04", "due": "2026-13-40"},
        {"due": "20261204"},
        {"due": "2026-01-02"},
    ]
    back = json_to_text(json.dumps({"order": orders}))
    first, second, third = tomllib.loads(back)["order"]
    assert first == {"number": "2026-12-04", "due": "2026-13-40"}
    assert second == {"due": "20261204"}
    assert third == {"due": datetime.date(2026, 1, 2)}


# ---------------------------------------------------------------- any values TOML can hold

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
MINUTES = st.integers(-23 * 60 - 59, 23 * 60 + 59).map(
    lambda minutes: datetime.timezone(datetime.timedelta(minutes=minutes))
)
SCALARS = (
    TEXTS
    | st.booleans()
    | st.integers(-(10**18), 10**18)
    | st.floats(allow_nan=False)
    | st.dates()
    | st.times()
    | st.datetimes()
    | st.datetimes(timezones=MINUTES)
)
TABLES = st.dictionaries(
    TEXTS | st.sampled_from(["fibres", "lab", "name", "mill"]),
    st.recursive(
        SCALARS,
        lambda inner: (
            st.lists(inner, max_size=4)
            | st.dictionaries(TEXTS | st.sampled_from(["tilt", "a"]), inner, max_size=4)
            | st.lists(st.dictionaries(TEXTS, inner, max_size=3), max_size=3)
        ),
        max_leaves=15,
    ),
    max_size=5,
)


@given(TABLES, st.sampled_from([frozenset[str](), WRITTEN_INLINE]))
@example({"0\n": {}}, WRITTEN_INLINE)
def test_what_is_written_as_toml_is_read_as_the_same_values(
    table: dict[str, Any], inline: frozenset[str]
) -> None:
    read = tomllib.loads(toml_of(table, inline))
    assert read == table
    assert _sorts(read) == _sorts(table)


def _sorts(value: Any) -> Any:
    """The types of the values, because 1 == 1.0 == True."""
    if isinstance(value, dict):
        return {key: _sorts(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_sorts(inner) for inner in value]
    return (type(value), math.copysign(1.0, value) if isinstance(value, float) else 0)


def test_not_a_number_is_written_and_read() -> None:
    assert math.isnan(tomllib.loads(toml_of({"a": math.nan}))["a"])


def test_what_toml_has_no_word_for_is_not_written() -> None:
    with pytest.raises(TypeError):
        toml_of({"a": None})


JSON_TABLES = st.dictionaries(
    TEXTS | st.sampled_from(["mill", "order"]),
    st.recursive(
        TEXTS
        | st.booleans()
        | st.integers(-(10**18), 10**18)
        | st.floats(allow_nan=False, allow_infinity=False),
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4),
        max_leaves=15,
    ),
    max_size=5,
)


@given(JSON_TABLES)
def test_json_comes_back_as_it_went(table: dict[str, Any]) -> None:
    there = json.dumps(table)
    assert json.loads(text_to_json(json_to_text(there))) == table
