"""GS1 check digits against keys that GS1 offices print."""

from __future__ import annotations

import pytest

from clew.mill.gs1_keys import check_digit, gtin_of, is_key, sscc_of


@pytest.mark.outside(
    document="GS1 Hong Kong and GS1 India, pages on check digits",
    edition="as on the web in 2026",
    section="worked examples",
    mark="READ",
)
@pytest.mark.parametrize(
    ("digits", "check"),
    [("629104150021", 3), ("890400021003", 7), ("03600024145", 7), ("01010101010", 5)],
)
def test_check_digits_as_printed(digits: str, check: int) -> None:
    assert check_digit(digits) == check
    assert is_key(f"{digits}{check}", (12, 13))


@pytest.mark.outside(
    document="EAN-13 and EAN-8 in common use",
    edition="-",
    section="well-known examples",
    mark="MEMORY",
)
@pytest.mark.parametrize(("digits", "check"), [("400638133393", 1), ("9638507", 4)])
def test_check_digits_as_known(digits: str, check: int) -> None:
    assert check_digit(digits) == check
    assert gtin_of(f"{digits}{check}").endswith(f"{digits}{check}")


@pytest.mark.outside(
    document="GS1 General Specifications",
    edition="as cited by gs1hk.org",
    section="SSCC: 17 digits, the first with weight 3",
    mark="READ",
)
def test_an_sscc_begins_with_weight_three() -> None:
    assert check_digit("1" + "0" * 16) == 7
    assert check_digit("01" + "0" * 15) == 9
    assert sscc_of("1" + "0" * 16 + "7")
