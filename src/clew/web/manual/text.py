"""A page of the manual from its Markdown: plain HTML without script, style or anything to load."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import clew
from clew.languages import DEFAULT, say, spoken
from clew.web.manual.maths import formula_of

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.renderer import RendererHTML
    from markdown_it.token import Token

_FORMULA = say("Formula")
_HEEDED = {"caution": say("Caution")}
_JOINT = re.compile(r"(?<=\w[._/])(?=\w)")
_FITS = 24
"""Characters of a formula inside a line that is narrower than any screen; a longer one scrolls."""

TitleOf = Callable[[str], str]
"""Title of a page by its name; the name itself where there is no such page."""


@lru_cache(maxsize=256)
def rendered(text: str, title_of: TitleOf, language: str = DEFAULT) -> str:
    """Write a page as HTML.

    Parameters
    ----------
    text : str
        The page in Markdown, with formulas between dollar signs and references as MyST writes them.
    title_of : callable
        Names the page a reference leads to.
    language : str
        The language that is spoken now: what is kept of a page is kept for each.

    Returns
    -------
    str
        What stands in the page; every text in it is escaped.
    """
    del language
    return str(_parser().render(text, {"title_of": title_of}))


@cache
def _parser() -> MarkdownIt:
    from markdown_it import MarkdownIt
    from mdit_py_plugins.anchors import anchors_plugin
    from mdit_py_plugins.deflist import deflist_plugin
    from mdit_py_plugins.dollarmath import dollarmath_plugin
    from mdit_py_plugins.myst_role import myst_role_plugin

    parser = MarkdownIt("commonmark", {"html": False}).enable("table")
    parser.use(dollarmath_plugin, allow_digits=True, renderer=_formula)
    parser.use(deflist_plugin)
    parser.use(myst_role_plugin)
    parser.use(anchors_plugin, max_level=4)
    for name, rule in (
        ("myst_role", _role), ("fence", _fence), ("link_open", _link), ("image", _picture),
        ("table_open", _table), ("table_close", _table_end), ("th_open", _cell),
        ("td_open", _cell), ("th_close", _cell_end), ("math_block", _formula_block),
        ("math_block_label", _formula_block), ("code_inline", _code),
    ):  # fmt: skip
        parser.add_render_rule(name, rule)
    return parser


def address_of(reference: str) -> str:
    """Turn a reference to a page, such as ``ball_turns.md#how``, into its address."""
    page, mark, place = reference.partition("#")
    name = page.rpartition("/")[2].removesuffix(".md")
    return (f"/manual/{name}" if name else "") + mark + place


def _formula(latex: str, options: dict[str, Any]) -> str:
    made = formula_of(latex, block=bool(options.get("display_mode")))
    if len(latex) <= _FITS:
        return made
    label = spoken(_FORMULA)
    return f'<span class="formula-in" role="group" aria-label="{label}" tabindex="0">{made}</span>'


def _formula_block(
    self: RendererHTML, tokens: Sequence[Token], at: int, options: Any, env: Any
) -> str:
    made = formula_of(tokens[at].content, block=True)
    label = spoken(_FORMULA)
    return f'<div class="formula" role="group" aria-label="{label}" tabindex="0">{made}</div>\n'


def _role(self: RendererHTML, tokens: Sequence[Token], at: int, options: Any, env: Any) -> str:
    from markdown_it.common.utils import escapeHtml

    said = tokens[at].content
    if tokens[at].meta["name"] != "doc":
        return f"<code>{escapeHtml(said)}</code>"
    words, opened, target = said.partition("<")
    name = (target.rstrip(">") if opened else said).strip().rpartition("/")[2]
    words = words.strip() if opened else env["title_of"](name)
    return f'<a href="{escapeHtml(address_of(name))}">{escapeHtml(words)}</a>'


def _code(self: RendererHTML, tokens: Sequence[Token], at: int, options: Any, env: Any) -> str:
    """A name may be broken after its points, strokes and slashes, where a table is narrow."""
    from markdown_it.common.utils import escapeHtml

    return f"<code>{_JOINT.sub('<wbr>', escapeHtml(tokens[at].content))}</code>"


def _fence(self: RendererHTML, tokens: Sequence[Token], at: int, options: Any, env: Any) -> str:
    from markdown_it.common.utils import escapeHtml

    kind, _, asked = tokens[at].info.strip().partition(" ")
    content = tokens[at].content
    if kind == "{toctree}":
        return ""
    if kind == "{literalinclude}":
        content = _included(asked.strip())
    elif kind.startswith("{"):
        inner = _parser().render(content, env)
        word = kind.strip("{}")
        word = escapeHtml(spoken(_HEEDED.get(word, word.capitalize())))
        return f'<aside class="heed"><p class="heed-word">{word}</p>{inner}</aside>\n'
    return f'<pre tabindex="0"><code>{escapeHtml(content)}</code></pre>\n'


def _included(reference: str) -> str:
    """Read a file of the package that a page shows whole."""
    inside = reference.partition("src/clew/")[2]
    return (Path(clew.__file__).parent / inside).read_text(encoding="utf-8")


def _link(self: RendererHTML, tokens: Sequence[Token], at: int, options: Any, env: Any) -> str:
    target = str(tokens[at].attrGet("href") or "")
    if "://" not in target:
        tokens[at].attrSet("href", address_of(target))
    return self.renderToken(tokens, at, options, env)


def _picture(self: RendererHTML, tokens: Sequence[Token], at: int, options: Any, env: Any) -> str:
    from markdown_it.common.utils import escapeHtml

    name = str(tokens[at].attrGet("src") or "").rpartition("/")[2]
    return (
        f'<img src="/manual/pictures/{escapeHtml(name)}" loading="lazy" '
        f'alt="{escapeHtml(tokens[at].content)}">'
    )


def _table(self: RendererHTML, tokens: Sequence[Token], at: int, options: Any, env: Any) -> str:
    label = spoken(say("Table"))
    return f'<div class="sheet" role="group" aria-label="{label}" tabindex="0"><table>\n'


def _table_end(self: RendererHTML, tokens: Sequence[Token], at: int, options: Any, env: Any) -> str:
    return "</table></div>\n"


def _is_empty_head(tokens: Sequence[Token], at: int) -> bool:
    """Say whether a heading of a column is empty; then it is none, and is written as a cell."""
    return tokens[at].tag == "th" and not tokens[at + 1].content.strip()


def _cell(self: RendererHTML, tokens: Sequence[Token], at: int, options: Any, env: Any) -> str:
    right = ' class="right"' if "right" in str(tokens[at].attrGet("style") or "") else ""
    if tokens[at].tag == "th" and not _is_empty_head(tokens, at):
        return f'<th scope="col"{right}>'
    return f"<td{right}>"


def _cell_end(self: RendererHTML, tokens: Sequence[Token], at: int, options: Any, env: Any) -> str:
    return "</td>" if _is_empty_head(tokens, at - 2) else "</th>"
