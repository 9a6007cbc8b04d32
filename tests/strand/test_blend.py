"""Reading a composition: many ways to write it, one rule for open words, every fault at once."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.strand.blend import fibre_of_word, read_blend
from clew.strand.fibres import FIBRES


@pytest.mark.parametrize(
    "text",
    [
        "67 polyester, 33 cotton",
        "67 % polyester / 33 % cotton",
        "67% polyester 33% cotton",
        "67 Polyester; 33 COTTON",
        "polyester 67 %, cotton 33 %",
        "67 percent polyester + 33 percent cotton",
        "67%polyester,33%cotton",
    ],
)
def test_ways_to_write_one_blend(text: str) -> None:
    found = dict(read_blend(text))
    assert found == pytest.approx({"polyester": 0.67, "cotton": 0.33})


@pytest.mark.parametrize(
    ("word", "key"),
    [
        ("wool", "wool_carded"),
        ("combed wool", "wool_combed"),
        ("wool combed", "wool_combed"),
        ("wool_combed", "wool_combed"),
        ("Merino wool", "wool_carded"),
        ("combed alpaca", "wool_combed"),
        ("nylon", "polyamide_staple"),
        ("polyamide filament", "polyamide_filament"),
        ("linen", "flax"),
        ("rayon", "viscose"),
        ("mercerised cotton", "cotton_mercerised"),
    ],
)
def test_words_of_labels(word: str, key: str) -> None:
    assert fibre_of_word(word) == key


@pytest.mark.parametrize("key", [entry.key for entry in FIBRES])
def test_every_fibre_can_be_written(key: str) -> None:
    assert fibre_of_word(key) == key
    assert read_blend(f"100 {key}") == ((key, 1.0),)


@given(st.integers(1, 99))
def test_shares_come_back_and_make_the_whole(share: int) -> None:
    found = read_blend(f"{share} acrylic, {100 - share} combed wool")
    assert found[0] == ("acrylic", pytest.approx(share / 100))
    assert sum(part for _, part in found) == pytest.approx(1.0, abs=1e-15)


def test_thirds_to_two_places_pass_and_a_tenth_missing_does_not() -> None:
    assert [
        share for _, share in read_blend("33.33 silk, 33.33 cotton, 33.33 flax")
    ] == pytest.approx([1 / 3] * 3)
    with pytest.raises(BadInput, match=r"99\.9 %"):
        read_blend("66.6 silk, 33.3 cotton")


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("60 glass, 40 cotton", "glass_coarse or glass_fine"),
        ("50 cotton, 50 cotton", "named twice"),
        ("50 wool, 50 carded wool", "named twice"),
        ("cotton", "without its share"),
        ("", "without its share"),
        ("0 cotton, 100 silk", "more than 0"),
        ("120 cotton", "at most 100"),
        ("50 cotton, 50 cotten", "perhaps cotton"),
        ("x" * 501, "500 characters"),
    ],
)
def test_what_cannot_be_read_is_refused(text: str, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        read_blend(text)


def test_every_fault_is_said_at_once() -> None:
    with pytest.raises(BadInput) as caught:
        read_blend("50 cotten, 30 wol, silk")
    assert [fault.value for fault in caught.value.faults] == ["'cotten'", "'wol'", "'silk'"]


@given(st.text(max_size=40))
def test_no_text_breaks_the_reader(text: str) -> None:
    try:
        found = read_blend(text)
    except BadInput:
        return
    assert sum(share for _, share in found) == pytest.approx(1.0)
