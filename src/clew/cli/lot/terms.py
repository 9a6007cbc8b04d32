"""What is declared, and which rows of a file are of the lot: the terms of a lot's test."""

from __future__ import annotations

from collections.abc import Sequence

from clew.checks.packages.plan import Quantity
from clew.faults import BadInput, Fault
from clew.quantities import LENGTH, MASS, read_quantity

_LARGER_GOVERNS = ("us-category-a", "us-thread-states")


def read_declarations(
    written: Sequence[str], rule: str
) -> tuple[dict[Quantity, float], tuple[str, ...]]:
    """Read declarations, such as "100 g", "200 m" or "454 g / 1 lb".

    Parameters
    ----------
    written : sequence of str
        As typed.
    rule : str
        Key of the rule set: in the United States the larger of two declarations is tested.

    Returns
    -------
    dict of str to float
        Declared content by quantity [g or m].
    tuple of str
        Which of two governs, in words.

    Raises
    ------
    BadInput
        When one is neither a mass nor a length, is nothing, or stands twice where one must stand.
    """
    found: dict[Quantity, list[tuple[float, str]]] = {}
    for text in (part.strip() for one in written for part in one.split("/")):
        quantity: Quantity = "mass"
        try:
            value = read_quantity(text, MASS)
        except BadInput as bad:
            try:
                value, quantity = read_quantity(text, LENGTH), "length"
            except BadInput as as_length:
                # a unit of mass is told as a mass, anything else as a length
                as_mass = as_length.faults[0].what.endswith("is a mass, not a length")
                told = (bad if as_mass else as_length).faults[0]
                expected = "a mass or a length, such as 100 g or 200 m"
                raise BadInput(
                    Fault(
                        told.what.replace("not a length", "neither a mass nor a length"),
                        expected,
                        key="--declared",
                        value=told.value,
                    )
                ) from None
        if value <= 0.0:
            raise BadInput(
                Fault("a declaration of nothing", "more than 0", key="--declared", value=text)
            )
        found.setdefault(quantity, []).append((value, text))
    words = []
    for quantity, ways in found.items():
        if len(ways) > 1 and rule not in _LARGER_GOVERNS:
            texts = ", ".join(text for _, text in ways)
            raise BadInput(
                Fault(
                    f"{len(ways)} declarations of {quantity}",
                    "the metric one, which governs under this rule set",
                    key="--declared",
                    value=texts,
                )
            )
        if len(ways) > 1:
            _, text = max(ways)
            others = ", ".join(other for _, other in ways if other != text)
            words.append(f"{text} governs: it is the larger of the declarations ({others})")
    return {quantity: max(ways)[0] for quantity, ways in found.items()}, tuple(words)
