"""The page of the manual that says why each page of the workbench is laid out as it is.

Each template that fills the frame says so in its first line; this gathers the lines, and refuses a
page that gives no reason.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

from made_outside import ROOT

TEMPLATES = ROOT / "src" / "clew" / "web" / "templates"
ADDRESSES: Mapping[str, str] = {
    "orders": "`/orders`", "creel": "`/creel`", "knots": "`/knots`",
    "knots_answer": "`/knots/answer`", "steam": "`/steam`", "dry": "`/dry`", "wind": "`/wind`",
    "card": "`/wind/card`", "shift": "`/shift`", "run": "`/run`", "hand": "`/run/hand`",
    "band": "`/band`", "case": "`/case`", "lots": "`/lots`", "trace": "`/trace`", "who": "`/who`",
    "sign_in": "`/sign-in`", "manual": "`/manual`", "manual_page": "a page of the manual",
    "faults": "where a page cannot answer", "missing": "for an address that is not there",
}  # fmt: skip
"""What each template that fills the frame is shown at, in the order of the line."""
_WHY = re.compile(r"\{# Why this layout: (.+?)\.? #\}\n")
_QUESTION = re.compile(r'<h1[^>]*>\{\{ say\("(.+?)"')
_HEAD = """# Why each page is laid out as it is

Made from the pages' own templates by `make docs`.

A page answers one question, and the question stands on top of it. What stands first, beside and below follows from who asks, where they stand and what they do next.

What all pages share: the drawn line on top, because a lead knows a place by where it is on the strand's path; words before numbers, because words can be called down a row; pictures beside the inputs that move them, so that the eye need not travel; how it was got last and folded, because it is looked up once.

| page | its question | why it is laid out so |
|---|---|---|"""  # noqa: E501


def layouts_page(folder: Path = TEMPLATES) -> str:
    """Make the page.

    Parameters
    ----------
    folder : Path
        Where the templates are.

    Returns
    -------
    str
        The page's text.

    Raises
    ------
    ValueError
        If a template fills the frame and gives no reason, or no address is known for it.
    """
    texts = {path.stem: path.read_text(encoding="utf-8") for path in folder.glob("*.html")}
    pages = {name: text for name, text in texts.items() if '{% extends "frame.html" %}' in text}
    if unknown := set(pages) ^ set(ADDRESSES):
        raise ValueError(f"name the address of these pages in made_layouts: {sorted(unknown)}")
    rows = []
    for name, address in ADDRESSES.items():
        why = _WHY.match(pages[name])
        if why is None:
            raise ValueError(f"{name}.html does not say in its first line why it is laid out so")
        question = _QUESTION.search(pages[name])
        asked = question[1].replace("{line}", "the line") if question else ""
        rows.append(f"| {address} | {asked} | {why[1][0].upper()}{why[1][1:]}. |")
    return "\n".join([_HEAD, *rows, ""])
