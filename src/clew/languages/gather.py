"""Gathers every message of the program for its translators: ``python -m clew.languages.gather``.

The template ``clew.pot`` is made anew from the source, and each language's catalogue gets what is
new in it; what is gone from the program goes from the catalogues. A message that changed a little
is not guessed at: its old translation would be trusted too easily.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.pofile import read_po, write_po

SOURCE = Path(__file__).parent.parent
CATALOGUES = Path(__file__).parent / "catalogues"
KEYWORDS: dict[str, tuple[int, ...] | None] = {"say": None, "say_many": (1, 2), "say_html": None}
"""Functions that say a message, and which of their arguments are messages."""

_WAYS = {".py": "python", ".html": "jinja2.ext:babel_extract"}
_SAYS_NOTHING = ("cli", "languages")
"""The command line speaks English, so that a script and its error read alike everywhere."""
_MADE = datetime(2026, 1, 1, tzinfo=UTC)
"""Stands in every catalogue: gathered anew, it differs in nothing but its messages."""
_HEADER = "# Messages of Clew. The words of the trade in each language: docs/languages.md"


def messages_of(folder: Path) -> Iterator[tuple[str, str | tuple[str, ...]]]:
    """Find every message in the files of a folder.

    Parameters
    ----------
    folder : Path
        Folder of the program.

    Yields
    ------
    tuple of str, str or tuple of str
        The file within the folder, and the message, or its two forms for one and for many.
    """
    for path in sorted(folder.rglob("*")):
        way = _WAYS.get(path.suffix)
        if way is None or path.relative_to(folder).parts[0] in _SAYS_NOTHING:
            continue
        found = extract(way, io.BytesIO(path.read_bytes()), KEYWORDS, options={"encoding": "utf-8"})
        for _, message, _, _ in found:
            yield path.relative_to(folder).as_posix(), message


def template_of(folder: Path) -> Catalog:
    """Make the template of all messages of a folder, in the order of the files."""
    catalog = _catalog(None)
    for where, message in messages_of(folder):
        catalog.add(message, locations=[(where, 1)])
    return catalog


def _catalog(code: str | None) -> Catalog:
    return Catalog(
        locale=code,
        header_comment=_HEADER,
        project="Clew",
        version="1",
        msgid_bugs_address="CONTRIBUTING.md",
        last_translator="whoever translated last",
        language_team="",
        creation_date=_MADE,
        revision_date=_MADE,
        fuzzy=False,
    )


def written(catalog: Catalog) -> str:
    """Write a catalogue as the text that translators edit."""
    file = io.BytesIO()
    write_po(file, catalog, width=0, omit_header=False, include_lineno=False, sort_by_file=False)
    return file.getvalue().decode("utf-8")


def updated(code: str, template: Catalog, before: str) -> Catalog:
    """Bring a language's catalogue up to the template, keeping what is translated.

    Parameters
    ----------
    code : str
        The language.
    template : Catalog
        All messages there are.
    before : str
        The catalogue as it stands; empty for a new one.

    Returns
    -------
    Catalog
        A message for each of the template's, translated where it was.
    """
    had = read_po(io.BytesIO(before.encode("utf-8")), locale=code) if before else _catalog(code)
    fresh = _catalog(code)
    for message in template:
        if not message.id:
            continue
        old = had.get(message.id)
        known = old.string if old is not None and not old.fuzzy else None
        if isinstance(known, str) and isinstance(message.id, tuple):
            known = None  # it was said without a number before
        fresh.add(message.id, known or "", locations=message.locations)
    return fresh


def share_translated(catalog: Catalog) -> float:
    """Say which share of a catalogue's messages is translated [-]."""
    messages = [one for one in catalog if one.id]
    done = sum(
        bool(all(one.string) if isinstance(one.string, tuple) else one.string) for one in messages
    )
    return done / len(messages) if messages else 1.0


def main() -> None:
    """Gather, write, and say how far each language is."""
    from clew.languages.tongues import DEFAULT, LANGUAGES

    CATALOGUES.mkdir(exist_ok=True)
    template = template_of(SOURCE)
    (CATALOGUES / "clew.pot").write_text(written(template), encoding="utf-8")
    print(f"{len(template)} messages")
    for code in LANGUAGES:
        if code == DEFAULT:
            continue
        path = CATALOGUES / f"{code}.po"
        before = path.read_text(encoding="utf-8") if path.exists() else ""
        catalog = updated(code, template, before)
        path.write_text(written(catalog), encoding="utf-8")
        print(f"{LANGUAGES[code]}: {100 * share_translated(catalog):.0f} % translated")


if __name__ == "__main__":
    main()
