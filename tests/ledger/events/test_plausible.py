"""What is out of range is flagged alike, whoever reads it."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from clew.ledger.events.kinds import KINDS
from clew.ledger.events.plausible import implausible
from clew.ledger.events.reading import Sender, read_message

NUMBERS = st.floats(-1e9, 1e9)


@st.composite
def bodies(draw: st.DrawFn) -> tuple[str, dict[str, Any]]:
    kind = draw(st.sampled_from(["run set", "weighing", "length check", "feed"]))
    body: dict[str, Any] = {}
    for field in KINDS[kind].fields:
        if field.type == "number":
            body[field.name] = draw(NUMBERS)
        elif field.type == "numbers":
            body[field.name] = draw(st.dictionaries(st.sampled_from("123"), NUMBERS, max_size=3))
        elif field.must:
            body[field.name] = "x"
    return kind, body


@given(bodies())
def test_flags_are_those_of_the_reader(asked: tuple[str, dict[str, Any]]) -> None:
    kind, body = asked
    lane = {"lane": 1} if KINDS[kind].where == "lane" else {}
    names = {"run": "R"} if kind == "run set" else {}
    said = {"kind": kind, "at": "2026-11-25T05:40:00Z", "key": "k", **lane, **names, **body}
    assert read_message(said, Sender("s", line="L")).flags == implausible(kind, body)


def test_what_is_plausible_has_no_flag() -> None:
    assert implausible("weighing", {"mass_g": 101.0, "gross": True}) == ()
    assert implausible("run set", {"target_g": 1e308, "counts": {"1": -1.0}}) == (
        "counts out of range", "target_g out of range",
    )  # fmt: skip
