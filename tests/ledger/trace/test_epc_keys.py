"""EPC keys: both ways of writing hold the key whole, and what cannot be written is refused."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from clew.faults import BadInput
from clew.ledger.trace import epc_keys as keys
from clew.mill.gs1_keys import check_digit

PREFIX = "4012345"
GTIN = PREFIX + "01234" + str(check_digit(PREFIX + "01234"))
SSCC = "3" + PREFIX + "123456789" + str(check_digit("3" + PREFIX + "123456789"))
GLN = PREFIX + "00001" + str(check_digit(PREFIX + "00001"))


def test_keys_are_written_both_ways() -> None:
    assert keys.lgtin_urn(GTIN, "SL-207", PREFIX) == f"urn:epc:class:lgtin:{PREFIX}.001234.SL-207"
    assert keys.lgtin_link(GTIN, "SL-207") == f"https://id.gs1.org/01/0{GTIN}/10/SL-207"
    assert keys.lgtin_link(GTIN, "a/b") == f"https://id.gs1.org/01/0{GTIN}/10/a%2Fb"
    assert keys.sscc_urn(SSCC, PREFIX) == f"urn:epc:id:sscc:{PREFIX}.3123456789"
    assert keys.sscc_link(SSCC) == f"https://id.gs1.org/00/{SSCC}"
    assert keys.sgln_urn(GLN, PREFIX, "L1") == f"urn:epc:id:sgln:{PREFIX}.00001.L1"
    assert keys.sgln_link(GLN, "L1") == f"https://id.gs1.org/414/{GLN}/254/L1"
    assert keys.sgln_link(GLN) == f"https://id.gs1.org/414/{GLN}"


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: keys.sscc_urn(GTIN, PREFIX),
        lambda: keys.sgln_urn(SSCC, PREFIX),
        lambda: keys.lgtin_urn(GTIN, "lot with a blank", PREFIX),
        lambda: keys.lgtin_urn(GTIN, "x" * 21, PREFIX),
        lambda: keys.lgtin_urn(GTIN, "SL-207", "9999999"),
    ],
)
def test_what_is_no_key_is_refused(wrong: Callable[[], object]) -> None:
    with pytest.raises(BadInput):
        wrong()
