"""GS1 keys: check digits, and the two ways in which EPCIS writes a key, as URN and as web URI.

A key begins with a company prefix that GS1 gives to the mill; Clew makes none up.
"""

from __future__ import annotations

import re
from urllib.parse import quote

from clew.faults import BadInput, Fault

GTIN_LENGTHS = (8, 12, 13, 14)
SSCC_LENGTH = 18
GLN_LENGTH = 13
PREFIX = re.compile(r"\d{6,12}", re.ASCII)
RESOLVER = "https://id.gs1.org"
"""Where a web URI of a key begins, if the mill has no address of its own."""
_URN_TEXT = re.compile(r"[A-Za-z0-9!'()*+,\-.:;=_]{1,20}")


def check_digit(digits: str) -> int:
    """Work out the check digit of a GS1 key.

    Parameters
    ----------
    digits : str
        The key without it.

    Returns
    -------
    int
        0 to 9.

    Raises
    ------
    BadInput
        When there are no digits.

    Notes
    -----
    Weights 3 and 1 by turns from the right; what the sum lacks to the next ten.
    Source: GS1 General Specifications, 7.9. READ at gs1hk.org.
    """
    if not re.fullmatch(r"[0-9]{1,40}", digits):
        raise BadInput(Fault("no digits", "0 to 9 only", value=repr(digits[:40])))
    total = sum(
        int(one) * (3 if place % 2 == 0 else 1) for place, one in enumerate(reversed(digits))
    )
    return -total % 10


def is_key(text: str, lengths: tuple[int, ...]) -> bool:
    """Say whether a text is a key of one of these lengths, its check digit right."""
    usable = re.fullmatch(r"[0-9]{2,40}", text) is not None and len(text) in lengths
    return usable and check_digit(text[:-1]) == int(text[-1])


def gtin_of(text: str) -> str:
    """Read a GTIN of 8, 12, 13 or 14 digits, and give it in 14.

    Raises
    ------
    BadInput
        When it is none, or its check digit is wrong.
    """
    _checked(text, "GTIN", GTIN_LENGTHS)
    return text.zfill(14)


def sscc_of(text: str) -> str:
    """Read an SSCC of 18 digits.

    Raises
    ------
    BadInput
        When it is none, or its check digit is wrong.
    """
    return _checked(text, "SSCC", (SSCC_LENGTH,))


def gln_of(text: str) -> str:
    """Read a GLN of 13 digits.

    Raises
    ------
    BadInput
        When it is none, or its check digit is wrong.
    """
    return _checked(text, "GLN", (GLN_LENGTH,))


def _checked(text: str, what: str, lengths: tuple[int, ...]) -> str:
    digits = " or ".join(map(str, lengths))
    if re.fullmatch(r"[0-9]+", text) is None or len(text) not in lengths:
        raise BadInput(Fault(f"no {what}", f"{digits} digits", value=repr(text[:40])))
    if not is_key(text, lengths):
        raise BadInput(
            Fault(f"a {what} whose check digit is wrong", str(check_digit(text[:-1])), value=text)
        )
    return text


def company_prefix_of(text: str) -> str:
    """Read a company prefix of 6 to 12 digits.

    Raises
    ------
    BadInput
        When it is none.
    """
    if PREFIX.fullmatch(text) is None:
        raise BadInput(Fault("no GS1 company prefix", "6 to 12 digits", value=repr(text[:40])))
    return text


def _split(key: str, prefix: str) -> str:
    """Give a key's digits behind its company prefix; ``key`` stands without check digit."""
    company_prefix_of(prefix)
    if not key.startswith(prefix):
        raise BadInput(Fault("a key of another company", f"one that has {prefix}", value=key))
    return key[len(prefix) :]


def sgtin_urn(gtin: str, serial: str, prefix: str) -> str:
    """Write one thing of a GTIN: ``urn:epc:id:sgtin:prefix.item.serial``."""
    whole = gtin_of(gtin)
    item = whole[0] + _split(whole[1:-1], prefix)
    return f"urn:epc:id:sgtin:{prefix}.{item}.{_urn_text(serial)}"


def lgtin_urn(gtin: str, lot: str, prefix: str) -> str:
    """Write a lot of a GTIN: ``urn:epc:class:lgtin:prefix.item.lot``."""
    whole = gtin_of(gtin)
    item = whole[0] + _split(whole[1:-1], prefix)
    return f"urn:epc:class:lgtin:{prefix}.{item}.{_urn_text(lot)}"


def sscc_urn(sscc: str, prefix: str) -> str:
    """Write a case or pallet: ``urn:epc:id:sscc:prefix.serial``."""
    whole = sscc_of(sscc)
    return f"urn:epc:id:sscc:{prefix}.{whole[0]}{_split(whole[1:-1], prefix)}"


def sgln_urn(gln: str, prefix: str, extension: str = "0") -> str:
    """Write a place: ``urn:epc:id:sgln:prefix.place.extension``; 0 is the place itself."""
    whole = gln_of(gln)
    return f"urn:epc:id:sgln:{prefix}.{_split(whole[:-1], prefix)}.{_urn_text(extension)}"


def _urn_text(text: str) -> str:
    """A lot, serial or extension within a URN: 1 to 20 characters, some as their codes."""
    if not 1 <= len(text) <= 20 or not text.isascii() or not text.isprintable() or " " in text:
        raise BadInput(
            Fault(
                "no GS1 lot or serial", "1 to 20 letters, digits and signs", value=repr(text[:40])
            )
        )
    return quote(text, safe="!'()*+,-.:;=_")


def sgtin_link(gtin: str, serial: str, resolver: str = RESOLVER) -> str:
    """Write one thing of a GTIN as a web URI: ``.../01/gtin/21/serial``."""
    return f"{resolver}/01/{gtin_of(gtin)}/21/{_link_text(serial)}"


def lgtin_link(gtin: str, lot: str, resolver: str = RESOLVER) -> str:
    """Write a lot of a GTIN as a web URI: ``.../01/gtin/10/lot``."""
    return f"{resolver}/01/{gtin_of(gtin)}/10/{_link_text(lot)}"


def sscc_link(sscc: str, resolver: str = RESOLVER) -> str:
    """Write a case or pallet as a web URI: ``.../00/sscc``."""
    return f"{resolver}/00/{sscc_of(sscc)}"


def sgln_link(gln: str, extension: str = "", resolver: str = RESOLVER) -> str:
    """Write a place as a web URI: ``.../414/gln``, with ``/254/extension`` where it has one."""
    behind = f"/254/{_link_text(extension)}" if extension else ""
    return f"{resolver}/414/{gln_of(gln)}{behind}"


def _link_text(text: str) -> str:
    _urn_text(text)
    return quote(text, safe="")
