"""The options of `clew weigh target`, as typed."""

from __future__ import annotations

import math
from typing import Any

import click

from clew.faults import BadInput, Fault
from clew.quantities import MASS, read_quantity


class SpreadG(click.ParamType[tuple[float, float, float]]):
    """A standard deviation: "1.8 g", or its 95 % interval: "1.5 to 2.2 g"."""

    name = "spread"

    def convert(
        self,
        value: Any,
        param: click.Parameter | None,
        ctx: click.Context | None,  # noqa: ARG002 - click calls with this name
    ) -> tuple[float, float, float]:
        """Read estimate and interval; a fault names the option."""
        if isinstance(value, tuple):
            return value
        key = param.opts[0] if param is not None else ""
        low_text, to, high_text = str(value).partition(" to ")
        try:
            if not to:
                found = read_quantity(low_text, MASS)
                return found, found, found
            high = read_quantity(high_text, MASS)
            if low_text.strip().replace(".", "", 1).isdigit():
                low_text = f"{low_text} {high_text.strip().lstrip('0123456789. ')}"
            low = read_quantity(low_text, MASS)
        except BadInput as bad:
            fault = bad.faults[0]
            expected = '"1.8 g", or an interval "1.5 to 2.2 g"'
            raise BadInput(Fault(fault.what, expected, key=key, value=str(value))) from None
        if not 0.0 <= low <= high or high == 0.0:
            raise BadInput(Fault("an interval out of order", "low to high", key=key, value=value))
        return (math.sqrt(low * high) if low > 0.0 else 0.5 * high), low, high
