"""Reading one message: what it says, what its sender says for it, and all that is wrong at once."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.ledger.events.kinds import KINDS, LONGEST_NAME, LONGEST_TEXT
from clew.ledger.events.message import Message
from clew.ledger.events.reading import LARGEST_WHOLE, Sender, is_plain, read_message

WEIGHING: dict[str, Any] = {
    "kind": "weighing", "line": "north", "lane": 3, "at": "2026-03-29T05:40:00Z", "key": "k1",
    "mass_g": 200.5,
}  # fmt: skip
SENDER = Sender("scale")


def read(**changes: Any) -> Message:
    return read_message({**WEIGHING, **changes}, SENDER)


def faults(found: object, sender: Sender = SENDER) -> dict[str, str]:
    with pytest.raises(BadInput) as bad:
        read_message(found, sender)
    return {fault.key: fault.what for fault in bad.value.faults}


def test_a_message_is_read() -> None:
    message = read(ball=7, token=" T1 ", author="Ada", note="wet\nstrand")
    assert message == Message(
        "north", "weighing", 1_774_762_800_000_000, "scale", "k1", "Ada", 3, 7, token="T1",
        body={"mass_g": 200.5, "note": "wet\nstrand"},
    )  # fmt: skip


@pytest.mark.parametrize("found", [None, 1, "doff", [], [WEIGHING], True])
def test_what_is_no_message(found: object) -> None:
    assert faults(found) == {"": "no message"}


def test_all_that_is_wrong_is_said_at_once() -> None:
    assert faults({"kind": "weighing", "lane": 65, "ball": -1, "mass": 3, "at": "now"}) == {
        "at": "no moment", "key": "no key", "line": "no line", "lane": "no lane",
        "ball": "no number of a ball", "mass": "no such field", "mass_g": "missing",
    }  # fmt: skip
    assert faults({}) == {"kind": "no kind of event", "at": "no moment", "key": "no key"}


@pytest.mark.parametrize("said", ["weighing", "Weighing", " WEIGHING "])
def test_a_kind_without_regard_to_case(said: str) -> None:
    assert read(kind=said).kind == "weighing"


@pytest.mark.parametrize("said", ["cone loaded", "cone_loaded", "Cone  Loaded"])
def test_a_kind_of_two_words(said: str) -> None:
    found = {**WEIGHING, "kind": said, "cone": "C1"}
    del found["mass_g"]
    assert read_message(found, SENDER).kind == "cone loaded"


@pytest.mark.parametrize("lane", [0, 65, -1, 1.5, True, "3", None, float("nan")])
def test_no_lane(lane: object) -> None:
    assert faults({**WEIGHING, "lane": lane}) == {"lane": "no lane"}


def test_a_whole_number_may_be_written_with_a_point() -> None:
    assert read(lane=3.0, ball=7.0) == read(lane=3, ball=7)
    assert read(mass_g=200) == read(mass_g=200.0)
    assert type(read(mass_g=200).body["mass_g"]) is float


def test_an_event_of_the_whole_line_has_no_lane() -> None:
    stop = {"kind": "stop", "line": "north", "at": WEIGHING["at"], "key": "k", "why": "x"}
    assert read_message(stop, SENDER).lane == read_message({**stop, "lane": 0}, SENDER).lane == 0
    assert read_message({**stop, "lane": 4}, SENDER).lane == 4
    belt = {**stop, "kind": "belt on"}
    del belt["why"]
    assert faults({**belt, "lane": 4}) == {"lane": "no lane"}


def test_what_belongs_to_the_mill_stands_in_its_chain() -> None:
    found = {"kind": "shipped", "line": "north", "package": "P", "customer": "C",
             "at": WEIGHING["at"], "key": "k"}  # fmt: skip
    assert read_message(found, SENDER).line == ""


def test_names_that_a_kind_must_and_may_not_carry() -> None:
    found = {**WEIGHING, "kind": "cone loaded", "package": "P"}
    del found["mass_g"]
    assert faults(found) == {
        "cone": '"cone loaded" without its cone', "package": '"cone loaded" names no package',
    }  # fmt: skip


@pytest.mark.parametrize(
    ("mass_g", "flagged"),
    [(1.0, False), (0.999, True), (20_000.0, False), (20_000.1, True), (-5, True), (0, True)],
)
def test_a_reading_out_of_range_is_kept_and_flagged(mass_g: float, flagged: bool) -> None:
    message = read(mass_g=mass_g)
    assert message.body == {"mass_g": mass_g}
    assert message.flags == (("mass_g out of range",) if flagged else ())


@pytest.mark.parametrize(
    "mass_g", [float("nan"), float("inf"), 1e300, 10**400, LARGEST_WHOLE + 1, "200", True, [200]]
)
def test_what_is_no_number(mass_g: object) -> None:
    assert faults({**WEIGHING, "mass_g": mass_g}) == {"mass_g": "not a number"}


@pytest.mark.parametrize("key", ["", " ", "x" * (LONGEST_NAME + 1), "a\nb", "\0", "\ud800", 5])
def test_no_key(key: object) -> None:
    assert set(faults({**WEIGHING, "key": key})) == {"key"}


def test_a_text_has_an_end() -> None:
    assert read(note="x" * LONGEST_TEXT).body["note"] == "x" * LONGEST_TEXT
    assert faults({**WEIGHING, "note": "x" * (LONGEST_TEXT + 1)}) == {"note": "no text"}
    assert "note" not in read(note="   ").body


def test_words_of_a_list() -> None:
    pulled = {**WEIGHING, "kind": "pulled"}
    assert read_message({**pulled, "to": "rework"}, SENDER).body["to"] == "rework"
    assert faults({**pulled, "to": "the shop"}) == {"to": "none of its words"}


def test_what_the_sender_says_for_a_message() -> None:
    short = {"kind": "weighing", "lane": 3, "mass_g": 200.5}
    told = Sender("tablet", "Ada", "south", "Europe/London", at_us=5, key="made")
    message = read_message(short, told)
    assert (message.source, message.author, message.line, message.at_us, message.key) == (
        "tablet", "Ada", "south", 5, "made",
    )  # fmt: skip
    own = read_message({**WEIGHING, "author": "Ben", "source": "scale 2"}, told)
    assert (own.source, own.author, own.line, own.key) == ("tablet/scale 2", "Ada", "north", "k1")


def test_a_source_cannot_be_taken_for_another() -> None:
    assert read(source="scale").source == "scale"
    assert read(source="scale/2").source == "scale/2"
    assert read(source="belt").source == "scale/belt"
    assert len(read(source="x" * LONGEST_NAME).source) == LONGEST_NAME


def test_numbers_by_winder() -> None:
    run = {"kind": "run set", "line": "north", "run": "R", "at": WEIGHING["at"], "key": "k"}
    assert read_message({**run, "counts": {"1": 985, "12": 1.5}}, SENDER).body == {
        "counts": {"1": 985.0, "12": 1.5}
    }
    for odd in ({"x": 1}, {"1": "985"}, {"1": None}, {"²": 1}, {"1": float("nan")}, [985], 985):
        assert faults({**run, "counts": odd}) == {"counts": "no numbers by winder"}


@given(st.text())
def test_plain_text(text: str) -> None:
    """A text that is plain can be written as UTF-8, and stands on one line of a paper."""
    if is_plain(text):
        assert "\n" not in text
        text.encode()
        assert "\0" not in text


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=8,
)
keys = st.sampled_from(
    ["kind", "at", "key", "line", "lane", "ball", "cone", "author", "source", "note", "mass_g"]
)


@given(st.dictionaries(keys | st.text(), json_values), st.sampled_from(list(KINDS)))
def test_any_object_is_read_or_refused_with_its_reasons(found: dict[str, Any], kind: str) -> None:
    for message in (found, {**WEIGHING, **found}, {**WEIGHING, **found, "kind": kind}):
        try:
            read = read_message(message, Sender("s", zone="Europe/London"))
        except BadInput as bad:
            assert all(fault.what and fault.expected for fault in bad.faults)
        else:
            assert read.kind in KINDS
            assert read.key


CORRECTION: dict[str, Any] = {
    "kind": "correction", "at": "2026-03-29T05:40:00Z", "key": "k1", "of_seq": 3, "void": True,
    "why": "told twice",
}  # fmt: skip


def test_a_correction_may_be_of_the_mills_own_chain() -> None:
    assert read_message({**CORRECTION, "line": "(mill)"}, SENDER).line == ""
    assert read_message({**CORRECTION, "lane": 0}, Sender("s", line="(mill)")).line == ""
    assert read_message({**CORRECTION, "line": "north"}, SENDER).line == "north"
    assert faults(CORRECTION) == {"line": "no line"}
    assert faults({**CORRECTION, "line": "(mill)", "lane": 2}) == {
        "lane": "a lane of the mill's own chain"
    }


def test_what_happens_on_a_line_does_not_go_into_the_mills_own_chain() -> None:
    assert read(line="(mill)").line == "(mill)"
