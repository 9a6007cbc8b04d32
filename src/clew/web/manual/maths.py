"""Formulas of the manual as MathML: reading them loads nothing, from nowhere."""

from __future__ import annotations

import re

_NAMED = re.compile(r"\\(sin|cos|tan|arctan|ln|exp|log)(?![a-z])")
"""Named functions want a thin space behind them, which the converter leaves out."""


def formula_of(latex: str, *, block: bool = False) -> str:
    """Write a formula as MathML.

    Parameters
    ----------
    latex : str
        The formula as the manual's pages write it.
    block : bool
        Whether it stands on a line of its own.

    Returns
    -------
    str
        A ``math`` element.
    """
    from latex2mathml.converter import convert

    made: str = convert(
        _NAMED.sub(r"\\\1\\,", latex.strip()), display="block" if block else "inline"
    )
    return made
