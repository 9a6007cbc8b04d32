"""Messages that hold markup of their own, such as a word that stands out."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from clew.languages import spoken, tongue


def say_html(message: str, /, **fields: Any) -> Markup:
    """Say a message with markup in it, in the language that is spoken now.

    Parameters
    ----------
    message : str
        The English message, a literal of ours; its places are written ``{name}``.
    **fields : Any
        What fills the places; texts are escaped, whatever they hold.

    Returns
    -------
    Markup
        The message, for a page.
    """
    told = {name: spoken(value) for name, value in fields.items()}
    return Markup(tongue().message(message)).format(**told)
