"""The band says what was declared, in either system, rounded as people round."""

from __future__ import annotations

import pytest

from clew.checks.release.band import band_finding, said_on_band


@pytest.mark.parametrize(
    ("text", "masses", "lengths", "yards"),
    [
        (["100 g e, about 200 m"], (100.0,), (200.0,), False),
        (["100 g (3.53 oz)", "250 m (273 yd)"], (100.0, 100.0738), (250.0, 249.6312), True),
        (["3,5 oz", "1,200 yards"], (99.223,), (1097.28,), True),
        (["55 % wool, 45 % acrylic", "needles 4 mm"], (), (), False),
        (["0.1 kg"], (100.0,), (), False),
    ],
)
def test_numbers_on_a_band(
    text: list[str], masses: tuple[float, ...], lengths: tuple[float, ...], yards: bool
) -> None:
    found = said_on_band(text)
    assert found[0] == pytest.approx(masses, rel=1e-4)
    assert found[1] == pytest.approx(lengths, rel=1e-4)
    assert found[2] is yards


def test_a_band_that_agrees() -> None:
    found = band_finding(["100 g (3.53 oz), 250 m (273 yd)"], 100.0, 250.0, ["us-category-a"])
    assert found is not None
    assert found.passed is True


def test_a_band_that_says_something_else_fails_with_both_numbers() -> None:
    found = band_finding(["100 g, 210 m"], 100.0, 200.0, ["eu-average"])
    assert found is not None
    assert found.passed is False
    assert found.words == ("The band says 210 m, 200 m is declared.",)


def test_a_small_ball_wants_yards_in_four_states_only() -> None:
    text = ["50 g, 125 m"]
    assert band_finding(text, 50.0, 125.0, ["us-thread-states"]).passed is False  # type: ignore[union-attr]
    assert band_finding(text, 50.0, 125.0, ["eu-average"]).passed is True  # type: ignore[union-attr]


def test_a_band_without_the_declared_length_is_told() -> None:
    found = band_finding(["100 g"], 100.0, 200.0, ["eu-average"])
    assert found is not None
    assert found.words == ("The band names no length; 200 m is declared.",)


def test_no_band_is_no_finding() -> None:
    assert band_finding([], 100.0, 200.0, ["eu-average"]) is None


def test_a_second_figure_that_says_more_is_told_where_the_larger_is_tested() -> None:
    text = ["100 g (3.53 oz), 250 m (274 yd)"]
    found = band_finding(text, 100.0, 250.0, ["us-category-a"])
    assert found is not None
    assert [words.split(";")[0] for words in found.words[1:]] == [
        "It also says 100.07 g", "It also says 250.55 m",
    ]  # fmt: skip
    assert len(band_finding(text, 100.0, 250.0, ["eu-average"]).words) == 1  # type: ignore[union-attr]
