"""Names of packages, as they are typed, scanned and counted on."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.ledger.shipping.bench import tell

from clew.checks.band.gs1 import sscc_for
from clew.ledger.shipping.names import next_delivery, next_package, package_said
from clew.ledger.store.ledger import Ledger
from clew.mill.model import Mill

PREFIXES = st.integers(6, 12).flatmap(lambda n: st.text("0123456789", min_size=n, max_size=n))


@given(PREFIXES, st.data())
def test_an_sscc_is_the_same_however_it_is_said(prefix: str, data: st.DataObject) -> None:
    serial = data.draw(st.integers(0, 10 ** (16 - len(prefix)) - 1))
    sscc = sscc_for(prefix, serial, data.draw(st.integers(0, 9)))
    spaced = " ".join(sscc[place : place + 3] for place in range(0, 18, 3))
    for said in (sscc, f"(00){sscc}", f"00{sscc}", f" (00) {spaced} "):
        assert package_said(said) == sscc
    wrong = sscc[:-1] + str((int(sscc[-1]) + 1) % 10)
    assert package_said(wrong) == wrong and package_said(f"00{wrong}") == f"00{wrong}"


@pytest.mark.parametrize("prefix", ["952123", "9521234", "952123456789"])
def test_serials_rise_by_one_over_every_extension_digit(
    ledger: Ledger, demo_mill: Mill, prefix: str
) -> None:
    info = demo_mill.mill.model_copy(update={"gs1_prefix": prefix})
    mill = demo_mill.model_copy(update={"mill": info})
    room = 10 ** (16 - len(prefix))
    for place, serial in enumerate((5, room - 1, room, 7 * room + 3, 10 * room - 2)):
        tell(ledger, "case closed", ledger.clock(), f"k{place}", lot="SL-207", balls=1,
             package=sscc_for(prefix, serial % room, serial // room))  # fmt: skip
        with ledger.reading() as connection:
            found = next_package(connection, mill, "C")
        following = serial + 1
        assert found == sscc_for(prefix, following % room, following // room)


def test_what_only_looks_like_a_name_is_not_counted(ledger: Ledger, demo_mill: Mill) -> None:
    info = demo_mill.mill.model_copy(update={"gs1_prefix": None})
    mill = demo_mill.model_copy(update={"mill": info})
    for place, name in enumerate(("C-12", "C-0007x", "c-0099", "C-0003", "PC-0500")):
        tell(ledger, "case closed", ledger.clock(), f"k{place}", lot="SL-207", balls=1,
             package=name)  # fmt: skip
    for place, delivery in enumerate(("D-0004", "D-90", "AD-0077", "note 12")):
        tell(ledger, "shipped", ledger.clock(), f"s{place}", package="C-0003", customer="T",
             delivery=delivery)  # fmt: skip
    with ledger.reading() as connection:
        assert next_package(connection, mill, "C") == "C-0004"
        assert next_delivery(connection) == "D-0005"
