"""All targets, family by family."""

from __future__ import annotations

import importlib
from functools import cache

from tests.fuzz.target import Target

FAMILIES = ("quantities", "mill", "tables", "codes", "events", "kept", "options", "web")


@cache
def every_target() -> dict[str, Target]:
    """Give every target by its name."""
    found: dict[str, Target] = {}
    for family in FAMILIES:
        for target in importlib.import_module(f"tests.fuzz.{family}").TARGETS:
            assert target.name not in found, target.name
            found[target.name] = target
    return found
