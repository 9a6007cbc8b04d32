"""Certified analyses of variance: one source, down to thirteen leading digits that all share.

The files come inside the scipy wheel. In the three hardest a response such as 1000000000000.4 is
stored to 1.2e-4 only, which is the tolerance there; beside that the answer is held against exact
fractions of the stored numbers, where nothing is lost.
"""

import re
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import scipy.stats

from clew.checks.components.anova import one_way
from clew.checks.components.components import components
from clew.checks.components.design import design
from clew.checks.weighings import Factor

FOLDER = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_anova"
EASY = ("AtmWtAg", "SiRstv", *(f"SmLs0{k}" for k in range(1, 7)))
HARD = ("SmLs07", "SmLs08", "SmLs09")


def read(name: str) -> tuple[np.ndarray, Factor, dict[str, float]]:
    lines = (FOLDER / f"{name}.dat").read_text(encoding="utf-8").splitlines()
    text = "\n".join(lines[:60])
    between = re.search(r"Between \S+\s+(\d+)\s+(\S+)\s+(\S+)\s+(\S+)", text)
    within = re.search(r"Within \S+\s+(\d+)\s+(\S+)\s+(\S+)", text)
    residual = re.search(r"Certified Residual\s+Standard Deviation\s+(\S+)", text)
    assert between and within and residual
    rows = [line.split() for line in lines[60:] if line.strip()]
    labels = [row[0] for row in rows]
    names = tuple(dict.fromkeys(labels))
    codes = np.array([names.index(one) for one in labels], dtype=np.int32)
    certified = {
        "between_ms": float(between[3]),
        "f": float(between[4]),
        "within_ms": float(within[3]),
        "sd": float(residual[1]),
    }
    return np.array([float(row[1]) for row in rows]), Factor(codes, names), certified


def exact_f(y: np.ndarray, codes: np.ndarray) -> float:
    values = [Fraction(one) for one in y.tolist()]
    groups: dict[int, list[Fraction]] = {}
    for code, value in zip(codes.tolist(), values, strict=True):
        groups.setdefault(code, []).append(value)
    mean = sum(values) / len(values)
    means = {code: sum(one) / len(one) for code, one in groups.items()}
    between = sum(len(one) * (means[code] - mean) ** 2 for code, one in groups.items())
    within = sum((v - means[code]) ** 2 for code, one in groups.items() for v in one)
    df = len(groups) - 1, len(values) - len(groups)
    return float(Fraction(between, df[0]) / Fraction(within, df[1]))


@pytest.mark.outside(
    document="NIST StRD, analysis of variance",
    edition="files in the scipy wheel",
    section="certified values of AtmWtAg, SiRstv, SmLs01 to SmLs06",
    mark="READ",
)
@pytest.mark.parametrize("name", EASY)
def test_certified_f_and_residual_sd(name: str) -> None:
    y, factor, certified = read(name)
    found = one_way(design(y, {"lot": factor}, ["lot"]))
    digits = 1e-7 if name in ("SmLs04", "SmLs05", "SmLs06") else 1e-9
    assert found.f == pytest.approx(certified["f"], rel=digits)
    assert found.residual_sd == pytest.approx(certified["sd"], rel=digits)


@pytest.mark.outside(
    document="NIST StRD, analysis of variance",
    edition="files in the scipy wheel",
    section="certified values of SmLs07 to SmLs09 (13 constant leading digits)",
    mark="READ",
)
@pytest.mark.parametrize("name", HARD)
def test_thirteen_leading_digits_cost_no_more_than_storing_the_number(name: str) -> None:
    y, factor, certified = read(name)
    found = one_way(design(y, {"lot": factor}, ["lot"]))
    assert found.f == pytest.approx(certified["f"], rel=2e-3)
    assert found.residual_sd == pytest.approx(certified["sd"], rel=2e-3)


@pytest.mark.parametrize("name", ["SmLs07", "SmLs08", "SmLs04"])
def test_nothing_is_lost_beside_exact_fractions(name: str) -> None:
    y, factor, _ = read(name)
    found = one_way(design(y, {"lot": factor}, ["lot"]))
    assert found.f == pytest.approx(exact_f(y, factor.codes), rel=1e-11)


@pytest.mark.outside(
    document="NIST StRD, analysis of variance",
    edition="files in the scipy wheel",
    section="SiRstv, between component from the certified mean squares",
    mark="COMPUTED",
)
@pytest.mark.parametrize("method", ["reml", "anova"])
def test_component_between_silicon_instruments(method: str) -> None:
    y, factor, certified = read("SiRstv")
    found = components(y, {"lot": factor}, ["lot"], method=method)  # type: ignore[arg-type]
    part = found.part("lot")
    assert part is not None
    between = (certified["between_ms"] - certified["within_ms"]) / 5
    assert part.variance == pytest.approx(between, rel=1e-8)
    assert part.variance == pytest.approx(0.00039094748, abs=5e-12)
    assert part.sd == pytest.approx(0.0197724, abs=5e-8)
