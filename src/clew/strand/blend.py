"""Reading the fibre composition of a yarn: "67 polyester, 33 cotton".

Words that a label leaves open are settled by one rule each, stated here. Plain wool (and the animal
hairs that the law files with it) is read as *carded*: note 1 of Annex IX gives 17.00 % where combed
cannot be told from carded. Plain polyamide or nylon is read as staple, because the yarns of this
room are spun from staple (our rule). Where no such rule exists, as for glass, the reader asks.
"""

from __future__ import annotations

import difflib
import math
import re

from clew.faults import BadInput, Fault
from clew.strand.fibres import FIBRES

SUM_TOLERANCE_PERCENT = 0.01
"""How far shares may miss 100 [%].

Our choice: thirds written to two places (33.33 three times) pass, 99 and 99.9 do not.
"""

_WOOL_WORDS = (
    "wool", "merino", "lambswool", "lamb's wool", "virgin wool", "alpaca", "mohair", "cashmere",
    "angora", "camel", "yak", "llama", "vicuna", "guanaco", "cashgora", "animal hair",
)  # fmt: skip
"""Words filed under wool and animal hair.

Source: Regulation (EU) No 1007/2011, Annexes I and IX (MEMORY).
"""

_ASK: dict[str, tuple[str, ...]] = {
    "glass": ("glass_coarse", "glass_fine"),
    "polyurethane": ("polyurethane_staple", "polyurethane_filament"),
    "horsehair": ("horsehair_combed", "horsehair_carded"),
}

_PERCENT_FIRST = re.compile(r"^(\d{1,4}(?:\.\d{1,6})?)\s*(?:%|percent)?\s*(\D.*)$", re.IGNORECASE)
_PERCENT_LAST = re.compile(r"^(.*\D)\s*\b(\d{1,4}(?:\.\d{1,6})?)\s*(?:%|percent)?$", re.IGNORECASE)
_LONGEST = 500


def _words_to_keys() -> dict[str, str]:
    table: dict[str, str] = {}
    for known in FIBRES:
        spoken = known.key.replace("_", " ")
        for word in (spoken, known.title.replace(",", ""), *known.words):
            table[word] = known.key
    hairs = (*_WOOL_WORDS, *(f"{w} {of}" for w in _WOOL_WORDS for of in ("wool", "hair")))
    for word in hairs:
        table[word] = "wool_carded"
        for way in ("carded", "combed"):
            table[f"{way} {word}"] = table[f"{word} {way}"] = f"wool_{way}"
    for word in ("polyamide", "nylon"):
        table[word] = "polyamide_staple"
        table[f"{word} filament"] = "polyamide_filament"
    return table


_KEY_OF_WORD = _words_to_keys()


def fibre_of_word(word: str) -> str:
    """Find the fibre that a word of a label means.

    Parameters
    ----------
    word : str
        Such as ``cotton``, ``combed wool`` or ``wool_combed``.

    Returns
    -------
    str
        Our fibre key.

    Raises
    ------
    BadInput
        When the word is unknown (with the nearest known ones) or leaves open which fibre is meant.

    Notes
    -----
    Plain wool and animal hair give ``wool_carded``, plain polyamide or nylon ``polyamide_staple``;
    the rules stand at the top of this file.
    """
    plain = " ".join(word.casefold().replace("_", " ").replace("-", " ").split())
    if plain in _ASK:
        expected = " or ".join(_ASK[plain])
        raise BadInput(
            Fault("more than one fibre has this name", expected, key="fibre", value=repr(word))
        )
    found = _KEY_OF_WORD.get(plain)
    if found is None:
        near = difflib.get_close_matches(plain, _KEY_OF_WORD, n=3, cutoff=0.6)
        expected = (
            "perhaps " + ", ".join(near) if near else "a fibre name such as cotton or combed wool"
        )
        raise BadInput(Fault("no such fibre", expected=expected, key="fibre", value=repr(word)))
    return found


def _read_part(part: str, text: str) -> tuple[str, float]:
    match = _PERCENT_FIRST.match(part)
    if match:
        number, word = match.groups()
    else:
        match = _PERCENT_LAST.match(part)
        if match is None:
            raise BadInput(
                Fault(
                    "a fibre without its share",
                    expected="a share and a fibre, such as 67 polyester, 33 cotton",
                    key="blend",
                    value=repr(part if part else text),
                )
            )
        word, number = match.groups()
    share = float(number)
    if not 0.0 < share <= 100.0:
        raise BadInput(
            Fault("a share is more than 0 and at most 100 %", key="blend", value=f"{number} %")
        )
    return fibre_of_word(word), share


def read_blend(text: str) -> tuple[tuple[str, float], ...]:
    """Read the composition of a yarn.

    Parameters
    ----------
    text : str
        Shares in percent and fibres, parted by commas, semicolons, slashes or plus signs, such as
        ``67 polyester, 33 cotton`` or ``wool 75 % / polyamide 25 %``; where the share stands first
        a space will do.

    Returns
    -------
    tuple of (str, float)
        Fibre keys and shares, summing to 1 [1], in the order written.

    Raises
    ------
    BadInput
        When a fibre is unknown, a share is missing or out of range, a fibre is named twice, or the
        shares miss 100 % by more than `SUM_TOLERANCE_PERCENT`; with every fault at once.

    Notes
    -----
    What the shares are shares of (dry or conditioned mass) is not written in them; say it to
    `clew.strand.allowances.blend_allowance`.
    """
    if len(text) > _LONGEST:
        raise BadInput(Fault("a composition of more than 500 characters", key="blend"))
    # "75 wool 25 nylon": a number after a word begins the next fibre where one began the first.
    begins = r"|(?<=[^\W\d])\s+(?=\d)" if re.match(r"\s*\d", text) else ""
    pieces = [" ".join(piece.split()) for piece in re.split(rf"[,;/+]{begins}", text)]
    parts: list[tuple[str, float]] = []
    faults: list[Fault] = []
    for piece in pieces:
        try:
            parts.append(_read_part(piece, text))
        except BadInput as bad:
            faults.extend(bad.faults)
    if faults:
        raise BadInput(faults)
    keys = [key for key, _ in parts]
    for key in dict.fromkeys(key for key in keys if keys.count(key) > 1):
        faults.append(
            Fault("a fibre named twice", expected="each fibre once", key="blend", value=key)
        )
    total = math.fsum(share for _, share in parts)
    if abs(total - 100.0) > SUM_TOLERANCE_PERCENT * (1.0 + 1e-9):
        faults.append(
            Fault("shares do not sum to 100 %", expected="100 %", key="blend", value=f"{total:g} %")
        )
    if faults:
        raise BadInput(faults)
    return tuple((key, share / total) for key, share in parts)
