"""The pages of the manual that are made from the program and its tests, and where they go.

They are kept beside the others, so that the manual inside the workbench has them too; a test holds
that they are what would be made now. `make docs` makes them anew.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import click
import made_api
import made_dictionary
import made_layouts
import made_measured
import made_theory
from made_outside import ROOT, outside_page

MADE = Path(__file__).parent / "made"
_WIDE = 96
"""Characters in a line of a command's help, wherever the pages are made."""


def _help(
    command: click.Command, name: str, parent: click.Context | None, depth: int
) -> Iterator[str]:
    context = click.Context(
        command, info_name=name, parent=parent, terminal_width=_WIDE, max_content_width=_WIDE
    )
    yield f"{'#' * depth} `{context.command_path}`"
    yield ""
    yield "```text"
    yield command.get_help(context)
    yield "```"
    yield ""
    if isinstance(command, click.Group):
        for inner in command.list_commands(context):
            found = command.get_command(context, inner)
            if found is not None:
                yield from _help(found, inner, context, min(depth + 1, 4))


def commands_pages() -> Iterator[tuple[str, str]]:
    """Make a page a noun, and one of all nouns."""
    from clew.cli.main import main

    context = click.Context(main, info_name="clew", terminal_width=_WIDE, max_content_width=_WIDE)
    lines = ["# Commands", "", "Made from the program's own help by `make docs`.", "",
             "```text", main.get_help(context), "```", ""]  # fmt: skip
    for noun in main.list_commands(context):
        found = main.get_command(context, noun)
        if found is not None:
            text = "\n".join(_help(found, noun, context, 2))
            yield f"commands_{noun}", f"# Commands: clew {noun}\n\n{text}"
            lines.append(f"- {{doc}}`commands_{noun}`")
    yield "commands", "\n".join([*lines, ""])


def made_pages() -> Iterator[tuple[str, str]]:
    """Make every page that is made: its name and its text."""
    yield from commands_pages()
    yield "outside_checks", outside_page(ROOT / "tests" / "published")
    yield "layouts", made_layouts.layouts_page()
    yield "theory", made_theory.index_page()
    for room in made_theory.ROOMS:
        yield f"theory_{room}", made_theory.room_page(room)
    yield "measured", made_measured.measured_page()
    yield "dictionary_ledger", made_dictionary.ledger_page()
    yield "dictionary_mill", made_dictionary.mill_page()
    yield "api", made_api.api_page()
    yield "event_schemas", made_api.events_page()


def write_all(folder: Path = MADE) -> None:
    """Write the made pages, only where they changed, so that a build stays quick."""
    folder.mkdir(exist_ok=True)
    names = set()
    for name, text in made_pages():
        path = folder / f"{name}.md"
        names.add(path)
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")
    for gone in set(folder.glob("*.md")) - names:
        gone.unlink()
