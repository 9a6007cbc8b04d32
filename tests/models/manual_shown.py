"""The commands that the manual shows, each with the output that it says they have."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

DOCS = Path(__file__).parents[2] / "docs"
_FENCE = re.compile(r"^```(\S*)[^\n]*\n(.*?)^```", re.MULTILINE | re.DOTALL)
_ROW = re.compile(r"[^,;]+([,;][^,;]*)*")
MOST_BETWEEN = 240
"""Characters between a command and the block that shows its output."""


@dataclass(frozen=True)
class Shown:
    """A command of the manual.

    Attributes
    ----------
    page : str
        Its page.
    number : int
        Its place among the page's commands, from 1.
    words : tuple of str
        The command, ``clew`` left out.
    output : str
        What the page says it prints; empty where the page shows none.
    file : str
        Name of the file it reads that the page shows; empty for none.
    content : str
        What is in that file.
    appended : str
        What the page has appended to the mill file up to here.
    """

    page: str
    number: int
    words: tuple[str, ...]
    output: str
    file: str
    content: str
    appended: str

    @property
    def key(self) -> str:
        """Its name in lists and in what a test is called."""
        return f"{self.page} {self.number}"


def commands_shown(page: Path) -> Iterator[Shown]:
    """Read the commands of a page that stand in a block of their own."""
    text = page.read_text(encoding="utf-8")
    blocks = list(_FENCE.finditer(text))
    files: dict[str, str] = {}
    number, appended = 0, ""
    for at, block in enumerate(blocks):
        if block[1] == "toml" and page.stem.startswith("cook_"):
            appended += "\n" + block[2]
        lines = block[2].replace("\\\n", " ").strip().splitlines()
        if not lines or not lines[0].removeprefix("$ ").startswith("clew "):
            continue
        after = blocks[at + 1] if at + 1 < len(blocks) else None
        if lines[0].startswith("$ "):
            output = "\n".join(lines[1:])
        elif len(lines) == 1 and after and after.start() - block.end() <= MOST_BETWEEN:
            output = "" if after[2].lstrip("$ ").startswith("clew ") else after[2]
        else:
            output = ""
        words = tuple(shlex.split(lines[0].removeprefix("$ "), comments=True))[1:]
        name = next((word for word in words if re.fullmatch(r"[\w-]+\.csv", word)), "")
        if name and name not in files:
            files[name] = _table_named(name, text, blocks, at)
        number += 1
        yield Shown(page.stem, number, words, output, name, files.get(name, ""), appended)


def _table_named(name: str, text: str, blocks: list[re.Match[str]], at: int) -> str:
    """Find what is in a file: the block under its name, else the last one before it is read."""
    tables = [one for one in blocks if is_table(one[2])]
    for one in tables:
        if f"`{name}`" in text[max(0, one.start() - MOST_BETWEEN) : one.start()]:
            return one[2]
    return next((one[2] for one in reversed(tables) if one.start() < blocks[at].start()), "")


def is_table(text: str) -> bool:
    """Say whether a block is a file of values: a heading without blanks, and rows."""
    lines = text.strip().splitlines()
    return (
        len(lines) > 2
        and all(_ROW.fullmatch(line) for line in lines)
        and re.fullmatch(r"[a-z_,;]+", lines[0]) is not None
    )


def all_shown() -> list[Shown]:
    """Read the commands of all pages."""
    return [one for page in sorted(DOCS.glob("*.md")) for one in commands_shown(page)]


def pieces(output: str) -> list[str]:
    """Part an output where something is left out, blanks and line ends made alike."""
    parts = re.split(r"^\s*(?:\.\.\.|…)\s*$|…", output, flags=re.MULTILINE)
    return [" ".join(part.split()) for part in parts if part.strip()]


def missing_from(printed: str, output: str) -> str:
    """Find the first piece of a shown output that was not printed, in order; empty for none."""
    rest = " ".join(printed.split())
    for piece in pieces(output):
        before, found, rest = rest.partition(piece)
        if not found:
            return nearest(before, piece)
    return ""


def nearest(printed: str, piece: str) -> str:
    """Say where a shown piece leaves what was printed."""
    words = piece.split()
    for upto in range(len(words), 0, -1):
        if " ".join(words[:upto]) in printed:
            said = " ".join(words[max(0, upto - 8) : upto])
            return f"after {said!r}: {' '.join(words[upto : upto + 8])!r}"
    return f"from its beginning: {' '.join(words[:8])!r}"
