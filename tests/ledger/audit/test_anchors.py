"""Anchors: off paper and back, and every slip of a hand told from a chain that is another one."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.ledger.audit.anchors import Anchor, anchor_at, read_anchor, read_anchors

HASH = bytes.fromhex("3f9a22c01b7d5e0466aa90cf1122334455667788990011aabbccddeeff00a1b2")
NAMES = st.text(
    st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp", "Zs")),
    min_size=1, max_size=20,
)  # fmt: skip

BLANK, JOINERS = (
    "\u00ad\u180e\u200b\u200e\u200f\u2060\u2061\u2062\u2063\u2064\ufeff",
    "\u200c\u200d",
)


def test_it_is_written_as_it_is_read_aloud() -> None:
    anchor = anchor_at("Line 1", 20417, HASH)
    text = anchor.text()
    assert text.startswith("Line 1 · 20417 · 3F9A-22C0-1B7D-5E04-66AA-90CF-1122-3344 · ")
    assert read_anchor(text) == Anchor("Line 1", 20417, HASH.hex()[:32])
    assert read_anchor(anchor.code()) == anchor
    assert anchor.code().isascii()


def test_the_mills_own_chain_has_a_word() -> None:
    anchor = anchor_at("", 3, HASH)
    assert anchor.text().startswith("(mill) · 3 · ")
    assert read_anchor(anchor.text()).line == ""
    assert read_anchor(anchor.code()) == anchor


def test_it_is_read_as_hands_type_it() -> None:
    anchor = anchor_at("Line 1", 20417, HASH)
    text = anchor.text()
    for typed in (
        text.lower().replace("line", "Line"),
        text.replace("·", ";"),
        text.replace("-", " "),
        text.replace(" · ", "·"),
        text.replace("20417", "20,417"),
        text.replace("-22C0-", "-22CO-"),
        f"  {text}\n",
    ):
        assert read_anchor(typed).seq == 20417
        assert read_anchor(typed).holds(HASH)


@given(name=NAMES, seq=st.integers(1, 10**12), hash_=st.binary(min_size=32, max_size=32))
def test_every_anchor_comes_back(name: str, seq: int, hash_: bytes) -> None:
    assume(" ".join(name.split()) == name and name != "(mill)" and not set(name) & set(BLANK))
    anchor = anchor_at(name, seq, hash_)
    assert read_anchor(anchor.code()) == anchor
    assert read_anchor(anchor.text()) == Anchor(name, seq, hash_.hex()[:32])
    assert read_anchor(anchor.text()).holds(hash_)


@given(place=st.integers(0, 31), digit=st.sampled_from("0123456789ABCDEF"))
def test_one_wrong_digit_is_a_slip_of_the_hand(place: int, digit: str) -> None:
    anchor = anchor_at("Line 1", 20417, HASH)
    digits = list(anchor.digits[:32].upper())
    assume(digits[place] != digit)
    digits[place] = digit
    with pytest.raises(BadInput, match="mistyped"):
        read_anchor(f"Line 1 · 20417 · {''.join(digits)} · {anchor.check}")


@given(place=st.integers(0, 30))
def test_two_digits_that_changed_places_are_a_slip_of_the_hand(place: int) -> None:
    anchor = anchor_at("Line 1", 20417, HASH)
    digits = list(anchor.digits[:32])
    assume(digits[place] != digits[place + 1])
    digits[place : place + 2] = digits[place + 1], digits[place]
    with pytest.raises(BadInput, match="mistyped"):
        read_anchor(f"Line 1 · 20417 · {''.join(digits)} · {anchor.check}")


@pytest.mark.parametrize("row", ["20418", "20471", "2041", "20407"])
def test_a_wrong_row_is_a_slip_of_the_hand(row: str) -> None:
    with pytest.raises(BadInput, match="mistyped"):
        read_anchor(anchor_at("Line 1", 20417, HASH).text().replace("20417", row))


@pytest.mark.parametrize(
    "said",
    ["", "Line 1", "Line 1 · 12", "clew-anchor:1:x", "clew-anchor:1:Line%201:1:abc:00",
     "Line 1 · 20417 · 3F9A · 12", "Line 1 · 20417 · ZZZZ-22C0 · 12",
     "clew-anchor:1:Line%201:²:" + "0" * 64 + ":12"],
)  # fmt: skip
def test_what_is_no_anchor_is_refused(said: str) -> None:
    with pytest.raises(BadInput):
        read_anchor(said)


def test_a_file_of_anchors(tmp_path: Path) -> None:
    first, second = anchor_at("Line 1", 5, HASH), anchor_at("", 9, HASH[::-1])
    path = tmp_path / "anchors.txt"
    path.write_text(f"# shift reports\n\n{first.text()}\n{second.code()}\n", encoding="utf-8")
    assert [one.seq for one in read_anchors(path)] == [5, 9]
    path.write_text(f"{first.text()}\nrubbish\nmore\n", encoding="utf-8")
    with pytest.raises(BadInput) as bad:
        read_anchors(path)
    assert [one.line for one in bad.value.faults] == [2, 3]
    path.write_text(json.dumps({"anchors": [first.plain()]}), encoding="utf-8")
    assert read_anchors(path) == (first,)
    for text in ("{", '{"anchors": 3}', '{"anchors": [{"code": "x"}]}'):
        path.write_text(text, encoding="utf-8")
        with pytest.raises(BadInput):
            read_anchors(path)
    with pytest.raises(BadInput, match="cannot be read"):
        read_anchors(tmp_path / "none")


@given(data=st.data(), line=st.sampled_from(["Line 1", "", "\u062e\u0637\u200c\u06f1"]))
def test_characters_without_width_from_a_pdf_are_passed_over(
    data: st.DataObject, line: str
) -> None:
    anchor = anchor_at(line, 20417, HASH)
    for whole in (anchor.text(), anchor.code()):
        copied = whole
        for _ in range(data.draw(st.integers(1, 6))):
            one = data.draw(st.sampled_from(BLANK + JOINERS))
            first = copied.find("·") + 1 if one in JOINERS else 0  # a name may have joiners
            place = data.draw(st.integers(first, len(copied)))
            copied = copied[:place] + one + copied[place:]
        assert read_anchor(copied) == read_anchor(whole)


def test_joiners_in_a_name_that_has_none_are_passed_over() -> None:
    text = anchor_at("Line 1", 20417, HASH).text()
    assert read_anchor(text.replace("ne 1", "n\u200de \u200c1")) == read_anchor(text)


def test_a_line_of_a_file_with_nothing_to_be_seen_on_it_is_empty(tmp_path: Path) -> None:
    path = tmp_path / "anchors.txt"
    text = anchor_at("Line 1", 5, HASH).text()
    path.write_text(f"\u200b\n\u2060# a note\n\u00ad{text}\u200b\n", encoding="utf-8")
    assert [one.seq for one in read_anchors(path)] == [5]
