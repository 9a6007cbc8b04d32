"""The two ways in which EPCIS writes a GS1 key, as URN and as web URI."""

from __future__ import annotations

from urllib.parse import quote

from clew.faults import BadInput, Fault
from clew.languages import say
from clew.mill.gs1_keys import company_prefix_of, gln_of, gtin_of, sscc_of

RESOLVER = "https://id.gs1.org"
"""Where a web URI of a key begins, if the mill has no address of its own."""


def _split(key: str, prefix: str) -> str:
    """Give a key's digits behind its company prefix; ``key`` stands without check digit."""
    company_prefix_of(prefix)
    if not key.startswith(prefix):
        raise BadInput(
            Fault(
                say("a key of another company"),
                say("one that has {prefix}", prefix=prefix),
                value=key,
            )
        )
    return key[len(prefix) :]


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
                say("no GS1 lot or serial"),
                say("1 to 20 letters, digits and signs"),
                value=repr(text[:40]),
            )
        )
    return quote(text, safe="!'()*+,-.:;=_")


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
