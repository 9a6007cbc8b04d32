"""Numbers as a language writes them: its decimal mark, its minus, its thousands."""

from __future__ import annotations

import string
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from clew.languages.told import Told, tell

if TYPE_CHECKING:
    from clew.languages.tongues import Tongue


class Figure(Told):
    """A printed number, perhaps with its unit: nothing to translate but its marks."""

    __slots__ = ()

    def tell(self, tongue: Tongue) -> str:
        """Write it with the language's marks."""
        return tongue.mark(str(self))

    def each(self, change: Any) -> Figure:
        """Change the text."""
        return Figure(change(str(self)))


def figure(text: str) -> str:
    """Say that a text is a printed number with a decimal point, so that its mark can change.

    Parameters
    ----------
    text : str
        A number, perhaps with its unit: ``101.3 g``. No words: those are said with `say`.

    Returns
    -------
    str
        The same text.
    """
    return Figure(text)


class NumbersIn(string.Formatter):
    """Fills the places of a message for one language; for none, in English.

    Parameters
    ----------
    tongue : Tongue or None
        The language.
    """

    def __init__(self, tongue: Tongue | None) -> None:
        self._tongue = tongue

    def get_value(self, key: int | str, args: Any, kwargs: Mapping[str, Any]) -> Any:
        """Find what fills a place, by its name alone."""
        del args
        return kwargs[str(key)]

    def format_field(self, value: Any, format_spec: str) -> str:
        """Write one value; only a number printed with a format has marks to change."""
        tongue = self._tongue
        if isinstance(value, str):
            told = str(value) if tongue is None else tell(value, tongue)
            return format(told, format_spec)
        text = format(value, format_spec)
        number = isinstance(value, int | float) or hasattr(value, "dtype")
        return text if tongue is None or not number else tongue.mark(text)
