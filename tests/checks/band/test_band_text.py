"""The band's text, and what is found about it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from clew.checks.band.findings import BandFinding, band_findings, judged
from clew.checks.band.room import columns_mm, room_words
from clew.checks.band.text import band_of, may_carry_e
from clew.faults import BadInput
from clew.mill import read_mill
from clew.mill.model import Mill


@pytest.fixture
def mill(mill_dir: Path) -> Mill:
    return read_mill(mill_dir)


def altered(mill: Mill, name: str, band: dict[str, Any] | None = None, **keys: Any) -> Mill:
    """The mill with one ball changed; its own text goes unless given."""
    keys = {"band_text": (), **keys}
    balls = tuple(
        one
        if one.name != name
        else one.model_copy(update={**keys, "band": one.band.model_copy(update=band or {})})
        for one in mill.ball
    )
    return mill.model_copy(update={"ball": balls})


def found(mill: Mill, name: str, lot: str = "") -> dict[str, BandFinding]:
    return {one.key: one for one in judged(mill, name, lot)}


def test_a_made_band_of_the_demo_breaks_no_law(mill: Mill) -> None:
    for ball, lot in (("Querl 100", "SL-207"), ("Querl 200", "OA-023"), ("Dunnow 50", "SA-340"),
                      ("Sallowe 100", "OA-019")):  # fmt: skip
        for markets in (("eu",), ("uk", "eu"), ("us",), ("us", "eu", "uk")):
            made = altered(mill, ball, {"markets": markets})
            findings = judged(made, ball, lot)
            assert not [one for one in findings if one.breaks_law], (ball, markets)
            short = [one.key for one in findings if one.passed is False]
            assert set(short) <= {"gtin"}, (ball, markets)
            assert len({one.key for one in findings}) == len(findings)
            assert all(one.words.endswith(".") and one.source for one in findings)


def test_the_order_of_systems_follows_the_first_market(mill: Mill) -> None:
    eu = band_of(altered(mill, "Querl 100", {"markets": ("eu",)}), "Querl 100")
    us = band_of(altered(mill, "Sallowe 100"), "Sallowe 100")
    assert eu.quantity_lines == ("100 g", "3.52 oz", "200 m (218 yd)")
    assert eu.e_mark
    assert us.quantity_lines == ("3.52 oz (100 g)", "273 yd (250 m)")
    assert not us.e_mark


def test_one_line_of_fibres_where_one_serves_all(mill: Mill) -> None:
    both = altered(mill, "Querl 100", {"markets": ("eu", "us")})
    assert band_of(both, "Querl 100").fibre_lines == ("59 % wool, 41 % acrylic",)
    (blend, *others) = mill.fibre_blend
    nylon = blend.model_copy(
        update={"fibres": tuple(
            one.model_copy(update={"fibre": "polyamide_staple"}) if one.fibre == "acrylic" else one
            for one in blend.fibres
        )}
    )  # fmt: skip
    unlike = both.model_copy(update={"fibre_blend": (nylon, *others)})
    lines = band_of(unlike, "Querl 100").fibre_lines
    assert [line.split(":")[0] for line in lines] == ["EU", "US"]
    assert "polyamide" in lines[0] and "nylon" in lines[1]
    keys = found(unlike, "Querl 100")
    assert keys["fibres-eu"].passed and keys["fibres-us"].passed


def test_the_mill_s_own_text_is_kept_and_looked_over(mill: Mill) -> None:
    text = ("41 % acrylic, 59 % wool", "100 g e (3.53 oz), about 200 m", "Spun slowly")
    own = altered(mill, "Querl 100", band_text=text)
    band = band_of(own, "Querl 100", "SL-207")
    assert band.own_text
    assert band.fibre_lines == text[:1]
    assert band.quantity_lines == ("100 g", "(3.53 oz), about 200 m")
    assert band.e_mark
    assert band.other_lines == ("Spun slowly",)
    keys = found(own, "Querl 100", "SL-207")
    assert keys["fibres-eu"].breaks_law
    assert "falling order" in keys["fibres-eu"].words
    assert keys["mass-over"].breaks_law
    assert "100.07 g" in keys["mass-over"].words
    assert keys["length-over"].passed


@pytest.mark.parametrize(
    ("text", "key"),
    [
        (("100 % cotton", "250 m (273 yd)"), "mass both-systems"),
        (("100 % cotton", "100 g, 250 m"), "both-systems"),
        (("100 % cotton", "3.52 oz (100 g), 274 yd"), "length-over"),
        (("100 % cotton", "3.4 oz (96 g), 250 m"), "mass"),
        (("100 % cotton", "3.52 oz (100 g) e, 250 m"), "e-mark"),
        (("cotton", "3.52 oz (100 g), 250 m"), "fibres-us"),
    ],
)
def test_what_is_missing_or_too_much_breaks_the_law(
    mill: Mill, text: tuple[str, ...], key: str
) -> None:
    keys = found(altered(mill, "Sallowe 100", band_text=text), "Sallowe 100")
    assert [one for one, finding in keys.items() if finding.breaks_law] == key.split()


def test_a_small_ball_shows_its_yards_in_the_us(mill: Mill) -> None:
    text = ("100 % wool", "1.76 oz (50 g), 205 m")
    small = altered(mill, "Dunnow 50", {"markets": ("us",)}, band_text=text)
    assert found(small, "Dunnow 50")["yards"].breaks_law
    made = altered(mill, "Dunnow 50", {"markets": ("us",)})
    assert found(made, "Dunnow 50")["yards"].passed
    assert found(altered(mill, "Dunnow 50"), "Dunnow 50")["yards"].passed is None


def test_a_mill_without_maker_or_origin(mill: Mill) -> None:
    bare = altered(mill, "Sallowe 100")
    bare = bare.model_copy(
        update={"mill": bare.mill.model_copy(update={"maker": None, "origin": None})}
    )
    keys = found(bare, "Sallowe 100")
    assert keys["maker"].breaks_law and keys["origin"].breaks_law
    eu = altered(bare, "Sallowe 100", {"markets": ("eu",)})
    assert not found(eu, "Sallowe 100")["origin"].breaks_law


def test_what_only_buyers_ask_for_breaks_no_law(mill: Mill) -> None:
    bare = altered(mill, "Querl 100", {"care": (), "gauge": None, "needles": None}, gtin=None)
    keys = found(bare, "Querl 100")
    for key in ("care", "gauge", "gtin", "dye-lot", "colour"):
        assert keys[key].passed is False and not keys[key].breaks_law


def test_a_number_of_another_prefix_is_seen(mill: Mill) -> None:
    other = altered(mill, "Querl 100", gtin="4006381333931")
    assert found(other, "Querl 100")["gtin"].passed is False
    assert found(mill, "Querl 100")["gtin"].passed


def test_a_number_of_twelve_digits_has_a_nought_before_it(mill: Mill) -> None:
    """952123... of 12 digits is 0952123...: another company's than 952123... of 13."""
    assert mill.mill.gs1_prefix == "9521234"
    short = altered(mill, "Querl 100", gtin="952123400307")
    assert found(short, "Querl 100")["gtin"].passed is False
    assert "0952123400307" in found(short, "Querl 100")["gtin"].words
    of_it = short.model_copy(
        update={"mill": short.mill.model_copy(update={"gs1_prefix": "0952123"})}
    )
    assert found(of_it, "Querl 100")["gtin"].passed


def test_the_e_asks_for_its_rule(mill: Mill) -> None:
    assert may_carry_e(mill.find_ball("Querl 100"))
    assert not may_carry_e(mill.find_ball("Sallowe 100"))
    tiny = altered(mill, "Querl 100", declared_mass_g=4.9)
    assert not may_carry_e(tiny.find_ball("Querl 100"))


def test_a_band_too_small_for_its_letters(mill: Mill) -> None:
    low = altered(mill, "Querl 100", {"height_mm": 30.0})
    finding = found(low, "Querl 100", "SL-207")["room"]
    assert finding.breaks_law
    assert "mm high; it is 30 mm" in finding.words
    short = altered(mill, "Querl 100", {"width_mm": 45.0})
    assert "the symbol alone needs more" in found(short, "Querl 100")["room"].words


def test_columns_fill_the_band_and_a_higher_band_only_helps(mill: Mill) -> None:
    band = band_of(altered(mill, "Querl 100"), "Querl 100", "SL-207")
    assert sum(columns_mm(band)) + 2 * 3.0 + 2 * 4.0 == pytest.approx(band.width_mm)
    enough = [not room_words(replace(band, height_mm=high)) for high in range(10, 120, 5)]
    assert enough == sorted(enough)
    assert not enough[0] and enough[-1]


def test_a_word_longer_than_its_column_has_no_room(mill: Mill) -> None:
    band = band_of(altered(mill, "Querl 100"), "Querl 100", "SL-207")
    assert not room_words(band)
    assert "Untersuchungsrahmen" in room_words(
        replace(band, ball_name="Untersuchungsrahmen", width_mm=100.0, height_mm=90.0)
    )


@pytest.mark.parametrize("written", ["100 g\u212e", "100 g \u212e", "\u212e 100 g", "100 g e"])
def test_an_e_is_seen_however_it_is_set(mill: Mill, written: str) -> None:
    wrong = altered(mill, "Sallowe 100", band_text=("100 % cotton", f"{written}, 250 m"))
    assert found(wrong, "Sallowe 100")["e-mark"].breaks_law
    right = altered(mill, "Querl 100", band_text=("59 % wool, 41 % acrylic", written))
    assert found(right, "Querl 100")["e-mark"].passed


def test_a_due_quantity_is_not_about_so_much_in_the_us(mill: Mill) -> None:
    def plain(mass_g: float, *lines: str, market: str = "us") -> bool | None:
        ball = altered(mill, "Sallowe 100", {"markets": (market,)}, declared_mass_g=mass_g)
        one = {x.key: x for x in band_findings(lines, ball, ball.find_ball("Sallowe 100"))}
        return one["plain"].passed

    assert plain(100.0, "100 g (3.52 oz)", "about 250 m (273 yd)")  # the mass is what is due
    assert plain(100.0, "about 100 g (3.52 oz)") is False
    assert plain(100.0, "100 g (3.52 oz) when packed") is False
    assert plain(50.0, "50 g (1.76 oz)", "approx. 136 yd") is False  # below two ounces
    assert plain(50.0, "50 g (1.76 oz)", "136 yd (125 m)")
    assert plain(100.0, "about 100 g", market="eu") is None


def test_findings_judge_the_text_that_is_given(mill: Mill) -> None:
    ball = mill.find_ball("Sallowe 100")
    keys = {one.key: one for one in band_findings(("100 % cotton",), mill, ball, "OA-019")}
    for key in ("mass", "both-systems", "maker", "origin"):
        assert keys[key].breaks_law
    assert keys["dye-lot"].passed is False
    assert keys["fibres-us"].passed


def test_unknown_names_and_wrong_lots_are_refused(mill: Mill) -> None:
    with pytest.raises(BadInput, match="no such ball"):
        band_of(mill, "Nobody")
    with pytest.raises(BadInput, match="no such dye lot"):
        band_of(mill, "Querl 100", "XX-1")
    with pytest.raises(BadInput, match="a dye lot of another yarn"):
        band_of(mill, "Querl 100", "SA-340")
