"""The demo mill's weighings and shades: what the generator makes, with the faults it says."""

from importlib import resources
from pathlib import Path

import numpy as np
import pytest

from clew.checks.condition import net_mass
from clew.checks.reel_length import ReelTerms, stated_length
from clew.checks.weighings import Weighings
from clew.ledger.intake.weighings import read_weighings
from demo_weighings import (
    COUNT_TEX,
    DRAWN_BACK,
    LONG,
    LOT_HEAVY,
    LOTS,
    MODULUS_CN_PER_TEX,
    STANDARD,
    shade_rows,
    weighing_rows,
)

DEMO = Path(str(resources.files("clew.mill") / "demo"))


@pytest.fixture(scope="module")
def shift() -> Weighings:
    return read_weighings(DEMO / "shift-weighings.csv")


def by(table: Weighings, factor: str, values: np.ndarray) -> dict[str, np.ndarray]:
    column = table.factors[factor]
    return {name: values[column.codes == code] for code, name in enumerate(column.names)}


def test_the_shipped_files_are_what_the_generator_makes() -> None:
    assert (DEMO / "shift-weighings.csv").read_text("utf-8") == "\n".join(weighing_rows()) + "\n"
    assert (DEMO / "shade-readings.csv").read_text("utf-8") == "\n".join(shade_rows()) + "\n"


def test_twelve_hundred_balls_of_six_winders_and_two_dye_lots(shift: Weighings) -> None:
    assert shift.rows == 1200
    assert sorted(shift.factors["winder"].names) == list("123456")
    assert shift.factors["lot"].names == LOTS
    reeled = by(shift, "winder", ~np.isnan(shift.numbers["length_m"]))
    assert {name: int(rows.sum()) for name, rows in reeled.items()} == dict.fromkeys("462531", 10)
    # A lane is done with SL-207 before SL-211; the mill has 96 cones of one and 48 of the other.
    for lots in by(shift, "winder", shift.factors["lot"].codes).values():
        assert np.all(np.diff(lots) >= 0)
    cones = shift.factors["cone"].names
    assert [sum(name.startswith(lot) for name in cones) for lot in LOTS] == [49, 36]


def test_winder_4_is_long_and_heavy_winder_2_drew_back_and_sl_211_is_heavy(
    shift: Weighings,
) -> None:
    mass, _ = net_mass(shift)
    length, _, cautions = stated_length(shift, ReelTerms(0.0, MODULUS_CN_PER_TEX, COUNT_TEX))
    assert cautions == ()
    masses = {name: values.mean() for name, values in by(shift, "winder", mass).items()}
    metres = {name: np.nanmean(values) for name, values in by(shift, "winder", length).items()}
    plain = ("1", "3", "5", "6")
    mass_g, length_m = (np.mean([one[name] for name in plain]) for one in (masses, metres))
    assert masses["4"] / mass_g - 1.0 == pytest.approx(LONG, abs=0.006)
    assert metres["4"] / length_m - 1.0 == pytest.approx(LONG, abs=0.004)
    assert masses["2"] / mass_g - 1.0 == pytest.approx(0.0, abs=0.006)
    assert metres["2"] / length_m - 1.0 == pytest.approx(-DRAWN_BACK, abs=0.004)
    lots = {name: values.mean() for name, values in by(shift, "lot", mass).items()}
    assert lots["SL-211"] / lots["SL-207"] - 1.0 == pytest.approx(LOT_HEAVY["SL-211"], abs=0.004)


def test_sl_211_stands_off_the_standard_and_sl_207_does_not() -> None:
    rows = [line.split(",") for line in shade_rows()[1:]]
    for lot, off in (("SL-207", (0.0, 0.3)), ("SL-211", (0.7, 1.2))):
        read = np.array([[float(cell) for cell in row[2:]] for row in rows if row[0] == lot])
        assert read.shape == (8, 3)
        assert off[0] <= distance(read.mean(axis=0)) <= off[1]


def distance(lab: np.ndarray) -> float:
    """Weigh lightness and chroma as CIEDE2000 does near Sloe; hue is weighed as chroma is."""
    lightness, chroma = STANDARD[0], float(np.hypot(*STANDARD[1:]))
    s_lightness = 1.0 + 0.015 * (lightness - 50.0) ** 2 / np.sqrt(20.0 + (lightness - 50.0) ** 2)
    off = lab - np.array(STANDARD)
    return float(np.hypot(off[0] / s_lightness, np.hypot(*off[1:]) / (1.0 + 0.045 * chroma)))
