"""A day counted off the records; what lies above a declaration is told on its own basis."""

from __future__ import annotations

from typing import Any

import pytest

from clew.ball.run_card import run_card_of
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.reports.day_figures import day_figures
from clew.ledger.store.ledger import Ledger
from clew.mill.model import Mill


def tell(ledger: Ledger, *said: dict[str, Any]) -> None:
    messages = [
        {"line": "Line 1", "at": f"2026-11-23T06:{place:02d}:00Z", "key": str(place), **one}
        for place, one in enumerate(said)
    ]
    ledger.append([read_message(one, Sender("test", author="Ina")) for one in messages])


def a_run(ball: str, lot: str, *grams: float) -> list[dict[str, Any]]:
    start = {"kind": "run start", "run": "R-1", "lot": lot, "ball_name": ball, "turns": 700,
             "counts": {"1": 700}}  # fmt: skip
    told = [start]
    for number, mass_g in enumerate(grams, start=1):
        of = {"lane": 1, "ball": number}
        told += [{"kind": "weighing", **of, "mass_g": mass_g}, {"kind": "banded", **of}]
    return told


def test_a_mass_declared_as_weighed_is_what_the_scale_shows(
    ledger: Ledger, demo_mill: Mill
) -> None:
    tell(ledger, *a_run("Querl 100", "SL-207", 101.5, 100.5, 99.0))
    (run,) = day_figures(ledger, demo_mill, "Line 1", ()).runs
    assert (run.weighed, run.mean_g) == (3, pytest.approx(301.0 / 3.0))
    assert run.given_g == pytest.approx(1.0)


def test_a_ball_weighed_with_its_band_counts_without_it(ledger: Ledger, demo_mill: Mill) -> None:
    tare_g = demo_mill.find_ball("Querl 100").tare_mass_g
    assert tare_g
    told = a_run("Querl 100", "SL-207", 101.5 + tare_g, 100.5)
    told[1]["gross"] = True
    tell(ledger, *told)
    (run,) = day_figures(ledger, demo_mill, "Line 1", ()).runs
    assert run.mean_g == pytest.approx(101.0)
    assert run.given_g == pytest.approx(2.0)


def test_a_mass_declared_at_the_agreed_regain_is_brought_to_it(
    ledger: Ledger, demo_mill: Mill
) -> None:
    answer = run_card_of(demo_mill, "Dunnow 50", "SA-340").answer
    assert answer.as_weighed_g < 50.0 < answer.mass_g  # or the test would tell nothing
    tell(ledger, *a_run("Dunnow 50", "SA-340", *[answer.as_weighed_g] * 4))
    (run,) = day_figures(ledger, demo_mill, "Line 1", ()).runs
    assert run.given_g == pytest.approx(4.0 * (answer.mass_g - 50.0))
    assert run.given_money == pytest.approx(run.given_g / 1000.0 * demo_mill.prices.yarn_per_kg)
