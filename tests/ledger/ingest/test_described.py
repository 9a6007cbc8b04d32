"""The schema of the messages: valid itself, and of one mind with the reader."""

from __future__ import annotations

from pathlib import Path
from random import Random
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from clew.faults import BadInput
from clew.ledger.events.kinds import KINDS
from clew.ledger.events.reading import Sender, read_message
from clew.ledger.ingest.arriving import parts_of, read_part
from clew.ledger.ingest.described import (
    batch_schema,
    definitions,
    message_schema,
    range_words,
    slug,
)
from clew.ledger.ingest.topics import async_api, read_topic, topic_of
from random_messages import good_message, spoilt

SENDER = Sender("test", zone="Europe/Berlin")
DICTIONARY = Path(__file__).parents[3] / "docs" / "ledger_messages.md"


def reads(said: object, sender: Sender = SENDER) -> bool:
    try:
        read_message(said, sender)
    except BadInput:
        return False
    return True


def forgiven(said: dict[str, Any]) -> dict[str, Any]:
    """Write a message without the two things that the reader forgives and the schema does not."""
    kind = said.get("kind")
    if not isinstance(kind, str):
        return said
    plain = " ".join(kind.replace("_", " ").casefold().split())
    found = {**said, "kind": plain}
    for field in KINDS[plain].fields if plain in KINDS else ():
        value = found.get(field.name)
        if field.among and isinstance(value, str):
            found[field.name] = value.strip()
    return found


def by_kind(*, line_known: bool) -> dict[str, Draft202012Validator]:
    return {
        kind: Draft202012Validator(message_schema(kind, line_known=line_known)) for kind in KINDS
    }


@pytest.mark.parametrize("line_known", [False, True])
def test_every_schema_is_a_schema_of_its_draft(line_known: bool) -> None:
    Draft202012Validator.check_schema(message_schema(line_known=line_known))
    Draft202012Validator.check_schema(batch_schema(line_known=line_known))
    for kind in KINDS:
        Draft202012Validator.check_schema(message_schema(kind, line_known=line_known))


@pytest.mark.parametrize("line_known", [False, True])
def test_what_the_schema_refuses_the_reader_refuses(line_known: bool) -> None:
    """Over thousands of spoilt messages: the reader takes none that the schema does not."""
    rng = Random(6)
    sender = Sender("test", zone="Europe/Berlin", line="Line 1" if line_known else "")
    schemas = by_kind(line_known=line_known)
    taken = refused_by_both = 0
    for number in range(6000):
        said = spoilt(rng, good_message(rng, number))
        if line_known and rng.random() < 0.3:
            said.pop("line", None)
        plain = forgiven(said)
        kind = plain.get("kind")
        schema = schemas.get(kind) if isinstance(kind, str) else None
        allowed = schema is not None and schema.is_valid(plain)
        if reads(said, sender):
            assert allowed, said
            taken += 1
        elif not allowed:
            refused_by_both += 1
    assert taken > 300
    assert refused_by_both > 2000


def test_good_messages_are_taken_by_both() -> None:
    rng = Random(7)
    schemas = by_kind(line_known=False)
    for number in range(3000):
        said = good_message(rng, number)
        assert reads(said), said
        assert schemas[said["kind"]].is_valid(said), said


def test_what_a_schema_cannot_say_is_only_what_the_relation_names() -> None:
    """Where the schema takes a message and the reader does not, one of the named reasons holds."""
    rng = Random(8)
    schemas = by_kind(line_known=False)
    beyond = set()
    for number in range(6000):
        said = spoilt(rng, good_message(rng, number))
        kind = said.get("kind")
        if not isinstance(kind, str) or kind not in schemas or not schemas[kind].is_valid(said):
            continue
        try:
            read_message(said, SENDER)
        except BadInput as bad:
            for fault in bad.faults:
                if fault.key == "at":
                    beyond.add("moment")
                else:
                    value = said[fault.key]
                    texts = value if isinstance(value, list) else [value]
                    assert any("\ud800" in one for one in texts if isinstance(one, str)), said
                    beyond.add("half a character")
    assert beyond == {"moment", "half a character"}


def test_the_whole_schema_agrees_with_that_of_each_kind() -> None:
    rng = Random(9)
    whole, each = Draft202012Validator(message_schema()), by_kind(line_known=False)
    for number in range(150):
        said = good_message(rng, number)
        said = spoilt(rng, said) if number % 2 else said
        kind = said.get("kind")
        of_kind = isinstance(kind, str) and kind in each and each[kind].is_valid(said)
        assert whole.is_valid(said) == of_kind, said


@pytest.mark.parametrize(
    "wrapped", [lambda one: one, lambda one: [one, one], lambda one: {"events": [one]}]
)
def test_a_batch_is_one_or_many(wrapped: Any) -> None:
    rng = Random(10)
    schema = Draft202012Validator(batch_schema())
    said = wrapped(good_message(rng, 1))
    assert schema.is_valid(said)
    assert all(read_part(one, SENDER).message is not None for one in parts_of(said)[0])


@pytest.mark.parametrize(
    "said", [[], {"events": []}, {"events": [], "x": 1}, {"events": {}}, 5, None, [[]], "doff"]
)
def test_no_batch(said: Any) -> None:
    assert not Draft202012Validator(batch_schema()).is_valid(said)
    try:
        parts, _ = parts_of(said)
    except BadInput:
        return
    assert all(read_part(one, SENDER).message is None for one in parts)


def test_a_reading_out_of_range_is_no_refusal() -> None:
    said = {
        "kind": "weighing", "line": "A", "lane": 1, "at": "2026-03-29T05:40:00Z", "key": "1",
        "mass_g": 0.0,
    }  # fmt: skip
    assert Draft202012Validator(message_schema("weighing")).is_valid(said)
    assert read_message(said, SENDER).flags == ("mass_g out of range",)


def test_every_kind_says_all_its_fields() -> None:
    found = definitions()
    for kind, of in KINDS.items():
        schema = found[slug(kind)]
        assert {one.name for one in of.fields} <= set(schema["properties"])
        assert schema["additionalProperties"] is False
        assert {one.name for one in of.fields if one.must} <= set(schema["required"])
        assert set(of.must) <= set(schema["required"])


def test_the_dictionary_in_the_manual_names_every_kind_and_field() -> None:
    text = DICTIONARY.read_text(encoding="utf-8")
    for kind, of in KINDS.items():
        section = text.partition(f"\n### {kind}\n")[2].partition("\n### ")[0]
        assert of.words in section, kind
        for name in of.must:
            assert f"`{name}`" in section, (kind, name)
        for field in of.fields:
            row = next(one for one in section.splitlines() if one.startswith(f"| `{field.name}` |"))
            assert field.words in row, (kind, field.name)
            assert range_words(field) in row, (kind, field.name)
            assert ("must" in row) == field.must, (kind, field.name)
            assert all(word in row for word in field.among)


@pytest.mark.outside(
    document="AsyncAPI Specification", edition="3.0.0", section="objects and their fields",
    mark="MEMORY",
)  # fmt: skip
def test_the_description_of_topics_has_what_asyncapi_asks_for() -> None:
    """Required fields, and every reference leads somewhere."""
    said = async_api("1.2.3", "broker.mill:1883")
    assert said["asyncapi"] == "3.0.0"
    assert {"title", "version"} <= set(said["info"])
    for server in said["servers"].values():
        assert {"host", "protocol"} <= set(server)
        assert "://" not in server["host"]
    for operation in said["operations"].values():
        assert operation["action"] in ("send", "receive")
        channel = follow(said, operation["channel"]["$ref"])
        own = [follow(said, one["$ref"]) for one in channel["messages"].values()]
        assert all(follow(said, one["$ref"]) in own for one in operation["messages"])
    for channel in said["channels"].values():
        wanted = {one[1:-1] for one in channel["address"].split("/") if one.startswith("{")}
        assert set(channel["parameters"]) == wanted
    payload = follow(said, "#/components/messages/events")["payload"]
    assert set(payload) == {"schemaFormat", "schema"}
    schema = Draft202012Validator(payload["schema"])
    for example in follow(said, "#/components/messages/events")["examples"]:
        assert set(example) <= {"name", "summary", "payload", "headers"}
        assert schema.is_valid(example["payload"])
        assert reads(example["payload"], Sender("scale-2", line="Line 1"))


def follow(document: dict[str, Any], ref: str) -> dict[str, Any]:
    found: Any = document
    for part in ref.removeprefix("#/").split("/"):
        found = found[part]
    while isinstance(found, dict) and set(found) == {"$ref"}:
        found = follow(document, found["$ref"])
    assert isinstance(found, dict)
    return found


@pytest.mark.parametrize("line", ["Line 1", "", "a/b", "50 %", "+", "#", "Straße", "x" * 120])
def test_a_topic_round_trip(line: str) -> None:
    topic = topic_of(line, "scale/2")
    assert topic.count("/") == 3
    assert not set("+#") & set(topic)
    found = read_topic(topic)
    assert (found.line, found.source) == (line, "scale/2")


@pytest.mark.parametrize(
    "topic", ["", "clew/1/a", "clew/2/a/b", "clew/1/a/", "clew/1/a/b/c", "clew/1/a/%00", "x"]
)
def test_no_topic_of_the_ledger(topic: str) -> None:
    with pytest.raises(BadInput, match="no topic of the ledger"):
        read_topic(topic)
