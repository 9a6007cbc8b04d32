"""What each address asks of whoever comes: one table, and nothing is open that is not in it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, Literal

from clew.ledger.people.roles import Permission

Rule = Permission | Literal["anyone", "signed in"]
"""A permission; or open to anyone; or to anyone who is known."""

RULES: Mapping[str, Rule] = {
    # The door itself, and what every page needs to be drawn.
    "GET /static/{digest}/{name}": "anyone",
    "POST /reader": "anyone",
    "GET /sign-in": "anyone",
    "POST /sign-in": "anyone",
    "POST /sign-out": "signed in",
    "GET /who": "signed in",
    "POST /who": "signed in",
    "POST /password": "signed in",
    # Pages.
    "GET /": "read",
    "GET /orders": "read",
    "GET /orders/plan.csv": "read",
    "GET /orders/shift-plan.pdf": "read",
    "GET /orders/pick-list.pdf": "read",
    "GET /creel": "read",
    "GET /knots": "read",
    "GET /knots/answer": "read",
    "GET /steam": "read",
    "GET /dry": "read",
    "GET /wind": "read",
    "GET /wind/card": "read",
    "GET /wind/card.pdf": "read",
    "GET /shift": "read",
    "GET /band": "read",
    "GET /case": "read",
    "GET /case/bands.pdf": "read",
    "GET /case/label.pdf": "read",
    "GET /case/note.pdf": "read",
    "GET /case/packing-list.pdf": "read",
    "POST /case/close-case": "close cases",
    "POST /case/close-pallet": "close cases",
    "POST /case/ship": "ship",
    "POST /case/undo": "close cases",
    "GET /lots": "read",
    "GET /lots/certificate.pdf": "read",
    "POST /lots/decide": "decide on lots",
    "POST /lots/undo": "decide on lots",
    "GET /manual": "read",
    "GET /manual/{name}": "read",
    "GET /manual/pictures/{name}": "read",
    "GET /trace": "read",
    "GET /trace/recall.csv": "export",
    "GET /trace/recall.pdf": "export",
    "GET /trace/epcis.json": "export",
    # The run and the hands at it.
    "GET /run": "read",
    "GET /run/stream": "read",
    "GET /run/report.pdf": "read",
    "POST /run/start": "lead runs",
    "POST /run/set": "lead runs",
    "POST /run/end": "lead runs",
    "POST /run/undo": "lead runs",
    "GET /run/hand": "read",
    "POST /run/hand": "enter events",
    "POST /run/hand/undo": "enter events",
    # For programs.
    "GET /openapi.json": "read",
    "GET /api/yarn": "read",
    "GET /api/ball/turns": "read",
    "GET /api/ball/path": "read",
    "GET /api/knots/answer": "read",
    "GET /api/knots/law": "read",
    "GET /api/knots/price": "read",
    "GET /api/knots/strand": "read",
    "GET /api/line/heat": "read",
    "GET /api/line/limits": "read",
    "GET /api/line/simulate": "read",
    "GET /api/line/shift/timeline": "read",
    "GET /api/weigh/charts": "read",
    "GET /api/weigh/components": "read",
    "GET /api/weigh/corrections": "read",
    "GET /api/weigh/target": "read",
    "GET /api/run/live": "read",
    "GET /api/lot/trace": "export",
    "GET /api/lot/recall": "export",
    "GET /api/lot/release": "read",
    "GET /api/lot/test": "read",
    "GET /api/lot/sample": "read",
    "GET /api/plan/materials": "read",
    "GET /api/plan/sequence": "read",
    "GET /api/plan/wish": "read",
    "GET /api/plan/pack": "read",
    "GET /api/plan/cost": "read",
    "GET /api/events": "read",
    "POST /api/events": "enter events",
    "GET /api/ledger": "read",
}


def rule_for(method: str, path: str) -> Rule | Literal["no such method"] | None:
    """Find what an address asks.

    Parameters
    ----------
    method : str
        GET, POST, ...; HEAD asks what GET asks.
    path : str
        The path of the request.

    Returns
    -------
    str or None
        The rule; ``no such method`` where the path is in the table with other methods; None where
        it is not in the table.
    """
    wanted = "GET" if method == "HEAD" else method
    there = False
    for form, of_method, rule in _forms():
        if form.fullmatch(path):
            if of_method == wanted:
                return rule
            there = True
    return "no such method" if there else None


@cache
def _forms() -> tuple[tuple[re.Pattern[str], str, Rule], ...]:
    made = []
    for address, rule in RULES.items():
        method, path = address.split(" ", 1)
        parts = re.split(r"\{\w+\}", path)
        made.append((re.compile("[^/]+".join(re.escape(part) for part in parts)), method, rule))
    return tuple(made)


def addresses_of(routes: list[Any], prefix: str = "") -> Iterator[str]:
    """Name every address that an application answers, as the table writes it.

    Parameters
    ----------
    routes : list of routes
        Of a FastAPI application or router.
    prefix : str
        What stands before their paths.

    Yields
    ------
    str
        Method and path; HEAD goes with its GET.

    Raises
    ------
    TypeError
        For a route of a kind that is not known here, so that none slips by.
    """
    for route in routes:
        inner = getattr(route, "original_router", None)
        if inner is not None:
            yield from addresses_of(inner.routes, prefix + route.include_context.prefix)
        elif getattr(route, "methods", None) and isinstance(getattr(route, "path", None), str):
            for method in sorted(route.methods - {"HEAD"}):
                yield f"{method} {prefix}{route.path}"
        else:
            raise TypeError(f"a route of an unknown kind: {route!r}")
