"""Rows of a chart of shares: what each is, and how much of the whole."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from clew.languages import spoken
from clew.web.drawn.charts import shares_spec
from clew.web.drawn.figures import Figures

LONGEST = 48
"""Letters in a line over a bar; longer words go on in a second line, so that none grows small."""


def share_rows(
    parts: Sequence[tuple[float, str]], figures: Figures
) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """Make the rows of a chart of shares.

    Parameters
    ----------
    parts : sequence of (float, str)
        Share of the whole [-] and what it is, largest first.
    figures : Figures
        The reader's printing.

    Returns
    -------
    list of dict
        The rows.
    dict
        The chart's definition, with room for the longest words.
    """
    # lines are broken where the reader's own language needs it
    words = [
        textwrap.wrap(f"{spoken(figures.percent(share, 0))}  {spoken(what)}", LONGEST)
        for share, what in parts
    ]
    most = max((len(lines) for lines in words), default=1)
    # fewer lines are filled up from above, so that the last stands over its bar
    rows = [
        {
            "place": place,
            "share": share,
            "words": "\n".join([" "] * (most - len(lines)) + lines),
        }
        for place, ((share, _), lines) in enumerate(zip(parts, words, strict=True))
    ]
    return rows, shares_spec(most)
