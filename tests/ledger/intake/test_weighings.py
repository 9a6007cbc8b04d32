"""Reading weighings: columns, units, decimal commas, and each bad row by its line."""

import csv
import io
import json
import math
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.weighings import Weighings
from clew.faults import BadInput
from clew.ledger.intake import weighings_lines
from clew.ledger.intake.weighings import read_weighings, scan_file


def read(folder: Path, text: str, name: str = "w.csv", **terms: object) -> Weighings:
    file = folder / name
    file.write_text(text, encoding="utf-8")
    return read_weighings(file, **terms)


def faults(folder: Path, text: str, name: str = "w.csv", **terms: object) -> list[str]:
    with pytest.raises(BadInput) as bad:
        read(folder, text, name, **terms)
    return [str(fault).split("w.csv", 1)[-1] for fault in bad.value.faults]


def names(table: Weighings, column: str) -> list[str]:
    factor = table.factors[column]
    return [factor.names[code] if code >= 0 else "" for code in factor.codes]


def test_columns_names_and_lines(tmp_path: Path) -> None:
    table = read(tmp_path, "winder,lot,mass_g\n4,SL-207,101.2\n\n 4 ,,\n4.0,SL-211,99\n,,\n , ,\n")
    assert table.rows == 3
    np.testing.assert_array_equal(table.numbers["mass_g"], [101.2, math.nan, 99.0])
    assert names(table, "winder") == ["4", "4", "4.0"]
    assert names(table, "lot") == ["SL-207", "", "SL-211"]
    assert table.lines is not None
    assert table.lines.tolist() == [2, 4, 5]
    assert table.factors["winder"].codes.dtype == np.int32


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_the_heading_tells_what_parts_the_columns(tmp_path: Path, mark: str) -> None:
    text = f"Winder{mark} Mass_g \n4{mark}49.6\n5{mark}50.1\n"
    for before in ("", "\ufeff", "\n\n", f"sep={mark}\n"):
        assert read(tmp_path, before + text).numbers["mass_g"].tolist() == [49.6, 50.1]


def test_columns_without_a_name_at_the_end_may_be_empty(tmp_path: Path) -> None:
    assert read(tmp_path, "winder;mass_g;;\n4;49,6;;\n5;50\n").rows == 2
    assert faults(tmp_path, "winder;mass_g;;\n4;49,6;;x\n")[0].startswith(":2: more cells")


@pytest.mark.parametrize("mark", [";", "\t"])
def test_a_decimal_comma_is_read_where_commas_part_nothing(tmp_path: Path, mark: str) -> None:
    table = read(tmp_path, f"winder{mark}mass_g\n4{mark}49,6\n5{mark}50\n6{mark}1,5 oz\n")
    np.testing.assert_allclose(table.numbers["mass_g"], [49.6, 50.0, 1.5 * 28.349523125])


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("winder,mass_g\n4,49,6\n", ':2: more cells than columns (got 3); expected 2 cells; a dec'),
        ("winder,mass_g,length_m\n4,49,6,\n", ":2: more cells than columns (got 4)"),
        ('winder,mass_g\n4,"49,6"\n', ":2: mass_g: a comma in a number (got '49,6'); expected 49"),
        ("mass_g\n49,6\n", ":2: more cells than columns"),
        ("winder;mass_g\n4;1.049,6\n", ":2: mass_g: a comma and a point in one number"),
        ("winder;mass_g\n4;49,6\n5;1.049\n", ":3: mass_g: a point where other cells"),
        ("winder;mass_g\n4;49.6\n5;1,049\n", ":3: mass_g: a comma where other cells"),
        ("winder,mass_g\n4\n", ":2: fewer cells than columns (got 1)"),
        ('winder,mass_g\n"4,101\n5,102\n', ":2: a quote that is not closed"),
        ("mass_g\nnan\n", ":2: mass_g: not a number (got 'nan')"),
        ("mass_g\n-inf\n", ":2: mass_g: not a number (got '-inf')"),
        ("mass_g\n1e999\n", ":2: mass_g: more than can be meant"),
        ("mass_g\n-1\n", ":2: mass_g: below zero"),
        ("mass_g\n-1 oz\n", ":2: mass_g: below zero"),
        ("mass_g\n0\n", ":2: mass_g: nothing at all"),
        ("mass_g\n20001\n", ":2: mass_g: more than can be meant (got '20001'); expected at m"),
        ("length_m\n100001\n", ":2: length_m: more than can be meant"),
        ("regain_frac\n9.5\n", ":2: regain_frac: more than can be meant (got '9.5'); expected at"),
        ("mass_g\n1_0\n", ":2: mass_g: not a number (got '1_0')"),
        ("mass_g\n१०\n", ":2: mass_g: not a number"),
        ("mass_g\nabc\n", ":2: mass_g: not a number (got 'abc')"),
        ("mass_g\n3 yd\n", ":2: mass_g: yd is a length, not a mass"),
        ("length_m\n3 oz\n", ":2: length_m: oz is a mass, not a length"),
        ("winder,mass_g\na\x07b,5\n", ":2: winder: a name that cannot be printed"),
        (f"winder,mass_g\n{'a' * 201},5\n", ":2: winder: a name that cannot be printed"),
        ("time\n25:00\n", ":2: time: no time"),
        ("time\n2026-W48-3T10:15\n", ":2: time: no time"),
        ("time\n2026-02-30T10:15:00\n", ":2: time: no such time"),
        ("time\n2026-11-25T10:15:00\n2026-02-30T10:15:00\n", ":3: time: no such time"),
        ("time\n0001-01-01T00:00:00+14:00\n10:15\n", ":3: time: a time of another kind"),
        ("time\n10:15\n2026-11-25T10:15\n", ":3: time: a time of another kind"),
        ("time\n2026-11-25T10:15Z\n2026-11-25T10:15\n", ":3: time: a time of another kind"),
        ("gross_g,tare_g\n5,5\n", ":2: gross_g: the tare is all there is"),
        ("gross_g,tare_g,mass_g\n100,2,97.5\n", ":2: gross_g: net and gross do not agree"),
        ("gross_g,mass_g\n100,101\n", ":2: gross_g: net and gross do not agree"),
        ("ball,mass_g\na,1\nb,2\na,3\n", ":4: ball: a ball twice (got 'a'); expected each once"),
        ("", ": an empty file"),
        ("\n\n", ": an empty file"),
        ("mass_g\n", ": no rows"),
        ("mass_g\n\n\n", ": no rows"),
        ("101.2,4\n", ":1: no heading"),
        ("mass_g,mass_g\n1,2\n", ":1: mass_g: a column twice"),
        ("mass_g,,winder\n1,2,3\n", ":1: a column without a name"),
        ("mas_g\n1\n", ":1: mas_g: an unknown column; expected mass_g? or one of time, group, lot"),
        ("price\n1\n", ":1: price: an unknown column; expected one of time, group, lot"),
    ],
)  # fmt: skip
def test_a_fault_is_one_line_with_its_place(tmp_path: Path, text: str, words: str) -> None:
    found = faults(tmp_path, text)
    assert len(found) == 1
    assert found[0].startswith(words)


def test_every_fault_of_a_file_is_named(tmp_path: Path) -> None:
    found = faults(tmp_path, "winder,mass_g,length_m\n1,a,b\n2,49,6,1\n3,-1,200\n")
    assert [one.split(" ")[0] for one in found] == [":2:", ":2:", ":3:", ":4:"]


def test_more_faults_than_two_hundred_are_counted(tmp_path: Path) -> None:
    found = faults(tmp_path, "mass_g\n" + "x\n" * 203)
    assert len(found) == 201
    assert found[-1] == ": and 3 more"


def test_a_file_that_is_all_wrong_is_not_read_to_its_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(weighings_lines, "BLOCK_CHARS", 1000)
    found = faults(tmp_path, "mass_g\n" + "x\n" * 12_000)
    assert found[-1].endswith("more or more; reading stopped")


def test_units_in_cells_are_read_as_what_they_say(tmp_path: Path) -> None:
    text = (
        "mass_g,length_m,regain_frac,since_dryer_min,tension_cn\n"
        "3.5 oz,109 yd,9.5 %,2 h,0.25 N\n99,100,0.095,120,25\n"
    )
    table = read(tmp_path, text)
    assert table.numbers["mass_g"].tolist() == pytest.approx([99.2233309375, 99.0])
    assert table.numbers["length_m"].tolist() == pytest.approx([99.6696, 100.0])
    for name, value in (("regain_frac", 0.095), ("since_dryer_min", 120.0), ("tension_cn", 25.0)):
        assert table.numbers[name].tolist() == pytest.approx([value, value])


def test_times_of_any_one_kind(tmp_path: Path) -> None:
    clock = read(tmp_path, "time\n23:59\n00:01:30\n\n12:00\n")
    assert clock.numbers["time_s"].tolist() == [86340.0, 86490.0, 129600.0]
    assert read(tmp_path, "time\n5\n7.5\n").numbers["time_s"].tolist() == [5.0, 7.5]
    zones = read(tmp_path, "time\n2026-11-25T10:15:00+01:00\n2026-11-25T09:15:01Z\n")
    assert np.diff(zones.numbers["time_s"]).tolist() == [1.0]
    local = read(tmp_path, "time\n2026-11-25 10:15\n2026-11-25T10:15:00.5\n")
    assert np.diff(local.numbers["time_s"]).tolist() == [0.5]


def test_a_year_of_times_reads_alike_by_the_column_and_by_the_cell(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(weighings_lines, "BLOCK_CHARS", 200)
    start = datetime(1969, 12, 28)
    told = [start + timedelta(seconds=86_411 * step) for step in range(1000)]
    text = "time\n" + "".join(f"{at.isoformat()}\n" for at in told)
    found = read(tmp_path, text).numbers["time_s"]
    np.testing.assert_array_equal(
        found, [(at - datetime(1970, 1, 1)).total_seconds() for at in told]
    )


def test_a_row_twice_is_found_where_times_tell_seconds(tmp_path: Path) -> None:
    rows = (
        "2026-11-25T10:15:{0},4,101.2\n2026-11-25T10:15:{0},5,101.2\n2026-11-25T10:15:{0},4,101.2\n"
    )
    found = faults(tmp_path, "time,winder,mass_g\n" + rows.format("07"))
    assert len(found) == 1
    assert found[0].startswith(":4: a row twice; expected each once; line 2 has the same time")
    # Two balls of one winder within a minute may weigh the same; so may two with names.
    minute = "time,winder,mass_g\n10:15,4,101.2\n10:15,4,101.2\n"
    assert read(tmp_path, minute).rows == 2
    named = "time,winder,mass_g,ball\n10:15:07,4,101.2,a\n10:15:07,4,101.2,b\n"
    assert read(tmp_path, named).rows == 2


def test_grams_among_ounces_are_one_line_that_names_the_rows(tmp_path: Path) -> None:
    text = "winder,mass_g\n" + "".join(f"1,{100 + step}\n" for step in range(10)) + "1,3.5\n1,3.6\n"
    found = faults(tmp_path, text)
    assert len(found) == 1
    assert "2 of 12 values are about 29.4 times smaller" in found[0]
    assert "as if in oz (lines 12, 13)" in found[0]
    assert "as if in kg (line 4)" in faults(tmp_path, "mass_g\n100\n101\n0.101\n")[0]
    # Said in the cell, it is no doubt; a small ball among large ones at another ratio is none.
    assert read(tmp_path, "mass_g\n100\n3.5 g\n101\n").rows == 3
    assert read(tmp_path, "mass_g\n100\n2\n101\n").rows == 3


def test_need_takes_gross_for_net_and_wants_a_value(tmp_path: Path) -> None:
    assert read(tmp_path, "gross_g\n100\n", need=("mass_g",)).rows == 1
    assert faults(tmp_path, "lot\na\n", need=("mass_g", "time"))[0].startswith(
        ": mass_g: a column is missing (got lot); expected it in the heading; gross_g will do"
    )
    assert "without a value" in faults(tmp_path, "lot,mass_g\na,\n", need=("mass_g",))[0]
    # Where no row can be read, that is what is wrong, and not the heading.
    assert "more cells" in faults(tmp_path, "lot,mass_g\na,49,6\n", need=("mass_g", "lot"))[0]
    assert "without a value" in faults(tmp_path, "lot,mass_g\n,1\n", need=("lot",))[0]


def test_only_keeps_what_was_asked_for(tmp_path: Path) -> None:
    table = read(tmp_path, "winder,gross_g,length_m\n4,100,x\n", only=("mass_g", "winder"))
    assert (list(table.numbers), list(table.factors)) == (["gross_g"], ["winder"])


def test_json_lines(tmp_path: Path) -> None:
    lines = [
        {"winder": 4, "mass_g": 101.5},
        {"winder": "5", "mass_g": None, "length_m": "109 yd"},
        {},
        {"winder": 4, "mass_g": 99},
    ]
    text = "\n".join(json.dumps(one) for one in lines) + "\n\n"
    for name in ("w.jsonl", "w.NDJSON"):
        table = read(tmp_path, text, name)
        assert names(table, "winder") == ["4", "5", "4"]
        np.testing.assert_array_equal(table.numbers["mass_g"], [101.5, math.nan, 99.0])
        np.testing.assert_allclose(table.numbers["length_m"], [math.nan, 99.6696, math.nan])
        assert table.lines is not None
        assert table.lines.tolist() == [1, 2, 4]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("[1]", "no JSON object"),
        ("{", "no JSON object"),
        ("[" * 100_000, "no JSON object"),
        ('{"mas_g": 1}', "an unknown column"),
        ('{"mass_g": NaN}', "not a number"),
        ('{"mass_g": true}', "neither a number nor text"),
        ('{"mass_g": "49,6"}', "a comma in a number"),
        ("", "an empty file"),
    ],
)
def test_bad_json_lines(tmp_path: Path, line: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        read(tmp_path, line + "\n", "w.jsonl")


def test_files_that_are_none(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="cannot be read"):
        read_weighings(tmp_path / "none.csv")
    with pytest.raises(BadInput, match="cannot be read"):
        read_weighings(tmp_path)
    (tmp_path / "w.csv").write_bytes("lot\nKäfer\n".encode("latin-1"))
    with pytest.raises(BadInput, match="not UTF-8"):
        read_weighings(tmp_path / "w.csv")
    (tmp_path / "w.csv").write_bytes(b"\0" * 3_000_000)
    with pytest.raises(BadInput, match="too long a line"):
        read_weighings(tmp_path / "w.csv")


def test_a_scan_keeps_the_good_rows_and_each_bad_one_as_it_stood(tmp_path: Path) -> None:
    file = tmp_path / "w.csv"
    file.write_text(
        'winder,ball,mass_g\n9,a,x\n1,b,100\n2,c,49,6\n3,"d",101\n4,b,102\n"5,e,103\n6,f,3.5\n',
        encoding="utf-8",
    )
    scan = scan_file(file)
    table, bad = scan.table, scan.bad
    assert names(table, "winder") == ["1", "3"]
    assert table.factors["winder"].names == ("1", "3")
    assert table.numbers["mass_g"].tolist() == [100.0, 101.0]
    assert [(line, raw) for line, raw, _ in bad] == [
        (2, "9,a,x"), (4, "2,c,49,6"), (6, "4,b,102"), (7, '"5,e,103'), (8, "6,f,3.5"),
    ]  # fmt: skip
    assert scan.rows == 7


CELLS = st.text(
    st.characters(blacklist_categories=("Cs",), blacklist_characters="\n\r"), max_size=8
) | st.sampled_from(["101.2", "3.5 oz", "49,6", "nan", "-1", "", '"', "10:15", "0x10"])


@given(
    rows=st.lists(st.tuples(CELLS, CELLS, CELLS), max_size=12),
    mark=st.sampled_from([",", ";", "\t"]),
    quoting=st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_NONE, csv.QUOTE_ALL]),
)
def test_whatever_stands_in_a_file_no_row_is_lost(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[str, ...]], mark: str, quoting: int
) -> None:
    text = io.StringIO()
    if quoting == csv.QUOTE_NONE:
        text.writelines(mark.join(row) + "\n" for row in rows)
    else:
        csv.writer(text, delimiter=mark, quoting=quoting, lineterminator="\n").writerows(rows)  # type: ignore[arg-type]
    file = tmp_path_factory.mktemp("any") / "w.csv"
    file.write_text(mark.join(("winder", "mass_g", "time")) + "\n" + text.getvalue(), "utf-8")
    try:
        scan = scan_file(file)
    except BadInput:
        assert not any(cell.strip(' \t;,"') for row in rows for cell in row)
        return
    table, bad = scan.table, scan.bad
    assert table.lines is not None
    good, refused = set(table.lines.tolist()), {line for line, _, _ in bad}
    lines = file.read_text("utf-8").split("\n")
    full = {n for n, line in enumerate(lines, 1) if n > 1 and line.strip(' \t\r;,"\x0b\x0c')}
    assert not good & refused
    assert full <= good | refused
    assert all(lines[line - 1] == raw for line, raw, _ in bad)
    mass = table.numbers.get("mass_g", np.zeros(0))
    assert np.all(np.isnan(mass) | ((mass > 0.0) & (mass <= 20_000.0)))


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["", "1", "2", "3"]),
            st.none() | st.floats(1.0, 2.0).map(lambda value: round(100.0 * value, 2)),
            st.none() | st.floats(0.01, 1e5),
        ).filter(any),
        min_size=1,
        max_size=60,
    ),
    st.integers(20, 400),
)
def test_blocks_of_any_size_give_what_a_plain_reader_gives(
    tmp_path_factory: pytest.TempPathFactory,
    rows: list[tuple[str, float | None, float | None]],
    block: int,
) -> None:
    file = tmp_path_factory.mktemp("blocks") / "w.csv"
    body = "".join(
        f"{winder},{'' if mass is None else mass},{'' if length is None else length}\n"
        for winder, mass, length in rows
    )
    file.write_text("winder,mass_g,length_m\n" + body, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(weighings_lines, "BLOCK_CHARS", block)
        table = read_weighings(file)
    assert names(table, "winder") == [winder for winder, _, _ in rows]
    for place, name in ((1, "mass_g"), (2, "length_m")):
        wanted = [math.nan if row[place] is None else row[place] for row in rows]
        np.testing.assert_array_equal(table.numbers[name], wanted)


@pytest.mark.parametrize("only", [("mass_g",), ("mass_g", "winder"), None])
def test_a_ball_twice_is_seen_whatever_columns_are_kept(
    tmp_path: Path, only: tuple[str, ...] | None
) -> None:
    named = tmp_path / "named.csv"
    named.write_text("ball,winder,mass_g\na,1,100\nb,1,101\na,1,100\n", encoding="utf-8")
    timed = tmp_path / "timed.csv"
    timed.write_text(
        "time,winder,mass_g\n06:00:01,1,100\n06:00:09,2,101\n06:00:01,1,100\n", encoding="utf-8"
    )
    for path in (named, timed):
        with pytest.raises(BadInput, match=":4: "):
            read_weighings(path, only=only)


def test_a_column_nobody_asked_for_is_not_refused_and_not_kept(tmp_path: Path) -> None:
    path = tmp_path / "odd.csv"
    path.write_text("time,ball,mass_g\nMonday,a,100\nat six,b,101\n", encoding="utf-8")
    found = read_weighings(path, only=("mass_g",))
    assert list(found.numbers) == ["mass_g"]
    assert not found.factors
    assert found.rows == 2
    with pytest.raises(BadInput, match="time"):
        read_weighings(path)
