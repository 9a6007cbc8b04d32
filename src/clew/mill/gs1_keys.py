"""GS1 keys: GTIN, SSCC, GLN and company prefix, with their check digits.

A key begins with a company prefix that GS1 gives to the mill; Clew makes none up.
"""

from __future__ import annotations

import re

from clew.faults import BadInput, Fault
from clew.languages import say

GTIN_LENGTHS = (8, 12, 13, 14)
SSCC_LENGTH = 18
GLN_LENGTH = 13
PREFIX = re.compile(r"\d{6,12}", re.ASCII)


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
        raise BadInput(Fault(say("no digits"), say("0 to 9 only"), value=repr(digits[:40])))
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
    if re.fullmatch(r"[0-9]+", text) is None or len(text) not in lengths:
        raise BadInput(
            Fault(
                say("no {key}", key=what),
                _digits(lengths),
                value=repr(text[:40]),
            )
        )
    if not is_key(text, lengths):
        raise BadInput(
            Fault(
                say("a {key} whose check digit is wrong", key=what),
                str(check_digit(text[:-1])),
                value=text,
            )
        )
    return text


def _digits(lengths: tuple[int, ...]) -> str:
    if lengths == GTIN_LENGTHS:
        return say("8 or 12 or 13 or 14 digits")
    return say("{n} digits", n=lengths[0])


def company_prefix_of(text: str) -> str:
    """Read a company prefix of 6 to 12 digits.

    Raises
    ------
    BadInput
        When it is none.
    """
    if PREFIX.fullmatch(text) is None:
        raise BadInput(
            Fault(say("no GS1 company prefix"), say("6 to 12 digits"), value=repr(text[:40]))
        )
    return text
