"""A trace arranged for a page: the answer in words, then tables with what each line rests on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from clew.ledger.events.field_words import setting_words
from clew.ledger.events.moments import show_local
from clew.ledger.trace.answer import BackTrace, CaseIn, ForwardTrace, Rest
from clew.ledger.trace.pallets import PalletTrace
from clew.web.figures import Figures, plural

MOST = 60
"""Lines of one table; the files have all."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table with its heading.

    Attributes
    ----------
    key, title : str
        Name on the page, and heading.
    columns : tuple of str
        Heads.
    rows : tuple of tuple of str
        The lines shown.
    left_out : int
        Lines that are not shown.
    none : str
        What stands where there are none.
    """

    key: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    left_out: int = 0
    none: str = ""


def _sheet(
    key: str, title: str, columns: Sequence[str], rows: Iterable[Sequence[str]], none: str
) -> Sheet:
    listed = [tuple(one) for one in rows]
    return Sheet(key, title, tuple(columns), tuple(listed[:MOST]), max(0, len(listed) - MOST), none)


def _at(at_us: int | None, zone: str) -> str:
    return "open" if at_us is None else show_local(at_us, zone, seconds=False)


def _rests(rests: Sequence[Rest]) -> str:
    names = [one.name.replace(" ", "\u00a0") for one in rests]
    return " ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")


def _named(name: str, trial: bool) -> str:
    return f"{name}, of a trial: not for sale" if trial else name


def _sure(sure: bool) -> str:
    return "sure" if sure else "possible"


def _first_up(text: str) -> str:
    return text[:1].upper() + text[1:]


def back_shown(found: BackTrace, zone: str, figures: Figures) -> dict[str, Any]:
    """Arrange a trace from a band, a case or a token back to cones.

    Parameters
    ----------
    found : BackTrace
        The trace.
    zone : str
        The mill's time zone.
    figures : Figures
        The reader's units.

    Returns
    -------
    dict
        ``headline``, ``words``, ``sheets`` and ``missing``.
    """
    asked = _first_up(found.asked)
    if found.size == 0:
        headline = f"{asked}: no ball is found."
    elif found.size == 1:
        ball = found.balls[0]
        mass = "its mass is not told" if ball.mass_g is None else figures.mass(ball.mass_g)
        headline = f"{asked}: it is {ball.name}; {mass}."
    else:
        headline = f"{asked}: one of {found.size} balls."
    words = [f"{_first_up(found.why)}."]
    run = found.run
    if run is not None:
        ended = "goes on" if run.ended_us is None else f"to {_at(run.ended_us, zone)}"
        trial = ", a trial: not for sale" if run.trial else ""
        words.append(
            f"Run {run.run} of dye lot {run.lot}, {run.ball_name}, from "
            f"{_at(run.started_us, zone)} {ended}{trial}."
        )
    words += [
        f"Dye lot {one.lot}: {one.decision}, {_at(one.at_us, zone)}"
        + (f", by {one.author}" if one.author else "")
        + "."
        for one in found.decisions
    ]
    sheets = [
        _sheet(
            "balls", "The ball" if found.size == 1 else "The balls it may be",
            ("Ball", "Doffed", "Mass", "Joins in it", "Pulled to", "Records"),
            (
                (
                    _named(one.name, one.trial), _at(one.doffed_us, zone),
                    "–" if one.mass_g is None else figures.mass(one.mass_g),
                    f"{sum(join.sure for join in one.joins)} sure, "
                    f"{sum(not join.sure for join in one.joins)} possible",
                    one.pulled_to or "–", _rests(one.rests),
                )
                for one in found.balls
            ),
            "None is found.",
        ),
        _sheet(
            "cones", "Its cones",
            ("Cone", "", "Dye lot", "Spinner", "At the feed", "Why", "Records"),
            (
                (
                    one.cone or "without a name", _sure(one.sure), one.lot or "not told",
                    one.spinner or "not told",
                    f"{_at(one.from_us, zone)} to {_at(one.upto_us, zone)}", one.why,
                    _rests(one.rests),
                )
                for one in found.cones
            ),
            "None is told.",
        ),
        cases_sheet(found.cases, zone),
        _sheet(
            "checks", "Checks then", ("What", "When", "Found", "Records"),
            (
                (one.kind, _at(one.at_us, zone), one.words, _rests(one.rests))
                for one in found.checks
            ),
            "None near it.",
        ),
        _sheet(
            "settings", "Settings of the run at that time", ("Setting", "Value"),
            () if run is None else (setting_words(*one) for one in run.settings), "None is told.",
        ),
    ]  # fmt: skip
    return {
        "headline": headline, "words": words, "sheets": sheets,
        "missing": [f"{_first_up(one)}." for one in found.missing],
    }  # fmt: skip


def cases_sheet(cases: Sequence[CaseIn], zone: str) -> Sheet:
    """Arrange cases, with where they are now."""
    return _sheet(
        "cases", "Cases", ("Case", "", "Balls", "Closed", "Where", "Pallet", "Records"),
        (
            (
                one.case, _sure(one.sure), str(one.balls), _at(one.closed_us, zone), one.where,
                one.pallet or "–", _rests(one.rests),
            )
            for one in cases
        ),
        "No case that was closed can hold it.",
    )  # fmt: skip


def forward_shown(found: ForwardTrace, zone: str) -> dict[str, Any]:
    """Arrange a trace from a cone or a dye lot on to balls and cases.

    Parameters
    ----------
    found : ForwardTrace
        The trace.
    zone : str
        The mill's time zone.

    Returns
    -------
    dict
        ``headline``, ``words``, ``sheets`` and ``missing``.
    """
    asked = _first_up(found.asked)
    customers = sorted({one.customer for one in found.cases if one.customer})
    if not found.cones:
        headline, words = f"{asked}: no record says that it passed a feed.", []
    else:
        headline = (
            f"{asked}: in {plural(found.sure, 'ball')} for sure, in {found.possible} more possibly."
        )
        words = [
            f"{plural(len(found.cases), 'case')} may hold some of it"
            + (
                f"; shipped to {', '.join(customers)}."
                if customers
                else "; none has left the mill."
            )
        ]
    sheets = [
        cases_sheet(found.cases, zone),
        _sheet(
            "stints", "At the feed",
            ("Cone", "Line, lane", "From", "To", "Dye lot", "Spinner", "Why so", "Records"),
            (
                (
                    one.cone or "without a name", f"{one.line}, {one.lane}",
                    _at(one.from_earliest_us, zone), _at(one.upto_latest_us, zone),
                    one.lot or "not told", one.spinner or "not told", one.why or "–",
                    _rests(one.rests),
                )
                for one in found.cones
            ),
            "Never, by any record.",
        ),
        _sheet(
            "balls", "Balls", ("Ball", "", "Doffed", "Cases", "Pulled to", "Records"),
            (
                (
                    _named(one.name, one.trial), _sure(one.sure), _at(one.doffed_us, zone),
                    " or ".join(one.cases) or "in none that was closed", one.pulled_to or "–",
                    _rests(one.rests),
                )
                for one in found.balls
            ),
            "None.",
        ),
    ]  # fmt: skip
    return {
        "headline": headline, "words": words, "sheets": sheets,
        "missing": [f"{_first_up(one)}." for one in found.missing],
    }  # fmt: skip


def pallet_shown(found: PalletTrace, zone: str) -> dict[str, Any]:
    """Arrange what is known of a pallet, case by case.

    Parameters
    ----------
    found : PalletTrace
        The pallet.
    zone : str
        The mill's time zone.

    Returns
    -------
    dict
        ``headline``, ``words``, ``sheets`` and ``missing``.
    """
    customers = sorted({one.customer for one in found.cases if one.customer})
    cones = {cone.cone: cone for trace in found.traces for cone in trace.cones if cone.cone}
    return {
        "headline": f"{_first_up(found.asked)}: {plural(len(found.cases), 'case')}, closed "
        f"{_at(found.closed_us, zone)}.",
        "words": [f"Shipped to {', '.join(customers)}." if customers else "It is in the mill."],
        "sheets": [
            cases_sheet(found.cases, zone),
            _sheet(
                "cones", "Cones that its balls come from, or may",
                ("Cone", "Dye lot", "Spinner", "At the feed"),
                (
                    (
                        one.cone, one.lot or "not told", one.spinner or "not told",
                        f"{_at(one.from_us, zone)} to {_at(one.upto_us, zone)}",
                    )
                    for one in sorted(cones.values(), key=lambda cone: cone.cone)
                ),
                "None is told.",
            ),
        ],
        "missing": [f"{_first_up(one)}." for one in found.missing],
    }  # fmt: skip
