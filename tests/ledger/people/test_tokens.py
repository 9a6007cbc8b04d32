"""Tokens of machines: shown once, kept as a hash, narrow, ended."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from clew.faults import BadInput
from clew.ledger.people.tables import API_TOKEN
from clew.ledger.people.tokens import add_token, end_token, read_scopes, token_of, tokens_of
from clew.ledger.store.ledger import Ledger
from clew.ledger.store.reading import chain_records


def test_a_token_is_known_by_what_was_shown_once(ledger: Ledger) -> None:
    kept, said = add_token(ledger, "winder box", ["events:write"], line="Line 1", author="root")
    assert said.startswith("clew_") and len(said) == 48
    assert token_of(ledger, said) == kept == tokens_of(ledger)[0]
    assert (kept.scopes, kept.line, kept.made_by) == (("events:write",), "Line 1", "root")
    with ledger.reading() as connection:
        assert said not in repr(connection.execute(select(API_TOKEN)).all())
    (note,) = chain_records(ledger, "")
    assert note.author == "root"
    assert note.fields()["note"] == "a token for winder box: events:write, to line Line 1 only"
    assert said not in note.body


def test_an_ended_token_opens_nothing_and_its_name_is_not_used_again(ledger: Ledger) -> None:
    _, said = add_token(ledger, "scale", ["read", "events:write"], author="root")
    end_token(ledger, "scale", author="Jo")
    assert token_of(ledger, said) is None
    assert tokens_of(ledger) == ()
    assert tokens_of(ledger, ended=True)[0].ended_us is not None
    assert [r.author for r in chain_records(ledger, "")] == ["root", "Jo"]
    with pytest.raises(BadInput, match="there already"):
        add_token(ledger, "scale", ["read"], author="root")
    with pytest.raises(BadInput, match="no token"):
        end_token(ledger, "scale", author="root")


@pytest.mark.parametrize("said", ["", "clew_", "clew_" + "x" * 43, "x" * 48, "clew_" + "y" * 9999])
def test_what_is_no_token_opens_nothing(ledger: Ledger, said: str) -> None:
    add_token(ledger, "scale", ["read"], author="root")
    assert token_of(ledger, said) is None


def test_scopes_are_among_those_there_are() -> None:
    assert read_scopes(["read", "events:write", "read"]) == ("events:write", "read")
    for wrong in ([], ["write"], ["read", "all"]):
        with pytest.raises(BadInput, match="scope"):
            read_scopes(wrong)


@pytest.mark.parametrize("name", ["tablet", "Web", "people", ""])
def test_a_token_is_not_called_as_our_own_sources_are(ledger: Ledger, name: str) -> None:
    with pytest.raises(BadInput, match="name"):
        add_token(ledger, name, ["read"], author="root")
