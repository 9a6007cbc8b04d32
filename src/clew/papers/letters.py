"""Which characters the letters inside the PDF have, and how the others are written.

A card is printed with embedded letters only, so that it comes out alike everywhere. They hold
Latin, Greek, Cyrillic, Hebrew and Arabic; what they lack is written by its code, never left out.
"""

from __future__ import annotations

import functools
import re

MOST_CODES = 8
"""Characters of one text written by their codes; where more are missing, each becomes a box."""
_BOX = "□"
_BEYOND = 0x2E80
"""From here on (Chinese, Japanese, Korean, emoji) the embedded letters have as good as nothing."""

_SPACES = {0xA0: " ", 0x202F: " "}
"""Spaces at which no line breaks: French sets them before a colon, every language in a number."""

_LONG_WORD = re.compile(r"\S{25,}")
_PIECE = re.compile(r".{1,12}")
_MAY_BREAK = "\u200b"

_PROBE = b"""
#set document(title: "probe")
#set text(lang: "en", font: ("Libertinus Serif", "DejaVu Sans Mono", "New Computer Modern Math"))
#sys.inputs.text
#strong(sys.inputs.text)
#text(font: "DejaVu Sans Mono", weight: "bold", sys.inputs.text)
"""


def printable(text: str) -> str:
    """Write a text so that every character of it can be printed and no line runs off the sheet.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        The same text; characters that the embedded letters lack stand as ``[U+85CD]``, or as boxes
        where there are more than eight of them. A word of more than 24 characters may be broken.
    """
    written = text
    if not _is_plain(text):
        written = _stood_in(text, {one for one in text if not _can_be_printed(one)})
        if not _in_embedded_letters(written):  # an accent whose letter is of another alphabet
            written = _stood_in(text, {one for one in text if not _is_plain(one)})
    return _LONG_WORD.sub(lambda found: _MAY_BREAK.join(_PIECE.findall(found[0])), written)


def _is_plain(text: str) -> bool:
    text = text.translate(_SPACES)
    return text.isascii() and text.isprintable()


def _stood_in(text: str, missing: set[str]) -> str:
    by_code = sum(character in missing for character in text) <= MOST_CODES
    stand_in = {one: f"[U+{ord(one):04X}]" if by_code else _BOX for one in missing}
    return "".join(stand_in.get(character, character) for character in text)


def _can_be_printed(character: str) -> bool:
    if _is_plain(character):
        return True
    return ord(character) < _BEYOND and character.isprintable() and _in_embedded_letters(character)


@functools.lru_cache(maxsize=4096)
def _in_embedded_letters(text: str) -> bool:
    """Try the text: setting it to PDF/UA-1 fails when there is no letter for some part of it."""
    import typst

    try:
        typst.compile(
            _PROBE, sys_inputs={"text": text}, ignore_system_fonts=True, pdf_standards=["ua-1"]
        )
    except typst.TypstError:
        return False
    return True
