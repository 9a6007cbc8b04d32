"""Variances by REML: against a dense model written out, an independent program, its own laws."""

import math
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clew.checks.components.components import components
from clew.checks.components.crossproducts import crossproducts
from clew.checks.components.design import design
from clew.checks.components.predict import combination, contrasts, effects
from clew.checks.components.reml import at_ratios, fit
from clew.checks.weighings import Factor
from clew.faults import BadInput


def factor(codes: np.ndarray) -> Factor:
    return Factor(codes.astype(np.int32), tuple(f"n{k}" for k in range(int(codes.max()) + 1)))


def shift(
    seed: int, rows: int = 400, cones: int = 40
) -> tuple[np.ndarray, dict[str, Factor], dict[str, np.ndarray]]:
    rng = np.random.default_rng(seed)
    cone = rng.integers(0, cones, rows)
    winder = (cone + (rng.random(rows) < 0.4) * rng.integers(0, 6, rows)) % 6
    lot = cone % 3
    codes = {"lot": lot, "cone": cone, "winder": winder}
    y = 100 + rng.normal(0, 1, rows)
    y += rng.normal(0, 0.9, cones)[cone] + rng.normal(0, 0.7, 6)[winder] + np.array([0, 1, 2])[lot]
    return y, {name: factor(one) for name, one in codes.items()}, codes


def dense(
    y: np.ndarray, codes: list[np.ndarray], ratios: np.ndarray
) -> tuple[np.ndarray, np.ndarray, list[np.ndarray], float]:
    """P, V, the incidence matrices and the logarithms, written out."""
    incidence = [(one[:, None] == np.unique(one)).astype(float) for one in codes]
    v = np.eye(len(y)) + sum(r * z @ z.T for r, z in zip(ratios, incidence, strict=True))
    inverse = np.linalg.inv(v)
    x = np.ones(len(y))
    p = inverse - np.outer(inverse @ x, inverse @ x) / (x @ inverse @ x)
    return p, v, incidence, float(np.linalg.slogdet(v)[1] + math.log(x @ inverse @ x))


@pytest.mark.parametrize("ratios", [(0.3, 0.7, 0.2), (0.0, 1.5, 0.0), (0.0, 0.0, 0.0)])
def test_criterion_and_slopes_are_those_of_the_matrices_written_out(
    ratios: tuple[float, ...],
) -> None:
    y, factors, codes = shift(1)
    names = ["lot", "cone", "winder"]
    cells = design(y, factors, names)
    point = at_ratios(crossproducts(cells), np.array(ratios))
    p, _, incidence, logs = dense(y, [codes[name] for name in names], np.array(ratios))
    off = y - cells.centre
    assert point.logs == pytest.approx(logs, rel=1e-10)
    assert point.rss == pytest.approx(off @ p @ off, rel=1e-10)
    for place, z in enumerate(incidence):
        assert point.logs_slope[place] == pytest.approx(np.trace(z.T @ p @ z), rel=1e-9)
        pulled = z.T @ p @ off
        assert point.rss_slope[place] == pytest.approx(-pulled @ pulled, rel=1e-9)


def test_levels_added_up_by_size_or_one_by_one_give_the_same() -> None:
    y, factors, _ = shift(2)
    cross = crossproducts(design(y, factors, ["lot", "cone", "winder"]))
    weight = 1.0 / (1.0 + cross.sizes)
    assert cross.added is not None and cross.nested == 0
    each = weight[np.searchsorted(cross.sizes, cross.level_balls)]
    first, second = cross.weighed(weight), cross.weighed_one_by_one(each)
    assert first.own == pytest.approx(second.own, rel=1e-12)
    assert first.beside == pytest.approx(second.beside, rel=1e-12, abs=1e-9)
    assert first.rest == pytest.approx(second.rest, rel=1e-12, abs=1e-9)


def test_effects_and_errors_are_those_of_the_matrices_written_out() -> None:
    y, factors, codes = shift(3)
    names = ["lot", "cone", "winder"]
    fitted = fit(design(y, factors, names))
    p, _, incidence, _ = dense(y, [codes[name] for name in names], fitted.ratios)
    off = y - fitted.cross.design.centre
    for told, z, ratio in zip(effects(fitted), incidence, fitted.ratios, strict=True):
        order = np.argsort([int(name[1:]) for name in told.names])
        error = ratio - ratio**2 * np.diag(z.T @ p @ z)
        assert told.effect[order] == pytest.approx(ratio * z.T @ p @ off, abs=1e-10)
        assert told.se[order] == pytest.approx(np.sqrt(fitted.within * error), rel=1e-9)


def test_a_combination_with_the_mean_is_that_of_the_matrices_written_out() -> None:
    y, factors, codes = shift(4)
    names = ["cone", "winder"]
    fitted = fit(design(y, factors, names))
    rng = np.random.default_rng(0)
    weights = tuple(rng.normal(size=len(one)) for one in fitted.cross.design.names)
    found = combination(fitted, weights, mean=1.0)
    v = np.eye(len(y))
    h = np.zeros(len(y))
    spread = 0.0
    for name, ratio, w, level in zip(
        names, fitted.ratios, weights, fitted.cross.design.names, strict=True
    ):
        order = [int(one[1:]) for one in level]
        z = (codes[name][:, None] == np.array(order)).astype(float)
        v += ratio * z @ z.T
        h += ratio * z @ w
        spread += ratio * float(w @ w)
    inverse, x = np.linalg.inv(v), np.ones(len(y))
    beta = float(x @ inverse @ y) / float(x @ inverse @ x)
    assert found.estimate == pytest.approx(beta + h @ inverse @ (y - beta), rel=1e-9)
    error = spread - h @ inverse @ h + (1 - x @ inverse @ h) ** 2 / (x @ inverse @ x)
    assert found.se == pytest.approx(math.sqrt(fitted.within * error), rel=1e-8)


@pytest.mark.parametrize("seed", [5, 6, 7])
def test_an_independent_program_finds_the_same_variances(seed: int) -> None:
    """statsmodels MixedLM: crossed sources as variance components of one group of all balls."""
    import pandas as pd
    from statsmodels.regression.mixed_linear_model import MixedLM

    y, factors, codes = shift(seed, rows=240, cones=15)
    found = components(y, factors, ["cone", "winder"])
    frame = pd.DataFrame({"y": y, "cone": codes["cone"], "winder": codes["winder"], "all": 1})
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        other = MixedLM.from_formula(
            "y ~ 1",
            frame,
            groups="all",
            vc_formula={"cone": "0 + C(cone)", "winder": "0 + C(winder)"},
        ).fit(reml=True, gtol=1e-10)
    variances = {one.source: one.variance for one in found.parts}
    for name, variance in zip(other.model.exog_vc.names, other.vcomp, strict=True):
        assert variances[name] == pytest.approx(variance, rel=2e-3)
    assert variances["within"] == pytest.approx(other.scale, rel=2e-3)
    assert found.mean == pytest.approx(float(other.fe_params.iloc[0]), rel=1e-6)
    assert found.mean_se == pytest.approx(float(other.bse_fe.iloc[0]), rel=2e-3)


def test_an_independent_program_finds_the_same_nested_variances() -> None:
    import pandas as pd
    from statsmodels.regression.mixed_linear_model import MixedLM

    rng = np.random.default_rng(11)
    cone = np.repeat(np.arange(40), rng.integers(2, 7, 40))
    lot = cone // 4
    y = (
        50
        + rng.normal(0, 1, 10)[lot]
        + rng.normal(0, 0.7, 40)[cone]
        + rng.normal(0, 0.5, len(cone))
    )
    found = components(y, {"lot": factor(lot), "cone": factor(cone)}, ["lot", "cone"])
    frame = pd.DataFrame({"y": y, "lot": lot, "cone": cone})
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        other = MixedLM.from_formula(
            "y ~ 1", frame, groups="lot", re_formula="1", vc_formula={"cone": "0 + C(cone)"}
        ).fit(reml=True, gtol=1e-10)
    variances = {one.source: one.variance for one in found.parts}
    assert variances["lot"] == pytest.approx(float(other.cov_re.iloc[0, 0]), rel=2e-3)
    assert variances["cone"] == pytest.approx(float(other.vcomp[0]), rel=2e-3)
    assert variances["within"] == pytest.approx(other.scale, rel=2e-3)


def test_ends_of_an_interval_cost_the_quantile() -> None:
    """Fixing a variance at its end, a search of its own over the rest loses 3.84."""
    from scipy.optimize import minimize

    y, factors, codes = shift(8, rows=200, cones=20)
    names = ["cone", "winder"]
    found = components(y, factors, names)
    free = len(y) - 1

    def deviance(variances: np.ndarray) -> float:
        within = variances[-1]
        p, _, _, logs = dense(y, [codes[name] for name in names], variances[:2] / within)
        off = y - 100
        return free * math.log(2 * math.pi * within) + float(off @ p @ off) / within + logs

    assert found.log_likelihood is not None
    for place, part in enumerate(found.parts[:2]):
        for end in (part.low_sd, part.high_sd):
            assert end is not None
            others = [one.variance for k, one in enumerate(found.parts) if k != place]

            def lost(logs: np.ndarray, place: int = place, end: float = end) -> float:
                variances = np.insert(np.exp(logs), place, end**2)
                return deviance(variances) + 2 * (found.log_likelihood or 0.0)

            best = minimize(lost, np.log(others), method="Nelder-Mead", options={"xatol": 1e-5})
            assert best.fun == pytest.approx(3.8414588, abs=2e-3)


def test_nil_is_found_and_its_interval_starts_there() -> None:
    rng = np.random.default_rng(12)
    winder = np.tile(np.arange(6), 30)
    y = rng.normal(100, 1, 180)
    y -= np.array([y[winder == k].mean() for k in range(6)])[winder]
    found = components(y, {"winder": factor(winder)}, ["winder"])
    part = found.part("winder")
    assert part is not None and part.variance == 0.0
    assert part.low_sd == 0.0 and part.high_sd is not None and part.high_sd > 0.0
    told = found.effects_of("winder")
    assert told is not None and not np.any(told.effect)
    assert found.converged


def test_nothing_but_the_ball_itself() -> None:
    y = np.array([100.0, 101.0, 99.0, 102.0, 98.0])
    found = components(y, {}, [])
    assert found.parts[0].variance == pytest.approx(y.var(ddof=1), rel=1e-12)
    assert found.mean == pytest.approx(100.0)
    assert found.mean_se == pytest.approx(y.std(ddof=1) / math.sqrt(5), rel=1e-12)
    low, high = found.parts[0].low_sd, found.parts[0].high_sd
    assert low is not None and high is not None
    for end in (low**2, high**2):  # 4 ln v + S/v, against the same at the estimate
        lost = 4 * math.log(end / 2.5) + 10.0 / end - 4.0
        assert lost == pytest.approx(3.8414588, abs=1e-3)


def test_contrasts_of_balanced_winders_are_their_plain_means() -> None:
    rng = np.random.default_rng(13)
    winder = np.repeat(np.arange(4), 10)
    y = rng.normal(100, 1, 40) + winder
    fitted = fit(design(y, {"winder": factor(winder)}, ["winder"]))
    names, effect, se = contrasts(fitted, "winder")
    means = np.array([y[winder == int(name[1:])].mean() for name in names])
    assert effect == pytest.approx(means - means.mean(), rel=2e-3, abs=1e-4)
    assert se == pytest.approx(np.full(4, math.sqrt(fitted.within / 10 * 3 / 4)), rel=2e-3)


@pytest.mark.parametrize("lots", [False, True])
@pytest.mark.parametrize(("each", "cones"), [(3, 40), (50, 3000)])
def test_contrasts_keep_their_errors_however_many_balls(each: int, cones: int, lots: bool) -> None:
    """Balanced: a winder's own mean and the spread of cone means, with many balls too."""
    rng = np.random.default_rng(14)
    winder_of_cone = np.arange(cones) % 4
    cone = np.repeat(np.arange(cones), each)
    winder = winder_of_cone[cone]
    y = 100 + 0.8 * winder + rng.normal(0, 1.0, cones)[cone] + rng.normal(0, 0.7, len(cone))
    factors = {"cone": factor(cone), "winder": factor(winder)}
    if lots:
        factors["lot"] = factor(cone // (cones // 5))
    fitted = fit(design(y, factors, list(factors)))
    _, effect, se = contrasts(fitted, "winder")
    means = np.array([y[winder == level].mean() for level in range(4)])
    assert np.sort(effect) == pytest.approx(np.sort(means - means.mean()), rel=1e-3)
    of_mean = (float(fitted.variances[0]) + fitted.within / each) / (cones / 4)
    assert se == pytest.approx(np.full(4, math.sqrt(of_mean * 3 / 4)), rel=1e-3)


@pytest.mark.parametrize("rows", [40, 100_000])
def test_contrasts_of_the_only_source_keep_their_errors(rows: int) -> None:
    rng = np.random.default_rng(15)
    winder = np.arange(rows) % 4
    y = rng.normal(100, 1, rows) + 0.8 * winder
    fitted = fit(design(y, {"winder": factor(winder)}, ["winder"]))
    _, effect, se = contrasts(fitted, "winder")
    means = np.array([y[winder == level].mean() for level in range(4)])
    assert np.sort(effect) == pytest.approx(np.sort(means - means.mean()), rel=2e-3, abs=1e-4)
    assert se == pytest.approx(np.full(4, math.sqrt(fitted.within / rows * 3)), rel=2e-3)


@settings(max_examples=25, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    shift_by=st.floats(-1e6, 1e6),
    scale_by=st.floats(1e-3, 1e3),
)
def test_order_shift_and_scale_change_nothing_else(
    seed: int, shift_by: float, scale_by: float
) -> None:
    y, factors, _ = shift(seed, rows=150, cones=15)
    names = ["cone", "winder"]
    found = fit(design(y, factors, names))
    order = np.random.default_rng(seed).permutation(len(y))
    turned = {name: Factor(one.codes[order], one.names) for name, one in factors.items()}
    other = fit(design(shift_by + scale_by * y[order], turned, names))
    assert other.variances == pytest.approx(
        scale_by**2 * found.variances, rel=1e-5, abs=1e-7 * scale_by**2
    )
    assert other.within == pytest.approx(scale_by**2 * found.within, rel=1e-6)
    mean = found.cross.design.centre + found.point.mean
    moved = other.cross.design.centre + other.point.mean
    assert moved == pytest.approx(shift_by + scale_by * mean, rel=1e-8, abs=1e-6)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_cells_split_further_change_nothing(seed: int) -> None:
    """Every ball a cell of its own: the same criterion at the same ratios."""
    y, factors, _ = shift(seed, rows=120, cones=12)
    coarse = design(y, factors, ["cone", "winder"])
    assert len(coarse.counts) < 120
    place = {name: k for k, name in enumerate(factors["cone"].names)}
    cone = np.array([place[one] for one in coarse.names[0]])
    winder = {name: k for k, name in enumerate(factors["winder"].names)}
    codes = np.vstack(
        [
            np.argsort(cone)[np.searchsorted(np.sort(cone), factors["cone"].codes)],
            [coarse.names[1].index(factors["winder"].names[k]) for k in factors["winder"].codes],
        ]
    )
    assert len(winder) == len(coarse.names[1])
    fine = type(coarse)(
        120,
        0,
        coarse.centre,
        coarse.factors,
        coarse.names,
        codes.astype(np.int64),
        np.ones(120),
        y - coarse.centre,
        0.0,
    )
    ratios = np.array([0.4, 0.9])
    first, second = at_ratios(crossproducts(coarse), ratios), at_ratios(crossproducts(fine), ratios)
    assert first.logs == pytest.approx(second.logs, rel=1e-10)
    assert first.rss == pytest.approx(second.rss, rel=1e-10)
    assert first.rss_slope == pytest.approx(second.rss_slope, rel=1e-8)


def test_too_many_other_levels_are_refused_in_one_line() -> None:
    rng = np.random.default_rng(14)
    rows = 20_000
    factors = {
        "cone": factor(rng.integers(0, 4000, rows)),
        "group": factor(rng.integers(0, 3000, rows)),
    }
    with pytest.raises(BadInput, match="too many levels"):
        components(rng.normal(100, 1, rows), factors, ["cone", "group"])
