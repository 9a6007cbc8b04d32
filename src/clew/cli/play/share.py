"""Reading how much of what is sent goes astray."""

from __future__ import annotations

import click

MOST_SHARE = 0.25


class Share(click.ParamType[float]):
    """A share such as ``2%``, ``2 %`` or ``0.02``."""

    name = "share"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Read it."""
        text = str(value).strip()
        try:
            found = float(text.removesuffix("%")) / (100.0 if text.endswith("%") else 1.0)
        except ValueError:
            found = -1.0
        if not 0.0 <= found <= MOST_SHARE:
            self.fail(f"{text!r} is no share; expected 0 to 25 %, such as 2%", param, ctx)
        return found
