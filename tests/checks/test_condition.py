"""Mass and length at a stated condition: dry mass stays, order stays, and nothing is silent."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.checks.condition import Condition, DryingOut, common_doubt_g, net_mass
from clew.checks.reel_length import ReelTerms, stated_length
from clew.checks.weighings import Weighings
from clew.faults import BadInput
from clew.strand.moisture import Regain, mass_at_regain_kg

NAN = math.nan
REGAINS = st.floats(0.0, 0.5)


def balls(**columns: list[float]) -> Weighings:
    arrays = {name: np.array(values, dtype=np.float64) for name, values in columns.items()}
    rows = len(next(iter(arrays.values()))) if arrays else 0
    return Weighings(rows, arrays, lines=np.arange(2, rows + 2))


def test_mass_as_weighed_says_that_it_is_not_corrected() -> None:
    mass, words = net_mass(balls(mass_g=[101.0, NAN]))
    np.testing.assert_array_equal(mass, [101.0, NAN])
    assert words == "Net mass as weighed; not corrected for moisture."
    _, words = net_mass(balls(mass_g=[101.0], regain_frac=[0.09]))
    assert words.endswith("The file's regain was not used.")


def test_the_file_is_left_as_it_was() -> None:
    table = balls(mass_g=[NAN, 90.0], gross_g=[103.0, NAN], tare_g=[2.0, NAN])
    mass, words = net_mass(table)
    np.testing.assert_array_equal(mass, [101.0, 90.0])
    assert "gross less each ball's own tare" in words
    np.testing.assert_array_equal(table.numbers["mass_g"], [NAN, 90.0])


def test_a_tare_for_all_is_taken_off_where_there_is_none_and_named_with_its_doubt() -> None:
    condition = Condition(tare_g=2.1, tare_sd_g=0.1)
    mass, words = net_mass(balls(gross_g=[103.1, 104.0], tare_g=[NAN, 2.0]), condition)
    np.testing.assert_allclose(mass, [101.0, 102.0])
    assert "each ball's own tare or a tare of 2.1 g for 1 ball (sd 0.1 g)" in words


@pytest.mark.parametrize(
    ("table", "condition", "words"),
    [
        (balls(length_m=[200.0]), None, "no column of mass"),
        (balls(gross_g=[100.0, 100.0]), None, "gross mass without a tare in 2 of 2 rows"),
        (balls(gross_g=[2.0]), Condition(tare_g=2.0), "the tare leaves nothing in 1 of 1 rows"),
        (balls(mass_g=[100.0]), Condition(regain_to_frac=0.1), "no regain at weighing"),
        (
            balls(mass_g=[100.0], since_dryer_min=[5.0]),
            Condition(regain_to_frac=0.1),
            "no regain at weighing",
        ),
    ],
)
def test_what_cannot_be_told_is_refused(
    table: Weighings, condition: Condition | None, words: str
) -> None:
    with pytest.raises(BadInput, match=words):
        net_mass(table, condition)


@pytest.mark.parametrize(
    "terms",
    [
        {"regain_from_frac": -0.1},
        {"regain_to_frac": 4.1},
        {"tare_g": -1.0},
        {"tare_sd_g": math.nan},
        {"doubt_frac": -0.01},
    ],
)
def test_a_condition_that_cannot_be_meant_is_refused(terms: dict[str, float]) -> None:
    with pytest.raises(BadInput):
        Condition(**terms)


def test_a_regain_is_taken_from_the_ball_then_the_dryer_then_the_one_for_all() -> None:
    table = balls(
        mass_g=[100.0] * 4, regain_frac=[0.05, NAN, NAN, NAN], since_dryer_min=[9.0, 0.0, 1e9, NAN]
    )
    law = DryingOut(dryer_frac=0.02, rest_frac=0.095, time_constant_min=30.0)
    asked = {"basis": "at inspection", "regain_to_frac": 0.1, "drying_out": law}
    mass, words = net_mass(table, Condition(**asked, regain_from_frac=0.08, doubt_frac=0.005))
    np.testing.assert_allclose(mass, [110 / 1.05, 110 / 1.02, 110 / 1.095, 110 / 1.08])
    for part in (
        "the regain of each ball in the file (mean 5 %)", "settles from 2 % at the dryer",
        "towards 9.5 % with 30 min (assumed)", "a regain of 8 % (sd 0.5 %) for the others",
        "to a regain of 10 % (at inspection).",
    ):  # fmt: skip
        assert part in words
    mass, words = net_mass(table, Condition(**asked))
    assert math.isnan(mass[3])
    assert words.endswith("1 ball weighed, but left out for want of a regain.")


def test_an_empty_table_is_no_error() -> None:
    mass, _ = net_mass(Weighings(0, {"mass_g": np.zeros(0)}), Condition(regain_to_frac=0.1))
    assert len(mass) == 0


@pytest.mark.parametrize(
    ("mass_g", "here", "there", "found_g"),
    [
        (50.0, 0.1825, 0.14, 48.20), (50.0, 0.1825, 0.10, 46.51), (50.0, 0.1825, 0.08, 45.67),
        (100.0, 0.02, 0.015, 99.510), (100.0, 0.02, 0.005, 98.529),
    ],
)  # fmt: skip
def test_a_ball_of_wool_and_one_of_acrylic_in_drier_rooms(
    mass_g: float, here: float, there: float, found_g: float
) -> None:
    """50 g of wool set at 18.25 %, 100 g of acrylic at 2 % (COMPUTED by hand)."""
    condition = Condition(regain_from_frac=here, regain_to_frac=there)
    assert net_mass(balls(mass_g=[mass_g]), condition)[0][0] == pytest.approx(found_g, abs=0.005)


@given(st.floats(1.0, 1e4), REGAINS, REGAINS)
def test_there_and_back_is_the_same_mass_and_agrees_with_the_strand_room(
    mass_g: float, here: float, there: float
) -> None:
    first, _ = net_mass(
        balls(mass_g=[mass_g]), Condition(regain_from_frac=here, regain_to_frac=there)
    )
    assert first[0] == pytest.approx(
        1000.0 * mass_at_regain_kg(mass_g / 1000.0, Regain(here), Regain(there)), rel=1e-12
    )
    back, _ = net_mass(
        balls(mass_g=[float(first[0])]), Condition(regain_from_frac=there, regain_to_frac=here)
    )
    assert back[0] == pytest.approx(mass_g, rel=1e-12)


@given(
    st.lists(st.floats(1.0, 1e3), min_size=2, max_size=10),
    REGAINS,
    st.tuples(REGAINS, REGAINS).map(sorted),
)
def test_more_stated_regain_is_never_less_mass_and_more_regain_at_weighing_never_more(
    masses: list[float], fixed: float, pair: list[float]
) -> None:
    table = balls(mass_g=masses)
    to = [net_mass(table, Condition(regain_from_frac=fixed, regain_to_frac=one))[0] for one in pair]
    assert np.all(to[0] <= to[1])
    frm = [
        net_mass(table, Condition(regain_from_frac=one, regain_to_frac=fixed))[0] for one in pair
    ]
    assert np.all(frm[0] >= frm[1])


@given(REGAINS, REGAINS, st.floats(0.1, 1e3), st.lists(st.floats(0.0, 1e4), min_size=2))
def test_drying_out_goes_one_way_from_dryer_to_rest(
    dryer: float, rest: float, tau: float, minutes: list[float]
) -> None:
    found = DryingOut(dryer, rest, tau).regain_frac(np.array([0.0, *sorted(minutes)]))
    assert found[0] == pytest.approx(dryer)
    steps = np.diff(found) * (1.0 if rest >= dryer else -1.0)
    assert np.all(steps >= -1e-15)
    assert np.all((found >= min(dryer, rest) - 1e-12) & (found <= max(dryer, rest) + 1e-12))


def test_after_one_time_constant_63_percent_of_the_way_is_gone() -> None:
    gone = DryingOut(0.0, 0.1, 30.0).regain_frac(np.array([30.0]))[0]
    assert gone == pytest.approx(0.1 * (1.0 - math.exp(-1.0)))


@pytest.mark.parametrize("terms", [(-0.1, 0.1, 30.0), (0.1, 5.0, 30.0), (0.1, 0.1, 0.0)])
def test_a_drying_out_that_cannot_be_meant_is_refused(terms: tuple[float, float, float]) -> None:
    with pytest.raises(BadInput):
        DryingOut(*terms)


def test_the_doubt_that_all_balls_share_is_what_wrong_inputs_do() -> None:
    table = balls(gross_g=[103.0, 105.0, NAN, NAN], mass_g=[NAN, NAN, 100.0, NAN])
    terms = {"regain_from_frac": 0.09, "regain_to_frac": 0.1, "tare_g": 2.0}
    doubt = common_doubt_g(table, Condition(**terms, tare_sd_g=0.1, doubt_frac=0.004))
    step = 1e-6
    mean = {
        name: [
            np.nanmean(net_mass(table, Condition(**(terms | {key: terms[key] + sign * step})))[0])
            for sign in (-1.0, 1.0)
        ]
        for name, key in (("tare", "tare_g"), ("regain", "regain_from_frac"))
    }
    for name, sd in (("tare", 0.1), ("regain", 0.004)):
        slope = abs(mean[name][1] - mean[name][0]) / (2.0 * step)
        assert doubt[name] == pytest.approx(sd * slope, rel=1e-6)


def test_doubt_plays_no_part_where_nothing_is_corrected() -> None:
    condition = Condition(tare_sd_g=0.1, doubt_frac=0.1)
    assert common_doubt_g(balls(mass_g=[100.0]), condition) == {"tare": 0.0, "regain": 0.0}
    assert common_doubt_g(balls(mass_g=[NAN]), condition) == {"tare": 0.0, "regain": 0.0}


def test_a_length_is_carried_to_rest_or_to_the_stated_tension() -> None:
    table = balls(length_m=[201.0, NAN, 201.0], tension_cn=[45.0, 45.0, NAN])
    length, words, cautions = stated_length(table, ReelTerms(0.0, 9.0, 500.0))
    np.testing.assert_allclose(length, [201.0 / 1.01, NAN, 201.0])
    assert words.startswith("Length at rest, from the reel's tension with a modulus of 9 cN/tex")
    assert cautions == ("Without a reel tension, and so left as reeled: 1 of the lengths.",)
    length, words, _ = stated_length(table, ReelTerms(90.0, 9.0, 500.0))
    assert length[0] == pytest.approx(201.0 / 1.01 * 1.02)
    assert words.startswith("Length at 90 cN")


def test_tensions_that_differ_without_a_modulus_are_a_caution() -> None:
    table = balls(length_m=[200.0, 201.0, 200.0], tension_cn=[20.0, 45.0, NAN])
    length, words, cautions = stated_length(table)
    np.testing.assert_array_equal(length, [200.0, 201.0, 200.0])
    assert words == "Length as reeled, at 20 to 45 cN; not carried to rest."
    assert len(cautions) == 2
    assert "20 to 45 cN" in cautions[0]
    assert cautions[1] == "Reeled without a tension in the file: 1."
    alike = balls(length_m=[200.0, 201.0], tension_cn=[20.0, 20.0])
    assert stated_length(alike)[1:] == ("Length as reeled, at 20 cN; not carried to rest.", ())
    assert "no tension" in stated_length(balls(length_m=[200.0]), ReelTerms(0.0, 9.0, 500.0))[1]
    with pytest.raises(BadInput, match="no column of length"):
        stated_length(balls(mass_g=[1.0]))


@given(
    st.floats(1.0, 1e4),
    st.floats(0.0, 200.0),
    st.floats(0.0, 200.0),
    st.floats(1.0, 50.0),
    st.floats(50.0, 2000.0),
)
def test_a_length_there_and_back_is_the_same(
    length_m: float, here_cn: float, there_cn: float, modulus: float, tex: float
) -> None:
    table = balls(length_m=[length_m], tension_cn=[here_cn])
    there, _, _ = stated_length(table, ReelTerms(there_cn, modulus, tex))
    assert (there[0] >= length_m * (1 - 1e-12)) if there_cn >= here_cn else (there[0] <= length_m)
    table = balls(length_m=[float(there[0])], tension_cn=[there_cn])
    back, _, _ = stated_length(table, ReelTerms(here_cn, modulus, tex))
    assert back[0] == pytest.approx(length_m, rel=1e-12)


def test_percent_in_a_column_of_fractions_are_not_taken_for_wet_yarn() -> None:
    """Acrylic at 1.5 %, written 1.5: mass would be carried down to less than half."""
    table = balls(mass_g=[101.0, 102.0], regain_frac=[0.015, 1.5])
    assert net_mass(table)[0][1] == 102.0
    with pytest.raises(BadInput, match=r"where percent are meant, 0\.015"):
        net_mass(table, Condition(regain_to_frac=0.02))
