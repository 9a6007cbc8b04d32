"""Formulas as MathML, made when the manual is built: reading them loads nothing from elsewhere."""

from __future__ import annotations

from docutils import nodes
from sphinx.application import Sphinx
from sphinx.writers.html5 import HTML5Translator

from clew.web.manual.maths import formula_of


def visit_inline(translator: HTML5Translator, node: nodes.math) -> None:
    translator.body.append(formula_of(node.astext()))
    raise nodes.SkipNode


def visit_block(translator: HTML5Translator, node: nodes.math_block) -> None:
    made = formula_of(node.astext(), block=True)
    translator.body.append(f'<div class="formula">{made}</div>')
    raise nodes.SkipNode


def setup(app: Sphinx) -> dict[str, bool]:
    app.add_html_math_renderer("mathml", (visit_inline, None), (visit_block, None))
    app.add_css_file("formula.css")
    return {"parallel_read_safe": True, "parallel_write_safe": True}
