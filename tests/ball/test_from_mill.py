"""A ball's terms as the mill file gives them."""

from __future__ import annotations

import pytest

from clew.ball.from_mill import terms_of
from clew.faults import BadInput
from clew.mill.model import Mill
from clew.strand.bulk import steamed


def test_a_measured_lot_takes_the_place_of_the_nominal_count(demo_mill: Mill) -> None:
    nominal, measured = terms_of(demo_mill, "Querl 100"), terms_of(demo_mill, "Querl 100", "SL-207")
    assert nominal.strand.count_spun_tex == 400.0
    assert measured.strand.count_spun_tex == 403.0
    yarn = demo_mill.find_yarn("Querl")
    by_hand = steamed(
        403.0,
        0.20,
        finish_loss_frac=0.008,
        regain_in_frac=0.092,
        regain_out_frac=yarn.regain_out_frac,
    )
    assert measured.strand.count_tex == pytest.approx(by_hand.count_tex)


def test_eight_cones_measured_are_surer_than_six(demo_mill: Mill) -> None:
    eight = terms_of(demo_mill, "Querl 100", "SL-207").strand.spreads[0].cv
    six = terms_of(demo_mill, "Querl 100", "BR-088").strand.spreads[0].cv
    assert eight == pytest.approx(six * (6 / 8) ** 0.5)


def test_a_target_left_out_is_the_declaration(demo_mill: Mill) -> None:
    promise = terms_of(demo_mill, "Sallowe 100").promise
    assert (promise.target_mass_g, promise.target_length_m) == (100.0, 250.0)


def test_the_blend_has_its_agreed_allowance(demo_mill: Mill) -> None:
    assert terms_of(demo_mill, "Querl 100").strand.allowance_frac == pytest.approx(
        0.55 * 0.1825 + 0.45 * 0.02
    )


@pytest.mark.parametrize(
    ("ball", "lot", "words"),
    [
        ("Querl 101", "", "no such ball"),
        ("Querl 100", "SL-999", "no such dye lot"),
        ("Querl 100", "SA-340", "dye lot SA-340 is of Dunnow"),
    ],
)
def test_a_name_that_is_not_there_is_one_line_with_those_that_are(
    demo_mill: Mill, ball: str, lot: str, words: str
) -> None:
    with pytest.raises(BadInput, match=words) as caught:
        terms_of(demo_mill, ball, lot)
    assert caught.value.faults[0].expected.startswith("one of")
