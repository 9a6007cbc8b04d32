"""A room's sentences in the reader's units, means finer than balls, and what is kept."""

from __future__ import annotations

import pytest

from clew.languages import say, speaking, spoken
from clew.web.band.figures import Measure, in_readers_units
from clew.web.band.kept import Kept
from clew.web.drawn.figures import Figures
from clew.web.drawn.reworded import reworded

METRIC, YARD = Figures("metric"), Figures("yard")


@pytest.mark.parametrize(
    ("words", "metric", "yard"),
    [
        ("runs 3.3 g heavy", "runs 3.3 g heavy", "runs 0.12 oz heavy"),
        ("(+1.1 to +1.3 g)", "(+1.1 to +1.3 g)", "(+0.039 oz to +0.046 oz)"),
        ("0.355 m and 90 kg a year", "0.355 m and 90 kg a year", "0.388 yd and 198 lb a year"),
        ("5.55 GBP over", "£5.55 over", "£5.55 over"),
        ("13 turns (1 count), -2 %", "13 turns (1 count), −2 %", "13 turns (1 count), −2 %"),
        ("9 cN/tex and 498.3 tex", "9 cN/tex and 498.3 tex", "9 cN/tex and 498.3 tex"),
        ("2 lots, 6 mm, SL-211 g", "2 lots, 6 mm, SL-211 g", "2 lots, 6 mm, SL-211 g"),
    ],
)
def test_words_are_put_into_the_readers_units(words: str, metric: str, yard: str) -> None:
    assert in_readers_units(words, METRIC).replace("\u00a0", " ") == metric
    assert in_readers_units(words, YARD).replace("\u00a0", " ") == yard


def test_a_number_stays_with_its_unit() -> None:
    assert "3.3\u00a0g" in in_readers_units("runs 3.3 g heavy", METRIC)


def test_means_are_printed_finer_than_balls() -> None:
    assert Measure("mass", METRIC).text(101.234) == "101.23\u00a0g"
    assert Measure("mass", YARD).text(101.234) == "3.571\u00a0oz"
    assert Measure("length", YARD).text(200.0) == "218.7\u00a0yd"
    assert Measure("mass", METRIC).change(-0.001) == "0.00\u00a0g"
    assert Measure("mass", METRIC).change(1.2) == "+1.20\u00a0g"
    assert Measure("mass", METRIC).between(0.5, None) == "from\u00a00.50\u00a0g"
    assert Measure("mass", METRIC).bare(float("nan")) == "–"


def test_an_answer_is_worked_out_once_and_the_oldest_goes() -> None:
    kept: Kept[int] = Kept(2)
    asked: list[str] = []

    def answer(question: str) -> int:
        def work_out() -> int:
            asked.append(question)
            return len(asked)

        return kept.of(question, work_out)

    assert [answer(one) for one in ("a", "b", "a", "c", "a", "b")] == [1, 2, 1, 3, 1, 4]
    assert asked == ["a", "b", "c", "b"]


def test_what_fails_is_not_kept() -> None:
    kept: Kept[int] = Kept(2)

    def fails() -> int:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        kept.of("a", fails)
    assert kept.of("a", lambda: 7) == 7


def test_units_follow_the_reader_in_every_language() -> None:
    said = say(
        "{mass:.2f} g of {length:.1f} m, {money:.2f} GBP", mass=101.25, length=200.0, money=4
    )
    metric, yard = (in_readers_units(said, Figures(units)) for units in ("metric", "yard"))
    with speaking("fr"):
        assert "101,25\u00a0g" in spoken(metric)
        assert "3,5715\u00a0oz" in spoken(yard)
        assert "£4,00" in spoken(yard)
    assert "3.5715\u00a0oz" in yard
    assert spoken(yard) == yard


def test_a_changed_text_is_changed_again_when_it_is_told() -> None:
    shouted = reworded(say("{n:.1f} g", n=1.5), str.upper)
    assert shouted == "1.5 G"
    with speaking("fr"):
        assert spoken(shouted) == "1,5 G"
