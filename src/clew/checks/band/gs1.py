"""GS1 element strings: application identifiers with their data, written, read back, shown.

Only the identifiers that a case or a pallet of balls carries. A reader gives the separator FNC1
back as the character GS; none stands after data of a predefined length, nor at the end.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from clew.faults import BadInput, Fault
from clew.mill.gs1_keys import GTIN_LENGTHS, SSCC_LENGTH, check_digit, company_prefix_of, is_key

GS = "\x1d"
"""What a reader sends for FNC1 as separator."""

MOST_CHARACTERS = 48
"""Most characters of one GS1-128 symbol, identifiers and separators included.

Source: GS1 General Specifications, release 18, 5.4.4.3. READ.
"""

_SET_82 = re.compile(r"""[!"%&'()*+,\-./0-9:;<=>?A-Z_a-z]*""")
_READER = re.compile(r"^\](?:C1|e0|d2|Q3)")


@dataclass(frozen=True, slots=True)
class Identifier:
    """One application identifier.

    Attributes
    ----------
    ai : str
        Its digits; an ``n`` at the end stands for the places after the point.
    words : str
        What its data is.
    least, most : int
        Characters of the data [-].
    digits : bool
        Whether the data is digits only.
    predefined : bool
        Whether its length is predefined: no separator follows.
    """

    ai: str
    words: str
    least: int
    most: int
    digits: bool
    predefined: bool


IDENTIFIERS: tuple[Identifier, ...] = (
    Identifier("00", "SSCC", 18, 18, True, True),
    Identifier("01", "GTIN", 14, 14, True, True),
    Identifier("02", "GTIN of what is inside", 14, 14, True, True),
    Identifier("10", "batch or lot", 1, 20, False, False),
    Identifier("310n", "net mass, kg", 6, 6, True, True),
    Identifier("330n", "gross mass, kg", 6, 6, True, True),
    Identifier("37", "count of what is inside", 1, 8, True, False),
    Identifier("400", "customer's order number", 1, 30, False, False),
)
"""The identifiers Clew writes and reads.

Source: GS1 Barcode Syntax Dictionary, gs1-syntax-dictionary.txt of GS1 AISBL: format of each, and
which need no separator. READ.
"""


@dataclass(frozen=True, slots=True)
class Element:
    """One element string.

    Attributes
    ----------
    ai : str
        Application identifier, all its digits.
    data : str
        Its data.
    """

    ai: str
    data: str


def identifier_of(ai: str) -> Identifier:
    """Find an application identifier.

    Raises
    ------
    BadInput
        When Clew does not know it.
    """
    for one in IDENTIFIERS:
        stem = one.ai.rstrip("n")
        if ai == stem and stem == one.ai:
            return one
        if stem != one.ai and re.fullmatch(rf"{stem}[0-5]", ai):
            return one
    known = ", ".join(one.ai for one in IDENTIFIERS)
    raise BadInput(Fault("no application identifier known here", f"one of {known}", value=ai[:8]))


def in_set_82(text: str) -> bool:
    """Say whether every character can stand in alphanumeric GS1 data.

    Source: GS1 Barcode Syntax Dictionary, lint_cset82.c: the 82 characters. READ.
    """
    return _SET_82.fullmatch(text) is not None


def batch_fits(lot: str) -> bool:
    """Say whether a lot's name can be AI (10): 1 to 20 characters of set 82."""
    return 1 <= len(lot) <= 20 and in_set_82(lot)


def element(ai: str, data: str) -> Element:
    """Make one element string.

    Parameters
    ----------
    ai : str
        Application identifier.
    data : str
        Its data; keys with their check digit.

    Returns
    -------
    Element
        As given.

    Raises
    ------
    BadInput
        When the identifier is not known, or the data is not of its form.
    """
    form = identifier_of(ai)
    length = f"{form.most}" if form.least == form.most else f"{form.least} to {form.most}"
    kind = "digits" if form.digits else "letters, digits and common signs, no space"
    right = re.fullmatch(r"[0-9]*", data) if form.digits else _SET_82.fullmatch(data)
    if right is None or not form.least <= len(data) <= form.most:
        raise BadInput(Fault(f"no {form.words} ({ai})", f"{length} {kind}", value=repr(data[:40])))
    lengths = {"00": (SSCC_LENGTH,), "01": (14,), "02": (14,)}.get(ai)
    if lengths is not None and not is_key(data, lengths):
        raise BadInput(
            Fault(
                f"a {form.words} ({ai}) whose check digit is wrong",
                str(check_digit(data[:-1])),
                value=data,
            )
        )
    return Element(ai, data)


def element_string(elements: Sequence[Element]) -> str:
    """Write elements one after the other, with the separators a reader sends.

    Parameters
    ----------
    elements : sequence of Element
        In the order they stand.

    Returns
    -------
    str
        Without the first FNC1; GS between data of no predefined length and what follows.

    Raises
    ------
    BadInput
        When one is not of its form, an identifier stands twice, or one lacks its companion.

    Notes
    -----
    A count (37) goes with the GTIN of what is inside (02), and each of them with the other: never
    with (01), whose number tells the count itself. What else must stand on the unit, such as its
    SSCC (00) beside a count, may be in another of its symbols. Source: GS1 Barcode Syntax
    Dictionary, attributes ``req`` and ``ex`` of 01, 02 and 37. READ.
    """
    checked = [element(one.ai, one.data) for one in elements]
    if not checked:
        raise BadInput(Fault("no element string", "one or more"))
    have = [one.ai for one in checked]
    twice = sorted({ai for ai in have if have.count(ai) > 1})
    if twice:
        raise BadInput(Fault(f"({twice[0]}) stands twice", "each identifier once"))
    for ai, needs in (("02", "37"), ("37", "02")):
        if ai in have and needs not in have:
            raise BadInput(Fault(f"({ai}) without ({needs})", f"({needs}) beside it"))
    if "01" in have and "02" in have:
        raise BadInput(Fault("(01) beside (02)", "one of the two"))
    parts: list[str] = []
    for place, one in enumerate(checked):
        last = place == len(checked) - 1
        ends = "" if last or identifier_of(one.ai).predefined else GS
        parts.append(f"{one.ai}{one.data}{ends}")
    return "".join(parts)


def read_elements(text: str) -> tuple[Element, ...]:
    """Read what a reader sent.

    Parameters
    ----------
    text : str
        Element string, with or without the reader's own prefix such as ``]C1``.

    Returns
    -------
    tuple of Element
        In the order they stood.

    Raises
    ------
    BadInput
        When it is not made of identifiers known here, or one has data of a wrong form.
    """
    rest = _READER.sub("", text).removeprefix(GS)
    found: list[Element] = []
    while rest:
        ai = next((rest[:n] for n in (2, 3, 4) if _is_known(rest[:n])), "")
        form = identifier_of(ai or rest[:4])
        after = rest[len(ai) :]
        if form.predefined:
            data, rest = after[: form.most], after[form.most :].removeprefix(GS)
        else:
            data, _, rest = after.partition(GS)
        found.append(element(ai, data))
    if not found:
        raise BadInput(Fault("no element string", "one or more", value=repr(text[:40])))
    return tuple(found)


def _is_known(ai: str) -> bool:
    try:
        identifier_of(ai)
    except BadInput:
        return False
    return True


def in_brackets(elements: Iterable[Element]) -> str:
    """Show elements to the eye: each identifier in brackets, which are not in the symbol."""
    return "".join(f"({one.ai}){one.data}" for one in elements)


def from_brackets(text: str) -> tuple[Element, ...]:
    """Read elements as shown to the eye, such as ``(01)09521234001017(10)SL-207``.

    Parameters
    ----------
    text : str
        Identifiers in brackets. Data may hold brackets, but not round a known identifier.

    Returns
    -------
    tuple of Element
        In the order they stood.

    Raises
    ------
    BadInput
        When it does not begin with an identifier, or one has data of a wrong form.
    """
    marks = [one for one in re.finditer(r"\((\d{2,4})\)", text) if _is_known(one[1])]
    if not marks or marks[0].start() != 0:
        raise BadInput(
            Fault("no element string", "an identifier in brackets first", value=repr(text[:40]))
        )
    ends = [one.start() for one in marks[1:]] + [len(text)]
    return tuple(
        element(one[1], text[one.end() : end]) for one, end in zip(marks, ends, strict=True)
    )


def characters_of(elements: Sequence[Element]) -> int:
    """Count the characters of one GS1-128 symbol, separators included."""
    return len(element_string(elements))


def sscc_for(prefix: str, serial: int, extension: int = 0) -> str:
    """Make the SSCC of a logistic unit.

    Parameters
    ----------
    prefix : str
        The mill's GS1 company prefix, 6 to 12 digits.
    serial : int
        The unit's own number, never given again within a year.
    extension : int
        Extension digit, 0 to 9.

    Returns
    -------
    str
        18 digits: extension, prefix, serial filled with noughts, check digit.

    Raises
    ------
    BadInput
        When a number does not fit.

    Notes
    -----
    Source: GS1-128 INFO, SSCC-18: extension digit, then prefix and serial of 16 digits together,
    not used again for twelve months; extension 0 to 9 by GS1 Australia. READ; check digit READ.
    """
    company_prefix_of(prefix)
    places = 16 - len(prefix)
    if not 0 <= extension <= 9:
        raise BadInput(Fault("no extension digit", "0 to 9", value=str(extension)))
    if not 0 <= serial < 10**places:
        raise BadInput(
            Fault("no serial of an SSCC", f"0 to {10**places - 1}", value=str(serial)[:40])
        )
    digits = f"{extension}{prefix}{serial:0{places}d}"
    return f"{digits}{check_digit(digits)}"


def case_gtin_for(ball_gtin: str, indicator: int = 1) -> str:
    """Make a case's GTIN from its ball's.

    Parameters
    ----------
    ball_gtin : str
        8, 12 or 13 digits.
    indicator : int
        1 to 8: which packing of the same ball.

    Returns
    -------
    str
        14 digits, with a check digit of its own.

    Raises
    ------
    BadInput
        When the ball's number is none, or the indicator is out of range.

    Notes
    -----
    Source: GS1 General Specifications, release 18, 2.1.8.2: 1 to 8, and how each length is filled
    up. READ. That 9 is for varying measure: barcode-it.co.uk, READ.
    """
    if len(ball_gtin) == 14 or not is_key(ball_gtin, GTIN_LENGTHS):
        raise BadInput(
            Fault("no GTIN of a ball", "8, 12 or 13 digits with their check digit",
                  value=repr(ball_gtin[:40]))
        )  # fmt: skip
    if not 1 <= indicator <= 8:
        raise BadInput(Fault("no indicator of a case", "1 to 8", value=str(indicator)))
    digits = f"{indicator}{ball_gtin.zfill(13)[:-1]}"
    return f"{digits}{check_digit(digits)}"
