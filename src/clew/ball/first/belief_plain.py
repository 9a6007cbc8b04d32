"""Reading a written belief: every way in which a file can be none becomes a plain line."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import Any

import numpy as np

from clew.ball.first.about import About
from clew.ball.first.belief import FORM, Belief
from clew.ball.first.weighed import FirstBall, Spreads, ball_faults
from clew.faults import BadInput, Fault

MOST_FAULTS = 20
MOST_NAMES = 2000
"""More cones than any lot has."""

FARTHEST_MEAN = 0.7
"""A winder or a yarn at twice or half of what was expected is not meant."""

WIDEST_SD = 0.5
"""Nor is a spread wider than the constants may be."""


class _Reader:
    """Reads plain values and keeps every fault."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def fault(self, what: str, expected: str, where: str, value: Any = "") -> None:
        self.faults.append(
            Fault(what, expected, key=where, value="" if value == "" else _shown(value))
        )

    def stop_if_bad(self) -> None:
        """Refuse what was read so far if anything is wrong with it."""
        if self.faults:
            raise BadInput(self.faults[:MOST_FAULTS])

    def section(self, value: Any, keys: tuple[str, ...], where: str) -> Mapping[str, Any]:
        """Read an object that has exactly these keys."""
        if not isinstance(value, Mapping):
            self.fault("not a section", "keys with values", where, value)
            return {}
        within = f" in {where}" if where else ""
        for key in keys:
            if key not in value:
                self.fault(f"a key missing{within}", f'"{key}"', "")
        for unknown in [key for key in value if key not in keys][:3]:
            self.fault(f"an unknown key{within}", "one of " + ", ".join(keys), "", unknown)
        return value

    def listed(self, value: Any, where: str, length: int | None = None) -> list[Any]:
        """Read a list, of a length where one is given."""
        if not isinstance(value, list | tuple):
            self.fault("not a list", "a list in [ ]", where, value)
            return []
        if length is not None and len(value) != length:
            self.fault("a list of the wrong length", f"{length} entries", where, len(value))
            return []
        return list(value)

    def word(self, value: Any, where: str) -> str:
        """Read a name."""
        if not isinstance(value, str) or not value.strip() or len(value) > 200:
            self.fault("not a name", "a name in quotes", where, value)
            return ""
        return value

    def words(self, value: Any, where: str) -> tuple[str, ...]:
        """Read names, all different."""
        names = self.listed(value, where)
        if len(names) > MOST_NAMES:
            self.fault("too many names", f"at most {MOST_NAMES}", where, len(names))
            return ()
        known = len(self.faults)
        found = tuple(self.word(name, where) for name in names)
        if len(self.faults) == known and len(set(found)) < len(found):
            self.fault("names that cannot be told apart", "all different", where)
        return found

    def number(self, value: Any, where: str, low: float, high: float) -> float:
        """Read a number between two bounds."""
        try:
            found = math.nan if isinstance(value, bool | str) else float(value)
        except (TypeError, ValueError, OverflowError):
            found = math.nan
        if not low <= found <= high:  # what is not a number is not between any bounds
            self.fault("not a number that is meant", f"{low:g} to {high:g}", where, value)
            return math.nan
        return found

    def numbers(self, value: Any, where: str, length: int, most: float) -> list[float]:
        """Read a list of numbers, none larger than the bound either way."""
        return [self.number(one, where, -most, most) for one in self.listed(value, where, length)]


def _shown(value: Any) -> str:
    """Write a value as the file has it, short."""
    if isinstance(value, Mapping):
        return "a section"
    if isinstance(value, list | tuple):
        return "a list"
    if isinstance(value, float) and not math.isfinite(value):
        return "no finite number"
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) > 10**15:
        return "a whole number of many figures"
    try:
        text = json.dumps(value, ensure_ascii=False)
    except (TypeError, ValueError):
        return "something that is no number and no word"
    return text if len(text) <= 40 else text[:37] + "..."


def belief_from_plain(plain: Any) -> Belief:
    """Read a belief that `Belief.to_plain` wrote.

    Parameters
    ----------
    plain : mapping
        Plain lists, numbers and words.

    Returns
    -------
    Belief
        The belief, to the last bit.

    Raises
    ------
    BadInput
        If it is not a belief, or its numbers cannot be one: the first twenty faults.
    """
    if not isinstance(plain, Mapping) or plain.get("form") != FORM:
        raise BadInput(Fault("not a belief that can be read", expected=f'"form": "{FORM}"'))
    reader = _Reader()
    keys = ("form", *(field.name for field in fields(Belief)))
    reader.section(plain, keys, "")
    reader.stop_if_bad()
    winders = reader.words(plain["winders"], "winders")
    cones = reader.words(plain["cones"], "cones")
    if not winders and not reader.faults:
        reader.fault("no winders", "one or more", "winders")
    reader.stop_if_bad()
    size = 1 + len(winders) + len(cones)
    mean = reader.numbers(plain["mean"], "mean", size, FARTHEST_MEAN)
    rows = [
        reader.numbers(row, "covariance", size, WIDEST_SD**2)
        for row in reader.listed(plain["covariance"], "covariance", size)
    ]
    spreads = _spreads(plain["spreads"], reader)
    about = _about(plain["about"], reader)
    balls = _balls(plain["balls"], winders, cones, reader)
    odd = reader.words(plain["odd"], "odd")
    seen = {ball.ball_id for ball in balls}
    for name in odd:
        if name and name not in seen:
            reader.fault("an odd ball that is not among the balls", "one of them", "odd", name)
    reader.stop_if_bad()
    covariance = np.array(rows, dtype=np.float64)
    _check_covariance(covariance, reader)
    reader.stop_if_bad()
    assert spreads is not None  # or there was a fault
    return Belief(
        winders=winders,
        cones=cones,
        mean=np.array(mean, dtype=np.float64),
        covariance=covariance,
        spreads=spreads,
        balls=balls,
        odd=odd,
        about=about,
    )


def _check_covariance(covariance: Any, reader: _Reader) -> None:
    """See that a matrix is a covariance."""
    scale = max(float(np.abs(covariance).max()), float(np.finfo(float).tiny))
    skew = float(np.abs(covariance - covariance.T).max())
    if skew > 1e-12 * scale or np.linalg.eigvalsh(covariance)[0] < -1e-9 * scale:
        reader.fault(
            "numbers that are no covariance",
            "a symmetrical matrix, no variance below 0",
            "covariance",
        )


def _spreads(value: Any, reader: _Reader) -> Spreads | None:
    """Read the constants; none when something is wrong with them."""
    keys = tuple(field.name for field in fields(Spreads))
    known = len(reader.faults)
    section = reader.section(value, keys, "spreads")
    if len(reader.faults) > known:
        return None
    most = {"scale_sd_g": 1e6, "length_elasticity": 2.0, "mass_elasticity": 4.0}
    numbers = {
        key: reader.number(section[key], f"spreads {key}", -1.0, most.get(key, WIDEST_SD))
        for key in keys
        if key != "own_cov"
    }
    rows = [
        reader.numbers(row, "spreads own_cov", 2, WIDEST_SD**2)
        for row in reader.listed(section["own_cov"], "spreads own_cov", 2)
    ]
    if len(reader.faults) > known:
        return None
    (length, both), (again, mass) = rows
    try:
        return Spreads(own_cov=((length, both), (again, mass)), **numbers)
    except BadInput as bad:
        reader.faults += bad.faults
        return None


def _about(value: Any, reader: _Reader) -> About | None:
    """Read what a belief is about; none when it does not say, or something is wrong with it."""
    keys = tuple(field.name for field in fields(About))
    known = len(reader.faults)
    section = {} if value is None else reader.section(value, keys, "about")
    if not section or len(reader.faults) > known:
        return None
    mill, line, ball, yarn, dye_lot = (
        reader.word(section[key], f"about {key}") for key in keys[:5]
    )
    inputs, lot_inputs = (_inputs(section[key], f"about {key}", reader) for key in keys[5:])
    return About(mill, line, ball, yarn, dye_lot, inputs, lot_inputs)


def _inputs(value: Any, where: str, reader: _Reader) -> tuple[tuple[str, float | str], ...]:
    found: list[tuple[str, float | str]] = []
    for entry in reader.listed(value, where):
        pair = reader.listed(entry, where, 2)
        if pair:
            name, held = pair
            known = isinstance(held, str)
            found.append(
                (
                    reader.word(name, where),
                    reader.word(held, where) if known else reader.number(held, where, -1e9, 1e9),
                )
            )
    return tuple(found)


def _balls(
    value: Any, winders: tuple[str, ...], cones: tuple[str, ...], reader: _Reader
) -> tuple[FirstBall, ...]:
    """Read the balls that were taken in."""
    keys = tuple(field.name for field in fields(FirstBall))
    found = []
    for number, entry in enumerate(reader.listed(value, "balls"), 1):
        where = f"ball {number} of the belief"
        known = len(reader.faults)
        section = reader.section(entry, keys, where)
        if len(reader.faults) > known:
            continue
        amount: Callable[[str], float] = lambda key: reader.number(  # noqa: E731
            section[key],  # noqa: B023
            f"{where}, {key}",  # noqa: B023
            0.0,
            1e9,
        )
        shares = [
            (reader.word(pair[0], f"{where}, cones"), reader.number(pair[1], where, 0.0, 1.0))
            for part in reader.listed(section["cones"], f"{where}, cones")
            if (pair := reader.listed(part, f"{where}, cones", 2))
        ]
        ball = FirstBall(
            ball_id=reader.word(section["ball_id"], f"{where}, ball_id"),
            winder=reader.word(section["winder"], f"{where}, winder"),
            cones=tuple(shares),
            turns=amount("turns"),
            mass_g=amount("mass_g"),
            length_m=None if section["length_m"] is None else amount("length_m"),
            expected_mass_g=amount("expected_mass_g"),
            expected_length_m=amount("expected_length_m"),
        )
        if len(reader.faults) > known:
            continue
        reader.faults += ball_faults(ball)
        if ball.winder not in winders:
            reader.fault(
                "a winder that the belief does not know", "one of its own", where, ball.winder
            )
        for cone, _ in ball.cones:
            if cone not in cones:
                reader.fault("a cone that the belief does not know", "one of its own", where, cone)
        found.append(ball)
    names = [ball.ball_id for ball in found]
    if len(set(names)) < len(names):
        reader.fault("a ball taken in twice", "each ball once", "balls")
    return tuple(found)
