"""A lot goes only when all that is needed was looked at and passed."""

from __future__ import annotations

from itertools import product

import pytest

from clew.checks.release.decision import NAMED, NEEDED, decide
from clew.checks.release.finding import Finding, Mend, Subject


def finding(
    subject: Subject, passed: bool | None, *, confirmed: bool = True, mend: str = ""
) -> Finding:
    mends = (Mend(mend),) if mend else ()
    return Finding(subject, subject.capitalize(), passed, confirmed, ("found",), mends)


def all_passed() -> list[Finding]:
    return [finding(subject, True) for subject in NEEDED]


def test_everything_looked_at_and_passed_goes() -> None:
    decision = decide(all_passed())
    assert (decision.word, decision.reasons, decision.mends) == ("release", (), ())
    assert decision.sentence == "This lot may go."


@pytest.mark.parametrize("subject", NEEDED)
def test_what_was_not_looked_at_holds_the_lot_and_is_asked_for(subject: Subject) -> None:
    decision = decide([one for one in all_passed() if one.subject != subject])
    assert decision.word == "hold"
    assert decision.reasons == (f"{NAMED[subject]}: not looked at",)
    assert len(decision.mends) == 1


def test_a_failure_with_a_mend_is_rework_and_one_without_is_hold() -> None:
    others = all_passed()[1:]
    mended = decide([finding("net content", False, mend="re-wind winder 4"), *others])
    assert mended.word == "rework"
    assert [mend.words for mend in mended.mends] == ["re-wind winder 4"]
    assert decide([finding("net content", False), *others]).word == "hold"


def test_a_pass_by_an_unconfirmed_table_holds_until_a_person_takes_it_on_them() -> None:
    found = [finding("net content", True, confirmed=False), *all_passed()[1:]]
    held = decide(found)
    assert held.word == "hold"
    assert "nobody checked" in held.sentence
    assert "by name" in held.mends[-1].words
    taken = decide(found, accepted_by="M. Aldous")
    assert taken.word == "release"
    assert "M. Aldous" in taken.sentence


def test_of_all_combinations_only_one_goes() -> None:
    """No mixture of answers is a release but all yes, all confirmed."""
    goes = 0
    for answers in product((True, False, None), (True, False), repeat=2):
        passed, confirmed = answers[::2], answers[1::2]
        found = [
            finding(subject, yes, confirmed=sure)
            for subject, yes, sure in zip(NEEDED, passed, confirmed, strict=False)
        ]
        found += all_passed()[2:]
        decision = decide(found)
        if decision.word == "release":
            goes += 1
            assert all(passed) and all(confirmed)
        else:
            assert decision.reasons
    assert goes == 1


def test_what_is_open_is_named_and_what_failed_comes_first() -> None:
    decision = decide([finding("shade", None, mend="read it"), finding("fault", False)], needed=())
    assert decision.word == "hold"
    assert decision.reasons == ("Fault: failed", "Shade: not decided")
    assert decision.sentence == "Hold this lot: fault failed."


def test_what_to_keep_to_is_said_of_a_lot_that_goes() -> None:
    shade = Finding("shade", "Shade", True, True, (), beside="Do not mix it with SL-211.")
    found = [one for one in all_passed() if one.subject != "shade"]
    assert decide([*found, shade]).sentence == "This lot may go. Do not mix it with SL-211."


def test_a_mend_that_two_markets_ask_for_is_said_once() -> None:
    twice = [finding("net content", False, mend="re-wind it"), *all_passed()[1:]]
    decision = decide([twice[0], *twice])
    assert [mend.words for mend in decision.mends] == ["re-wind it"]


def test_one_deed_with_two_numbers_is_said_once_with_the_larger() -> None:
    """Two markets draw samples of their own: 1050 and 960 balls of one winder are one deed."""
    ways = [Mend(f"re-wind about {n}", float(n), deed="re-wind winder 5") for n in (960, 1050)]
    failed = [Finding("net content", "x", False, True, (), (way,)) for way in ways]
    assert decide([*failed, *all_passed()[1:]]).mends == (ways[1],)


def test_what_is_open_and_what_is_missing_are_told_apart() -> None:
    law, other = (Finding("net content", f"Net content, {x}", None, True, ()) for x in "AB")
    decision = decide([law, other, finding("band", True)])
    assert decision.reasons[:2] == (
        "Net content, A: not decided", "Net content, B: not decided",
    )  # fmt: skip
    assert decision.sentence == (
        "Hold this lot: net content is not decided; faults and shade were not looked at."
    )
    one = decide([one for one in all_passed() if one.subject != "shade"])
    assert one.sentence == "Hold this lot: shade was not looked at."
