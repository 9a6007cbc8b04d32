"""Which balls `clew lot sample --draw` names: by a listing of the lot, or by winder and number."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from clew.faults import BadInput, Fault

_MOST_LISTED = 10_000_000


def _listing(path: Path) -> Any:
    from clew.ledger.intake.weighings import read_weighings

    table = read_weighings(path, need=("winder",), only=("winder", "ball", "cone", "time_s"))
    if table.rows == 0:
        raise BadInput(Fault("no rows", "a row for every ball of the lot", file=str(path)))
    return table


def balls_listed(path: Path) -> int:
    """Count the balls of a listing.

    Parameters
    ----------
    path : Path
        The CSV file.

    Returns
    -------
    int
        Its rows.

    Raises
    ------
    BadInput
        When it cannot be read.
    """
    return int(_listing(path).rows)


def draw_list(
    n: int, lot_size: int | None, path: Path | None, winders: int | None, seed: int
) -> list[dict[str, Any]]:
    """Draw balls and name them.

    Parameters
    ----------
    n : int
        Balls to draw.
    lot_size : int or None
        Balls in the lot.
    path : Path or None
        Listing of the lot; without it balls are counted by winder.
    winders : int or None
        Winders that the lot was wound on, each as many balls; 1 when left out.
    seed : int
        Seed of the drawing.

    Returns
    -------
    list of dict
        `winder`, `number` (of that winder's balls of the lot, counted from 1 in the order of time),
        `ball` and `cone` where the listing names them, `line` of the listing.

    Raises
    ------
    BadInput
        When there is no lot to draw from, or the listing is not as large as the lot.
    """
    import numpy as np

    from clew.checks.attributes.draw import draw_balls

    rng = np.random.default_rng(seed)
    if path is None:
        if lot_size is None:
            raise BadInput(Fault("no lot to draw from", "--lot-size, or --listing", key="--draw"))
        count = 1 if winders is None else winders
        if not 1 <= count <= lot_size or lot_size > _MOST_LISTED:
            raise BadInput(
                Fault(
                    "not a lot to draw from",
                    expected=f"from 1 to {min(lot_size, _MOST_LISTED)} winders, and at most "
                    f"{_MOST_LISTED} balls",
                    key="--winders",
                    value=f"{count} winders, {lot_size} balls",
                )
            )
        codes = np.arange(lot_size) % count
        return [
            {"winder": str(place % count + 1), "number": int(place // count + 1)}
            for place in draw_balls(codes, n, rng)
        ]
    if winders is not None:
        raise BadInput(Fault("winders beside a listing", "one of the two", key="--winders"))
    table = _listing(path)
    if lot_size is not None and lot_size != table.rows:
        raise BadInput(
            Fault(
                "a listing that is not the lot",
                expected=f"{lot_size} rows, as --lot-size says",
                file=str(path),
                value=f"{table.rows} rows",
            )
        )
    time = table.numbers.get("time_s")
    known = time is not None and not np.any(np.isnan(time))
    order = np.argsort(time, kind="stable") if known else np.arange(table.rows)
    winder = table.factors["winder"].codes[order]
    cone = table.factors.get("cone")
    cones = None if cone is None or np.any(cone.codes < 0) else cone.codes[order]
    places = draw_balls(winder, n, rng, cone=cones)
    number = np.zeros(table.rows, dtype=np.int64)
    for code in np.unique(winder):
        number[winder == code] = np.arange(1, int(np.sum(winder == code)) + 1)
    return [_named(table, int(order[place]), int(number[place])) for place in places]


def _named(table: Any, row: int, number: int) -> dict[str, Any]:
    ball: dict[str, Any] = {
        "winder": table.factors["winder"].names[table.factors["winder"].codes[row]],
        "number": number,
    }
    for name in ("ball", "cone"):
        factor = table.factors.get(name)
        if factor is not None and factor.codes[row] >= 0:
            ball[name] = factor.names[factor.codes[row]]
    if table.lines is not None:
        ball["line"] = int(table.lines[row])
    return ball
