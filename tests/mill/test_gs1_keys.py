"""GS1 keys: a wrong digit is found, and what is no key is refused."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clew.faults import BadInput
from clew.mill import gs1_keys as keys

GTIN = "401234501234" + str(keys.check_digit("401234501234"))


@given(st.text("0123456789", min_size=1, max_size=17))
def test_one_wrong_digit_is_always_found(digits: str) -> None:
    whole = digits + str(keys.check_digit(digits))
    for place in range(len(whole)):
        wrong = str((int(whole[place]) + 1) % 10)
        changed = whole[:place] + wrong + whole[place + 1 :]
        assert keys.check_digit(changed[:-1]) != int(changed[-1])


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: keys.check_digit("12a"),
        lambda: keys.check_digit(""),
        lambda: keys.gtin_of("123"),
        lambda: keys.gtin_of(GTIN[:-1] + str((int(GTIN[-1]) + 1) % 10)),
        lambda: keys.sscc_of(GTIN),
        lambda: keys.gln_of(GTIN + "00000"),
        lambda: keys.company_prefix_of("12"),
    ],
)
def test_what_is_no_key_is_refused(wrong: Callable[[], object]) -> None:
    with pytest.raises(BadInput):
        wrong()
