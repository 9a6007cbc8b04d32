"""Element strings: written, read back, shown, refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.band.gs1 import (
    GS,
    Element,
    batch_fits,
    case_gtin_for,
    element,
    element_string,
    from_brackets,
    identifier_of,
    in_brackets,
    read_elements,
    sscc_for,
)
from clew.faults import BadInput
from clew.mill.gs1_keys import check_digit, gtin_of, is_key, sscc_of

SET_82 = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"
NO_BRACKETS = SET_82.replace("(", "").replace(")", "")


def digits(length: int) -> st.SearchStrategy[str]:
    return st.text("0123456789", min_size=length, max_size=length)


def keyed(length: int) -> st.SearchStrategy[str]:
    return digits(length - 1).map(lambda start: f"{start}{check_digit(start)}")


def elements_of(letters: str) -> st.SearchStrategy[list[Element]]:
    each = {
        "00": keyed(18),
        "10": st.text(letters, min_size=1, max_size=20),
        "3102": digits(6),
        "3303": digits(6),
        "400": st.text(letters, min_size=1, max_size=30),
    }
    trade = st.fixed_dictionaries({}, optional={**each, "01": keyed(14)})
    inside = st.fixed_dictionaries(
        {"02": keyed(14), "37": st.integers(1, 8).flatmap(digits)}, optional=each
    )
    return (
        st.one_of(trade, inside)
        .filter(bool)
        .flatmap(lambda found: st.permutations(sorted(found.items())))
        .map(lambda pairs: [Element(ai, data) for ai, data in pairs])
    )


@given(elements_of(SET_82), st.sampled_from(["", "]C1", "]d2"]))
def test_what_is_written_is_read_back(said: list[Element], prefix: str) -> None:
    assert list(read_elements(prefix + element_string(said))) == said


@given(elements_of(NO_BRACKETS))
def test_what_is_shown_is_read_back(said: list[Element]) -> None:
    assert list(from_brackets(in_brackets(said))) == said


@given(elements_of(SET_82))
def test_a_separator_stands_only_where_a_length_is_open(said: list[Element]) -> None:
    written = element_string(said)
    open_ended = [one for one in said[:-1] if one.ai in ("10", "37", "400")]
    assert written.count(GS) == len(open_ended)
    assert not written.endswith(GS)
    assert len(written) == sum(len(one.ai) + len(one.data) for one in said) + len(open_ended)


def test_a_batch_may_hold_what_looks_like_an_identifier_to_the_eye() -> None:
    assert read_elements("1001(37)5") == (Element("10", "01(37)5"),)
    assert from_brackets("(10)A(99)B") == (Element("10", "A(99)B"),)


@pytest.mark.parametrize(
    ("ai", "data"),
    [
        ("10", ""), ("10", "a" * 21), ("10", "SL 207"), ("10", "SL#207"), ("10", "SL-é"),
        ("37", "123456789"), ("37", "8x"), ("3102", "12345"), ("01", "9521234001010"),
        ("01", "19521234001010"), ("00", "1" * 18), ("37", "\u0663"),
    ],
)  # fmt: skip
def test_data_of_another_form_is_refused(ai: str, data: str) -> None:
    with pytest.raises(BadInput):
        element(ai, data)


@pytest.mark.parametrize("ai", ["", "3", "99", "3106", "4000", "310", "abc"])
def test_other_identifiers_are_not_known(ai: str) -> None:
    with pytest.raises(BadInput, match="no application identifier"):
        identifier_of(ai)


@pytest.mark.parametrize(
    "said",
    [
        [], [("37", "80")], [("01", "19521234001017"), ("37", "80")],
        [("02", "19521234001017")], [("10", "A"), ("10", "B")],
        [("01", "19521234001017"), ("02", "19521234001017"), ("37", "8")],
    ],
)  # fmt: skip
def test_elements_that_do_not_go_together_are_refused(said: list[tuple[str, str]]) -> None:
    with pytest.raises(BadInput):
        element_string([Element(*one) for one in said])


@pytest.mark.parametrize("text", ["", "]C1", GS, "99123", "0119521234001010", "SL-207", "01123"])
def test_what_is_no_element_string_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        read_elements(text)
    with pytest.raises(BadInput):
        from_brackets(text)


@given(st.integers(6, 12).flatmap(digits), st.data(), st.integers(0, 9))
def test_an_sscc_is_a_key_of_the_mill_s_prefix(prefix: str, data: st.DataObject, ext: int) -> None:
    most = 10 ** (16 - len(prefix)) - 1
    serial = data.draw(st.integers(0, most))
    sscc = sscc_for(prefix, serial, ext)
    assert sscc_of(sscc) == sscc
    assert sscc[0] == str(ext)
    assert sscc[1:].startswith(prefix)
    assert int(sscc[1 + len(prefix) : -1]) == serial
    with pytest.raises(BadInput, match="no serial"):
        sscc_for(prefix, most + 1, ext)


def test_a_wrong_prefix_or_extension_is_refused() -> None:
    with pytest.raises(BadInput, match="prefix"):
        sscc_for("12345", 1)
    with pytest.raises(BadInput, match="extension"):
        sscc_for("9521234", 1, 10)
    with pytest.raises(BadInput, match="no serial"):
        sscc_for("9521234", -1)


@given(st.sampled_from([8, 12, 13]).flatmap(keyed), st.integers(1, 8))
def test_a_case_s_number_is_its_ball_s_behind_an_indicator(gtin: str, indicator: int) -> None:
    case = case_gtin_for(gtin, indicator)
    assert is_key(case, (14,))
    assert case[0] == str(indicator)
    assert case[1:-1] == gtin_of(gtin)[1:-1]


@pytest.mark.parametrize(
    ("gtin", "indicator"),
    [
        ("9521234001011", 1),
        ("19521234001017", 1),
        ("9521234001010", 0),
        ("9521234001010", 9),
    ],
)
def test_a_case_s_number_is_refused(gtin: str, indicator: int) -> None:
    with pytest.raises(BadInput):
        case_gtin_for(gtin, indicator)


def test_which_lots_go_into_a_symbol() -> None:
    assert batch_fits("SL-207")
    assert batch_fits("a" * 20)
    assert not any(map(batch_fits, ("", "a" * 21, "SL 207", "Lot#4", "Süd")))
