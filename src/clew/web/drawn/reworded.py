"""Texts that a page changes after they were told, in whichever language they are said again."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from clew.languages import Told, Tongue
from clew.languages.told import tell

_Change = Callable[[str, Tongue | None], str]


class Reworded(Told):
    """A text that is changed after it was told, in whichever language."""

    __slots__ = ()

    @classmethod
    def of(cls, words: str, change: _Change) -> Reworded:
        """Change a text."""
        return cls(change(str(words), None), words, change)

    def tell(self, tongue: Tongue) -> str:
        """Say it, and change what was said."""
        words, change = self._made_of
        return str(change(tell(words, tongue), tongue if isinstance(words, Told) else None))

    def each(self, change: Any) -> Reworded:
        """Change what it is made of."""
        words, own = self._made_of
        return Reworded.of(change(words), own)


def reworded(words: str, change: Callable[[str], str]) -> str:
    """Change a text now and whenever it is said again.

    Parameters
    ----------
    words : str
        The text.
    change : callable
        Takes and gives a plain text, of any language.

    Returns
    -------
    str
        The changed text.
    """
    return Reworded.of(words, lambda text, _: change(text))
