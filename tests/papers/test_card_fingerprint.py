"""The fingerprint of a card's inputs moves with what the card depends on and with nothing else."""

from __future__ import annotations

import re

import pytest

from clew.faults import BadInput
from clew.mill.model import Mill
from clew.papers import inputs_fingerprint


def _with(mill: Mill, key: str, place: int, **changes: object) -> Mill:
    entries = list(getattr(mill, key))
    entries[place] = entries[place].model_copy(update=changes)
    return mill.model_copy(update={key: tuple(entries)})


def test_it_is_eight_figures_and_the_same_every_time(demo_mill: Mill) -> None:
    first = inputs_fingerprint(demo_mill, "Querl 100", "SL-207")
    assert re.fullmatch("[0-9a-f]{8}", first)
    assert first == inputs_fingerprint(demo_mill, "querl 100", "sl-207", "Line 1")


def test_every_ball_and_lot_has_its_own(demo_mill: Mill) -> None:
    found = {
        inputs_fingerprint(demo_mill, ball.name, lot.lot)
        for ball in demo_mill.ball
        for colour in demo_mill.colour
        for lot in colour.dye_lot
        if lot.yarn == ball.yarn
    }
    found |= {inputs_fingerprint(demo_mill, ball.name) for ball in demo_mill.ball}
    assert len(found) == 15 + 4


def test_a_change_of_ball_yarn_line_or_rules_changes_it(demo_mill: Mill) -> None:
    before = inputs_fingerprint(demo_mill, "Querl 100", "SL-207")
    changed = [
        _with(demo_mill, "ball", 0, tension_cn=41.0),
        _with(demo_mill, "yarn", 0, shrink_frac=0.21),
        _with(demo_mill, "line", 0, belt_speed_m_per_s=0.02),
        demo_mill.model_copy(
            update={"safety": demo_mill.safety.model_copy(update={"noise_dba": 86.0})}
        ),
    ]
    after = {inputs_fingerprint(mill, "Querl 100", "SL-207") for mill in changed}
    assert len(after | {before}) == 5


def test_a_price_or_an_order_leaves_it(demo_mill: Mill) -> None:
    other = demo_mill.model_copy(
        update={"order": (), "prices": demo_mill.prices.model_copy(update={"yarn_per_kg": 99.0})}
    )
    assert inputs_fingerprint(other, "Querl 100") == inputs_fingerprint(demo_mill, "Querl 100")


def test_an_unknown_name_is_refused(demo_mill: Mill) -> None:
    with pytest.raises(BadInput, match="no such ball"):
        inputs_fingerprint(demo_mill, "Nothing 7")
