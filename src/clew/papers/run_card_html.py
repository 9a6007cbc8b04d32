"""The run card as a page that stands by itself, or as the part of a page."""

from __future__ import annotations

import functools
import importlib.resources
from datetime import datetime
from typing import TYPE_CHECKING

from clew.languages import joined, say, spoken, tongue
from clew.papers.card_content import CardContent
from clew.papers.paper_data import printed_words

if TYPE_CHECKING:
    import jinja2


def run_card_html(
    content: CardContent, *, made: datetime | None = None, standalone: bool = True
) -> str:
    """Write a run card in HTML.

    Parameters
    ----------
    content : CardContent
        The texts of the card; the same that the PDF prints.
    made : datetime, optional
        When the card was made; printed in the footer where given.
    standalone : bool
        True for a whole page with its own style; false for the ``<article>`` alone, to be set into
        a page that carries `run_card_css`.

    Returns
    -------
    str
        The page. It has no script and asks nothing from outside; every text is escaped.
    """
    footer = content.footer
    if made is not None:
        footer = joined(" · ", (footer, printed_words(made)))
    name = "run_card.html" if standalone else "run_card_article.html"
    return (
        _templates().get_template(name).render(card=content, footer=footer, language=tongue().code)
    )


def run_card_css() -> str:
    """Style of the run card; every rule of it is for ``.run-card`` alone."""
    return (importlib.resources.files("clew.papers") / "templates" / "run_card.css").read_text(
        "utf-8"
    )


@functools.cache
def _templates() -> jinja2.Environment:
    import jinja2

    pages = jinja2.Environment(
        loader=jinja2.PackageLoader("clew.papers"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
        finalize=spoken,
    )
    pages.globals.update(say=say, joined=joined)
    return pages
