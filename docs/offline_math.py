"""Formulas as MathML, made when the manual is built: reading them loads nothing from elsewhere."""

from __future__ import annotations

import re

from docutils import nodes
from latex2mathml.converter import convert
from sphinx.application import Sphinx
from sphinx.writers.html5 import HTML5Translator

_NAMED = re.compile(r"\\(sin|cos|tan|arctan|ln|exp|log)(?![a-z])")
"""Named functions want a thin space behind them, which the converter leaves out."""


def _made(node: nodes.Element, display: str) -> str:
    return convert(_NAMED.sub(r"\\\1\\,", node.astext()), display=display)


def visit_inline(translator: HTML5Translator, node: nodes.math) -> None:
    translator.body.append(_made(node, "inline"))
    raise nodes.SkipNode


def visit_block(translator: HTML5Translator, node: nodes.math_block) -> None:
    translator.body.append(f'<div class="formula">{_made(node, "block")}</div>')
    raise nodes.SkipNode


def setup(app: Sphinx) -> dict[str, bool]:
    app.add_html_math_renderer("mathml", (visit_inline, None), (visit_block, None))
    app.add_css_file("formula.css")
    return {"parallel_read_safe": True, "parallel_write_safe": True}
