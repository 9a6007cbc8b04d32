"""The languages there are, and the one that is spoken now."""

from __future__ import annotations

import gettext
import importlib.resources
import io
import math
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any

from clew.languages.marks import NumbersIn
from clew.languages.told import tell

DEFAULT = "en"
"""The language everything is written in first."""

LANGUAGES: dict[str, str] = {"en": "English", "de": "Deutsch", "fr": "Français", "es": "Español"}
"""Code of BCP 47 to the language's own name, in the order a reader is offered them."""


class Tongue:
    """One language: its messages, its marks, its dates.

    Parameters
    ----------
    code : str
        Code of BCP 47.
    messages : gettext.NullTranslations
        Its catalogue.

    Attributes
    ----------
    code : str
        Code of BCP 47.
    decimal, group : str
        Decimal mark and mark between thousands, of the Unicode CLDR.
    is_first : bool
        Whether it is the language that everything is written in first.
    lowers : bool
        Whether a text put inside a sentence may begin small whatever its first word is; German
        writes nouns large.
    """

    def __init__(self, code: str, messages: gettext.NullTranslations) -> None:
        self.code = code
        self.is_first = code == DEFAULT
        self.lowers = code != "de"
        self._messages = messages
        self._numbers = NumbersIn(None if code == DEFAULT else self)
        self.decimal, self.group = (".", ",") if code == DEFAULT else _marks(code)

    def message(self, english: str) -> str:
        """Find the message of an English one; the English one where there is none."""
        return self._messages.gettext(english)

    def plural(self, one: str, many: str, count: float) -> str:
        """Find the message for so many things; of one and a half French says one, others many."""
        if not math.isfinite(count):
            return self._messages.ngettext(one, many, 2)
        if count == int(count):
            return self._messages.ngettext(one, many, int(count))
        from babel import Locale

        alone = Locale.parse(self.code).plural_form(Decimal(str(count))) == "one"
        return self._messages.ngettext(one, many, 1 if alone else 2)

    def fill(self, pattern: str, fields: Mapping[str, Any]) -> str:
        """Fill the places of a message."""
        return self._numbers.vformat(pattern, (), fields)

    def mark(self, text: str) -> str:
        """Write the marks of a printed number as the language does."""
        if self.decimal == ".":
            return text
        swapped = {".": self.decimal, ",": self.group}
        return "".join(swapped.get(sign, sign) for sign in text)

    def date(self, when: date, skeleton: str) -> str:
        """Write a date by a skeleton of the Unicode CLDR, such as ``yMMdd``, in its own order."""
        from babel.dates import format_skeleton

        return format_skeleton(skeleton, when, locale=self.code)


def _marks(code: str) -> tuple[str, str]:
    from babel.numbers import get_decimal_symbol, get_group_symbol

    return get_decimal_symbol(code), get_group_symbol(code)


def read_catalogue(code: str) -> gettext.NullTranslations:
    """Read the catalogue of a language from the text that translators write.

    Parameters
    ----------
    code : str
        One of `LANGUAGES`.

    Returns
    -------
    gettext.NullTranslations
        Its messages; none for English. Messages marked as unsure are left out.
    """
    if code == DEFAULT:
        return gettext.NullTranslations()
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    place = importlib.resources.files("clew.languages") / "catalogues" / f"{code}.po"
    compiled = io.BytesIO()
    write_mo(compiled, read_po(io.BytesIO(place.read_bytes()), locale=code))
    compiled.seek(0)
    return gettext.GNUTranslations(compiled)


@cache
def tongue_of(code: str) -> Tongue:
    """Give a language by its code.

    Parameters
    ----------
    code : str
        One of `LANGUAGES`.

    Returns
    -------
    Tongue
        The language, read once.

    Raises
    ------
    KeyError
        When it is none of `LANGUAGES`.
    """
    if code not in LANGUAGES:
        raise KeyError(code)
    return Tongue(code, read_catalogue(code))


_SPOKEN: ContextVar[Tongue | None] = ContextVar("clew_spoken", default=None)


def tongue() -> Tongue:
    """Give the language that is spoken now; English where nobody chose."""
    return _SPOKEN.get() or tongue_of(DEFAULT)


@contextmanager
def speaking(language: str | Tongue) -> Iterator[Tongue]:
    """Speak a language for a while.

    Parameters
    ----------
    language : str or Tongue
        Its code, or the language itself.

    Yields
    ------
    Tongue
        The language.
    """
    chosen = tongue_of(language) if isinstance(language, str) else language
    before = _SPOKEN.set(chosen)
    try:
        yield chosen
    finally:
        _SPOKEN.reset(before)


def spoken(value: Any) -> Any:
    """Say a text in the language that is spoken now; anything but a told text stays as it is."""
    return tell(value, tongue()) if isinstance(value, str) else value
