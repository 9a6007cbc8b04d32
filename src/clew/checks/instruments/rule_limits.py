"""What error the net-content rules allow the scale itself, and whether a scale keeps to it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from clew.faults import BadInput, Fault

ScaleClass = Literal["II", "III"]

_EXACT = 1e-9
"""Relative; what binary fractions leave behind."""

LEAST_DIVISIONS = 100
"""Divisions a scale must have. Source: NIST HB 133, 2026 ed., 2.2 (READ)."""

DIVISIONS_IN_DEFICIENCY = 6
"""Divisions that must fit in the allowed variation. Source: NIST HB 133, 2026 ed., 2.2 (READ)."""

SHARE_OF_DEFICIENCY = 5
"""Measuring error at most the tolerable deficiency over this. Source: UK SI 2006/659 (READ);
WELMEC 6.9 asks the same of the uncertainty (READ, abstract)."""

CLASS_TOLERANCE: dict[ScaleClass, tuple[tuple[float, float], ...]] = {
    "II": ((5_000, 0.5), (20_000, 1.0), (math.inf, 1.5)),
    "III": ((500, 0.5), (2_000, 1.0), (4_000, 1.5), (math.inf, 2.5)),
}
"""Up to so many divisions of load, so many divisions of error. Source: NIST HB 133, 2026 ed., 2.2,
from HB 44 (READ)."""


@dataclass(frozen=True, slots=True)
class Requirement:
    """One thing a rule asks of a scale.

    Attributes
    ----------
    key, words : str
        Stable name, and the requirement in words with its figures.
    found, limit : float
        What the scale has and what is asked [g, or divisions for "divisions"].
    met : bool or None
        Whether it is; None where the scale's figure is not known.
    source : str
        Where it stands, with its mark.
    """

    key: str
    words: str
    found: float | None
    limit: float
    met: bool | None
    source: str


@dataclass(frozen=True, slots=True)
class ScaleAllowed:
    """Whether a scale may be used for a declaration under a rule.

    Attributes
    ----------
    rule : str
        "us" for the handbook, "average" for the European, UK and R 87 family.
    allowed : bool
        No requirement is broken.
    complete : bool
        Every requirement could be looked at.
    requirements : tuple of Requirement
        One by one.
    """

    rule: str
    allowed: bool
    complete: bool
    requirements: tuple[Requirement, ...]


def class_tolerance_g(load_g: float, division_g: float, scale_class: ScaleClass) -> float:
    """Give the error a class allows at a load.

    Parameters
    ----------
    load_g : float
        Load [g].
    division_g : float
        Division of the scale [g].
    scale_class : {"II", "III"}
        Accuracy class.

    Returns
    -------
    float
        Largest error either way [g].

    Raises
    ------
    BadInput
        For a division or load that is not more than 0.

    Notes
    -----
    A load between two printed steps (500 and 501 divisions) counts as the higher one, which allows
    more: our choice. Source: `CLASS_TOLERANCE`.
    """
    _positive("load", load_g)
    _positive("division", division_g)
    divisions = load_g / division_g
    for most, tolerance in CLASS_TOLERANCE[scale_class]:
        if divisions <= most * (1.0 + _EXACT):
            return tolerance * division_g
    raise AssertionError


def us_handbook(
    deficiency_g: float,
    division_g: float,
    *,
    load_g: float,
    capacity_g: float | None = None,
    scale_class: ScaleClass = "III",
    error_g: float | None = None,
) -> ScaleAllowed:
    """Hold a scale against the US package-checking handbook.

    Parameters
    ----------
    deficiency_g : float
        Maximum allowable variation of the declaration [g].
    division_g : float
        Division of the scale [g].
    load_g : float
        Gross mass of a ball [g].
    capacity_g : float or None
        Most the scale weighs [g]; the load stands in for it where it is not known.
    scale_class : {"II", "III"}
        Accuracy class.
    error_g : float or None
        Largest error found with test weights [g]; None where it was not looked for.

    Returns
    -------
    ScaleAllowed
        Whether the scale may be used.

    Raises
    ------
    BadInput
        For a figure that is not more than 0 (an error may be 0).

    Notes
    -----
    Exactly at a limit is allowed. Source: NIST HB 133, 2026 edition, 2.2 (READ).
    """
    source = "NIST HB 133, 2026 ed., 2.2, READ"
    _positive("maximum allowable variation", deficiency_g)
    _positive("division", division_g)
    _positive("load", load_g)
    most = deficiency_g / DIVISIONS_IN_DEFICIENCY
    reach_g = load_g if capacity_g is None else capacity_g
    _positive("capacity", reach_g)
    if reach_g < load_g:
        raise BadInput(
            Fault("a ball heavier than the scale weighs", f"{load_g:g} g or more",
                  key="capacity", value=f"{reach_g:g} g")
        )  # fmt: skip
    count = reach_g / division_g
    tolerance = class_tolerance_g(load_g, division_g, scale_class)
    return _answer(
        "us",
        Requirement(
            "division",
            f"division {_g(division_g)}, at most {_g(most)} (the allowed variation of "
            f"{_g(deficiency_g)} over {DIVISIONS_IN_DEFICIENCY})",
            division_g,
            most,
            _within(division_g, most),
            source,
        ),
        Requirement(
            "divisions",
            f"{math.floor(count * (1 + _EXACT))} divisions, at least {LEAST_DIVISIONS}",
            count,
            float(LEAST_DIVISIONS),
            count >= LEAST_DIVISIONS * (1.0 - _EXACT),
            source,
        ),
        Requirement(
            "error",
            f"{_error_words(error_g)}, at most {_g(tolerance)} (class {scale_class} at "
            f"{_g(load_g)})",
            error_g,
            tolerance,
            _met(error_g, tolerance),
            source,
        ),
    )


def average_system(
    deficiency_g: float,
    *,
    error_g: float | None = None,
    expanded_g: float | None = None,
    division_g: float | None = None,
) -> ScaleAllowed:
    """Hold a scale against the rules of the European and R 87 family.

    Parameters
    ----------
    deficiency_g : float
        Tolerable negative error of the declaration, TNE [g].
    error_g : float or None
        Largest error of the scale [g].
    expanded_g : float or None
        Expanded uncertainty of one ball's net mass [g].
    division_g : float or None
        Division of the scale [g]; None leaves it out.

    Returns
    -------
    ScaleAllowed
        Whether the scale may be used.

    Raises
    ------
    BadInput
        For a deficiency or division that is not more than 0, or an error or uncertainty below 0.

    Notes
    -----
    Exactly at the limit is allowed ("at most", READ). A reading is out by up to half a division, so
    that half a division may not be more than the error allowed (DERIVED). Source: UK SI 2006/659,
    Schedule 2 (READ); WELMEC 6.9 (READ, abstract).
    """
    _positive("deficiency", deficiency_g)
    most = deficiency_g / SHARE_OF_DEFICIENCY
    allowed = f"at most {_g(most)} (a fifth of the tolerable {_g(deficiency_g)})"
    for what, found in (("error", error_g), ("uncertainty", expanded_g)):
        if found is not None and not (math.isfinite(found) and found >= 0.0):
            raise BadInput(Fault(f"an {what}", "0 or more", value=f"{found:g} g"))
    known = "not known" if expanded_g is None else _g(expanded_g)
    steps = []
    if division_g is not None:
        _positive("division", division_g)
        steps.append(
            Requirement(
                "division",
                f"half a division {_g(division_g / 2.0)}, {allowed}",
                division_g / 2.0,
                most,
                _within(division_g / 2.0, most),
                "a reading is out by up to half a division, DERIVED",
            )
        )
    return _answer(
        "average",
        Requirement(
            "error",
            f"{_error_words(error_g)}, {allowed}",
            error_g,
            most,
            _met(error_g, most),
            "UK SI 2006/659, Schedule 2, READ",
        ),
        Requirement(
            "uncertainty",
            f"uncertainty of a ball's mass {known}, {allowed}",
            expanded_g,
            most,
            _met(expanded_g, most),
            "WELMEC 6.9, READ (abstract)",
        ),
        *steps,
    )


def _answer(rule: str, *requirements: Requirement) -> ScaleAllowed:
    return ScaleAllowed(
        rule,
        all(one.met is not False for one in requirements),
        all(one.met is not None for one in requirements),
        requirements,
    )


def _within(found: float, limit: float) -> bool:
    return found <= limit * (1.0 + _EXACT)


def _met(found: float | None, limit: float) -> bool | None:
    return None if found is None else _within(abs(found), limit)


def _error_words(error_g: float | None) -> str:
    return "error not known" if error_g is None else f"error {_g(abs(error_g))}"


def _g(value: float) -> str:
    return f"{value:.4g} g"


def _positive(what: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise BadInput(Fault(f"a {what}", "more than 0", value=f"{value:g} g"))
