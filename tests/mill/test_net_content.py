"""The file of net-content tables: whole, without gaps, and every fault with its line."""

from __future__ import annotations

import hashlib
from itertools import pairwise
from pathlib import Path

import pytest

from clew.faults import BadInput
from clew.mill.net_content import (
    BUILT_IN,
    FILE_NAME,
    TABLE_KEYS,
    built_in_text,
    read_tables,
    tables_from_text,
)

TEXT = built_in_text()


def changed(old: str, new: str, under: str = "") -> str:
    """Change the first match, below a heading where one is named."""
    place = TEXT.index(under)
    assert old in TEXT[place:]
    return TEXT[:place] + TEXT[place:].replace(old, new, 1)


def line_of(text: str, part: str) -> int:
    return text[: text.index(part)].count("\n") + 1


def test_the_shipped_file_is_whole() -> None:
    tables = read_tables()
    assert set(tables.by_key) == set(TABLE_KEYS)
    assert tables.file == BUILT_IN
    assert tables.sha256 == hashlib.sha256(TEXT.encode()).hexdigest()


def test_what_was_only_recalled_is_not_confirmed() -> None:
    tables = read_tables()
    open_ones = {key for key in TABLE_KEYS if not tables[key].confirmed}
    assert open_ones == {
        "us_category_a_plans",
        "us_category_a_mass",
        "us_category_a_length",
        "r87_plans",
        "r87_small_lots",
    }
    assert {key for key in TABLE_KEYS if tables[key].off} == {"us_category_a_length"}
    assert not any(tables[key].confirmed_by for key in TABLE_KEYS)


@pytest.mark.parametrize("key", ["r87_mass", "tne"])
def test_deficiency_never_falls_as_the_declaration_rises(key: str) -> None:
    """The bands meet without a step; Category A's do not, and may not be asked to."""
    bands = read_tables()[key].bands
    for lower, upper in pairwise(bands):
        assert lower.to is not None
        at_end = lower.amount if lower.percent is None else lower.percent * lower.to / 100
        at_start = upper.amount if upper.percent is None else upper.percent * lower.to / 100
        assert at_end == pytest.approx(at_start)


def test_a_mills_own_copy_is_used_and_named(tmp_path: Path) -> None:
    told = 'confirmed_by = "A. Hand, 2026-11-25, the printed Appendix A"'
    text = changed('confirmed_by = ""', told, "[us_category_a_mass]")
    (tmp_path / FILE_NAME).write_text(text, encoding="utf-8")
    (tmp_path / "mill.toml").write_text("", encoding="utf-8")
    for place in (tmp_path, tmp_path / "mill.toml"):
        tables = read_tables(place)
        assert tables.file == str(tmp_path / FILE_NAME)
        assert tables["us_category_a_mass"].confirmed
        assert not tables["us_category_a_plans"].confirmed
    assert tables.sha256 != read_tables().sha256


def test_a_mill_without_a_copy_has_the_shipped_one(tmp_path: Path) -> None:
    assert read_tables(tmp_path).file == BUILT_IN


@pytest.mark.parametrize(
    ("old", "new", "under", "words"),
    [
        ("over = 54", "over = 55", "[us_category_a_mass]", "a gap between rows"),
        ("over = 54", "over = 50", "[us_category_a_mass]", "rows that overlap"),
        ("from = 251", "from = 252", "[us_category_a_plans]", "a gap between rows"),
        ("from = 251", "from = 250", "[us_category_a_plans]", "rows that overlap"),
        ("to = 54,", "to = 30,", "[us_category_a_mass]", "not above its over"),
        ("to = 3200", "to = 3", "[us_category_a_plans]", "below its from"),
        ("amount = 3.6", "amount = -3.6", "[us_category_a_mass]", "not a number"),
        ("amount = 3.6", "amount = nan", "[us_category_a_mass]", "not a number"),
        ("amount = 3.6", 'amount = "3,6"', "[us_category_a_mass]", "not a number"),
        ("amount = 3.6", "amount = 3.6, percent = 2", "[us_category_a_mass]", "one of amount"),
        ("percent = 10", "percent = 101", "[us_category_a_mass]", "not a number"),
        ("n = 12,", "n = 13,", "[us_category_a_plans]\n", "not so many in the lot"),
        ("n = 12,", "n = 12.5,", "[us_category_a_plans]\n", "not a number"),
        ("n = 12,", "m = 12,", "[us_category_a_plans]\n", "no such key"),
        ("reject = 3", "reject = 1", "[reference_double]", "not above accept"),
        ("to = 250, ", "", "[us_category_a_plans]", "no upper end before the last row"),
        ('mark = "MEMORY"', 'mark = "SURE"', "[us_category_a_mass]", "no such mark"),
        ('confirmed_by = ""', 'confirmed_by = "yes"', "[tne]", "who, when and against what"),
        (
            'confirmed_by = ""',
            'confirmed_by = "A. Hand, 2026-02-30, the book"',
            "[tne]",
            "who, when and against what",
        ),
        ("off = true", 'off = "yes"', "[us_category_a_length]", "neither true nor false"),
        ('unit = "g"', 'unit = "oz"', "[tne]", "not this table's unit"),
        ('source = "Dir', 'sauce = "Dir', "[tne]", "empty or missing"),
        ("least_balls = 10", "least_balls = 0", "[us_thread]", "missing or no number"),
        ("version = 1", "version = 2", "", "not a version"),
    ],
)
def test_a_fault_is_named(old: str, new: str, under: str, words: str) -> None:
    text = changed(old, new, under)
    with pytest.raises(BadInput, match=words) as bad:
        tables_from_text(text, "net_content.toml")
    assert all(fault.file == "net_content.toml" and fault.line for fault in bad.value.faults)


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("over = 208", "over = 209", "row 7 over"),
        ("amount = 19.9", "amount = true", "row 11 amount"),
        ("percent = 2 }", "percent = 200 }", "row 34 percent"),
    ],
)
def test_a_fault_tells_its_line_and_row(old: str, new: str, key: str) -> None:
    text = changed(old, new, "[us_category_a_mass]")
    with pytest.raises(BadInput) as bad:
        tables_from_text(text, "net_content.toml")
    (fault,) = bad.value.faults
    assert fault.line == line_of(text, new)
    assert (fault.section, fault.key) == ("us_category_a_mass", key)


def test_a_missing_table_and_a_strange_one() -> None:
    text = TEXT.replace("[tne]", "[tolerable]")
    with pytest.raises(BadInput) as bad:
        tables_from_text(text)
    words = " ".join(fault.what for fault in bad.value.faults)
    assert "a table that is missing" in words
    assert "no such table" in words


@pytest.mark.parametrize("text", ["", "version = 1", "[[[", "tne = 3\nversion = 1", "\x00"])
def test_what_is_no_file_of_tables_is_refused_without_a_traceback(text: str) -> None:
    with pytest.raises(BadInput):
        tables_from_text(text)


def test_a_binary_copy_is_refused(tmp_path: Path) -> None:
    (tmp_path / FILE_NAME).write_bytes(b"\xff\xfe\x00\x01")
    with pytest.raises(BadInput):
        read_tables(tmp_path)


def test_a_folder_that_is_not_there_is_no_reason_for_other_tables(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no such file or folder"):
        read_tables(tmp_path / "mil")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("n_second = 60", "n_second = 0", "not so many in two drawings"),
        ("n_second = 60", "n_second = 30", "not so many in two drawings"),
        ("n_second = 60", "n_second = 101", "not so many in two drawings"),
        ("accept_second = 4", "accept_second = 1", "below what was drawn again for"),
    ],
)
def test_a_second_drawing_goes_on_where_the_first_leaves_off(old: str, new: str, said: str) -> None:
    """Else a lot between the first drawing's numbers has no answer."""
    with pytest.raises(BadInput, match=said):
        tables_from_text(built_in_text().replace(old, new, 1))
