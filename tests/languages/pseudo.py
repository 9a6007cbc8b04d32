"""A language nobody speaks: every message stands in brackets, so that others show."""

from __future__ import annotations

import gettext
import re
from datetime import date

from clew.languages import Tongue

CODE = "de"
"""It stands in German's place where a code is needed."""


class Bracketed(Tongue):
    """Says every message between brackets, and writes numbers with a comma."""

    def __init__(self) -> None:
        super().__init__(CODE, gettext.NullTranslations())

    def message(self, english: str) -> str:
        return f"⟦{english}⟧"

    def plural(self, one: str, many: str, count: float) -> str:
        return f"⟦{one if count == 1 else many}⟧"

    def mark(self, text: str) -> str:
        return f"⟦{super().mark(text)}⟧"

    def date(self, when: date, skeleton: str) -> str:
        return f"⟦{super().date(when, skeleton)}⟧"


def outside_brackets(text: str) -> str:
    """Leave out what is said; what remains is what the program wrote past the catalogues."""
    left, depth = [], 0
    for sign in text:
        depth += sign == "⟦"
        if depth == 0:
            left.append(sign)
        depth -= sign == "⟧"
    return "".join(left)


_WORD = re.compile(r"[A-Za-zÀ-ÿ]{3,}")


def unsaid(texts: list[str], names: set[str]) -> list[str]:
    """Find texts with words that no message holds.

    Parameters
    ----------
    texts : list of str
        Texts as a reader of the bracketed language sees them.
    names : set of str
        Words that are nobody's to translate: names in the mill file, units.

    Returns
    -------
    list of str
        The texts that hold such words, without what was said.
    """
    found = []
    for rest in outside_brackets("\x00".join(texts)).split("\x00"):
        if any(word not in names for word in _WORD.findall(rest)):
            found.append(" ".join(rest.split()))
    return found
