"""What passwords are refused, how they are hashed, and that nobody takes as long as somebody."""

from __future__ import annotations

import argon2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.ledger.people import passwords
from clew.ledger.people.passwords import (
    LONGEST,
    SHORTEST,
    Cost,
    check_password,
    hash_password,
    is_common,
    verify_password,
)

GOOD = "blue lamp by the river"


@pytest.mark.parametrize(
    "password",
    [
        "password123!", "P@ssw0rd2024", "1234567890", "qwertyuiop", "0987654321", "aaaaaaaaaaaa",
        "abcabcabcabc", "01.02.1987.", "Password Password1", "iloveyou1234", "qwerty123456",
        "summer2024!!", "1q2w3e4r5t", "letmein12345", "winder ball 12", "abcdefghijklm",
        "Qwertzuiop7", "Passwort2026!", "Manchester1!", "Anke-2026-Anke", "wollewolle",
        "!!!!!!!!!!!!", "ababbabaab", "manchester" * 20,
    ],
)  # fmt: skip
def test_what_is_tried_first_is_refused(password: str) -> None:
    assert len(password) >= SHORTEST
    assert is_common(password, "Anke")
    with pytest.raises(BadInput, match="tried first"):
        check_password(password, "Anke")


@pytest.mark.parametrize(
    "password",
    [
        GOOD,
        "correct horse staple",
        "Zt7#kkq91!vB",
        "ünïcödé wörds",
        "       x y z w v",
        "糸を巻く機械の名前は何",
        "Tante Klara backt",
        "trois moutons gris",
        "drei graue Schafe",
    ],
)
def test_there_are_no_rules_of_composition(password: str) -> None:
    check_password(password, "Anke")


@pytest.mark.parametrize(
    ("password", "name", "words"),
    [
        ("short one", "Anke", "too short"),
        ("x y" * LONGEST, "Anke", "too long"),
        ("anke marten", "Anke Marten", "is the name"),
        ("AnkeMarten!", "anke marten", "is the name"),
        ("marten marten", "Marten", "is the name"),
    ],
)
def test_length_and_name(password: str, name: str, words: str) -> None:
    with pytest.raises(BadInput, match=words) as raised:
        check_password(password, name)
    assert password not in str(raised.value)


def test_sixty_four_characters_and_more_are_taken() -> None:
    check_password("the longer it is the better it keeps, said the old lead " * 2, "Anke")


def test_whose_name_it_is_counts() -> None:
    assert is_common("wilhelmina2026", "Wilhelmina Kratz")
    assert is_common("Kratzkratz99", "Wilhelmina Kratz")
    assert not is_common("Kratz zaehlt Kegel", "Wilhelmina Kratz")


@pytest.mark.outside(
    document="OWASP Application Security Verification Standard", edition="5.0.0 (2025)",
    section="6.2.4, the common passwords that zxcvbn 4.5.0 lists", mark="READ",
)  # fmt: skip
def test_every_listed_password_that_is_long_enough_is_refused() -> None:
    from zxcvbn.frequency_lists import FREQUENCY_LISTS

    listed = FREQUENCY_LISTS["passwords"]
    long_enough = [one for one in listed if len(one) >= SHORTEST]
    assert (len(listed), len(long_enough)) == (30_000, 1_090)
    assert [one for one in long_enough[::7] if not is_common(one)] == []
    shouted = [f"{one.capitalize()}1" for one in long_enough[::29]]
    assert [one for one in shouted if not is_common(one)] == []


def test_judging_takes_no_longer_for_a_longer_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """The estimator takes the square of the length and more: it is shown a beginning only."""
    import zxcvbn

    seen: list[int] = []
    real = zxcvbn.zxcvbn

    def counted(password: str, words: list[str]) -> object:
        seen.append(len(password))
        return real(password, words)

    monkeypatch.setattr(zxcvbn, "zxcvbn", counted)
    assert not is_common("4@8({[<36971!|0$5+7%2" * 12)
    assert seen == [24]


@given(st.text(max_size=300))
def test_any_text_is_judged_without_falling_over(password: str) -> None:
    assert is_common(password) in (True, False)


@pytest.mark.outside(
    document="RFC 9106, Argon2 Memory-Hard Function", edition="2021",
    section="4, second recommended option, as argon2-cffi carries it", mark="READ",
)  # fmt: skip
def test_the_cost_is_the_one_that_the_standard_recommends(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    of = argon2.profiles.RFC_9106_LOW_MEMORY
    assert Cost(of.time_cost, of.memory_cost, of.parallelism) == passwords.COST
    kept = argon2.extract_parameters(hash_password(GOOD))
    assert kept == of
    # the OWASP Password Storage Cheat Sheet's least: m = 19456 KiB, t = 2, p = 1
    assert kept.memory_cost >= 19_456 and kept.time_cost >= 2


def test_a_hash_holds_neither_the_password_nor_its_like() -> None:
    first, second = hash_password(GOOD), hash_password(GOOD)
    assert first != second
    assert GOOD not in first
    assert first.startswith("$argon2id$v=19$")
    assert verify_password(GOOD, first).right
    assert not verify_password(GOOD + " ", first).right
    assert not verify_password(GOOD.upper(), first).right


def test_a_hash_at_another_cost_is_stale(monkeypatch: pytest.MonkeyPatch) -> None:
    kept = hash_password(GOOD)
    assert not verify_password(GOOD, kept).stale
    monkeypatch.setattr(passwords, "COST", Cost(passes=2, memory_kib=8, lanes=1))
    assert verify_password(GOOD, kept).right
    assert verify_password(GOOD, kept).stale


def test_a_name_that_there_is_not_costs_a_hash_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[str] = []
    real = argon2.PasswordHasher.verify

    def counted(self: argon2.PasswordHasher, kept: str, password: str) -> bool:
        asked.append(kept)
        return bool(real(self, kept, password))

    monkeypatch.setattr(argon2.PasswordHasher, "verify", counted)
    somebody = hash_password(GOOD)
    for kept in (somebody, None):
        assert not verify_password("something else", kept).right
    assert not verify_password("of nobody at all", None).right  # even the hash that stands in
    assert not verify_password("x" * 10_000, somebody).right
    assert len(asked) == 4
    costs = {argon2.extract_parameters(kept).memory_cost for kept in asked}
    assert len(costs) == 1


def test_a_damaged_hash_is_no_password() -> None:
    assert not verify_password(GOOD, "$argon2id$nonsense").right
